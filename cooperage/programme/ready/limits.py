"""A definition of ready in plain words: `overall at least 14; oak at most 6; va at most 0.7`, read and written.

A limit is on what tasters score (any word that was, or will be, scored), on a figure of the book, or on the months that
the mead has lain in this wood. Which scale a score is on may be given as `of 20`; else it is the one that the attribute
was scored on last.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from cooperage.book.declared.properties import PROPERTIES, PROPERTY_SPELLINGS
from cooperage.book.declared.spelling import folded
from cooperage.errors import BadInput
from cooperage.units import DEFAULT, Quantity, Units, read, show, show_short, unit_written

AGE = "age_months"
"""The name of the limit on months in this wood."""
HOW_TYPED = "overall at least 14; oak at most 6; va at most 0.7; age at least 6"
LONGEST_ATTRIBUTE = 40

_AGES = ("age", "age in wood", "months", "months in wood", "age months")
_LIMIT = re.compile(
    r"(?P<name>.+?)\s*(?::\s*)?"
    r"(?P<sign>at least|at most|not under|not over|min\.?(?![a-z])|max\.?(?![a-z])|up to|<=?|>=?|≤|≥)"
    r"\s*(?P<amount>.+)",
    re.IGNORECASE,
)
_BETWEEN = re.compile(
    r"(?P<name>.*?[^\W\d_].*?)\s*(?::|\bfrom\b|\bbetween\b)?\s*(?P<low>[+-]?[0-9][0-9.,]*)\s*(?:-|–|\bto\b|\band\b)"
    r"\s*(?P<high>[0-9].*)",
    re.IGNORECASE,
)
_MOST_DIGITS = 16
_LEAST = ("at least", "not under", "min", ">", ">=", "≥")
_OF = re.compile(r"(?P<amount>.*\S)\s+(?:of|on)\s+(?P<scale>\S.*)", re.IGNORECASE)
_PARTS = re.compile(r"[;\n]|,(?=\s)|\band\s+(?=[^\W\d_])", re.IGNORECASE)


class NotALimit(BadInput):
    """Words that set no limit."""

    def __init__(self, text: str, why: str = "") -> None:
        self.text = text
        super().__init__(f"'{text[:60]}' sets no limit{why}; write limits as in: {HOW_TYPED}")


class ClashingLimits(BadInput):
    """Two limits that nothing can meet, or the same one twice."""

    def __init__(self, words: str, why: str) -> None:
        super().__init__(f"{words}: {why}")


@dataclass(frozen=True, slots=True)
class ReadyLimit:
    """One limit: what it is on, the least (`sign` -1) or the most (1) it may be, in its canonical unit.

    `name` is an attribute in small letters, a property of the book, or `AGE`. `scale` is that of an attribute, such as
    "0-20"; without one it is the scale that the attribute was scored on last.
    """

    name: str
    sign: int
    value: float
    scale: str = ""

    @property
    def is_tasted(self) -> bool:
        """Return True if tasters score it."""
        return self.name != AGE and self.name not in PROPERTIES

    def holds(self, value: float) -> bool:
        """Return True if a value meets it."""
        return self.sign * (value - self.value) <= 0

    def words(self, units: Units = DEFAULT, *, exact: bool = False) -> str:
        """Return it as `parse_limits` reads it: "oak at most 6 of 10"; to the last digit where it is to be `exact`."""
        side = "at most" if self.sign > 0 else "at least"
        return f"{called(self.name)} {side} {self._amount(units, exact=exact)}"

    def _amount(self, units: Units, *, exact: bool) -> str:
        is_figure = self.name in PROPERTIES
        quantity = PROPERTIES[self.name].quantity if is_figure else Quantity.NUMBER
        amount = _exactly(quantity, self.value, units) if exact else show_short(quantity, self.value, units)
        if is_figure:
            return amount
        if self.name == AGE:
            return f"{amount} months"
        return f"{amount}{_of_scale(self.scale)}"


def unit_of(name: str) -> str:
    """Return the canonical unit of a limit's value as text: "g/L", "months"; "points" for what is tasted."""
    if name in PROPERTIES:
        return unit_written(PROPERTIES[name].quantity)
    return "months" if name == AGE else "points"


def called(name: str) -> str:
    """Return what a limit is on, as text."""
    if name == AGE:
        return "age in wood"
    return PROPERTIES[name].called if name in PROPERTIES else name


def _exactly(quantity: Quantity, value: float, units: Units) -> str:
    """Return a value with as many digits as it takes to read the same again."""
    texts = (show(quantity, value, units, digits=digits) for digits in range(_MOST_DIGITS + 1))
    return next((text for text in texts if read(quantity, text, units) == value), repr(value))


def _of_scale(scale: str) -> str:
    from_nothing = re.fullmatch(r"0-([0-9.]+)", scale)
    return "" if not scale else f" of {from_nothing[1]}" if from_nothing else f" on {scale}"


def limits_words(limits: Iterable[ReadyLimit], units: Units = DEFAULT, *, exact: bool = False) -> str:
    """Return a definition as it is typed; `parse_limits` of it is the same, to the last digit where `exact`."""
    return "; ".join(limit.words(units, exact=exact) for limit in limits)


def parse_limits(text: str, units: Units = DEFAULT) -> tuple[ReadyLimit, ...]:
    """Read a definition; figures without a unit are in the person's. Raises NotALimit, ClashingLimits."""
    parts = [part.strip(" .") for part in _PARTS.split(text)]
    found = [limit for part in parts if part for limit in _limits_in(part, units)]
    if not found:
        raise NotALimit(text.strip())
    check_limits(found, units)
    return tuple(found)


def check_limits(limits: Sequence[ReadyLimit], units: Units = DEFAULT) -> None:
    """Refuse limits that cannot all be met; raises ClashingLimits."""
    seen: dict[tuple[str, int], ReadyLimit] = {}
    for limit in limits:
        if (other := seen.get((limit.name, limit.sign))) is not None:
            raise ClashingLimits(f"{other.words(units)}; {limit.words(units)}", "give each limit once")
        seen[limit.name, limit.sign] = limit
        against = seen.get((limit.name, -limit.sign))
        if against is not None and not against.scale and not limit.scale and not against.holds(limit.value):
            raise ClashingLimits(f"{against.words(units)}; {limit.words(units)}", "nothing can be both")
        if against is not None and against.scale == limit.scale and not against.holds(limit.value):
            raise ClashingLimits(f"{against.words(units)}; {limit.words(units)}", "nothing can be both")


def _limits_in(part: str, units: Units) -> list[ReadyLimit]:
    typed = _LIMIT.fullmatch(part)
    if typed is not None:
        sign = -1 if typed["sign"].casefold().rstrip(".") in _LEAST else 1
        return [_limit(part, typed["name"], sign, typed["amount"], units)]
    between = _BETWEEN.fullmatch(part)
    if between is None:
        raise NotALimit(part)
    amount, scale = _split_scale(part, between["high"])
    lower, upper = (f"{end}{_of_scale(scale)}" for end in (between["low"], amount))
    return [_limit(part, between["name"], -1, lower, units), _limit(part, between["name"], 1, upper, units)]


def _limit(part: str, typed_name: str, sign: int, amount: str, units: Units) -> ReadyLimit:
    name = _name(typed_name)
    if not name or len(name) > LONGEST_ATTRIBUTE or not re.search(r"[^\W\d_]", name):
        raise NotALimit(part)
    try:
        if name == AGE:
            return ReadyLimit(name, sign, _months(amount, units))
        if name in PROPERTIES:
            return ReadyLimit(name, sign, float(read(PROPERTIES[name].quantity, amount, units)))
        number, scale = _split_scale(part, amount)
        limit = ReadyLimit(name, sign, float(read(Quantity.NUMBER, number, units)), scale)
    except BadInput as error:
        raise NotALimit(part, f": {error.words(units).partition(';')[0]}") from error
    _check_on_scale(part, limit)
    return limit


def _name(typed: str) -> str:
    """Return the canonical name of what a limit is on."""
    name = folded(typed)
    if name in _AGES:
        return AGE
    return PROPERTY_SPELLINGS.get(name, name)


def _months(amount: str, units: Units) -> float:
    number = re.sub(r"\s*months?$", "", amount.strip(), flags=re.IGNORECASE)
    return float(read(Quantity.NUMBER, number, units))


def _split_scale(part: str, amount: str) -> tuple[str, str]:
    """Return an amount and the scale it is on, as text; no scale where none is named. Raises NotALimit."""
    typed = _OF.fullmatch(amount.strip())
    if typed is None:
        return amount, ""
    from cooperage.tasting.flights.scales import NotAScale, scale_named  # a definition is read without tasting

    is_top = re.fullmatch(r"[0-9.]+", typed["scale"])
    try:
        return typed["amount"], scale_named(f"0-{typed['scale']}" if is_top else typed["scale"])
    except NotAScale as error:
        raise NotALimit(part, f": {str(error).partition(';')[0]}") from error


def _check_on_scale(part: str, limit: ReadyLimit) -> None:
    if not limit.scale:
        return
    from cooperage.tasting.flights.scales import bounds

    low, high = bounds(limit.scale)
    if not low <= limit.value <= high:
        raise NotALimit(part, f": {limit.value:g} is not on the scale {limit.scale}")


def as_kept(limits: Iterable[ReadyLimit]) -> list[list[Any]]:
    """Return limits as JSON holds them."""
    return [[limit.name, limit.sign, limit.value, limit.scale] for limit in limits]


def from_kept(rows: Iterable[Sequence[Any]]) -> tuple[ReadyLimit, ...]:
    """Return limits from what JSON holds."""
    return tuple(ReadyLimit(str(name), int(sign), float(value), str(scale)) for name, sign, value, scale in rows)

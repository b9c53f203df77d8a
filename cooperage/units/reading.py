"""Text becomes quantities: volumes exact in whole millilitres, what instruments read as floats."""

import re
from decimal import Decimal
from fractions import Fraction

from cooperage.errors import BadInput, OutOfRange
from cooperage.units.chosen import DEFAULT, Units
from cooperage.units.scales import GRAVITIES, SCALES, Quantity, Unit


class NotAQuantity(BadInput):
    """Text that is not the quantity it should be; the line gives what would be."""

    def __init__(self, quantity: Quantity, text: str, units: Units, *, is_negative: bool = False) -> None:
        self.quantity, self.text = quantity, text
        scale, usual = SCALES[quantity], units.usual(quantity)
        others = [
            unit.written(unit.example) for unit in scale.units if unit.example and unit.name and unit is not usual
        ]
        hint = f"; type {usual.called} such as {usual.example}"
        if others:
            hint += f", or a unit: {', '.join(others[:2])}"
        hint = re.sub(r"(?<=[0-9])\.(?=[0-9])", units.decimal, hint)
        what = "is under zero" if is_negative else f"is not {scale.noun}"
        super().__init__(f"'{one_line(text)}' {what}{hint}")


def one_line(text: str, longest: int = 40) -> str:
    """Return a text as an error quotes it: in one line, cut where it is long."""
    line = " ".join(text.split())
    return line if len(line) <= longest else line[: longest - 1] + "…"


_AMOUNT = re.compile(r"(?:([1-9][0-9]{0,5})\s*[xX×*]\s*)?([+-]?)\s*([0-9.,]{1,30})\s*([^0-9.,].*)?")
_PLAIN_NUMBER = re.compile(r"[0-9]+[.,]?[0-9]*|[.,][0-9]+")
_GROUPED_NUMBER = re.compile(r"[0-9]{1,3}(,[0-9]{3})+\.[0-9]+|[0-9]{1,3}(\.[0-9]{3})+,[0-9]+")
_UNMISTAKABLE_SG = re.compile(r"0?[.,]9[89][0-9]+|1[.,][01][0-9]{2,}|9[89][0-9]|1[01][0-9]{2}|1200")
_COUNTED = frozenset({Quantity.VOLUME, Quantity.MASS})


def read(quantity: Quantity, text: str, units: Units = DEFAULT) -> int | float:
    """Return what was typed in the quantity's canonical unit: an int for volumes and counts, else a float.

    A bare number is in the user's unit; any other unit may be typed after it, in either case, spaced or not.
    Volumes and masses may be counted: "3 x 500 ml". A single point or comma is always the decimal mark, so
    "1,234 L" is 1.234 litres; where both occur it is the last one: "1.234,5", "1,234.5". Volumes are exact,
    rounded half to even at the millilitre. A bare gravity that can only be specific gravity (1.022 or 1022)
    is taken as such whatever the unit. Proof is US proof, twice the % vol at 60 °F (27 CFR 30.11); what lies
    between that and 20 °C is not corrected.

    Raises: NotAQuantity.
    """
    value = _canonical(quantity, text.strip().replace("−", "-"), units)
    if value is None or not SCALES[quantity].accepts(value):
        raise NotAQuantity(
            quantity, text, units, is_negative=value is not None and value < 0 <= SCALES[quantity].lowest
        )
    return round(value) if quantity in (Quantity.VOLUME, Quantity.COUNT) else float(value)


def read_volume(text: str, units: Units = DEFAULT) -> int:
    """Return a typed volume in whole millilitres, as `read` does. Raises: NotAQuantity."""
    return int(read(Quantity.VOLUME, text, units))


_CASES = re.compile(r"([0-9]{1,6})\s*[xX×*]\s*([0-9]{1,6})")


def read_bottles(text: str, units: Units = DEFAULT) -> int:
    """Return typed bottles as a whole number: loose ones, cases by bottles, or both: "48", "4x12", "4x12+3".

    Raises: BadInput.
    """
    return sum(_in_cases(part.strip(), text, units) for part in text.split("+"))


def _in_cases(part: str, text: str, units: Units) -> int:
    cases = _CASES.fullmatch(part)
    if cases:
        return int(cases[1]) * int(cases[2])
    try:
        return int(read(Quantity.COUNT, part, units))
    except NotAQuantity as error:
        raise BadInput(
            f"'{one_line(text)}' is no number of bottles; type 48, or cases by bottles: 4x12, 4x12+3"
        ) from error


def read_spread(quantity: Quantity, text: str, at: float, units: Units = DEFAULT) -> float:
    """Return how far a value `at` (canonical) may be off, as typed: a difference, so "0.9" in °F is 0.5 °C.

    Raises: NotAQuantity.
    """
    amount = _AMOUNT.fullmatch(text.strip())
    number, spelled = (_number(amount[3]), amount[4] or "") if amount and not amount[1] else (None, "")
    unit = units.find(quantity, spelled) if spelled else units.usual(quantity)
    if number is None or unit is None:
        raise NotAQuantity(quantity, text, units)
    try:
        return float(abs(unit.to_canonical(unit.from_canonical(Fraction(at)) + number) - Fraction(at)))
    except OutOfRange as error:
        raise NotAQuantity(quantity, text, units) from error


def _canonical(quantity: Quantity, text: str, units: Units) -> Fraction | None:
    """Return the exact canonical value of the text, or None where it makes no sense."""
    amount = _AMOUNT.fullmatch(text)
    if not amount or (amount[1] and quantity not in _COUNTED):
        return None
    times, sign, digits, spelled = amount.groups("")
    number, unit = _number(digits), _unit_meant(quantity, digits, spelled, units)
    if number is None or unit is None:
        return None
    try:
        return int(times or 1) * unit.to_canonical(-number if sign == "-" else number)
    except OutOfRange:
        return None


def _unit_meant(quantity: Quantity, digits: str, spelled: str, units: Units) -> Unit | None:
    if spelled:
        return units.find(quantity, spelled)
    if quantity is Quantity.GRAVITY and _UNMISTAKABLE_SG.fullmatch(digits):
        return GRAVITIES[0]
    return units.usual(quantity)


def _number(digits: str) -> Fraction | None:
    """Return the exact number: a decimal point or comma, and perhaps the other mark between thousands."""
    if _GROUPED_NUMBER.fullmatch(digits):
        thousands = "," if digits.index(",") < digits.rindex(".") else "."
        digits = digits.replace(thousands, "")
    elif not _PLAIN_NUMBER.fullmatch(digits):
        return None
    return Fraction(Decimal(digits.replace(",", ".")))

"""Facts of the cellar as a whole, each declared once: its name, its allowance for losses, class lines, usual climate.

They are plans and references, not entries, and may change. What the cellar has not given stands at its default.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from sqlalchemy import Connection, delete, insert, select

from cooperage.book.declared.allowed import LONGEST_NOTE, check_text
from cooperage.book.declared.fields import Holds
from cooperage.book.declared.places import OUTSIDE, Outside
from cooperage.book.errors import NotPossible
from cooperage.book.store.tables import CELLAR
from cooperage.errors import BadInput, choose_from
from cooperage.units import DEFAULT, MINOR_UNITS, Quantity, Units, read, show, show_short

_LONGEST = 60


_MIXING = Outside.CONTRACTION  # nothing is lost on mixing but volume
SPREADS = ("straight", "effect")
"""How a price is spread over fills: in equal parts, or by the wood effect that each fill uses up."""


@dataclass(frozen=True, slots=True)
class Fact:
    """One fact: what it holds, its default, what it can be, and where the default is written if law is behind it.

    `possible` is (lowest, highest) in the canonical unit; `many` are several values, set apart by semicolons. A word
    is one of the `choices`, typed in capitals or not.
    """

    key: str
    label: str
    holds: Quantity | Holds
    default: Any
    possible: tuple[float, float] = (0.0, 0.0)
    many: bool = False
    reference: str = ""
    choices: tuple[str, ...] = ()


FACTS: dict[str, Fact] = {
    declared.key: declared
    for declared in (
        Fact("name", "the cellar's name", Holds.TEXT, ""),
        Fact(
            "loss_allowance",
            "yearly loss allowance, % of stock on hand plus received",
            Quantity.PERCENT,
            3.0,
            (0.0, 20.0),
            reference="27 CFR 24.266, as of 2006",
        ),
        Fact(
            "class_lines",
            "strengths where tax or label class changes",
            Quantity.STRENGTH,
            (14.0, 16.0, 21.0, 24.0),
            (0.5, 96.0),
            many=True,
            reference="27 CFR 4.36 and 26 USC 5041, as of 2024-11",
        ),
        Fact("temperature", "usual temperature", Quantity.TEMPERATURE, 14.0, (-5.0, 35.0)),
        Fact("humidity", "usual relative humidity", Quantity.PERCENT, 75.0, (20.0, 100.0)),
        Fact("risk", "chance of a limit passed unseen before the next walk", Quantity.PERCENT, 10.0, (0.1, 50.0)),
        Fact("walk_every", "time from one walk to the next", Quantity.DAYS, 7.0, (1.0, 60.0)),
        Fact("currency", "currency of all sums, by its ISO 4217 code", Holds.TEXT, "", choices=tuple(MINOR_UNITS)),
        Fact("barrel_spread", "how a barrel's price is spread over its fills", Holds.TEXT, "straight", choices=SPREADS),
        Fact("barrel_fills", "fills that a barrel is bought for", Quantity.COUNT, 6, (1, 50)),
        Fact(
            "work_minutes",
            "minutes of work at a barrel on a day something is written about it; 0 is not counted",
            Quantity.NUMBER,
            0.0,
            (0.0, 480.0),
        ),
        Fact(
            "written_off",
            "losses whose cost is written off; that of others stays with what is left",
            Holds.TEXT,
            ("spilled", "leak", "poured away"),
            many=True,
            reference="IAS 2 paragraph 16, from memory",
            choices=tuple(place.value for place, outside in OUTSIDE.items() if outside.is_loss and place != _MIXING),
        ),
    )
}
"""Every fact by its key. The usual climate is the middle of what cellars keep; climate, risk, walks and the fills of a
barrel are common practice, no source."""
NONE = "none"
"""What is typed for a fact of several words that has none of them."""

CHECK = "a reference, not advice: check it with your authority"
"""What is said beside facts that law stands behind."""


class UnknownFact(BadInput):
    """A key that is no fact of the cellar."""

    def __init__(self, key: str) -> None:
        self.key = key
        hint = choose_from(key, FACTS)
        super().__init__(f"the cellar has no setting '{key}'{hint}")


class NotAFact(BadInput):
    """A text that a fact cannot be."""


@dataclass(frozen=True, slots=True)
class Facts:
    """The facts as the cellar has them; `given` are those it has given itself, the others stand at their defaults."""

    values: Mapping[str, Any]
    given: frozenset[str] = frozenset()

    @property
    def name(self) -> str:
        """The cellar's name; empty where it has none."""
        return str(self.values["name"])

    @property
    def allowance(self) -> float:
        """Share of what was on hand that may be missing [1]."""
        return float(self.values["loss_allowance"]) / 100

    @property
    def class_lines(self) -> tuple[float, ...]:
        """Strengths at which a class changes [% vol], rising."""
        return tuple(self.values["class_lines"])

    @property
    def celsius(self) -> float:
        """The usual temperature [°C]."""
        return float(self.values["temperature"])

    @property
    def humidity(self) -> float:
        """The usual relative humidity [%]."""
        return float(self.values["humidity"])

    @property
    def risk(self) -> float:
        """The chance of a limit passed unseen at which a reading is due [1]."""
        return float(self.values["risk"]) / 100

    @property
    def walk_every_days(self) -> float:
        """Days from one walk to the next."""
        return float(self.values["walk_every"])

    @property
    def currency(self) -> str:
        """The code of the currency in which all sums are; empty where none is set."""
        return str(self.values["currency"])

    @property
    def spread_by_effect(self) -> bool:
        """True if a barrel's price is spread over its fills by the wood effect that each uses."""
        return bool(self.values["barrel_spread"] == "effect")

    @property
    def barrel_fills(self) -> int:
        """The fills that a barrel is bought for."""
        return int(self.values["barrel_fills"])

    @property
    def work_minutes(self) -> float:
        """Minutes of work at a barrel on a day on which something is written about it; 0 is not counted."""
        return float(self.values["work_minutes"])

    @property
    def written_off(self) -> frozenset[str]:
        """The outside places of losses whose cost is written off."""
        return frozenset(self.values["written_off"])


USUAL = Facts({fact.key: fact.default for fact in FACTS.values()})
"""The defaults."""


def fact_named(key: str) -> Fact:
    """Find a fact by its key, typed with either hyphen or underscore; raises UnknownFact."""
    try:
        return FACTS[key.strip().lower().replace("-", "_")]
    except KeyError:
        raise UnknownFact(key) from None


def read_fact(fact: Fact, text: str, units: Units = DEFAULT) -> Any:  # noqa: ANN401 - as many types as facts
    """Return what was typed for a fact; raises NotAFact, NotPossible, NotAQuantity."""
    if fact.choices:
        return _chosen(fact, text)
    if fact.many:
        parts = [part.strip() for part in re.split(r";|,\s", text) if part.strip()]
        if not parts:
            raise NotAFact(f"{fact.label}: give at least one, such as {show_fact(fact, fact.default, units)}")
        return tuple(sorted({_figure(fact, part, units) for part in parts}))
    if isinstance(fact.holds, Quantity):
        return _figure(fact, text, units)
    line = " ".join(text.split())
    if not 0 < len(line) <= _LONGEST:
        raise NotAFact(f"{fact.label} needs 1 to {_LONGEST} letters")
    return line


def _chosen(fact: Fact, text: str) -> Any:  # noqa: ANN401 - one word, or several
    if not fact.many:
        return _choice(fact, text)
    if text.strip().casefold() == NONE:
        return ()
    words = {_choice(fact, part) for part in re.split(r"[;,]", text) if part.strip()}
    return tuple(choice for choice in fact.choices if choice in words)


def _choice(fact: Fact, text: str) -> str:
    typed = " ".join(text.split())
    found = next((choice for choice in fact.choices if choice.casefold() == typed.casefold()), None)
    if found is None:
        raise NotAFact(f"{fact.label}: '{typed[:_LONGEST]}' is not known{choose_from(typed, fact.choices)}")
    return found


def _figure(fact: Fact, text: str, units: Units) -> float:
    quantity = Quantity(fact.holds)
    value = read(quantity, text, units)
    if not fact.possible[0] <= value <= fact.possible[1]:
        raise NotPossible(fact.label, *(show(quantity, each, units) for each in (value, *fact.possible)))
    return value if quantity is Quantity.COUNT else float(value)


def show_fact(fact: Fact, value: Any, units: Units = DEFAULT) -> str:  # noqa: ANN401 - as many types as facts
    """Return a fact as a person reads and types it."""
    if fact.choices:
        return _words_of(fact, value)
    if fact.many:
        last = len(value) - 1  # the unit stands once, after all of them
        shown = (show(Quantity(fact.holds), each, units, with_unit=nth == last) for nth, each in enumerate(value))
        return "; ".join(shown)
    if fact.holds is Quantity.DAYS:
        return show_short(fact.holds, value, units)  # 3.5 days: twice a week
    return show(fact.holds, value, units) if isinstance(fact.holds, Quantity) else str(value)


def write_fact(fact: Fact, value: Any) -> str:  # noqa: ANN401 - as many types as facts
    """Return a fact with every digit, as the book and the export keep it; `read_fact` reads it back."""
    if fact.choices:
        return _words_of(fact, value)
    if fact.many:
        return "; ".join(_every_digit(each) for each in value)
    return _every_digit(value) if isinstance(fact.holds, Quantity) else str(value)


def _words_of(fact: Fact, value: Any) -> str:  # noqa: ANN401 - as many types as facts
    return ("; ".join(value) or NONE) if fact.many else str(value)


def _every_digit(value: float) -> str:
    written = repr(value if isinstance(value, int) else float(value))
    return f"{Decimal(written):f}" if "e" in written else written


def facts_of(connection: Connection) -> Facts:
    """Return the facts of the cellar."""
    rows = connection.execute(select(CELLAR.c.key, CELLAR.c.value))
    given = {key: read_fact(FACTS[key], value) for key, value in rows if key in FACTS}
    return Facts({**USUAL.values, **given}, frozenset(given))


def set_fact(connection: Connection, fact: Fact, value: Any | None) -> None:  # noqa: ANN401 - as many types as facts
    """Give a fact, or with None let it stand at its default again.

    Raises NotAFact, NotPossible, NotAQuantity, BadInput for a text that cannot be kept.
    """
    row = None if value is None else {"key": fact.key, "value": _checked(fact, value)}
    connection.execute(delete(CELLAR).where(CELLAR.c.key == fact.key))
    if row is not None:
        connection.execute(insert(CELLAR), row)


def _checked(fact: Fact, value: Any) -> str:  # noqa: ANN401 - as many types as facts
    """Return a fact as the book keeps it, once it is seen that it can be read back from there."""
    kept = write_fact(fact, read_fact(fact, write_fact(fact, value)))
    return check_text(kept, fact.label, LONGEST_NOTE)

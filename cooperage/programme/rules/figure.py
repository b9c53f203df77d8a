"""One figure of a rule: its value, what it holds for, its source, its date, and how well it is known."""

import re
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum

from cooperage.errors import Refused
from cooperage.programme.rules.span import RuleSpan, parse_span
from cooperage.units import DEFAULT, Units

CHECK = "check with your authority"
UNKNOWN = "not known: enter it"


def with_decimal(value: str, units: Units) -> str:
    """Return a value as its source has it with the person's decimal mark: "<= 0,5"."""
    return re.sub(r"(?<=\d)\.(?=\d)", units.decimal, value)


class RuleMark(StrEnum):
    """How a figure came here; a value that is only remembered, or was not found, is not given."""

    SEEN = "seen"
    SECOND_HAND = "second hand"
    MEMORY = "memory"
    NOT_FOUND = "not found"
    OWN = "own"


class RuleUnknown(Refused):
    """A figure is needed that was never entered."""

    def __init__(self, figure: "RuleFigure") -> None:
        self.figure = figure
        super().__init__(
            f"{figure.name} of the {figure.profile} rules is not known; ask your authority and enter it: "
            f"`cooperage rules set {figure.name} VALUE --profile {figure.profile} --source '...'`"
        )


@dataclass(frozen=True, slots=True)
class RuleFigure:
    """One figure. `span` is from where to where it holds, of strength [% vol], size [mL] or lot [bottles].

    `kind` is the product, or the kind of still or sparkling, that it is for; empty for all. `value` is as its source
    has it: a number, a limit ("<= 350"), or numbers between strokes ("30/1/3", by the words of `unit`); None where it
    is not known. `since` and `until` are the days between which it holds, where they are known.
    """

    profile: str
    name: str
    kind: str
    span: RuleSpan
    of: str
    value: str | None
    unit: str
    since: date | None
    until: date | None
    source: str
    as_of: str
    mark: RuleMark
    note: str = ""
    hand: str = ""
    written_at: datetime | None = None

    @property
    def rule(self) -> str:
        """The rule it is a figure of: "fill-each" of "fill-each.750ml"."""
        return self.name.partition(".")[0]

    @property
    def is_known(self) -> bool:
        """True if it has a value."""
        return self.value is not None

    @property
    def number(self) -> Decimal:
        """Its value as a number, that of a limit without its sign; raises RuleUnknown."""
        text = self.text
        return self.limit.bound if text[0] in "<>=" else Decimal(text)

    @property
    def limit(self) -> RuleSpan:
        """Its value as a limit: what lies in it is as the rule has it. Raises RuleUnknown."""
        return parse_span(self.text)

    @property
    def numbers(self) -> tuple[Decimal | None, ...]:
        """Its value as several numbers; None where that is "all". Raises RuleUnknown."""
        return tuple(None if part == "all" else Decimal(part) for part in self.text.split("/"))

    @property
    def text(self) -> str:
        """Its value as its source has it; raises RuleUnknown."""
        if self.value is None:
            raise RuleUnknown(self)
        return self.value

    def words(self, units: Units = DEFAULT) -> str:
        """Return its value with its unit and the person's decimal mark, or that it is not known."""
        return UNKNOWN if self.value is None else f"{with_decimal(self.value, units)} {self.unit}".strip()

    @property
    def citation(self) -> str:
        """Where it is from and of when, and what to do with it."""
        dated = f", as of {self.as_of}" if self.as_of else ", undated"
        known = "" if self.mark is RuleMark.SEEN else f", {self.mark.value}"
        return f"{self.source}{dated}{known}; {CHECK}"

"""Classes of strength: where one ends and the next begins, and by which rules.

A class is kept by its bounds ("<=14", ">14 <=16"), so that what was filed can be read whatever the rules became.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import Connection

from cooperage.book.facts import FACTS, facts_of
from cooperage.programme.rules.kept import own_rules, profile_in_use
from cooperage.programme.rules.profile import Profile, profile_of
from cooperage.programme.rules.strength import STILL, tax_lines
from cooperage.units import DEFAULT, Quantity, Units, show_short

NOT_KNOWN = "?"
"""The class of mead whose strength is neither measured nor calculated."""


@dataclass(frozen=True, slots=True)
class StrengthClasses:
    """Strengths at which a class ends [% vol], rising, and the name of the rules they are from.

    Of each line: whether a strength on it belongs to the class that ends there, as in "up to 16 %"; else it belongs to
    the next, as in "below 8.5 %".
    """

    rules: str
    lines: tuple[tuple[float, bool], ...]

    def of(self, abv: float | None) -> str:
        """Return the class of a strength [% vol]."""
        if abv is None:
            return NOT_KNOWN
        exact = round(abv, 9)  # as it is written: 13.5 less 12.0 is 1.5
        ends = (place for place, (line, holds) in enumerate(self.lines) if exact < line or (holds and exact == line))
        return self._named(next(ends, len(self.lines)))

    @property
    def names(self) -> tuple[str, ...]:
        """Every class, the weakest first."""
        return tuple(self._named(place) for place in range(len(self.lines) + 1))

    def _named(self, place: int) -> str:
        bounds = []
        if place:
            line, holds = self.lines[place - 1]
            bounds.append(f"{'>' if holds else '>='}{line:g}")
        if place < len(self.lines):
            line, holds = self.lines[place]
            bounds.append(f"{'<=' if holds else '<'}{line:g}")
        return " ".join(bounds) or "all"

    def as_kept(self) -> dict[str, Any]:
        """Return them as a filed period keeps them."""
        return {"rules": self.rules, "lines": [list(each) for each in self.lines]}

    @classmethod
    def from_kept(cls, kept: Mapping[str, Any]) -> "StrengthClasses":
        """Read what `as_kept` wrote; raises KeyError, TypeError, ValueError."""
        return cls(str(kept["rules"]), tuple((float(line), bool(holds)) for line, holds in kept["lines"]))


def classes_on(connection: Connection, day: date) -> StrengthClasses:
    """Return the classes that hold in the cellar on a day.

    They are the cellar's own class lines where it has given any, else the tax classes of the rules it has chosen, else
    the class lines that every cellar begins with.
    """
    facts = facts_of(connection)
    chosen = profile_in_use(own_rules(connection), day)[1]
    if "class_lines" in facts.given or chosen is None:
        own = "class_lines" in facts.given
        rules = "the cellar's own class lines" if own else f"class lines of {FACTS['class_lines'].reference}"
        return StrengthClasses(rules, tuple((line, True) for line in facts.class_lines))
    return _of_profile(profile_of(connection, day))


def _of_profile(profile: Profile) -> StrengthClasses:
    """Return the tax classes of still mead; a strength on a line is of the class that ends there with "<="."""
    ends = {part for each in profile.of_rule("tax-class", STILL) for part in each.span.parts}
    lines = tuple((float(line), ("<=", line) in ends or (">", line) in ends) for line in tax_lines(profile))
    return StrengthClasses(f"tax classes of {profile.name} on {profile.day.isoformat()}", lines)


_WORDS = {"<=": "to {}", "<": "under {}", ">": "over {}", ">=": "{} and over"}


def class_words(name: str, units: Units = DEFAULT) -> str:
    """Return a class as it is read: "over 14 to 16 %"; "not known"."""
    if name == NOT_KNOWN:
        return "not known"
    parts = []
    for bound in name.split():
        sign = bound.rstrip("0123456789.e+-")
        if sign not in _WORDS:
            return name
        number = show_short(Quantity.STRENGTH, float(bound[len(sign) :]), units, with_unit=False)
        parts.append(_WORDS[sign].format(number))
    return " ".join(parts).replace(" and over under ", " to under ") + " %"


def by_strength(names: set[str]) -> list[str]:
    """Sort classes, the weakest first; what is not known is last."""
    return sorted(names, key=_strength)


def _strength(name: str) -> tuple[float, float]:
    if name == NOT_KNOWN:
        return float("inf"), 0.0
    numbers = [float(bound.lstrip("<>=")) for bound in name.split() if bound[:1] in "<>"]
    if not numbers:
        return 0.0, 0.0
    return (numbers[0], 1.0) if name.startswith(">") else (0.0, numbers[0])

"""Classes of strength: where one ends and the next begins, and by which rules.

A class is kept by its bounds ("<=14", ">14 <=16"), so that what was filed can be read whatever the rules became.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from cooperage.book.facts import FACTS, Facts
from cooperage.units import DEFAULT, Quantity, Units, show_short

NOT_KNOWN = "?"
"""The class of mead whose strength is neither measured nor calculated."""


@dataclass(frozen=True, slots=True)
class StrengthClasses:
    """Strengths at which a class ends [% vol], rising, and the name of the rules they are from.

    `included`: a strength on a line belongs to the class that ends there, as in "up to 16 %"; else to the next, as in
    "below 8.5 %".
    """

    rules: str
    lines: tuple[float, ...]
    included: bool = True

    def of(self, abv: float | None) -> str:
        """Return the class of a strength [% vol]."""
        if abv is None:
            return NOT_KNOWN
        place = (bisect_left if self.included else bisect_right)(self.lines, abv)
        return self._named(place)

    def _named(self, place: int) -> str:
        over, to = (">", "<=") if self.included else (">=", "<")
        bounds = [f"{over}{self.lines[place - 1]:g}"] if place else []
        bounds += [f"{to}{self.lines[place]:g}"] if place < len(self.lines) else []
        return " ".join(bounds) or "all"

    @property
    def all(self) -> tuple[str, ...]:
        """Every class, the weakest first; what is not known is last."""
        return (*(self._named(place) for place in range(len(self.lines) + 1)), NOT_KNOWN)

    def as_kept(self) -> dict[str, Any]:
        """Return them as a filed period keeps them."""
        return {"rules": self.rules, "lines": list(self.lines), "included": self.included}

    @classmethod
    def from_kept(cls, kept: Mapping[str, Any]) -> "StrengthClasses":
        """Read what `as_kept` wrote; raises KeyError, TypeError, ValueError."""
        return cls(str(kept["rules"]), tuple(float(each) for each in kept["lines"]), bool(kept["included"]))


def classes_of(facts: Facts) -> StrengthClasses:
    """Return the classes of the cellar's own lines."""
    own = "class_lines" in facts.given
    rules = "the cellar's own class lines" if own else f"class lines of {FACTS['class_lines'].reference}"
    return StrengthClasses(rules, facts.class_lines)


_WORDS = {"<=": "to {}", "<": "under {}", ">": "over {}", ">=": "{} and over"}


def class_words(name: str, units: Units = DEFAULT) -> str:
    """Return a class in words: "over 14 to 16 % vol"; "not known"."""
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

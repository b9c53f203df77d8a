"""What some mead has cost, in whole cents by what they were for, and what of its cost is not known."""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field
from typing import TypeAlias, TypeVar

MEAD, TOPPING, DOSES, WOOD, PACKAGING, WORK = "mead", "topping", "doses", "wood", "packaging", "work"
FOR = (MEAD, TOPPING, DOSES, WOOD, PACKAGING, WORK)
"""What a cost was for, in the order in which it is shown."""

CostPart: TypeAlias = tuple[str, str]
"""What a cost was for, and of which lot (its id), substance or thing."""
Gap: TypeAlias = tuple[str, str]
"""What is not known: the cost of a "lot" or "barrel" (by id), the "price" of a thing, the origin of a "found" litre."""

Key = TypeVar("Key", bound=Hashable)


def allot(total: int, weights: Mapping[Key, int]) -> dict[Key, int]:
    """Divide whole cents in proportion to weights, by largest remainders: the parts sum to the total.

    Of equal remainders the earlier one goes first. No part is above its weight where the total is not above their sum.
    """
    whole = sum(weights.values())
    if not whole:
        return {}
    parts = {key: divmod(total * weight, whole) for key, weight in weights.items()}
    left = total - sum(cents for cents, _ in parts.values())
    largest = set(sorted(parts, key=lambda key: -parts[key][1])[:left])
    return {key: cents + (key in largest) for key, (cents, _) in parts.items()}


def share_of(cents: int, part: int, whole: int) -> int:
    """Return the share of some cents that a part of a whole bears, half a cent up."""
    return (2 * cents * part + whole) // (2 * whole)


@dataclass(slots=True)
class MeadCost:
    """What some mead has cost: cents by part, and of what is not known the millilitres it concerns.

    `origins` are the millilitres by lot id or substance. Cents are whole and never below zero, so what is divided and
    joined again is what it was; millilitres of gaps and origins are floats that only words are made of.
    """

    parts: dict[CostPart, int] = field(default_factory=dict)
    gaps: dict[Gap, float] = field(default_factory=dict)
    origins: dict[str, float] = field(default_factory=dict)

    @property
    def cents(self) -> int:
        """All that is known of what it has cost."""
        return sum(self.parts.values())

    @property
    def is_known(self) -> bool:
        """True if nothing of its cost is missing."""
        return not self.gaps

    def bear(self, part: CostPart, cents: int) -> None:
        """Add a cost."""
        if cents:
            self.parts[part] = self.parts.get(part, 0) + cents

    def miss(self, gap: Gap, ml: float) -> None:
        """Note that a cost of so many millilitres of it is not known."""
        self.gaps[gap] = max(self.gaps.get(gap, 0.0), ml)

    def take(self, part: int, whole: int) -> "MeadCost":
        """Part the share of `part` of `whole` millilitres (or bottles) from it; the last takes all of it along."""
        if part >= whole:
            taken = MeadCost(self.parts, self.gaps, self.origins)
            self.parts, self.gaps, self.origins = {}, {}, {}
            return taken
        taken_parts = allot(share_of(self.cents, part, whole), self.parts)
        self.parts = {key: left for key, cents in self.parts.items() if (left := cents - taken_parts[key])}
        share = part / whole
        taken = MeadCost(
            {key: cents for key, cents in taken_parts.items() if cents},
            {gap: ml * share for gap, ml in self.gaps.items()},
            {origin: ml * share for origin, ml in self.origins.items()},
        )
        self.scale(1.0 - share)
        return taken

    def scale(self, factor: float) -> None:
        """Let its litres shrink or grow while its cost stays."""
        self.gaps = {gap: ml * factor for gap, ml in self.gaps.items()}
        self.origins = {origin: ml * factor for origin, ml in self.origins.items()}

    def join(self, other: "MeadCost") -> None:
        """Add what other mead has cost."""
        for part, cents in other.parts.items():
            self.parts[part] = self.parts.get(part, 0) + cents
        for gap, ml in other.gaps.items():
            self.gaps[gap] = self.gaps.get(gap, 0.0) + ml
        for origin, ml in other.origins.items():
            self.origins[origin] = self.origins.get(origin, 0.0) + ml

    def as_topping(self) -> "MeadCost":
        """Return it as what mead cost that tops another's; doses and work in it go along with it."""
        parts: dict[CostPart, int] = {}
        for (kind, name), cents in self.parts.items():
            part = (TOPPING if kind == MEAD else kind, name)
            parts[part] = parts.get(part, 0) + cents
        return MeadCost(parts, self.gaps, self.origins)

    def by_lot(self) -> dict[str, int]:
        """Divide its cents by origin: the mead's own cost to its lot, everything else by the millilitres of each."""
        shared = sum(cents for (kind, _), cents in self.parts.items() if kind not in (MEAD, TOPPING))
        found = allot(shared, {origin: max(1, round(ml)) for origin, ml in sorted(self.origins.items())})
        for (kind, name), cents in self.parts.items():
            if kind in (MEAD, TOPPING):
                found[name] = found.get(name, 0) + cents
        return found

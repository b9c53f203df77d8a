"""What bottles have cost, where they are: each bottling's cost goes with its whole bottles from place to place."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from cooperage.book.bottles import BottleMove, BottlePlace
from cooperage.programme.money.worth import PACKAGING, MeadCost

OUT = (BottlePlace.SOLD.value, BottlePlace.TASTED.value, BottlePlace.GIVEN.value)
"""Places whose bottles have left the cellar as they are meant to."""
LOST = (BottlePlace.BROKEN.value, BottlePlace.POURED_BACK.value, BottlePlace.COUNT.value)
"""Places whose bottles are lost; of those poured back, only what was around the mead is."""


@dataclass(slots=True)
class BottledWorth:
    """One bottling: its code, when, millilitres, whole bottles of one size, and what they had cost when filled.

    `places` has the bottles, and what they cost, by where they are.
    """

    id: str
    code: str
    at: float
    ml: int
    bottles: int
    bottle_ml: int
    filled: MeadCost
    places: dict[str, tuple[int, MeadCost]] = field(default_factory=dict)

    def move(self, moved: BottleMove) -> MeadCost:
        """Let bottles go from place to place; return what those poured back bring into a vessel again.

        What a count finds more of costs nothing: the others cost so much less each.
        """
        there, worth = self.places.get(moved.source, (0, MeadCost()))
        taken = worth.take(moved.bottles, there) if there else MeadCost()
        self.places[moved.source] = max(0, there - moved.bottles), worth
        poured = MeadCost()
        if moved.destination == BottlePlace.POURED_BACK:
            poured, taken = _opened(taken)
        already, more = self.places.get(moved.destination, (0, MeadCost()))
        more.join(taken)
        self.places[moved.destination] = already + moved.bottles, more
        return poured

    @property
    def in_stock(self) -> tuple[int, MeadCost]:
        """The bottles that are still the cellar's, and what they cost."""
        return self._in(each for each in self.places if each not in (*OUT, *LOST, BottlePlace.FILLED))

    @property
    def per_bottle(self) -> float | None:
        """What one bottle had cost when it was filled [cents]; None where that is not known."""
        return self.filled.cents / self.bottles if self.filled.is_known else None

    def _in(self, names: Iterable[str]) -> tuple[int, MeadCost]:
        bottles, summed = 0, MeadCost()
        for name in names:
            count, worth = self.places[name]
            bottles += count
            summed.join(worth)
        return bottles, summed


def _opened(worth: MeadCost) -> tuple[MeadCost, MeadCost]:
    """Return what the mead of opened bottles had cost, and what was around it."""
    around = {part: cents for part, cents in worth.parts.items() if part[0] == PACKAGING}
    inside = {part: cents for part, cents in worth.parts.items() if part[0] != PACKAGING}
    return MeadCost(inside, worth.gaps, worth.origins), MeadCost(around)

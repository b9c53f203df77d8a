"""Which vessel gives what to a run: drawn from in the order they are named, to the millilitre. Pure.

A bottle comes whole out of one vessel. What is left in a vessel and is no bottle any more goes to what was lost, then
to what was sampled; what is still left then stays in it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from cooperage.programme.bottling.errors import NotInWholeBottles, RunTakesMore


@dataclass(slots=True)
class RunDraw:
    """What one vessel gives: bottles by size [ml], what was lost and sampled of it, what is left [ml]."""

    tag: str
    there_ml: int
    bottles: dict[int, int] = field(default_factory=dict)
    lost_ml: int = 0
    sample_ml: int = 0

    @property
    def left_ml(self) -> int:
        """What is left in it [ml]."""
        filled = sum(size * count for size, count in self.bottles.items())
        return self.there_ml - filled - self.lost_ml - self.sample_ml

    @property
    def is_drawn_on(self) -> bool:
        """True where anything comes out of it."""
        return self.left_ml < self.there_ml


def draws(there: Sequence[tuple[str, int]], filled: Mapping[int, int], lost_ml: int, sample_ml: int) -> list[RunDraw]:
    """Share out what was filled (bottles by size), lost and sampled [ml] over vessels with what they hold [ml].

    Raises RunTakesMore, NotInWholeBottles.
    """
    tags = ", ".join(tag for tag, _ in there)
    asked = sum(size * count for size, count in filled.items()) + lost_ml + sample_ml
    held = sum(ml for _, ml in there)
    if asked > held:
        raise RunTakesMore(tags, asked=asked, there=held)
    wanted, found = dict(filled), []
    for tag, ml in there:
        draw = RunDraw(tag, ml)
        for size in sorted(wanted, reverse=True):
            count = min(wanted[size], draw.left_ml // size)
            if count:
                draw.bottles[size] = count
                wanted[size] -= count
        draw.lost_ml = min(lost_ml, draw.left_ml)
        draw.sample_ml = min(sample_ml, draw.left_ml)
        lost_ml, sample_ml = lost_ml - draw.lost_ml, sample_ml - draw.sample_ml
        found.append(draw)
    for size, count in wanted.items():
        if count:
            raise NotInWholeBottles(tags, count, bottle=size, left=sum(draw.left_ml for draw in found))
    return found

"""Which barrel gets which treatment, drawn at random within blocks, and how sharply such a layout compares.

A block is a set of barrels that are alike before the trial begins: of one row, one past life, one age. Within a block
treatments are compared with each other, so what sets blocks apart is no error. A block that has not one barrel for
every treatment is incomplete, and its comparisons cost some sharpness. Sources: R. A. Fisher (1935), ch. 4, on
randomized blocks; the intrablock analysis of incomplete blocks: Yates (1936), Annals of Eugenics 7, 121-140; John and
Williams, Cyclic and Computer Generated Designs (1995), ch. 1, for the average efficiency factor.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from functools import cached_property
from random import Random
from typing import TYPE_CHECKING

from cooperage.errors import BadInput
from cooperage.units import counted

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_DRAWS = 64
"""Ways to fill short blocks that are drawn; of these the one that compares most sharply is taken."""
_SAME = 1e-9


class TooFewTrialBarrels(BadInput):
    """A trial in which no two barrels are left to show how much barrels treated alike differ."""

    def __init__(self, barrels: int, treatments: int, blocks: int = 1) -> None:
        self.barrels, self.treatments, self.blocks = barrels, treatments, blocks
        within = f" in {blocks} blocks" if blocks > 1 else ""
        super().__init__(
            f"{counted(barrels, 'barrel')} for {treatments} treatments{within} leave nothing to show how much barrels "
            f"treated alike differ; give more barrels{' or fewer blocks' if blocks > 1 else ''}"
        )


class TreatmentsApart(BadInput):
    """Treatments that no block has together, so that nothing compares them but the blocks themselves."""

    def __init__(self) -> None:
        super().__init__(
            "some treatments share no block with the others, so what differs may be the blocks; use fewer blocks"
        )


@dataclass(frozen=True)
class BarrelLayout:
    """The treatment and the block of each barrel, both numbered from 0; how many treatments there are."""

    treatment: tuple[int, ...]
    block: tuple[int, ...]
    treatments: int

    @property
    def barrels(self) -> int:
        """How many barrels there are."""
        return len(self.treatment)

    @property
    def blocks(self) -> int:
        """How many blocks there are."""
        return len(set(self.block))

    @property
    def given(self) -> tuple[int, ...]:
        """How many barrels each treatment has."""
        return tuple(self.treatment.count(each) for each in range(self.treatments))

    @property
    def short_blocks(self) -> int:
        """How many blocks have not every treatment equally often."""
        sizes = (self.block.count(each) for each in set(self.block))
        return sum(size % self.treatments > 0 for size in sizes)

    @cached_property
    def _information(self) -> NDArray[np.float64]:
        """What the blocks show of the treatments: (treatments, treatments), for each unit of a barrel's precision."""
        import numpy as np

        counts = np.zeros((self.treatments, max(self.block) + 1))
        np.add.at(counts, (np.array(self.treatment), np.array(self.block)), 1)
        counts = counts[:, counts.sum(axis=0) > 0]
        information: NDArray[np.float64] = np.diag(counts.sum(axis=1)) - counts @ (counts / counts.sum(axis=0)).T
        return information

    @property
    def is_connected(self) -> bool:
        """Return True if every treatment is compared with every other within blocks, directly or through others."""
        import numpy as np

        return int(np.linalg.matrix_rank(self._information, tol=_SAME)) == self.treatments - 1

    @property
    def degrees(self) -> int:
        """Barrels beyond what treatments and blocks use up: the degrees of freedom of the error."""
        return self.barrels - (self.treatments - 1) - self.blocks

    @cached_property
    def pair_variances(self) -> NDArray[np.float64]:
        """Variance of each difference of two treatments, for each unit of variance of a barrel's mean.

        Of shape (treatments, treatments). Raises TreatmentsApart.
        """
        import numpy as np

        if not self.is_connected:
            raise TreatmentsApart
        spread = np.linalg.pinv(self._information, rcond=_SAME)
        own = np.diag(spread)
        variances: NDArray[np.float64] = own[:, None] + own - 2 * spread
        return variances

    @property
    def pair_variance(self) -> float:
        """The mean of `pair_variances` over all pairs."""
        return float(self.pair_variances.sum()) / (self.treatments * (self.treatments - 1))

    @property
    def widest_pair_variance(self) -> float:
        """The largest of `pair_variances`: of the pair that is known least."""
        return float(self.pair_variances.max())

    @property
    def efficiency(self) -> float:
        """How much of the sharpness of complete blocks is kept, 1 for all of it: the average efficiency factor."""
        each = self.barrels / self.treatments
        return min(1.0, 2 / each / self.pair_variance)

    def check(self) -> BarrelLayout:
        """Return the layout if its treatments can be compared; raises TooFewTrialBarrels, TreatmentsApart."""
        if self.treatments < 2 or self.degrees < 1 or 0 in self.given:
            raise TooFewTrialBarrels(self.barrels, self.treatments, self.blocks)
        if not self.is_connected:
            raise TreatmentsApart
        return self


def numbered(names: Sequence[Hashable]) -> tuple[int, ...]:
    """Number names from 0 in the order in which they are first named."""
    place = {name: at for at, name in enumerate(dict.fromkeys(names))}
    return tuple(place[name] for name in names)


def assign(block: Sequence[Hashable], treatments: int, seed: int) -> BarrelLayout:
    """Draw a treatment for each barrel at random within its block; `block` names the block of each barrel.

    A block gets every treatment as often as its size allows. What is left over of short blocks goes to treatments that
    have the fewest barrels; of several ways, drawn at random, the one that compares most sharply is taken. The same
    seed draws the same. Raises TooFewTrialBarrels, TreatmentsApart.

    >>> assign(["row A"] * 4 + ["row B"] * 4, 2, seed=1).given
    (4, 4)
    """
    rng, places = Random(seed), numbered(block)
    if not places or treatments < 2:
        raise TooFewTrialBarrels(len(places), treatments)
    is_even = all(places.count(each) % treatments == 0 for each in set(places))
    drawn = [_drawn(places, treatments, rng) for _ in range(1 if is_even else _DRAWS)]
    return max(drawn, key=_sharpness).check()


def _drawn(places: tuple[int, ...], treatments: int, rng: Random) -> BarrelLayout:
    """Draw one layout: short blocks in random order, so that none always comes first."""
    barrels: dict[int, list[int]] = defaultdict(list)
    for barrel, place in enumerate(places):
        barrels[place].append(barrel)
    given, used = [0] * len(places), [0] * treatments
    for place in _shuffled(list(barrels), rng):
        own = _shuffled(barrels[place], rng)
        whole, rest = divmod(len(own), treatments)
        fewest = sorted(_shuffled(list(range(treatments)), rng), key=lambda each: used[each])[:rest]
        for barrel, treatment in zip(own, [*list(range(treatments)) * whole, *fewest], strict=True):
            given[barrel] = treatment
            used[treatment] += 1
    return BarrelLayout(tuple(given), places, treatments)


def _shuffled(items: list[int], rng: Random) -> list[int]:
    """Put items in random order; by sorting, whose result no version of Python changes for a given seed."""
    keys = [rng.random() for _ in items]
    return [item for _, item in sorted(zip(keys, items, strict=True))]


def _sharpness(layout: BarrelLayout) -> tuple[bool, float]:
    known = layout.is_connected and 0 not in layout.given
    return known, -layout.pair_variance if known else 0.0

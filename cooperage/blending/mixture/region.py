"""The region of mixtures that a trial may try: bounds on each component's share, and linear limits on several."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from cooperage.blending.mixture.designs import LinearRange, NoSuchDesign, extreme_vertices, inside, simplex_lattice
from cooperage.blending.stocks.pool import Flags, Floats

_STEPS = {1: 1, 2: 200, 3: 50, 4: 20, 5: 12, 6: 9, 7: 7, 8: 6}
"""Steps of a share on the grid, by the number of components: some 1,500 points each."""
_FEWEST_STEPS = 4
MOST_COMPONENTS = 12
"""Corners of a region double with each component; no panel tastes what so many need."""


@dataclass(frozen=True)
class Region:
    """Mixtures whose shares lie between `lower` and `upper` [shape (q,)], and in each of the linear ranges.

    >>> from cooperage.blending import Region
    >>> Region.whole(2).vertices().tolist()
    [[0.0, 1.0], [1.0, 0.0]]
    """

    lower: Floats
    upper: Floats
    linear: tuple[LinearRange, ...] = ()

    @classmethod
    def of(cls, lower: ArrayLike, upper: ArrayLike, linear: Sequence[LinearRange] = ()) -> "Region":
        """Return the region between bounds; raises NoSuchDesign where no mixture lies in it."""
        region = cls(np.asarray(lower, dtype=np.float64), np.asarray(upper, dtype=np.float64), tuple(linear))
        if region.components > MOST_COMPONENTS:
            raise NoSuchDesign(f"a trial takes {MOST_COMPONENTS} components at most, not {region.components}")
        region.vertices()
        return region

    @classmethod
    def whole(cls, q: int) -> "Region":
        """Return the region of all mixtures of q components."""
        return cls(np.zeros(q), np.ones(q))

    @property
    def components(self) -> int:
        """How many components a mixture has."""
        return len(self.lower)

    def vertices(self) -> Floats:
        """Return the corners, shape (points, q); raises NoSuchDesign where there are none."""
        return extreme_vertices(self.lower, self.upper, self.linear)

    def holds(self, points: ArrayLike) -> Flags:
        """Return which points, shape (n, q), lie in the region."""
        x = np.atleast_2d(np.asarray(points, dtype=np.float64))
        flags: Flags = inside(x, self.lower, self.upper, self.linear) & (np.abs(x.sum(axis=1) - 1) < 1e-6)
        return flags

    def grid(self) -> Floats:
        """Return points all over the region, shape (n, q): a lattice of what is free, the corners, and their means."""
        corners = self.vertices()
        least, free = corners.min(axis=0), 1 - corners.min(axis=0).sum()
        steps = _STEPS.get(self.components, _FEWEST_STEPS)
        lattice = least + free * simplex_lattice(self.components, steps)
        centre = corners.mean(axis=0)
        rays = [centre + share * (corners - centre) for share in (0.25, 0.5, 0.75)]
        points = np.concatenate([lattice[self.holds(lattice)], corners, *rays, centre[None]])
        return np.unique(np.round(points, 12) + 0.0, axis=0)

    def tight(self, points: Floats) -> Flags:
        """Return which bounds and ends of ranges each point, shape (n, q), lies on: shape (n, limits)."""
        columns = [np.abs(points - self.lower) < _ON, np.abs(points - self.upper) < _ON]
        for row, *ends in self.linear:
            value = points @ np.asarray(row, dtype=np.float64)
            columns += [np.abs(value - end)[:, None] < _ON for end in ends if end is not None and math.isfinite(end)]
        return np.concatenate(columns, axis=1)


_ON = 1e-7

"""Lines of an analysis of variance: squares, degrees of freedom, and one held against another by F."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from cooperage.tasting.statistics.quantiles import f_tail
from cooperage.tasting.statistics.tables import Floats


@dataclass(frozen=True, slots=True)
class Source:
    """A line of an analysis of variance: its sum of squares, degrees of freedom, F and p; NaN where there is none."""

    squares: float
    degrees: int
    f: float = math.nan
    p: float = math.nan
    below: float = math.nan  # lower degrees of freedom of F

    @property
    def mean_square(self) -> float:
        """Sum of squares by degree of freedom; NaN without any."""
        return self.squares / self.degrees if self.degrees else math.nan


def left_over(response: Floats, design: Floats) -> Source:
    """Return the squares, and their degrees of freedom, that least squares leave over."""
    effects, _, rank, _ = np.linalg.lstsq(design, response, rcond=None)
    residual = response - design @ effects
    residual[np.abs(residual) < 1e-12 * np.abs(response).max(initial=0)] = 0  # rounding is not disagreement
    return Source(float(residual @ residual), len(response) - int(rank))


def dropped(more: Source, less: Source) -> Source:
    """Return what a larger model explains beyond a smaller one, given what each leaves over."""
    return Source(max(0.0, more.squares - less.squares), more.degrees - less.degrees)


def against(above: Source, below: Source) -> Source:
    """Return a line with its F and p against another; as it is where the other has nothing to judge by."""
    if not above.degrees or not below.degrees or below.squares <= 0:
        return above
    f = above.mean_square / below.mean_square
    return replace(above, f=f, p=f_tail(f, above.degrees, below.degrees), below=float(below.degrees))

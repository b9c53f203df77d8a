"""How each taster scored one flight: high or low, how widely, how steadily, and how much as the others did."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cooperage.tasting.panel import PanelSummary

Floats = NDArray[np.float64]

FEWEST = 3
"""Fewer glasses than this tasted by a taster and by others show no likeness."""


@dataclass(frozen=True, slots=True)
class TasterResult:
    """How one taster scored, in points of the flight's scale; NaN where it cannot be known.

    `bias` is how high above the panel, `spread` the standard deviation of the scores given, `steady` how far apart
    hidden duplicates were put, `likeness` the correlation with the mean of the others, glass by glass, from -1 to 1.
    """

    name: str
    glasses: int
    bias: float
    spread: float
    steady: float
    likeness: float


def tasters_of(names: Sequence[str], table: Floats, summary: PanelSummary) -> list[TasterResult]:
    """Return each taster of a table of shape (glasses, tasters), those most like the others first."""
    found = [
        TasterResult(
            name,
            int(np.isfinite(table[:, at]).sum()),
            float(summary.bias[at]),
            _spread(table[:, at]),
            float(summary.consistency[at]),
            likeness(table, at),
        )
        for at, name in enumerate(names)
    ]
    return sorted(found, key=lambda each: (math.isnan(each.likeness), -each.likeness, each.name))


def _spread(scores: Floats) -> float:
    given = scores[np.isfinite(scores)]
    return float(given.std(ddof=1)) if len(given) > 1 else math.nan


def likeness(table: Floats, at: int) -> float:
    """Return Pearson's correlation of a taster with the mean of the others over the glasses that both tasted.

    NaN with fewer than `FEWEST` such glasses, or where either scored them all alike.
    """
    own, others = table[:, at], np.delete(table, at, axis=1)
    tasted = np.isfinite(others).sum(axis=1)
    both = np.isfinite(own) & (tasted > 0)
    if both.sum() < FEWEST:
        return math.nan
    mean = np.nansum(others[both], axis=1) / tasted[both]
    if np.ptp(own[both]) == 0 or np.ptp(mean) == 0:
        return math.nan
    return float(np.corrcoef(own[both], mean)[0, 1])

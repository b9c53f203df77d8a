"""How each taster scored one flight: high or low, how widely, how steadily, and how much as the others did."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cooperage.tasting.panel import PanelSummary
from cooperage.tasting.statistics.performance import agreement_with_others
from cooperage.tasting.statistics.tables import Floats


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
            agreement_with_others(table, at),
        )
        for at, name in enumerate(names)
    ]
    return sorted(found, key=lambda each: (math.isnan(each.likeness), -each.likeness, each.name))


def _spread(scores: Floats) -> float:
    given = scores[np.isfinite(scores)]
    return float(given.std(ddof=1)) if len(given) > 1 else math.nan

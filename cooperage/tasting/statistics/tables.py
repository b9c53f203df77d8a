"""Tables of scores as the statistics take them: a row a glass, a column a taster, points of one scale."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cooperage.errors import BadInput
from cooperage.units import counted

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


class NotAScoreTable(BadInput):
    """Scores that are not a table of numbers with two glasses and two tasters at least."""

    def __init__(self, shape: tuple[int, ...]) -> None:
        self.shape = shape
        super().__init__(
            f"scores of shape {shape} cannot be compared; give a row a glass, a column a taster, two of each"
        )


class NotEveryGlassTasted(BadInput):
    """Some taster left a glass out, and the figure asked for needs them all."""

    def __init__(self, missing: int) -> None:
        self.missing = missing
        super().__init__(
            f"{counted(missing, 'score is', 'scores are')} missing; leave out the glasses or tasters with gaps"
        )


class NothingToCompare(BadInput):
    """No taster found any difference between glasses."""

    def __init__(self) -> None:
        super().__init__("every taster scored every glass alike; there is nothing to compare")


def score_table(scores: ArrayLike, *, partial: bool = False) -> Floats:
    """Return scores as floats of shape (glasses, tasters), or raise with what is wrong with them.

    Two of each and no gaps, unless `partial`: then one of each will do, and NaN marks a glass not tasted.
    """
    try:
        table = np.asarray(scores, dtype=np.float64)
    except (TypeError, ValueError):
        raise NotAScoreTable(np.shape(np.asarray(scores, dtype=object))) from None
    if table.ndim != 2 or min(table.shape) < (1 if partial else 2) or np.isinf(table).any():
        raise NotAScoreTable(table.shape)
    missing = int(np.isnan(table).sum())
    if missing and not partial:
        raise NotEveryGlassTasted(missing)
    return table

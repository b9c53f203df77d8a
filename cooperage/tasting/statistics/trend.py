"""Do scores rise from glass to glass as was expected beforehand (more oak, more months)? Page's test for a trend.

It asks a narrower question than Friedman's, so a small panel answers it sooner. The order must have been written down
before the flight was tasted. The probability is counted, ties and all, for up to eight glasses.

Source: Page (1963), J. Am. Stat. Assoc. 58, 216-230.
"""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import permutations

import numpy as np
from numpy.typing import ArrayLike

from cooperage.tasting.statistics.agreement import doubled_ranks
from cooperage.tasting.statistics.tables import Floats, NothingToCompare, score_table

MOST_COUNTED = 8
"""With more glasses than this the tail is that of a normal distribution."""


def page_trend(scores: ArrayLike) -> tuple[float, float]:
    """Return Page's L and the chance of as large a one, for scores of shape (glasses, tasters), no gaps.

    Glasses stand in the order in which scores were expected to rise. L is the sum over glasses of place x rank sum.

    >>> from cooperage.tasting import page_trend
    >>> trend, p = page_trend([[3, 2, 4], [5, 6, 5], [9, 8, 7]])
    >>> trend, round(1 / p)  # all three in order: one chance in 6 x 6 x 6
    (42.0, 216)
    """
    ranks = doubled_ranks(score_table(scores))
    if not ranks.any():
        raise NothingToCompare
    glasses, tasters = ranks.shape
    place = np.arange(1, glasses + 1)
    doubled = int((place @ ranks).sum())  # 2 L less its mean
    trend = doubled / 2 + tasters * glasses * (glasses + 1) ** 2 / 4
    columns = [tuple(sorted(column)) for column in ranks.T.tolist()]
    if glasses > MOST_COUNTED:
        return trend, _normal_tail(columns, doubled)
    return trend, _counted_tail(columns, doubled)


def _counted_tail(columns: list[tuple[int, ...]], doubled: int) -> float:
    """Chance of as large a sum if each taster's ranks fell in any order; sums are even or odd together with ranks."""
    chances = np.ones(1)
    lowest = 0
    for column in columns:
        least, own = _sums_of(column)
        lowest += least
        chances = np.convolve(chances, own)
    return float(min(1.0, chances[max(0, doubled - lowest) :].sum()))


@lru_cache(maxsize=64)
def _sums_of(column: tuple[int, ...]) -> tuple[int, Floats]:
    """Smallest sum of place x rank over all orders of one taster's ranks, and the chance of each sum from there up."""
    orders = np.array(list(permutations(column)))
    sums = orders @ np.arange(1, len(column) + 1)
    least = int(sums.min())
    return least, np.bincount(sums - least) / len(sums)


def _normal_tail(columns: list[tuple[int, ...]], doubled: int) -> float:
    from scipy.special import ndtr  # scipy stays out of start-up

    glasses = len(columns[0])
    places = glasses * (glasses**2 - 1) / 12
    variance = sum(places * sum(rank * rank for rank in column) / (glasses - 1) for column in columns)
    return float(ndtr(-(doubled - 1) / math.sqrt(variance)))  # half a step of L for continuity, doubled

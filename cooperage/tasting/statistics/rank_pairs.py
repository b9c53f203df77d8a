"""Which glasses differ once Friedman's test has shown that some do: Nemenyi's comparison of rank sums.

Two rank sums differ when they are farther apart than the range of all of them would be by chance, so that however many
glasses there are, at most `alpha` of panels that taste no difference have any pair named. The least significant rank
sum of ISO 8587, z for one pair, and Conover's t after Friedman do not guard the family: of six like glasses they name
some pair far oftener than `alpha`. That is why there is one comparison here and no choice.

Source: Nemenyi (1963), Distribution-free Multiple Comparisons (thesis, Princeton); Demšar (2006), J. Machine Learning
Research 7, 1-30, for its quantiles. Ties make it stricter than it need be.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from cooperage.tasting.statistics.agreement import doubled_ranks
from cooperage.tasting.statistics.quantiles import range_quantile, range_tail
from cooperage.tasting.statistics.tables import Floats, score_table


@dataclass(frozen=True)
class RankPairs:
    """Rank sums (glasses,) with 1 the lowest score, how far apart two must be to differ, and p of each pair."""

    rank_sums: Floats  # (glasses,)
    least_difference: float
    p: Floats  # (glasses, glasses), one on the diagonal

    def differ(self) -> list[tuple[int, int]]:
        """Return the pairs of glasses, from 0, whose rank sums are far enough apart: the lower one first."""
        apart = self.rank_sums[None, :] - self.rank_sums[:, None] >= self.least_difference
        return [(int(low), int(high)) for low, high in np.argwhere(apart)]


def nemenyi(scores: ArrayLike, alpha: float = 0.05) -> RankPairs:
    """Compare all pairs of glasses by their rank sums; scores of shape (glasses, tasters), no gaps.

    >>> from cooperage.tasting import nemenyi
    >>> found = nemenyi([[9, 8, 9, 7, 9], [5, 6, 6, 6, 7], [2, 4, 3, 1, 5]])
    >>> found.rank_sums, round(found.least_difference, 2), found.differ()
    (array([15., 10.,  5.]), 7.41, [(2, 0)])
    """
    ranks = doubled_ranks(score_table(scores))
    glasses, tasters = ranks.shape
    sums = ranks.sum(axis=1) / 2 + tasters * (glasses + 1) / 2
    unit = math.sqrt(tasters * glasses * (glasses + 1) / 12)
    p = np.ones((glasses, glasses))
    for one in range(glasses):
        for other in range(one):
            p[one, other] = p[other, one] = range_tail(abs(sums[one] - sums[other]) / unit, glasses)
    return RankPairs(sums, range_quantile(alpha, glasses) * unit, p)

"""How far tasters agree: intraclass correlation, Kendall's W and Friedman's rank test.

Every table has the shape (glasses, tasters): one row a glass, one column a taster, no gaps. A small panel
is where the textbook chi-square is worst, so with fewer than ten tasters the probability is counted, not
approximated.

Sources: Shrout and Fleiss (1979), Psychological Bulletin 86, 420-428; Friedman (1937), J. Am. Stat. Assoc.
32, 675-701; Kendall and Gibbons, Rank Correlation Methods (1990), ch. 6, for W and its tie correction.
"""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from cooperage.errors import BadInput
from cooperage.tasting.statistics.quantiles import chi2_tail
from cooperage.tasting.statistics.rank_sums import exact_tail
from cooperage.tasting.statistics.tables import Floats, Integers, NothingToCompare, score_table

Method = Literal["auto", "exact", "chi2"]

CHI2_FROM_TASTERS = 10  # below this the chi-square tail is not a substitute for the counted one


class TooManyToCount(BadInput):
    """The exact distribution was asked for by name, and is too large to count."""

    def __init__(self, glasses: int, tasters: int) -> None:
        self.glasses, self.tasters = glasses, tasters
        super().__init__(
            f"{tasters} tasters ranking {glasses} glasses are too many for an exact count; use method 'chi2'"
        )


def icc(scores: ArrayLike) -> dict[str, float]:
    """Intraclass correlations of scores of shape (glasses, tasters), by their form.

    "ICC(1,·)" takes each glass to have had tasters of its own, "ICC(2,·)" these tasters to stand for others
    (so their offsets count against agreement), "ICC(3,·)" these tasters to be the only ones of interest
    (offsets are forgiven). "·,1" is the reliability of one taster, "·,k" that of the panel's mean. A form
    is NaN where its denominator vanishes. Source: Shrout and Fleiss (1979), tables 1 to 3.

    >>> from cooperage.tasting import icc
    >>> scores = [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]  # their table 2
    >>> {form: round(figure, 2) for form, figure in icc(scores).items() if form.endswith("1)")}
    {'ICC(1,1)': 0.17, 'ICC(2,1)': 0.29, 'ICC(3,1)': 0.71}
    """
    table = score_table(scores)
    if np.ptp(table) == 0:
        raise NothingToCompare
    n, k = table.shape
    between, within, tasters, residual = squares = _mean_squares(table)
    offsets = (tasters - residual) / n
    parts = {
        "ICC(1,1)": (between - within, between + (k - 1) * within),
        "ICC(2,1)": (between - residual, between + (k - 1) * residual + k * offsets),
        "ICC(3,1)": (between - residual, between + (k - 1) * residual),
        "ICC(1,k)": (between - within, between),
        "ICC(2,k)": (between - residual, between + offsets),
        "ICC(3,k)": (between - residual, between),
    }
    dust = 1e-12 * max(squares)
    return {form: part / whole if abs(whole) > dust else math.nan for form, (part, whole) in parts.items()}


def _mean_squares(table: Floats) -> tuple[float, float, float, float]:
    """Mean squares between glasses, within glasses, between tasters, and left over."""
    n, k = table.shape
    centred = table - table.mean()
    glass, taster = centred.mean(axis=1), centred.mean(axis=0)
    of_glasses, of_tasters = k * float(glass @ glass), n * float(taster @ taster)
    left = float(((centred - glass[:, None] - taster) ** 2).sum())
    return (
        of_glasses / (n - 1),
        (of_tasters + left) / (n * (k - 1)),
        of_tasters / (k - 1),
        left / ((n - 1) * (k - 1)),
    )


def friedman(scores: ArrayLike, method: Method = "auto") -> tuple[float, float]:
    """Friedman's Q, corrected for ties, and its probability, for scores of shape (glasses, tasters).

    The probability is that of a Q this large or larger if every taster had dealt out the same scores at
    random. "auto" counts it exactly, ties and all, for fewer than ten tasters and as many glasses as can be
    counted (without ties: any panel up to 5 glasses; 6 glasses up to 6 tasters, 7 up to 4, 8 up to 3);
    otherwise it is the chi-square tail with glasses - 1 degrees of freedom. For the panels left to it that
    tail is too large rather than too small at 10 % and below (simulated, without ties), so it errs towards
    "unknown". "exact" and "chi2" insist on one or the other.

    >>> from cooperage.tasting import friedman
    >>> statistic, p = friedman([[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]])
    >>> round(statistic, 2), p < 0.001
    (17.74, True)
    """
    ranks = doubled_ranks(score_table(scores))
    scatter = int((ranks.sum(axis=1) ** 2).sum())
    statistic = _friedman_q(ranks, scatter)
    if method == "chi2" or (method == "auto" and ranks.shape[1] >= CHI2_FROM_TASTERS):
        return statistic, chi2_tail(statistic, len(ranks) - 1)
    counted = exact_tail(ranks, scatter)
    if counted is not None:
        return statistic, counted
    if method == "exact":
        raise TooManyToCount(*ranks.shape)
    return statistic, chi2_tail(statistic, len(ranks) - 1)


def kendall_w(scores: ArrayLike, method: Method = "auto") -> tuple[float, float]:
    """Kendall's coefficient of concordance W (0 to 1), corrected for ties, and its probability.

    Scores have the shape (glasses, tasters). W is Friedman's Q over its largest value, tasters x
    (glasses - 1), so the two share one probability and one `method`; see `friedman`.

    >>> from cooperage.tasting import kendall_w
    >>> concordance, _ = kendall_w([[1, 1, 2], [2, 3, 1], [3, 2, 3]])
    >>> round(concordance, 3)
    0.444
    """
    glasses, tasters = score_table(scores).shape
    statistic, p = friedman(scores, method)
    return min(1.0, statistic / (tasters * (glasses - 1))), p


def doubled_ranks(table: Floats) -> Integers:
    """Twice each taster's midranks less their mean: whole numbers even with ties; columns sum to zero."""
    below = (table[None, :, :] < table[:, None, :]).sum(axis=1)
    above = (table[None, :, :] > table[:, None, :]).sum(axis=1)
    return np.asarray(below - above, dtype=np.int64)


def _friedman_q(ranks: Integers, scatter: int) -> float:
    """Q = (k - 1) x scatter, the squares of the glasses' rank sums, over the squares of the ranks themselves.

    This form holds with and without ties (Conover, Practical Nonparametric Statistics, 1999, section 5.8).
    """
    squares = int((ranks**2).sum())
    if not squares:
        raise NothingToCompare
    return (len(ranks) - 1) * scatter / squares

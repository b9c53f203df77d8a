"""Least squares of score = glass + taster, and how far apart two of its means must be to differ.

Means are the intrablock analysis of an incomplete block design: where glasses were missed, each mean is adjusted for
who tasted it. Two of several glasses are said to differ by the studentized range (Tukey 1953; for glasses tasted by
different numbers of tasters Kramer 1956, Biometrics 12, 307-310, by the least known pair), which is exact where all
tasted all: of panels that taste no difference at most `alpha` name any pair. Sharing `alpha` out to the pairs
(Bonferroni) asks for more than that.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from cooperage.tasting.statistics.quantiles import range_quantile
from cooperage.tasting.statistics.tables import Floats, Integers

STEPS = (10.0, 5.0, 1.0, 0.5, 0.25, 0.1, 0.05, 0.01)
"""The steps in which people score, the widest first."""
MOST_TASTERS = 24
"""A panel larger than this is not thought of."""
_COARSE = 10
"""Steps wider than a point are looked for only where the scale has so many of them."""


@dataclass(frozen=True)
class AdditiveFit:
    """Least squares of score = glass + taster. All NaN when glasses and tasters do not hang together."""

    glass: Floats  # (glasses,) the mean an average taster of this panel would give
    per_variance: Floats  # (glasses, glasses) covariance of those means for each unit of a score's variance
    bias: Floats  # (tasters,) points each scores above the panel's average; they sum to zero
    residual_ss: float
    degrees: int  # scores beyond what the fit uses up
    bias_per_variance: Floats  # (tasters,) variance of each bias for each unit of a score's variance
    rounding: float = 0.0  # the variance that the step of the scores alone gives one score

    @property
    def variance(self) -> float:
        """Variance of one score about the fit, no less than rounding; NaN when nothing is left over to judge it by."""
        return max(self.residual_ss / self.degrees, self.rounding) if self.degrees else math.nan

    @property
    def residual_sd(self) -> float:
        """Standard deviation of one score about the fit; NaN when nothing is left over to judge it by."""
        return math.sqrt(self.variance)

    @property
    def cautious_variance(self) -> float:
        """Variance of one score by which glasses are said to differ; NaN when nothing is left over to judge it by.

        The step's own is added, more than a floor: tasters who round alike are wrong alike, however many they are.
        """
        return self.residual_ss / self.degrees + self.rounding if self.degrees else math.nan

    @property
    def covariance(self) -> Floats:
        """Covariance of the glasses' means, of shape (glasses, glasses)."""
        return self.variance * self.per_variance


def score_step(table: Floats, width: float = math.inf) -> float:
    """Return the widest step of which all scores are multiples [points]; 0 when they come in none."""
    given = table[np.isfinite(table)]
    steps = [step for step in STEPS if step <= 1 or (math.isfinite(width) and width >= _COARSE * step)]
    return next((step for step in steps if np.allclose(given / step, np.round(given / step), rtol=0, atol=1e-6)), 0.0)


def fit_in_steps(table: Floats, width: float = math.inf) -> AdditiveFit:
    """Fit as `fit_additive` does; no score is then surer than the step in which a scale so wide was scored."""
    return replace(fit_additive(table), rounding=score_step(table, width) ** 2 / 12)


def fit_additive(table: Floats) -> AdditiveFit:
    """Fit score = glass + taster to a table of shape (glasses, tasters) with NaN for not tasted."""
    glass, taster = np.nonzero(np.isfinite(table))
    glasses, tasters = np.unique(glass), np.unique(taster)
    design = _design(np.searchsorted(glasses, glass), np.searchsorted(tasters, taster))
    if not len(glass) or np.linalg.matrix_rank(design) < design.shape[1]:
        return _no_fit(table.shape)
    score = table[glass, taster]
    level = float(score.mean())  # taken out first: scores near 100 lose no digits
    effects = np.linalg.lstsq(design, score - level, rcond=None)[0]
    residual = score - level - design @ effects
    residual[np.abs(residual) < 1e-12 * np.abs(score).max()] = 0  # rounding is not disagreement
    residual_ss = float(residual @ residual)
    degrees = len(score) - design.shape[1]
    fit = _no_fit(table.shape)
    offsets = effects[len(glasses) :]
    fit.glass[glasses] = effects[: len(glasses)] + level
    fit.bias[tasters] = np.append(offsets, -offsets.sum())
    inverse = np.linalg.inv(design.T @ design)
    fit.per_variance[np.ix_(glasses, glasses)] = inverse[: len(glasses), : len(glasses)]
    of_offsets = inverse[len(glasses) :, len(glasses) :]
    fit.bias_per_variance[tasters] = np.append(np.diag(of_offsets), of_offsets.sum())
    return replace(fit, residual_ss=residual_ss, degrees=degrees)


def _design(glass: Integers, taster: Integers) -> Floats:
    """One column a glass, one a taster but for the last, whose offset is what makes them all sum to zero."""
    glasses, tasters = np.eye(glass.max(initial=0) + 1), np.eye(taster.max(initial=0) + 1)
    sum_to_zero = tasters[:, :-1] - tasters[:, -1:]
    return np.hstack([glasses[glass], sum_to_zero[taster]])


def _no_fit(shape: tuple[int, ...]) -> AdditiveFit:
    glasses, tasters = shape
    nothing = np.full((glasses, glasses), math.nan)
    unknown = np.full(tasters, math.nan)
    return AdditiveFit(nothing[:, 0].copy(), nothing, unknown, math.nan, 0, unknown.copy())


def least_gap(fit: AdditiveFit, alpha: float) -> float:
    """Gap that two means must pass to differ, over all pairs of glasses; NaN where nothing is left over to judge by."""
    known = np.isfinite(np.diag(fit.per_variance))
    shared = fit.per_variance[np.ix_(known, known)]
    if len(shared) < 2:
        return math.nan
    own = np.diag(shared)
    widest = float((own[:, None] + own - 2 * shared).max())  # of the least known pair
    return range_quantile(alpha, len(shared), fit.degrees) * math.sqrt(widest * fit.cautious_variance / 2)


def fewest_tasters(fit: AdditiveFit, points: float, alpha: float = 0.05) -> int | None:
    """Return how many tasters of every glass would separate glasses so many points apart, if they score as these do.

    None where no panel of `MOST_TASTERS` would, or nothing is left over to judge one score by.
    """
    glasses = int(np.isfinite(fit.glass).sum())
    if glasses < 2 or not points > 0 or not math.isfinite(fit.cautious_variance):
        return None
    ranges = ((n, range_quantile(alpha, glasses, (glasses - 1) * (n - 1))) for n in range(2, MOST_TASTERS + 1))
    return next((n for n, wide in ranges if wide * math.sqrt(fit.cautious_variance / n) <= points), None)

"""Lend a barrel with a short record the experience of its neighbours.

A rate seen over a few weeks is mostly noise; the truth lies nearer to the cellar's mean than the figure
does. Each rate is drawn towards the mean by the share of its scatter that is noise.

The spread A between barrels solves Paule and Mandel's equation, sum((y - m)^2 / (V + A)) = c, with m the
weighted mean. Their c is k - 1, which is unbiased for A; here c is k - 3, which is unbiased for the share V
/ (V + A) that is used. With equal variances this *is* the Efron-Morris estimator with its positive part,
and no second formula is needed for unequal ones.

Sources: Efron and Morris (1975), J. Am. Stat. Assoc. 70, 311-319; Paule and Mandel (1982), J. Res. Natl. Bur.
Stand. 87, 377-385; Carter and Rolph (1974), J. Am. Stat. Assoc. 69, 880-885; Morris (1983), ibid. 78, 47-55.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cooperage.errors import BadInput

Floats = NDArray[np.float64]


class NotOneVarianceEach(BadInput):
    """Rates and variances that do not pair up."""

    def __init__(self, estimates: tuple[int, ...], variances: tuple[int, ...]) -> None:
        self.estimates, self.variances = estimates, variances
        super().__init__(f"{estimates} rates and {variances} variances; give one variance for each rate, in one row")


class NotAVariance(BadInput):
    """A variance that is not a number above zero, or a rate that is no number."""

    def __init__(self, position: int) -> None:
        self.position = position
        super().__init__(f"rate {position + 1} needs a number, and a variance above zero")


@dataclass(frozen=True)
class Pooled:
    """Rates drawn towards their mean; arrays have the shape (barrels,), in the units of the rates."""

    estimates: Floats
    deviations: Floats  # posterior standard deviations
    noise: Floats  # share of each rate's scatter that is noise: 0 keeps the rate as seen, 1 gives the mean
    mean: float
    between: float  # variance from barrel to barrel, beyond what the noise explains


def pool_rates(estimates: ArrayLike, variances: ArrayLike) -> Floats:
    """Shrunken estimates of shape (barrels,): each rate drawn towards the grand mean; see `pool`."""
    return pool(estimates, variances).estimates


def pool(estimates: ArrayLike, variances: ArrayLike) -> Pooled:
    """Empirical Bayes estimates from rates and their sampling variances, both of shape (barrels,).

    Variances are in the squared units of the rates and above zero. With three barrels or fewer there is
    nothing to learn from the others, and the rates come back as they were. Deviations count the uncertainty
    of the mean and of the spread too (Morris 1983, section 5), so they do not vanish when the spread is put
    at zero.
    """
    seen, variance = _paired(estimates, variances)
    degrees = len(seen) - 3
    if degrees <= 0:
        return Pooled(seen, np.sqrt(variance), np.zeros_like(seen), _weighted_mean(seen, variance), np.inf)
    between = between_variance(seen, variance, degrees)
    pooled = pool_given(seen, variance, between)
    weight = 1 / (variance + between)
    typical = float((weight * variance).sum() / weight.sum()) + between
    of_spread = 2 / degrees * pooled.noise**2 * typical * weight * (seen - pooled.mean) ** 2
    deviations = np.sqrt(pooled.deviations**2 + of_spread)
    return Pooled(pooled.estimates, deviations, pooled.noise, pooled.mean, between)


def pool_given(estimates: ArrayLike, variances: ArrayLike, between: float) -> Pooled:
    """Shrink with the variance between barrels known; deviations count the uncertainty of the mean."""
    seen, variance = _paired(estimates, variances)
    mean = _weighted_mean(seen, variance + between)
    noise = variance / (variance + between)
    of_mean = 1 / float((1 / (variance + between)).sum())
    deviations = np.sqrt(variance * (1 - noise) + noise**2 * of_mean)
    return Pooled(mean + (1 - noise) * (seen - mean), deviations, noise, mean, between)


def between_variance(estimates: ArrayLike, variances: ArrayLike, degrees: float) -> float:
    """Solve Paule and Mandel's equation for A, the variance between barrels; zero when noise explains it all.

    `degrees` is the sum asked for: barrels - 1 for their own estimator (equal to REML when variances are
    equal). The sum falls with A and is convex, so Newton's steps from zero rise to the root and never pass
    it.
    """
    seen, variance = _paired(estimates, variances)
    between = 0.0
    for _ in range(200):
        weight = 1 / (variance + between)
        squares = weight * (seen - _weighted_mean(seen, variance + between)) ** 2
        excess = float(squares.sum()) - degrees
        if excess <= 1e-12 * degrees:
            break
        between += excess / float((weight * squares).sum())
    return between


def _weighted_mean(seen: Floats, variance: Floats) -> float:
    return float(np.average(seen, weights=1 / variance))


def _paired(estimates: ArrayLike, variances: ArrayLike) -> tuple[Floats, Floats]:
    seen = np.atleast_1d(np.asarray(estimates, dtype=np.float64))
    variance = np.atleast_1d(np.asarray(variances, dtype=np.float64))
    if seen.shape != variance.shape or seen.ndim != 1 or not len(seen):
        raise NotOneVarianceEach(seen.shape, variance.shape)
    bad = ~(np.isfinite(seen) & np.isfinite(variance) & (variance > 0))
    if bad.any():
        raise NotAVariance(int(bad.argmax()))
    return seen, variance

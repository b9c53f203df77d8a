"""Lend a barrel with a short record the experience of its neighbours.

A rate seen over a few weeks is mostly noise; the truth lies nearer to the cellar's mean than the figure
does. Each rate is drawn towards the mean by the share of its scatter that is noise.

The spread A between barrels solves Paule and Mandel's equation, sum((y - m)^2 / (V + A)) = c, with m the
weighted mean. Their c is k - 1, which is unbiased for A; here c is k - 3, which is unbiased for the share V
/ (V + A) that is used. With equal variances this *is* the Efron-Morris estimator with its positive part,
and no second formula is needed for unequal ones.

Barrels differ for reasons one can name: the room, the size, the wood, its age. Given as columns of a design, each rate
is drawn not to the grand mean but to what barrels like it lose (Fay and Herriot's model for small areas, of which the
grand mean is the one-column case), and c is k less the columns less 2.

Sources: Efron and Morris (1975), J. Am. Stat. Assoc. 70, 311-319; Paule and Mandel (1982), J. Res. Natl. Bur.
Stand. 87, 377-385; Carter and Rolph (1974), J. Am. Stat. Assoc. 69, 880-885; Morris (1983), ibid. 78, 47-55;
Fay and Herriot (1979), ibid. 74, 269-277.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cooperage.errors import BadInput

Floats = NDArray[np.float64]


class UnpairedVariances(BadInput):
    """Rates and variances that do not pair up."""

    def __init__(self, estimates: tuple[int, ...], variances: tuple[int, ...]) -> None:
        self.estimates, self.variances = estimates, variances
        super().__init__(f"{estimates} rates and {variances} variances; give one variance for each rate, in one row")


class NotADesign(BadInput):
    """A design that has not one row for each rate, or columns that repeat one another."""

    def __init__(self, rates: int, design: tuple[int, ...]) -> None:
        self.rates, self.design = rates, design
        super().__init__(f"{rates} rates and a design of {design}; give one row for each rate, and no column twice")


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
    fitted: Floats  # what barrels like it lose: the grand mean unless there was a design
    fit_deviations: Floats  # standard error of that


def pool_rates(estimates: ArrayLike, variances: ArrayLike) -> Floats:
    """Shrunken estimates of shape (barrels,): each rate drawn towards the grand mean; see `pool`.

    >>> from cooperage.programme import pool_rates
    >>> pool_rates([0.8, 1.1, 2.4, 0.9], [0.04, 0.09, 1.0, 0.05]).round(2).tolist()  # the third is unsure
    [0.81, 1.1, 1.75, 0.91]
    """
    return pool(estimates, variances).estimates


def pool(estimates: ArrayLike, variances: ArrayLike, design: ArrayLike | None = None) -> Pooled:
    """Empirical Bayes estimates from rates and their sampling variances, both of shape (barrels,).

    Variances are in the squared units of the rates and above zero. `design`, shape (barrels, columns), is what is
    known of each barrel; left out, it is the one column of ones. With no more barrels than columns and two there is
    nothing to learn from the others, and the rates come back as they were. Deviations count the uncertainty
    of the fit and of the spread too (Morris 1983, section 5), so they do not vanish when the spread is put
    at zero.
    """
    seen, variance = _paired(estimates, variances)
    columns = _design(design, len(seen))
    degrees = len(seen) - columns.shape[1] - 2
    if degrees <= 0:
        mean = _weighted_mean(seen, variance)
        alone = np.sqrt(variance)
        return Pooled(seen, alone, np.zeros_like(seen), mean, np.inf, np.full_like(seen, mean), np.zeros_like(seen))
    between = between_variance(seen, variance, degrees, columns)
    pooled = pool_given(seen, variance, between, columns)
    weight = 1 / (variance + between)
    typical = float((weight * variance).sum() / weight.sum()) + between
    of_spread = 2 / degrees * pooled.noise**2 * typical * weight * (seen - pooled.fitted) ** 2
    deviations = np.sqrt(pooled.deviations**2 + of_spread)
    return replace(pooled, deviations=deviations)


def pool_given(estimates: ArrayLike, variances: ArrayLike, between: float, design: ArrayLike | None = None) -> Pooled:
    """Shrink with the variance between barrels known; deviations count the uncertainty of the fit."""
    seen, variance = _paired(estimates, variances)
    columns = _design(design, len(seen))
    fitted, of_fit = _fit(seen, variance + between, columns)
    noise = variance / (variance + between)
    deviations = np.sqrt(variance * (1 - noise) + noise**2 * of_fit)
    mean = _weighted_mean(seen, variance + between)
    return Pooled(fitted + (1 - noise) * (seen - fitted), deviations, noise, mean, between, fitted, np.sqrt(of_fit))


def between_variance(
    estimates: ArrayLike, variances: ArrayLike, degrees: float, design: ArrayLike | None = None
) -> float:
    """Solve Paule and Mandel's equation for A, the variance between barrels; zero when noise explains it all.

    `degrees` is the sum asked for: barrels - 1 for their own estimator (equal to REML when variances are
    equal). The sum falls with A and is convex, so Newton's steps from zero rise to the root and never pass
    it.
    """
    seen, variance = _paired(estimates, variances)
    columns = _design(design, len(seen))
    between = 0.0
    for _ in range(200):
        weight = 1 / (variance + between)
        squares = weight * (seen - _fit(seen, variance + between, columns)[0]) ** 2
        excess = float(squares.sum()) - degrees
        if excess <= 1e-12 * degrees:
            break
        between += excess / float((weight * squares).sum())
    return between


def _fit(seen: Floats, variance: Floats, columns: Floats) -> tuple[Floats, Floats]:
    """Return what a weighted straight fit gives for each barrel, and the variance of that."""
    if columns.shape[1] == 1 and (columns == 1).all():  # the grand mean, kept exact
        mean = _weighted_mean(seen, variance)
        return np.full_like(seen, mean), np.full_like(seen, 1 / float((1 / variance).sum()))
    root = np.sqrt(variance)
    q, _ = np.linalg.qr(columns / root[:, None])
    return root * (q @ (q.T @ (seen / root))), variance * (q**2).sum(axis=1)


def _weighted_mean(seen: Floats, variance: Floats) -> float:
    return float(np.average(seen, weights=1 / variance))


def _as_floats(values: ArrayLike) -> Floats:
    return np.atleast_1d(np.asarray(values, dtype=np.float64))


def _design(design: ArrayLike | None, barrels: int) -> Floats:
    columns = np.ones((barrels, 1)) if design is None else np.asarray(design, dtype=np.float64)
    if columns.ndim != 2 or len(columns) != barrels or np.linalg.matrix_rank(columns) < min(columns.shape):
        raise NotADesign(barrels, columns.shape)
    return columns


def _paired(estimates: ArrayLike, variances: ArrayLike) -> tuple[Floats, Floats]:
    seen, variance = _as_floats(estimates), _as_floats(variances)
    if seen.shape != variance.shape or seen.ndim != 1 or not len(seen):
        raise UnpairedVariances(seen.shape, variance.shape)
    bad = ~(np.isfinite(seen) & np.isfinite(variance) & (variance > 0))
    if bad.any():
        raise NotAVariance(int(bad.argmax()))
    return seen, variance

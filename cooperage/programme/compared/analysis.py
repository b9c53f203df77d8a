"""The answer of a trial across barrels: how far treatments differ, held against barrels that were treated alike.

Every value has a barrel and a column: a taster in one flight, or one round of readings. Columns are blocks too, so that
a taster who scores high, or a week in which all is riper, is no error. The error of a treatment is how much barrels
treated alike differ within their block, with the degrees of freedom of barrels and never those of glasses or tasters:
the analysis of a split plot. Where every barrel was tasted alike that is exact, and where glasses are missing too if
barrels differ by nothing; else the error is put together from the squares of barrels and of scores, and has no more
degrees of freedom than barrels give. Variances are not cut off at nought, which would make the error too wide where
barrels differ little. What is found holds for those who tasted.

Sources: Yates (1935), J. Roy. Statist. Soc. Suppl. 2, 181-247, for the two errors of a split plot; Searle, Casella and
McCulloch, Variance Components (1992), ch. 5, for squares of uneven data; Satterthwaite (1946), Biometrics Bulletin 2,
110-114, for an error put together; Stroup, Generalized Linear Mixed Models (2013), on variances cut off at nought;
Tukey (1953) and Kramer (1956), Biometrics 12, 307-310, for more than two treatments.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import NamedTuple

import numpy as np

from cooperage.programme.compared.layout import BarrelLayout, TooFewTrialBarrels, TreatmentsApart
from cooperage.programme.compared.power import LEVEL, POWER, critical_t, least_quotient
from cooperage.tasting.statistics.additive import score_step
from cooperage.tasting.statistics.quantiles import f_tail, student
from cooperage.tasting.statistics.squares import Source, dropped, left_over
from cooperage.tasting.statistics.tables import Floats, Integers

_SAME = 1e-9
_LEAST_OF_BARRELS = 0.25
"""The least share of what barrels show that an error keeps, however much less scores would leave of it."""


@dataclass(frozen=True)
class BarrelValues:
    """Values one under the other: each with its barrel, its column, and the occasion of that column, from 0.

    A barrel that has several values in one column counts once there, by their mean. `width` is how many points the
    scale spans.
    """

    value: Floats
    barrel: Integers
    column: Integers
    occasion: Integers
    width: float = math.inf


@dataclass(frozen=True, slots=True)
class TreatmentMean:
    """The mean of a treatment with its interval, adjusted for blocks and columns; how many barrels it has."""

    mean: float
    low: float
    high: float
    barrels: int


@dataclass(frozen=True, slots=True)
class TreatmentDifference:
    """How much higher treatment `first` is than `second`, with its interval for all pairs together.

    `least` is what would have been found in 8 of 10 such trials.
    """

    first: int
    second: int
    value: float
    low: float
    high: float
    standard_error: float
    least: float

    @property
    def is_found(self) -> bool:
        """Return True if the interval leaves nought out."""
        return self.low > 0 or self.high < 0


@dataclass(frozen=True)
class TreatmentComparison:
    """What a trial shows: means, differences of all pairs, and F of all treatments, at the level asked for.

    `barrel_sd` and `score_sd` are the spreads that were found, NaN where they are not known; `is_exact` where every
    barrel was tasted alike.
    """

    means: tuple[TreatmentMean, ...]
    pairs: tuple[TreatmentDifference, ...]
    level: float
    f: float
    p: float
    degrees: float
    barrel_sd: float
    score_sd: float
    barrels: int
    values: int
    is_exact: bool


class _Error(NamedTuple):
    """The variance of an estimate, and its degrees of freedom."""

    variance: float
    degrees: float


@dataclass(frozen=True)
class _Errors:
    """Squares of barrels treated alike and of scores; the barrels' variance is `each` times in the mean of the former.

    Both are unbiased, however unevenly barrels were tasted, and nothing is cut off where barrels differ by nothing.
    """

    barrels: Source
    scores: Source
    each: float

    def of(self, scores: float, barrels: float) -> _Error:
        """Return the error that has the scores' variance and the barrels' so many times each (Satterthwaite)."""
        by_barrels = barrels / self.each if self.scores.degrees else scores
        parts = [(by_barrels * self.barrels.mean_square, self.barrels.degrees)]
        if self.scores.degrees:
            parts.append(((scores - by_barrels) * self.scores.mean_square, self.scores.degrees))
        whole = sum(part for part, _ in parts)
        least = by_barrels * self.barrels.mean_square * _LEAST_OF_BARRELS
        if whole <= least:
            return _Error(least, float(self.barrels.degrees))
        degrees = whole**2 / sum(part**2 / degrees for part, degrees in parts)
        return _Error(whole, min(degrees, float(self.barrels.degrees)))

    @property
    def barrel_sd(self) -> float:
        """The spread between barrels treated alike; NaN where it cannot be parted from that of scores."""
        if not self.scores.degrees:
            return math.nan
        return math.sqrt(max(0.0, self.barrels.mean_square - self.scores.mean_square) / self.each)


@dataclass(frozen=True)
class _Fit:
    """Estimates by the columns of treatments and blocks, what each value weighs in them, and the errors they have.

    `whole` has a column for each barrel; `degrees` are those of `f`.
    """

    estimates: Floats
    weights: Floats
    whole: Floats
    errors: _Errors
    f: float
    degrees: float
    is_exact: bool

    def error(self, contrast: Floats) -> _Error:
        """Return the error of a contrast of the estimates."""
        weights = contrast @ self.weights
        return self.errors.of(float(weights @ weights), float(((weights @ self.whole) ** 2).sum()))


def compare(
    observed: BarrelValues, treatment: Sequence[int], block: Sequence[int], *, level: float = LEVEL
) -> TreatmentComparison:
    """Compare treatments; `treatment` and `block` number those of each barrel, from 0.

    Barrels without a value are left out. Raises TooFewTrialBarrels where no two barrels are left to show an error, and
    TreatmentsApart where the values do not compare all treatments.
    """
    single = _single(observed)
    there, barrel = np.unique(single.barrel, return_inverse=True)
    layout = BarrelLayout(
        tuple(treatment[at] for at in there), tuple(block[at] for at in there), max(treatment, default=0) + 1
    )
    if layout.treatments < 2 or 0 in layout.given:
        raise TooFewTrialBarrels(layout.barrels, layout.treatments, layout.blocks)
    coded = _deviations(layout.treatments)
    effects = coded[np.array(layout.treatment)[barrel]]
    basis = _basis(np.hstack([_one_each(np.array(layout.block)[barrel]), _one_each(single.column)]))
    design = np.hstack([effects, basis])
    if np.linalg.matrix_rank(design, tol=_SAME * len(design)) < design.shape[1]:
        raise TreatmentsApart
    fit = _fitted(single, design, barrel, layout.treatments)
    size = basis.shape[1]
    rows = np.hstack([coded, np.broadcast_to(basis.mean(axis=0), (len(coded), size))])
    means = tuple(
        _mean(float(mean), fit.error(row), count, level)
        for mean, row, count in zip(rows @ fit.estimates, rows, layout.given, strict=True)
    )
    pairs = tuple(
        _difference(first, second, rows[first] - rows[second], fit, layout.treatments, level)
        for first, second in combinations(range(layout.treatments), 2)
    )
    p = f_tail(fit.f, layout.treatments - 1, fit.degrees)
    spreads = fit.errors.barrel_sd, math.sqrt(fit.errors.scores.mean_square)
    return TreatmentComparison(
        means, pairs, level, fit.f, p, fit.degrees, *spreads, layout.barrels, len(single.value), fit.is_exact
    )


def _mean(mean: float, error: _Error, barrels: int, level: float) -> TreatmentMean:
    half = student(error.degrees, (1 - level) / 2) * math.sqrt(error.variance)
    return TreatmentMean(mean, mean - half, mean + half, barrels)


def _difference(
    first: int, second: int, contrast: Floats, fit: _Fit, treatments: int, level: float
) -> TreatmentDifference:
    value, of = float(contrast @ fit.estimates), fit.error(contrast)
    error, critical = math.sqrt(of.variance), critical_t(treatments, of.degrees, level)
    least = least_quotient(critical, of.degrees, POWER) * error
    return TreatmentDifference(first, second, value, value - critical * error, value + critical * error, error, least)


def _single(observed: BarrelValues) -> BarrelValues:
    """Return one value of a barrel in each column: the mean where there are several."""
    key = observed.column * (int(observed.barrel.max(initial=0)) + 1) + observed.barrel
    _, first, place, count = np.unique(key, return_index=True, return_inverse=True, return_counts=True)
    value = np.bincount(place, weights=observed.value) / count if len(first) else observed.value
    column = np.unique(observed.column[first], return_inverse=True)[1]
    return BarrelValues(value, observed.barrel[first], column, observed.occasion[first], observed.width)


def _one_each(group: Integers) -> Floats:
    _, place = np.unique(group, return_inverse=True)
    return np.eye(int(place.max(initial=-1)) + 1)[place]


def _deviations(treatments: int) -> Floats:
    """Return the coding whose effects are distances from the mean of all treatments: (treatments, treatments - 1)."""
    return np.vstack([np.eye(treatments - 1), -np.ones(treatments - 1)])


def _basis(columns: Floats) -> Floats:
    """Return orthonormal columns that span what these do."""
    left, sizes, _ = np.linalg.svd(columns, full_matrices=False)
    basis: Floats = left[:, sizes > _SAME * sizes.max(initial=0)]
    return basis


def _fitted(single: BarrelValues, design: Floats, barrel: Integers, treatments: int) -> _Fit:
    """Fit treatments, blocks and columns by least squares; raises TooFewTrialBarrels."""
    centred, whole, blocks = single.value - single.value.mean(), _one_each(barrel), design[:, treatments - 1 :]
    rest, scores = left_over(centred, design), left_over(centred, np.hstack([design, whole]))
    barrels, above = dropped(rest, scores), dropped(left_over(centred, blocks), rest)
    if barrels.degrees < 1:
        raise TooFewTrialBarrels(int(barrel.max()) + 1, treatments)
    step = score_step(single.value[None, :], single.width) ** 2 / 12  # no barrel is known better than its steps
    barrels = replace(barrels, squares=max(barrels.squares, step * barrels.degrees))
    left = _of_barrels(whole, design)
    errors = _Errors(barrels, scores, left / barrels.degrees)
    error = errors.of(1.0, (_of_barrels(whole, blocks) - left) / above.degrees)
    weights = np.linalg.pinv(design).astype(np.float64)
    estimates: Floats = np.linalg.lstsq(design, single.value, rcond=None)[0].astype(np.float64)
    f = above.mean_square / error.variance if error.variance > 0 else math.nan
    is_exact = _is_even(weights[: treatments - 1], barrel)
    return _Fit(estimates, weights, whole, errors, f, error.degrees, is_exact)


def _of_barrels(whole: Floats, design: Floats) -> float:
    """Return how often the barrels' variance is in the squares that a design leaves over: the trace of Z' M Z."""
    left = whole - design @ np.linalg.lstsq(design, whole, rcond=None)[0]
    return float((left**2).sum())


def _is_even(weights: Floats, barrel: Integers) -> bool:
    """Return True if every barrel weighs alike in each of its values, and all have as many."""
    counts = np.bincount(barrel)
    whole = weights @ _one_each(barrel)
    return len(set(counts.tolist())) == 1 and bool(
        np.allclose(weights * counts[0], whole[:, barrel], rtol=0, atol=_SAME * np.abs(weights).max())
    )

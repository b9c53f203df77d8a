"""The answer of a trial across barrels: how far treatments differ, held against barrels that were treated alike.

Every value has a barrel and a column: a taster in one flight, or one round of readings. Columns are blocks too, so that
a taster who scores high, or a week in which all is riper, is no error. The error of a treatment is how much barrels
treated alike differ within their block, with the degrees of freedom of barrels and never those of glasses or tasters:
the analysis of a split plot. Where every barrel was tasted alike that is exact. Where glasses are missing it comes from
a mixed model by restricted maximum likelihood with barrels at random, and has no more degrees of freedom than barrels
give. What is found holds for those who tasted.

Sources: Yates (1935), J. Roy. Statist. Soc. Suppl. 2, 181-247, for the two errors of a split plot; Searle, Casella and
McCulloch, Variance Components (1992), for the mixed model; Satterthwaite (1946), Biometrics Bulletin 2, 110-114;
Tukey (1953) and Kramer (1956), Biometrics 12, 307-310, for more than two treatments.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from cooperage.programme.compared.layout import BarrelLayout, TooFewTrialBarrels, TreatmentsApart
from cooperage.programme.compared.power import LEVEL, POWER, critical_t, least_quotient
from cooperage.tasting.statistics.additive import score_step
from cooperage.tasting.statistics.quantiles import f_tail, student
from cooperage.tasting.statistics.reml import fit_mixed
from cooperage.tasting.statistics.squares import dropped, left_over
from cooperage.tasting.statistics.tables import Floats, Integers

_SAME = 1e-9


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


@dataclass(frozen=True)
class _Fit:
    """Estimates by the columns of treatments and blocks, their covariance, and the error they were held against."""

    estimates: Floats
    covariance: Floats
    degrees: float
    f: float
    barrel_sd: float
    score_sd: float
    is_exact: bool


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
    half = student(fit.degrees, (1 - level) / 2) * np.sqrt(np.einsum("ij,jk,ik->i", rows, fit.covariance, rows))
    means = tuple(
        TreatmentMean(float(mean), float(mean - wide), float(mean + wide), count)
        for mean, wide, count in zip(rows @ fit.estimates, half, layout.given, strict=True)
    )
    pairs = tuple(
        _difference(first, second, rows[first] - rows[second], fit, layout.treatments, level)
        for first, second in combinations(range(layout.treatments), 2)
    )
    p = f_tail(fit.f, layout.treatments - 1, fit.degrees)
    spreads = fit.barrel_sd, fit.score_sd
    return TreatmentComparison(
        means, pairs, level, fit.f, p, fit.degrees, *spreads, layout.barrels, len(single.value), fit.is_exact
    )


def _difference(
    first: int, second: int, contrast: Floats, fit: _Fit, treatments: int, level: float
) -> TreatmentDifference:
    value, error = float(contrast @ fit.estimates), math.sqrt(float(contrast @ fit.covariance @ contrast))
    critical = critical_t(treatments, fit.degrees, level)
    least = least_quotient(critical, fit.degrees, POWER) * error
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
    centred = single.value - single.value.mean()
    rest = left_over(centred, design)
    scores = left_over(centred, np.hstack([design, _one_each(barrel)]))
    barrels = dropped(rest, scores)
    if barrels.degrees < 1:
        raise TooFewTrialBarrels(int(barrel.max()) + 1, treatments)
    step = score_step(single.value[None, :], single.width) ** 2 / 12
    if rest.squares <= 0 or _is_even(design, barrel, treatments):
        error = max(barrels.mean_square, step)  # no barrel is known better than the steps it was scored in
        inverse = np.linalg.inv(design.T @ design).astype(np.float64)
        estimates = np.linalg.lstsq(design, single.value, rcond=None)[0].astype(np.float64)
        above = dropped(left_over(centred, design[:, treatments - 1 :]), rest)
        f = above.mean_square / error if error > 0 else math.nan
        each, score = len(barrel) / (int(barrel.max()) + 1), scores.mean_square
        between = math.sqrt(max(0.0, error - score) / each) if scores.degrees else math.nan
        return _Fit(estimates, error * inverse, barrels.degrees, f, between, math.sqrt(score), is_exact=True)
    return _by_model(single, design, barrel, treatments, barrels.degrees)


def _is_even(design: Floats, barrel: Integers, treatments: int) -> bool:
    """Return True if every barrel weighs alike in each of its values, and all have as many: then squares are exact."""
    counts = np.bincount(barrel)
    weights = (design @ np.linalg.inv(design.T @ design))[:, : treatments - 1]
    whole = _one_each(barrel).T @ weights
    return len(set(counts.tolist())) == 1 and bool(
        np.allclose(weights * counts[0], whole[barrel], rtol=0, atol=_SAME * np.abs(weights).max())
    )


def _by_model(single: BarrelValues, design: Floats, barrel: Integers, treatments: int, most: int) -> _Fit:
    """Fit barrels at random; a barrel on one occasion too, where several tasted it there."""
    groups = [barrel]
    there = np.unique(barrel * (int(single.occasion.max()) + 1) + single.occasion, return_inverse=True)[1]
    cells = int(there.max()) + 1
    if int(barrel.max()) + 1 < cells < len(single.value):
        groups.append(there)
    mixed = fit_mixed(single.value, design, groups)
    contrasts = np.eye(design.shape[1])[: treatments - 1]
    f, below, _ = mixed.test(contrasts)
    degrees = min(below, float(most))
    between = math.sqrt(float(mixed.variances[:-1].sum()))
    score = math.sqrt(float(mixed.variances[-1]))
    return _Fit(mixed.estimates, mixed.covariance, degrees, f, between, score, is_exact=False)

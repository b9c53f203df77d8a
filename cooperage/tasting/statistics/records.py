"""Tasters over many flights: how high, how steadily, how widely each scores, how much as the others, and how surely.

Flights of one scale only: points of different scales are never put together. Within a flight a taster is compared with
who tasted the same glasses; over flights the mean of those comparisons is known as well as they agree with each other,
and no better than the steps of the scores allow.

Sources: Student's t over flights; chi-square for the standard deviation of duplicates (JCGM 100:2008, 4.2); Fisher
(1921), Metron 1, 3-32, for the interval of a correlation, here pooled within flights.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cooperage.tasting.statistics.additive import AdditiveFit, fit_in_steps
from cooperage.tasting.statistics.performance import FEWEST
from cooperage.tasting.statistics.quantiles import student
from cooperage.tasting.statistics.tables import Floats

Pair = tuple[int, int]


@dataclass(frozen=True)
class TastedTable:
    """One flight: scores of shape (glasses, tasters), who the columns are, and which glasses held the same liquid."""

    scores: Floats
    tasters: tuple[str, ...]
    duplicates: tuple[Pair, ...] = ()


@dataclass(frozen=True, slots=True)
class Between:
    """A figure and the ends of the interval it lies between; NaN where it, or its interval, cannot be known."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class TasterRecord:
    """A taster over flights of one scale, in its points.

    `bias` is how high above the others of each flight; `steady` the standard deviation of one score of the same
    liquid, from `pairs` hidden duplicates; `scale_use` how many times as widely as the others glasses are set apart, of
    the flights where both are; `likeness` the correlation with the mean of the others, glass by glass
    within flights.
    """

    taster: str
    flights: int
    glasses: int
    pairs: int
    bias: Between
    steady: Between
    scale_use: Between
    likeness: Between


UNKNOWN = Between(math.nan, math.nan, math.nan)


def taster_records(
    tables: Sequence[TastedTable], level: float = 0.95, *, width: float = math.inf
) -> list[TasterRecord]:
    """Return the record of everyone who scored a glass, by name, with intervals at `level`.

    `width` is how many points the scale spans: an end beyond it is infinite, as nothing is known then.
    """
    fits = [fit_in_steps(each.scores) for each in tables]
    gathered: dict[str, list[tuple[TastedTable, AdditiveFit, int]]] = {}
    for table, fit in zip(tables, fits, strict=True):
        for at, name in enumerate(table.tasters):
            if np.isfinite(table.scores[:, at]).any():
                gathered.setdefault(name, []).append((table, fit, at))
    return [_record(name, gathered[name], level, width) for name in sorted(gathered)]


def _record(name: str, flights: list[tuple[TastedTable, AdditiveFit, int]], level: float, width: float) -> TasterRecord:
    gaps = np.array(
        [table.scores[a, at] - table.scores[b, at] for table, _, at in flights for a, b in table.duplicates]
    )
    gaps = gaps[np.isfinite(gaps)]
    return TasterRecord(
        name,
        len(flights),
        sum(int(np.isfinite(table.scores[:, at]).sum()) for table, _, at in flights),
        len(gaps),
        _bias([(fit, at, table.scores.shape[1]) for table, fit, at in flights], level),
        _steady(gaps, max(fit.rounding for _, fit, _ in flights), level, width),
        _scale_use([_beside_each(table.scores, at) for table, _, at in flights], level),
        _likeness([_beside(table.scores, at) for table, _, at in flights], level),
    )


def _bias(flights: list[tuple[AdditiveFit, int, int]], level: float) -> Between:
    """Mean over flights of what a taster scores above the others there.

    The fit gives the distance from the mean of all tasters, himself too; that of n tasters grows by n / (n - 1) against
    the others alone.
    """
    known = [(fit, at) for fit, at, size in flights if size > 1 and math.isfinite(fit.bias[at])]
    if not known:
        return UNKNOWN
    above = np.array([fit.bias[at] * _of_others(fit) for fit, at in known])
    mean, beyond = float(above.mean()), (1 - level) / 2
    if len(known) == 1:
        fit, at = known[0]
        half = student(fit.degrees, beyond) * math.sqrt(_per_variance(fit, at) * fit.variance)
    else:
        by_rounding = sum(_per_variance(fit, at) * fit.rounding for fit, at in known) / len(known)
        variance = max(float(above.var(ddof=1)), by_rounding) / len(known)
        half = student(len(known) - 1, beyond) * math.sqrt(variance)
    return Between(mean, mean - half, mean + half)


def _of_others(fit: AdditiveFit) -> float:
    tasters = int(np.isfinite(fit.bias).sum())
    return tasters / (tasters - 1) if tasters > 1 else math.nan


def _per_variance(fit: AdditiveFit, at: int) -> float:
    """Variance of a taster's distance from the others in one flight, for each unit of a score's."""
    return float(fit.bias_per_variance[at]) * _of_others(fit) ** 2


def _steady(gaps: Floats, rounding: float, level: float, width: float) -> Between:
    """Standard deviation of one score, from differences between two scores of one liquid; no less than rounding."""
    if not len(gaps):
        return UNKNOWN
    from scipy.special import chdtri  # scipy stays out of start-up

    squares, beyond = max(float(gaps @ gaps) / 2, len(gaps) * rounding), (1 - level) / 2
    low, high = (math.sqrt(squares / float(chdtri(len(gaps), tail))) for tail in (beyond, 1 - beyond))
    return Between(math.sqrt(squares / len(gaps)), low, high if high <= width else math.inf)


def _beside_each(scores: Floats, at: int) -> float:
    """How widely one taster sets glasses apart, in the spread of the others over those that all scored; NaN if unknown.

    The others' spread is the root of the mean of their variances.
    """
    known = np.isfinite(scores[:, at])
    others = np.delete(scores[known], at, axis=1)
    others = others[:, np.isfinite(others).all(axis=0)]
    if known.sum() < FEWEST or not others.shape[1]:
        return math.nan
    own, theirs = float(scores[known, at].var(ddof=1)), float(others.var(axis=0, ddof=1).mean())
    return math.sqrt(own / theirs) if own > 0 and theirs > 0 else math.nan


def _scale_use(ratios: Sequence[float], level: float) -> Between:
    """Geometric mean over flights of such ratios; as well known as their logarithms agree (Student's t)."""
    logs = np.log([ratio for ratio in ratios if math.isfinite(ratio)])
    if not len(logs):
        return UNKNOWN
    mean = float(logs.mean())
    if len(logs) == 1:
        return Between(math.exp(mean), math.nan, math.nan)
    half = student(len(logs) - 1, (1 - level) / 2) * float(logs.std(ddof=1)) / math.sqrt(len(logs))
    return Between(math.exp(mean), math.exp(mean - half), math.exp(mean + half))


def _beside(scores: Floats, at: int) -> tuple[Floats, Floats]:
    """One taster's scores and the mean of the others', where both are known, each about its mean."""
    others = np.delete(scores, at, axis=1)
    tasted = np.isfinite(others).sum(axis=1)
    both = np.isfinite(scores[:, at]) & (tasted > 0)
    mean = np.nansum(others[both], axis=1) / tasted[both]
    own = scores[both, at]
    return (own - own.mean(), mean - mean.mean()) if len(own) else (own, mean)


def _likeness(flights: list[tuple[Floats, Floats]], level: float) -> Between:
    own, others = (np.concatenate([pair[side] for pair in flights]) for side in (0, 1))
    spread = math.sqrt(float(own @ own) * float(others @ others))
    free = sum(max(len(one) - 1, 0) for one, _ in flights)
    if free < FEWEST - 1 or spread == 0:
        return UNKNOWN
    r = min(1.0, max(-1.0, float(own @ others) / spread))
    if free < 3 or abs(r) == 1:
        return Between(r, math.nan, math.nan)
    half = student(math.inf, (1 - level) / 2) / math.sqrt(free - 2)
    return Between(r, math.tanh(math.atanh(r) - half), math.tanh(math.atanh(r) + half))

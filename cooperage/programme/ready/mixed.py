"""A mixed model of short series: each has its own level and gain, drawn towards what its columns have in common.

The value at a look is `columns @ coefficients + level + gain * shape + what has wandered + an error`. Levels and gains
are normal around nothing, what wanders is a Brownian motion, and an error shrinks with the number of tasters. The
spreads are the most likely by restricted likelihood (Patterson and Thompson (1971), Biometrika 58, 545-554), drawn
towards what is declared; coefficients come with a normal prior each, flat where its precision is zero. A fit has how it
ended.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Floats: TypeAlias = NDArray[np.float64]

LEARNED, UNSETTLED, PRIOR = "learned", "unsettled", "prior"
"""How a fit ended: at rest, without coming to rest (the last step is used), or with nothing to learn from."""

_STEPS = 40
_APART = 1e-3  # between places at which a cost is compared: logarithms of spreads
_LONGEST_STEP = 1.0
_LEAST_BEND = 1e-2
_SMALL, _REST = 1e-6, 1e-4
_FREE = 1e6  # a spread of spreads so wide that only the readings matter
_FARTHEST = 12.0  # of the logarithm of a spread from what is declared


@dataclass(frozen=True)
class Series:
    """One series of n looks: shape of its gain (n,), columns (n, p), times (n,), values (n,), tasters at each (n,)."""

    shape: Floats
    columns: Floats
    times: Floats
    values: Floats
    tasters: Floats


@dataclass(frozen=True)
class Spreads:
    """One standard deviation each: of levels, of gains, of what wanders in a unit of time, of a taster's error.

    `correlation` is that of level and gain.
    """

    level: float
    gain: float
    wander: float
    error: float
    correlation: float = 0.0

    def between(self) -> Floats:
        """Return the covariance of level and gain, of shape (2, 2)."""
        both = self.correlation * self.level * self.gain
        return np.array([[self.level**2, both], [both, self.gain**2]])


@dataclass(frozen=True)
class Declared:
    """What is expected before the readings: coefficients, their precisions, spreads, and how surely (log units).

    `sureness` is one standard deviation of the logarithm of each spread, in the order of `Spreads`; zero keeps a spread
    as declared, None leaves it to the readings alone. `correlated` asks for the correlation of level and gain too.
    """

    means: Floats
    precisions: Floats
    spreads: Spreads
    sureness: tuple[float | None, float | None, float | None, float | None] = (None, None, 0.0, None)
    correlated: bool = False


@dataclass(frozen=True)
class Fit:
    """Coefficients (p,), their covariance (p, p), the spreads, the restricted log likelihood, and how it ended."""

    coefficients: Floats
    covariance: Floats
    spreads: Spreads
    likelihood: float
    ended: str


@dataclass(frozen=True)
class _Batch:
    """All series side by side, padded: arrays of shape (series, looks, ...), `there` where a look is."""

    basis: Floats
    columns: Floats
    times: Floats
    values: Floats
    shares: Floats
    there: Floats
    count: int

    def covariance(self, spreads: Spreads) -> Floats:
        """Return the covariance of the values of each series, of shape (series, looks, looks)."""
        found = self.basis @ spreads.between() @ self.basis.transpose(0, 2, 1)
        found += spreads.wander**2 * np.minimum(self.times[:, :, None], self.times[:, None, :])
        found *= self.there[:, :, None] * self.there[:, None, :]
        looks = np.arange(self.there.shape[1])
        found[:, looks, looks] += np.where(self.there > 0, spreads.error**2 * self.shares, 1.0)
        return found


def fit(series: Sequence[Series], declared: Declared) -> Fit:
    """Fit series to their values; without any, what is declared comes back."""
    if not series:
        known = declared.precisions > 0
        covariance = np.diag(np.where(known, 1 / np.where(known, declared.precisions, 1.0), np.inf))
        return Fit(declared.means, covariance, declared.spreads, 0.0, PRIOR)
    batch, begun = _side_by_side(series), _numbers(declared.spreads)
    moving = _moving(declared)
    spread = np.array([_FREE if sure is None else sure or 1.0 for sure in (*declared.sureness, None)])

    def spreads_at(moved: Floats) -> Spreads:
        numbers = begun.copy()
        numbers[moving] += np.clip(moved, -_FARTHEST, _FARTHEST)
        return _spreads(numbers)

    def worse(moved: Floats) -> float:
        likelihood, *_ = _at(batch, declared, spreads_at(moved))
        return -likelihood + 0.5 * float(((moved / spread[moving]) ** 2).sum())

    moved, is_at_rest = _lowest(worse, np.zeros(int(moving.sum())))
    spreads = spreads_at(moved)
    likelihood, coefficients, covariance = _at(batch, declared, spreads)
    return Fit(coefficients, covariance, spreads, likelihood, LEARNED if is_at_rest else UNSETTLED)


def _lowest(cost: Callable[[Floats], float], start: Floats) -> tuple[Floats, bool]:
    """Return where a smooth cost of few numbers is lowest near a start, and whether the steps came to rest.

    Newton's steps by differences, each no longer than the cost bears out.
    """
    at, here = start, cost(start)
    for _ in range(_STEPS):
        slope, bend = _differences(cost, at, here)
        values, vectors = np.linalg.eigh(bend)
        step = -vectors @ ((vectors.T @ slope) / np.maximum(np.abs(values), _LEAST_BEND))
        step *= min(1.0, _LONGEST_STEP / max(float(np.abs(step).max(initial=0.0)), _SMALL))
        part = 1.0
        while (there := cost(at + part * step)) > here and part > _SMALL:
            part /= 2
        if there > here:
            return at, True
        is_at_rest = here - there < _SMALL and float(np.abs(part * step).max(initial=0.0)) < _REST
        at, here = at + part * step, there
        if is_at_rest:
            return at, True
    return at, False


def _differences(cost: Callable[[Floats], float], at: Floats, here: float) -> tuple[Floats, Floats]:
    """Return the slope and the bends of a cost at a place, by differences."""
    n = len(at)
    sides = np.eye(n) * _APART
    up, down = (np.array([cost(at + sign * side) for side in sides]) for sign in (1, -1))
    bend = np.diag((up + down - 2 * here) / _APART**2)
    for i in range(n):
        for j in range(i):
            both = cost(at + sides[i] + sides[j])
            bend[i, j] = bend[j, i] = (both - up[i] - up[j] + here) / _APART**2
    return (up - down) / (2 * _APART), bend


def refit(series: Sequence[Series], declared: Declared, spreads: Spreads) -> Fit:
    """Return coefficients for series with spreads that are known."""
    if not series:
        return fit(series, declared)
    likelihood, coefficients, covariance = _at(_side_by_side(series), declared, spreads)
    return Fit(coefficients, covariance, spreads, likelihood, LEARNED)


def own_effects(series: Sequence[Series], fitted: Fit) -> Floats:
    """Return the best linear unbiased predictions of each series' level and gain, of shape (series, 2)."""
    batch = _side_by_side(series)
    inverse = np.linalg.inv(batch.covariance(fitted.spreads))
    left = batch.values - batch.columns @ fitted.coefficients
    weighted = np.einsum("bij,bj->bi", inverse, left * batch.there)
    found: Floats = np.einsum("bik,bi->bk", batch.basis, weighted) @ fitted.spreads.between()
    return found


def surprises(series: Sequence[Series], fitted: Fit) -> list[Floats]:
    """Return how far each value lies from its columns alone, in standard deviations, series by series."""
    found = []
    for each in series:
        batch = _side_by_side([each])
        spread = np.sqrt(np.diagonal(batch.covariance(fitted.spreads)[0]))
        found.append((each.values - each.columns @ fitted.coefficients) / spread)
    return found


def ahead(seen: Series | None, shape: Floats, columns: Floats, times: Floats, fitted: Fit) -> tuple[Floats, Floats]:
    """Return mean (k,) and covariance (k, k) of a series at k other moments, given what was seen of it.

    `shape` (k,), `columns` (k, p) and `times` (k,) are those of the moments. Errors of looks are not in it.
    """
    spreads, to = fitted.spreads, np.column_stack([np.ones(len(shape)), shape])
    mean, by = columns @ fitted.coefficients, columns
    covariance = to @ spreads.between() @ to.T + spreads.wander**2 * np.minimum(times[:, None], times)
    if seen is not None and len(seen.values):
        batch = _side_by_side([seen])
        both = to @ spreads.between() @ batch.basis[0].T + spreads.wander**2 * np.minimum(times[:, None], seen.times)
        gained = np.linalg.solve(batch.covariance(spreads)[0], both.T).T
        mean = mean + gained @ (seen.values - seen.columns @ fitted.coefficients)
        by = columns - gained @ seen.columns
        covariance = covariance - gained @ both.T
    return mean, covariance + by @ fitted.covariance @ by.T


def _moving(declared: Declared) -> NDArray[np.bool_]:
    """Return which of the five numbers of `Spreads` are fitted."""
    wanted = zip(_numbers(declared.spreads)[:4], declared.sureness, strict=True)
    return np.array([*(bool(np.isfinite(number) and sure != 0) for number, sure in wanted), declared.correlated])


def _numbers(spreads: Spreads) -> Floats:
    """Return spreads as numbers that may take any value: logarithms, and the correlation by its inverse tanh."""
    with np.errstate(divide="ignore"):
        logs = np.log([spreads.level, spreads.gain, spreads.wander, spreads.error])
    return np.array([*logs, np.arctanh(spreads.correlation)])


def _spreads(numbers: Floats) -> Spreads:
    *logs, correlation = numbers
    level, gain, wander, error = (float(each) for each in np.exp(logs))
    return Spreads(level, gain, wander, error, float(np.tanh(correlation)))


def _side_by_side(series: Sequence[Series]) -> _Batch:
    looks, p = max(len(each.values) for each in series), series[0].columns.shape[1]
    shape = (len(series), looks)
    basis, columns = np.zeros((*shape, 2)), np.zeros((*shape, p))
    times, values, shares, there = np.zeros(shape), np.zeros(shape), np.ones(shape), np.zeros(shape)
    for place, each in enumerate(series):
        n = len(each.values)
        basis[place, :n, 0], basis[place, :n, 1] = 1.0, each.shape
        columns[place, :n], times[place, :n], values[place, :n] = each.columns, each.times, each.values
        shares[place, :n], there[place, :n] = 1 / each.tasters, 1.0
    return _Batch(basis, columns, times, values, shares, there, int(there.sum()))


def _at(batch: _Batch, declared: Declared, spreads: Spreads) -> tuple[float, Floats, Floats]:
    """Return the restricted log likelihood with these spreads, the coefficients and their covariance."""
    covariance = batch.covariance(spreads)
    inverse, (_, logs) = np.linalg.inv(covariance), np.linalg.slogdet(covariance)
    left = (batch.values - batch.columns @ declared.means) * batch.there
    weighted = np.einsum("bij,bjp->bip", inverse, batch.columns)
    normal = np.einsum("bip,biq->pq", batch.columns, weighted) + np.diag(declared.precisions)
    score = np.einsum("bip,bi->p", weighted, left)
    squares = float(np.einsum("bi,bij,bj->", left, inverse, left, optimize=True))
    moved = np.linalg.solve(normal, score)
    flat = int((declared.precisions == 0).sum())
    precise = declared.precisions[declared.precisions > 0]
    likelihood = -0.5 * (
        (batch.count - flat) * np.log(2 * np.pi)
        + float(logs.sum())
        + float(np.linalg.slogdet(normal)[1])
        - float(np.log(precise).sum())
        + squares
        - float(score @ moved)
    )
    return likelihood, declared.means + moved, np.asarray(np.linalg.inv(normal))

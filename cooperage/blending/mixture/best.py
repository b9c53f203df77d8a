"""The best blend of a fitted surface, and how sure that is."""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from cooperage.blending.mixture.region import Region
from cooperage.blending.mixture.surfaces import Surfaces
from cooperage.blending.stocks.pool import Floats
from cooperage.errors import BadInput

Goal = float | str
"""What is wanted of a score: "high", "low", or a value to come near to."""

_STARTS = 6
_LIKE = 0.95


class NoSuchGoal(BadInput):
    """What is wanted of a score is neither high nor low nor a number."""


@dataclass(frozen=True)
class BestBlend:
    """The blend that is expected to be best, and how sure that is: chances from 0 to 1, gains in the score's unit.

    `shares`, shape (q,), are the blend; `expected` its score with `interval` at `level`. `chance_over_stocks` is the
    chance that it is better than the best single stock that may be poured alone, `gain` how much better, expected and
    with `gain_interval`; None where no stock may stand alone. `chance_over_tasted`, shape (m,), is that against each
    tasted blend. `alike`, shape (k, q), are blends it is not surely better than, and `share_range`, shape (q, 2), where
    each component's share of the true best lies at `level`.
    """

    shares: Floats
    expected: float
    interval: tuple[float, float]
    level: float
    chance_over_stocks: float | None
    gain: float | None
    gain_interval: tuple[float, float] | None
    chance_over_tasted: Floats
    alike: Floats
    share_range: Floats

    def few_alike(self, count: int) -> Floats:
        """Return so many at most of the blends alike, shape (k, q), each as far as can be from the best and others."""
        apart, chosen = ((self.alike - self.shares) ** 2).sum(axis=1), []
        for _ in range(min(count, len(self.alike))):
            chosen.append(int(apart.argmax()))
            apart = np.minimum(apart, ((self.alike - self.alike[chosen[-1]]) ** 2).sum(axis=1))
        few: Floats = self.alike[chosen]
        return few


def best_blend(
    surfaces: Surfaces,
    region: Region,
    *,
    goal: Goal = "high",
    tasted: ArrayLike | None = None,
    stocks: ArrayLike | None = None,
    level: float = 0.8,
) -> BestBlend:
    """Return the best blend of a region by the surface expected, and how sure it is by all surfaces drawn.

    `goal` is "high", "low", or a score to come near to: then the expected squared distance is least. `tasted`, shape
    (m, q), are blends to hold it against; `stocks`, shape (k, q), the blends of one stock (all that lie in the region
    where it is not given). Raises NoSuchGoal.

    >>> from cooperage.blending import Region, best_blend, draw_surfaces, fit_scheffe, simplex_lattice
    >>> thrice = simplex_lattice(2, 4).repeat(3, axis=0)
    >>> fit = fit_scheffe(thrice, [10, 10, 11, 12, 13, 12, 13, 13, 14, 12, 11, 12, 9, 10, 9])
    >>> found = best_blend(draw_surfaces(fit), Region.whole(2))
    >>> [round(float(share), 1) for share in found.shares], found.chance_over_stocks > 0.99
    ([0.5, 0.5], True)
    """
    if goal not in ("high", "low") if isinstance(goal, str) else not math.isfinite(goal):
        raise NoSuchGoal(f'want a score "high", "low", or near to a number, not {goal!r}')
    grid = region.grid()
    alone = np.eye(region.components) if stocks is None else np.atleast_2d(np.asarray(stocks, dtype=np.float64))
    alone = alone[region.holds(alone)] if stocks is None else alone
    beside = np.zeros((0, region.components)) if tasted is None else np.atleast_2d(np.asarray(tasted, dtype=np.float64))
    shares = _best_point(surfaces, region, grid, goal)
    values = surfaces.at(shares)[:, 0]
    merit = _merit(values, goal)
    over_all = _merit(surfaces.at(grid), goal)
    gains = merit - _merit(surfaces.at(alone), goal).max(axis=1) if len(alone) else None
    likeness = (merit[:, None] > over_all).mean(axis=0)
    return BestBlend(
        shares=shares,
        expected=float(values.mean()),
        interval=_interval(values, level),
        level=level,
        chance_over_stocks=None if gains is None else float((gains > 0).mean()),
        gain=None if gains is None else float(gains.mean()),
        gain_interval=None if gains is None else _interval(gains, level),
        chance_over_tasted=(merit[:, None] > _merit(surfaces.at(beside), goal)).mean(axis=0),
        alike=grid[likeness < _LIKE],
        share_range=np.quantile(grid[over_all.argmax(axis=1)], [(1 - level) / 2, (1 + level) / 2], axis=0).T,
    )


def _merit(values: Floats, goal: Goal) -> Floats:
    """Return how good scores are: more is better."""
    if isinstance(goal, str):
        return values if goal == "high" else -values
    merit: Floats = -np.abs(values - goal)
    return merit


def _best_point(surfaces: Surfaces, region: Region, grid: Floats, goal: Goal) -> Floats:
    """Return the point of least expected loss: the best of the grid, each polished, the best of those."""
    from scipy.optimize import minimize  # scipy stays out of start-up

    mean, spread = surfaces.mean, np.cov(surfaces.coefficients.T)

    def loss(points: Floats) -> Floats:
        rows = surfaces.rows(points)
        expected: Floats = rows @ mean
        if isinstance(goal, str):
            return -expected if goal == "high" else expected
        return np.asarray((expected - goal) ** 2 + ((rows @ spread) * rows).sum(axis=1))

    def at(point: Floats) -> float:
        return float(loss(point)[0])

    starts = grid[np.argsort(loss(grid), kind="stable")[:_STARTS]]
    limits: Any = _limits(region)
    bounds = list(zip(region.lower.tolist(), region.upper.tolist(), strict=True))
    tried = [starts[0]]
    for start in starts:
        found = minimize(at, start, method="SLSQP", bounds=bounds, constraints=limits)
        point = np.clip(found.x, region.lower, region.upper)
        if region.holds(point)[0]:
            tried.append(point)
    points = np.array(tried)
    best: Floats = np.round(points[loss(points).argmin()], 9) + 0.0
    return best


def _limits(region: Region) -> list[dict[str, Any]]:
    """Return what a mixture of the region keeps to besides its bounds, as the optimizer takes it."""
    rows: list[tuple[str, Floats, float]] = [("eq", np.ones(region.components), 1.0)]
    for row, least, most in region.linear:
        across = np.asarray(row, dtype=np.float64)
        rows += [("ineq", across, least)] if least is not None else []
        rows += [("ineq", -across, -most)] if most is not None else []
    return [
        {"type": kind, "fun": lambda x, a=across, end=end: a @ x - end, "jac": lambda _, a=across: a}
        for kind, across, end in rows
    ]


def _interval(values: Floats, level: float) -> tuple[float, float]:
    low, high = np.quantile(values, [(1 - level) / 2, (1 + level) / 2])
    return float(low), float(high)

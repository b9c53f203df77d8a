"""How far one input may move before other stocks are drawn on: sensitivity of a linear programme, from its basis.

At a corner with as many free columns as active rows, the free columns solve the active rows. A column's cost may move
until the reduced cost of some other column changes sign; a row's bound until some free column reaches a bound or some
idle row becomes active (Chvátal 1983, Linear Programming, chapter 10). Volume factors and volume are those of the plan.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cooperage.blending.answer.answer import Reach
from cooperage.blending.answer.words import limit_words
from cooperage.blending.brief.figures import unit_of_limit
from cooperage.blending.brief.quantities import FigureText, QuantityText
from cooperage.blending.lp.limits import Limit
from cooperage.blending.lp.model import Model
from cooperage.blending.stocks.pool import Flags, Floats

ON_BOUND = 1e-9
NEARLY = 3  # stocks left alone that are listed: those nearest to being drawn on
RANGED_OBJECTIVES = ("least_cost", "most_profit")


@dataclass(frozen=True)
class _Corner:
    """A plan as a corner: free columns, active limits, and what the held columns and slacks would cost.

    `held` are the columns at a bound, -1 for those at their upper one, then -1 for the slack of each active one-sided
    row; `reduced` what a little of each would cost (0 or more), `mix` of shape (free, held) what it would take from the
    free columns. `spare` is how far each idle row is from its bound, `idle` of shape (rows, free) its coefficients.
    """

    free: Flags
    inverse: Floats
    active: list[Limit]
    held: NDArray[np.intp]
    reduced: Floats
    mix: Floats
    idle: Floats
    spare: Floats


def ranging(model: Model, z: Floats) -> tuple[Reach, ...]:
    """Return how far costs and limits may move; empty where integers, ranks or a degenerate corner hide it."""
    if model.integer.any() or len(model.aims) != 1 or model.aims[0].objective.kind not in RANGED_OBJECTIVES:
        return ()
    corner = _corner(model, z)
    return () if corner is None else (*_costs(model, corner), *_limits(model, z, corner))


def _corner(model: Model, z: Floats) -> _Corner | None:
    room = ON_BOUND * max(1.0, float(z.max(initial=0.0)))
    free = (z > model.lower + room) & (z < model.upper - room)
    rows, bounds = zip(*(limit.row() for limit in model.limits), strict=True)
    matrix = np.array(rows)
    spare = np.array(bounds) - (matrix * z).sum(axis=1)
    on = np.abs(spare) <= room * np.maximum(1.0, np.abs(matrix).max(axis=1))
    square = matrix[np.ix_(on, free)]
    if square.shape[0] != square.shape[1] or np.linalg.matrix_rank(square) < len(square):
        return None
    inverse, cost = np.linalg.inv(square), _cost_row(model)
    held = np.flatnonzero(~free & (model.upper > model.lower))
    sign = np.where(z[held] > model.lower[held] + room, -1.0, 1.0)
    active = [limit for limit, is_on in zip(model.limits, on, strict=True) if is_on]
    loose = np.array([limit.side != "exact" for limit in active], dtype=np.bool_)
    mix = inverse @ np.hstack([matrix[on][:, held] * sign, np.eye(len(active))[:, loose]])
    nothing = np.full(int(loose.sum()), -1)
    reduced = np.r_[cost[held] * sign, 0.0 * nothing] - cost[free] @ mix
    places = np.r_[np.where(sign > 0, held, -1), nothing]
    return _Corner(free, inverse, active, places, reduced, mix, matrix[np.ix_(~on, free)], spare[~on])


def _cost_row(model: Model) -> Floats:
    row: Floats = model.aims[0].sign * model.aims[0].quantity.amount
    return row


def _room(reserve: Floats, taken: Floats) -> tuple[float, float]:
    """Return the steps, down and up, until one of the reserves, of which a step takes so much, is used up."""
    up, down = taken > ON_BOUND, taken < -ON_BOUND
    spare = np.maximum(reserve, 0.0)
    high = (spare[up] / taken[up]).min(initial=np.inf)
    low = (spare[down] / taken[down]).max(initial=-np.inf)
    return float(low), float(high)


def _costs(model: Model, corner: _Corner) -> Iterator[Reach]:
    """Return each stock drawn on in part, and those left alone that are nearest to being drawn on."""
    names, cost = model.columns.stocks.names, _cost_row(model)
    for at, place in enumerate(np.flatnonzero(corner.free)):
        low, high = _room(corner.reduced, corner.mix[at])
        yield _cost(model, str(names[place]), cost[place], cost[place] + low, cost[place] + high)
    left = np.flatnonzero(corner.held >= 0)
    for at in left[_smallest(corner.reduced[left])]:
        place = corner.held[at]
        yield _cost(model, str(names[place]), cost[place], cost[place] - corner.reduced[at], np.inf, left_alone=True)


def _smallest(values: Floats) -> NDArray[np.intp]:
    """Return the places of the few smallest, smallest first, without putting all in order."""
    few = np.argpartition(values, NEARLY)[:NEARLY] if len(values) > NEARLY else np.arange(len(values))
    return few[np.argsort(values[few], kind="stable")]


def _cost(model: Model, name: str, value: float, low: float, high: float, *, left_alone: bool = False) -> Reach:
    """Return a stock's part in the objective, for profit with its sign turned back."""
    sign, what = model.aims[0].sign, {"least_cost": "cost", "most_profit": "profit"}[model.aims[0].objective.kind]
    value, (low, high) = sign * value, sorted((sign * low, sign * high))
    label = QuantityText(f"{name} at ", FigureText("cost_per_l", value), f" of {what}")
    if left_alone:
        way, at = ("below", low) if sign > 0 else ("above", high)
        edge = QuantityText(f"would be drawn on {way} ", FigureText("cost_per_l", at, with_unit=False))
        edge = QuantityText("would not be drawn on even for nothing") if sign > 0 and low < 0 else edge
        return Reach("cost", name, value, _finite(low), _finite(high), QuantityText(label, ": ", edge), "per L")
    same = QuantityText(label, ": same plan ", _between(low, high, "cost_per_l", with_unit=False))
    return Reach("cost", name, value, _finite(low), _finite(high), same, "per L")


def _limits(model: Model, z: Floats, corner: _Corner) -> Iterator[Reach]:
    """Return for each active limit between which values its price holds and the same stocks are drawn on."""
    free = corner.free
    reserve = np.r_[z[free] - model.lower[free], model.upper[free] - z[free], corner.spare]
    for at, limit in enumerate(corner.active):
        moved = corner.inverse[:, at]
        steps = _room(reserve, np.r_[-moved, moved, corner.idle @ moved])
        per_unit = (-1.0 if limit.side == "min" else 1.0) * limit.quantity.weight(z)
        low, high = sorted(limit.value + step / per_unit for step in steps)
        words = QuantityText(limit_words(limit), ": its price holds ", _between(low, high, limit.subject))
        unit = unit_of_limit(limit.name)
        yield Reach("limit", limit.name, limit.value, _finite(low), _finite(high), words, unit)


def _finite(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def _between(low: float, high: float, name: str, *, with_unit: bool = True) -> QuantityText:
    down = QuantityText("down to ", FigureText(name, low, with_unit)) if np.isfinite(low) else QuantityText()
    up = QuantityText("up to ", FigureText(name, high, with_unit)) if np.isfinite(high) else QuantityText()
    return QuantityText(down, " and " if down and up else "", up) if down or up else QuantityText("at any value")

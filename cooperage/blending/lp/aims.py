"""The ranked objectives as quantities to lower or to raise."""

import math
from dataclasses import dataclass

import numpy as np

from cooperage.blending.brief.brief import BadBrief, Brief, Objective
from cooperage.blending.lp.columns import Columns, RowOf
from cooperage.blending.stocks.pool import Floats, Stocks


@dataclass(frozen=True, slots=True)
class Aim:
    """An objective over the columns: `sign` is 1 to make the quantity small, -1 to make it great."""

    objective: Objective
    quantity: RowOf
    sign: float = 1.0


def ranks_of(brief: Brief, stocks: Stocks) -> tuple[Objective, ...]:
    """Return the objectives asked for; without any, least cost where costs are known, else none at all."""
    if brief.objective is not None:
        return brief.objective
    return (Objective("least_cost"),) if "cost_per_l" in stocks.figures else ()


def figures_needed(objective: Objective, brief: Brief, stocks: Stocks) -> tuple[str, ...]:
    """Return the figures a stock must have for this objective to be calculated."""
    if objective.kind == "least_cost":
        return ("cost_per_l",)
    if objective.kind == "most_profit":
        price = ("price_per_l",) if brief.price_per_l is None else ()
        return price + (("cost_per_l",) if "cost_per_l" in stocks.figures else ())
    return () if objective.property in (None, "litres") else (objective.property,)


def target_of(objective: Objective, brief: Brief) -> float:
    """Return what `nearest` is near to: its own figure, else the target or middle of the limit of that name."""
    name = str(objective.property)
    span = brief.litres if name == "litres" else brief.limits.get(name)
    value = objective.value if objective.value is not None else span.middle if span else math.nan
    if not math.isfinite(value):
        raise BadBrief("objective", f"{objective} has nothing to be near to; write nearest:{name}=VALUE")
    return value


def aims_of(brief: Brief, columns: Columns) -> tuple[Aim, ...]:
    """Return the aims in order of rank."""
    ranks = ranks_of(brief, columns.stocks)
    nearest = [rank for rank in ranks if rank.kind == "nearest"]
    return tuple(_aim(rank, brief, columns, nearest) for rank in ranks)


def _aim(objective: Objective, brief: Brief, columns: Columns, nearest: list[Objective]) -> Aim:
    match objective.kind:
        case "least_cost":
            return Aim(objective, RowOf(columns.over_draws(columns.stocks.figures["cost_per_l"])))
        case "most_profit":
            return Aim(objective, RowOf(_profit(brief, columns)), -1.0)
        case "fewest_stocks":
            return Aim(objective, RowOf(columns.over_opened(np.ones(columns.draws))))
        case "least_leftover":
            there = columns.stocks.litres
            ends = np.isfinite(there)  # water has no end and leaves nothing over
            opened = columns.over_opened(np.where(ends, there, 0.0))
            return Aim(objective, RowOf(opened - columns.over_draws(ends.astype(np.float64))))
        case "nearest":
            base = columns.figure(str(objective.property)).base
            return Aim(objective, RowOf(columns.distance(nearest.index(objective)), base))
    return Aim(objective, columns.figure(str(objective.property)), -1.0 if objective.kind == "highest" else 1.0)


def _profit(brief: Brief, columns: Columns) -> Floats:
    """Return what the blend, or each stock in it, sells for, less what the stocks cost."""
    figures = columns.stocks.figures
    cost = columns.over_draws(figures.get("cost_per_l", np.zeros(columns.draws)))
    if brief.price_per_l is not None:
        return brief.price_per_l * columns.volume - cost
    return columns.over_draws(figures["price_per_l"]) - cost

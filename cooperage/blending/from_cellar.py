"""The cellar as a pool of stocks: what each barrel and tank could give a blend."""

import math
from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np

from cooperage.blending.answer.answer import Answer
from cooperage.blending.stocks.pool import ALWAYS_NUMBERS, UNCERTAINTY, Floats, Stocks, stocks_of_columns
from cooperage.book import Cellar, Standing
from cooperage.book.declared.properties import PROPERTIES, SOLVABLE

BLENDABLE = ("barrel", "tank")
LEAST_DRAW_L = 5.0  # a barrel is not opened for less (common practice, no source)
# After so many days what has happened since adds as much doubt as the reading began with: sulphite binds and is lost,
# volatile acid rises, the rest hardly moves (common practice, no source).
DAYS_TO_DOUBT = {"free_so2_mg_l": 30.0, "total_so2_mg_l": 120.0, "va_g_l": 120.0}
DAYS_TO_DOUBT_REST = 365.0
NEVER_READ_DAYS = 365.0  # a figure only calculated is held to be as doubtful as one read a year ago


def pool_of(cellar: Cellar, scores: Mapping[str, float]) -> Stocks:
    """Return each barrel and tank that holds something as a stock: litres, figures, score, cost and labels.

    `scores` are the latest panel means by tag, 0 to 100 (tasting/vessels.py). An unknown figure is NaN, never zero, and
    one that is known of no stock is left out. A barrel is not opened for less than 5 L. How sure a figure is
    follows from its reading and the reading's age. pH is only shown beside the blend; it is never averaged.
    """
    standings = [standing for standing in cellar.in_walking_order() if _can_give(standing)]
    rows = [_numbers(standing, scores) for standing in standings]
    columns = {name: _column(row[name] for row in rows) for name in NUMBERS}
    numbers = {name: each for name, each in columns.items() if name in ALWAYS_NUMBERS or not np.isnan(each).all()}
    for name in SOLVABLE:
        if not np.isnan(columns[name]).all():
            numbers[f"{name}{UNCERTAINTY}"] = _column(doubt(standing, name) for standing in standings)
    words = [_labels(standing) for standing in standings]
    labels = {name: np.array([row[name] for row in words], dtype=object) for name in LABELS}
    return stocks_of_columns(np.array([standing.tag for standing in standings], dtype=object), numbers, labels)


def _column(values: Iterable[float | None]) -> Floats:
    return np.array([math.nan if value is None else value for value in values], dtype=np.float64)


def doubt(standing: Standing, name: str) -> float | None:
    """Return one standard deviation of a figure as it is today, in its unit; None for an unknown figure."""
    figure = standing.figure(name)
    if figure.value is None:
        return None
    if figure.low is not None and figure.uncertainty is not None:  # it was aged, and its doubt with it
        return figure.uncertainty
    fresh = PROPERTIES[name].uncertainty if figure.uncertainty is None else figure.uncertainty
    days = NEVER_READ_DAYS if figure.days_ago is None else figure.days_ago
    return fresh * math.hypot(1.0, days / DAYS_TO_DOUBT.get(name, DAYS_TO_DOUBT_REST))


CARRIED = (*SOLVABLE, "ph")
NUMBERS = ("litres", "min_litres", *CARRIED, "score", "cost_per_l", "days_in_wood")
LABELS = ("group", "lot", "wood", "past_life", "fill")


def _can_give(standing: Standing) -> bool:
    return standing.ml > 0 and not standing.is_retired and standing.vessel.kind in BLENDABLE


def _numbers(standing: Standing, scores: Mapping[str, float]) -> dict[str, float | None]:
    return {
        "litres": standing.litres,
        "min_litres": min(LEAST_DRAW_L, standing.litres) if standing.vessel.is_barrel else None,
        **{name: standing.value(name) for name in CARRIED},
        "score": scores.get(standing.tag),
        "cost_per_l": standing.cost_per_l,
        "days_in_wood": standing.mead_days_in_wood,
    }


def _labels(standing: Standing) -> dict[str, str | None]:
    barrel = standing.vessel.barrel
    return {
        "group": _group(standing),
        "lot": next(iter(standing.lots), None),
        "wood": barrel.wood if barrel else None,
        "past_life": barrel.past_life if barrel else None,
        "fill": None if barrel is None or standing.fill_number is None else f"fill {standing.fill_number}",
    }


def _group(standing: Standing) -> str:
    if not standing.vessel.is_barrel:
        return "tank"
    return "new oak" if standing.fill_number == 1 else "used oak"


def solve_in_cellar(
    cellar: Cellar, scores: Mapping[str, float], brief: Mapping[str, Any], time_limit: float | None = None
) -> Answer:
    """Solve a brief over the barrels and tanks of a cellar as it stands."""
    from cooperage.blending.solving import solve

    return solve(pool_of(cellar, scores), brief, time_limit=time_limit)

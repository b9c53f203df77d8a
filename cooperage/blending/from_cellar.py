"""The cellar as a pool of stocks: what each barrel and tank could give a blend."""

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from cooperage.blending.answer.answer import Answer
from cooperage.blending.stocks.pool import UNCERTAINTY
from cooperage.book import Cellar, Standing
from cooperage.book.declared.properties import PROPERTIES, SOLVABLE

if TYPE_CHECKING:
    import pandas as pd

BLENDABLE = ("barrel", "tank")
LEAST_DRAW_L = 5.0  # a barrel is not opened for less (common practice, no source)
# After so many days what has happened since adds as much doubt as the reading began with: sulphite binds and is lost,
# volatile acid rises, the rest hardly moves (common practice, no source).
DAYS_TO_DOUBT = {"free_so2_mg_l": 30.0, "total_so2_mg_l": 120.0, "va_g_l": 120.0}
DAYS_TO_DOUBT_REST = 365.0
NEVER_READ_DAYS = 365.0  # a figure only calculated is held to be as doubtful as one read a year ago


def pool_of(cellar: Cellar, scores: Mapping[str, float]) -> "pd.DataFrame":
    """Return one row for each barrel and tank that holds something: litres, figures, score, cost and labels.

    `scores` are the latest panel means by tag, 0 to 100 (tasting/vessels.py). An unknown figure is a blank, never zero.
    A barrel is not opened for less than 5 L. How sure a figure is follows from its reading and the reading's age. pH is
    there to be shown of the blend; it is never averaged.
    """
    import pandas as pd

    rows = [_row(standing, scores) for standing in cellar.in_walking_order() if _can_give(standing)]
    columns = ["stock", "litres", "min_litres", *CARRIED, "score", "cost_per_l", "days_in_wood", *LABELS]
    pool = pd.DataFrame(rows, columns=columns)
    known = [name for name in SOLVABLE if pool[name].notna().any()]
    doubts = [{f"{name}{UNCERTAINTY}": doubt(cellar[tag], name) for name in known} for tag in pool["stock"]]
    return pool.join(pd.DataFrame(doubts, index=pool.index))


def doubt(standing: Standing, name: str) -> float | None:
    """Return one standard deviation of a figure as it is today, in its unit; None for an unknown figure."""
    figure = standing.figure(name)
    if figure.value is None:
        return None
    fresh = PROPERTIES[name].uncertainty if figure.uncertainty is None else figure.uncertainty
    days = NEVER_READ_DAYS if figure.days_ago is None else figure.days_ago
    return fresh * math.hypot(1.0, days / DAYS_TO_DOUBT.get(name, DAYS_TO_DOUBT_REST))


CARRIED = (*SOLVABLE, "ph")
LABELS = ("group", "lot", "wood", "past_life", "fill")


def _can_give(standing: Standing) -> bool:
    return standing.ml > 0 and not standing.is_retired and standing.vessel.kind in BLENDABLE


def _row(standing: Standing, scores: Mapping[str, float]) -> dict[str, Any]:
    barrel = standing.vessel.barrel
    return {
        "stock": standing.tag,
        "litres": standing.litres,
        "min_litres": min(LEAST_DRAW_L, standing.litres) if standing.vessel.is_barrel else None,
        **{name: standing.value(name) for name in CARRIED},
        "score": scores.get(standing.tag),
        "cost_per_l": standing.cost_per_l,
        "days_in_wood": standing.mead_days_in_wood,
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

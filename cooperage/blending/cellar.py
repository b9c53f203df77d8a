"""The cellar as a pool of stocks: what each barrel and tank could give a blend."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from cooperage.blending.answer import Answer
from cooperage.book import Cellar, Standing
from cooperage.book.properties import SOLVABLE

if TYPE_CHECKING:
    import pandas as pd

BLENDABLE = ("barrel", "tank")


def pool_of(cellar: Cellar, scores: Mapping[str, float]) -> "pd.DataFrame":
    """Return one row for each barrel and tank that holds something: litres, figures, score, cost and labels.

    `scores` are the latest panel means by tag. An unknown figure is a blank, never zero. pH is not among the figures:
    it is never averaged.
    """
    import pandas as pd

    rows = [_row(standing, scores) for standing in cellar.in_walking_order() if _can_give(standing)]
    columns = ["stock", "litres", *SOLVABLE, "score", "cost_per_l", "days_in_wood", *LABELS]
    return pd.DataFrame(rows, columns=columns)


LABELS = ("group", "lot", "wood", "past_life", "fill")


def _can_give(standing: Standing) -> bool:
    return standing.ml > 0 and not standing.is_retired and standing.vessel.kind in BLENDABLE


def _row(standing: Standing, scores: Mapping[str, float]) -> dict[str, Any]:
    barrel = standing.vessel.barrel
    return {
        "stock": standing.tag,
        "litres": standing.litres,
        **{name: standing.value(name) for name in SOLVABLE},
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
    from cooperage.blending.solve import solve

    return solve(pool_of(cellar, scores), brief, time_limit=time_limit)

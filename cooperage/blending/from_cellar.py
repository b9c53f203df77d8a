"""The cellar as a pool of stocks: what each barrel and tank could give a blend."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from cooperage.blending.answer.answer import Answer
from cooperage.blending.stocks.doubt import Common
from cooperage.blending.stocks.pool import ALWAYS_NUMBERS, UNCERTAINTY, Floats, Stocks, stocks_of_columns
from cooperage.book import Cellar, Standing
from cooperage.book.declared.properties import SOLVABLE
from cooperage.book.vessel_words import IN_QUARANTINE
from cooperage.programme.ageing.aged import AgedCellar, aged
from cooperage.programme.ready.readiness import Readiness, ReadyState

BLENDABLE = ("barrel", "tank")
LEAST_DRAW_L = 5.0  # a barrel is not opened for less (common practice, no source)


def pool_of(cellar: Cellar, scores: Mapping[str, float], ready: Mapping[str, Readiness] | None = None) -> Stocks:
    """Return each barrel and tank that holds something as a stock: litres, figures, score, cost and labels.

    `scores` are the latest panel means by tag, 0 to 100 (tasting/vessels.py). An unknown figure is NaN, never zero, and
    one that is known of no stock is left out. A barrel is not opened for less than 5 L. Figures are those of now, and
    how sure each is comes with what its error has in common with others (see `ageing/doubts.py`). pH is only shown
    beside the blend; it is never averaged. What is in quarantine is barred. `ready` is how each barrel stands to its
    definition of ready, by tag; a tank has none, and is never left out for it.
    """
    now = cellar if isinstance(cellar, AgedCellar) else aged(cellar)
    standings = [standing for standing in now.in_walking_order() if _can_give(standing)]
    tags = [standing.tag for standing in standings]
    rows = [_numbers(standing, scores) for standing in standings]
    columns = {name: _column(row[name] for row in rows) for name in NUMBERS}
    numbers = {name: each for name, each in columns.items() if name in ALWAYS_NUMBERS or not np.isnan(each).all()}
    doubts = {name: now.doubts(tags, name) for name in SOLVABLE if not np.isnan(columns[name]).all()}
    numbers |= {f"{name}{UNCERTAINTY}": each.sd for name, each in doubts.items()}
    words = [_labels(standing) for standing in standings]
    labels = {name: np.array([row[name] for row in words], dtype=object) for name in LABELS}
    stocks = stocks_of_columns(np.array(tags, dtype=object), numbers, labels)
    celsius = np.array([standing.celsius for standing in standings])
    barred = {standing.tag: IN_QUARANTINE for standing in standings if standing.is_quarantined}
    chances = {s.tag: _chance_ready((ready or {}).get(s.tag)) for s in standings if s.vessel.is_barrel}
    stocks = replace(stocks, barred=barred, ready=chances)
    return replace(stocks, common={name: Common(*each[1:]) for name, each in doubts.items()}, celsius=celsius)


def _chance_ready(found: Readiness | None) -> float:
    """Return the chance that a barrel is ready now: all of it where the panel decided so, NaN where it is not known."""
    if found is None:
        return math.nan
    if found.state is ReadyState.READY and found.state_by:
        return 1.0
    return math.nan if found.chance is None else found.chance


def _column(values: Iterable[float | None]) -> Floats:
    return np.array([math.nan if value is None else value for value in values], dtype=np.float64)


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


def avoiding_part_full(brief: Mapping[str, Any]) -> dict[str, Any]:
    """Return a brief for a cellar's own barrels: `part_full` is "avoid" where it is not given."""
    draws = brief.get("draws", {})
    if not isinstance(draws, Mapping):
        return dict(brief)  # refused by the solve
    return {**brief, "draws": {"part_full": "avoid", **draws}}


def avoids_part_full(brief: Mapping[str, Any]) -> bool:
    """Return True if a brief asks for few part-full barrels."""
    draws = brief.get("draws", {})
    return isinstance(draws, Mapping) and draws.get("part_full") == "avoid"


def with_any(brief: Mapping[str, Any]) -> dict[str, Any]:
    """Return a brief that asks for the best plan alone, whatever it leaves part full."""
    draws = brief.get("draws", {})
    return {**brief, "draws": {**draws, "part_full": "any"}} if isinstance(draws, Mapping) else dict(brief)


def solve_in_cellar(
    cellar: Cellar, scores: Mapping[str, float], brief: Mapping[str, Any], time_limit: float | None = None
) -> Answer:
    """Solve a brief over the barrels and tanks of a cellar as it stands; few are left part full."""
    from cooperage.blending.solving import solve

    return solve(pool_of(cellar, scores), avoiding_part_full(brief), time_limit=time_limit)

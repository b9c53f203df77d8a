"""From stocks and a brief to an answer with reasons."""

import math
import os
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pandas as pd

from cooperage.blending import explain
from cooperage.blending.answer import Answer, LeftOut
from cooperage.blending.brief import Brief, read_brief
from cooperage.blending.fit import fitted, sift
from cooperage.blending.model import Model
from cooperage.blending.pool import Floats, Stocks, read_pool
from cooperage.blending.ranks import Plan, best
from cooperage.blending.sequence import in_passes, mixing_of
from cooperage.blending.solver import Clock, Ending
from cooperage.blending.telling import nothing_to_draw, told

HAIR = 2e-7  # in a limit's own unit: finer than any instrument, coarser than rounding


def solve(
    pool: pd.DataFrame | Stocks | str | os.PathLike[str],
    brief: Mapping[str, Any] | Brief | str | os.PathLike[str],
    time_limit: float | None = None,
) -> Answer:
    """Solve a brief over a pool of stocks.

    `pool` is a table (or the path of a CSV file) with columns stock, litres and any figures; `brief` a mapping (or the
    path of a TOML file). `time_limit` is in seconds, for the whole solve. Raises BadPool, BadBrief or BadInput.
    """
    stocks = pool if isinstance(pool, Stocks) else read_pool(pool)
    asked = fitted(brief if isinstance(brief, Brief) else read_brief(brief), stocks)
    usable, left_out = sift(asked, stocks)
    if not len(usable):
        return nothing_to_draw(asked, left_out)
    return _answer(asked, usable, left_out, Clock(math.inf if time_limit is None else time_limit))


def _answer(brief: Brief, stocks: Stocks, left_out: tuple[LeftOut, ...], clock: Clock) -> Answer:
    settled = in_passes(brief, stocks, _best_or_nearest, clock)
    return told(settled, mixing_of(brief, stocks), left_out, clock)


def _best_or_nearest(model: Model, clock: Clock, likely: Floats | None) -> Plan:
    """Return the best plan, or for an impossible brief the nearest one, so that the volume can settle there too."""
    plan = best(model, clock, likely)
    if plan.ending is not Ending.INFEASIBLE:
        return plan
    near = explain.nearest(model, clock)
    return _met_within_a_hair(model, near, clock) or near


def _met_within_a_hair(model: Model, near: Plan, clock: Clock) -> Plan | None:
    """Return the best plan when rounding alone stands in the way, as when two exact limits say the same."""
    if near.z is None or any(not limit.excess(limit.quantity.of(near.z)) <= HAIR for limit in model.limits):
        return None
    eased = replace(model, limits=tuple(side for limit in model.limits for side in limit.eased(2 * HAIR)))
    plan = best(eased, clock)
    return None if plan.z is None else replace(plan, prices=None)

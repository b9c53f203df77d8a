"""From stocks and a brief to an answer with reasons."""

import math
import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, TypeAlias

from cooperage.blending.answer import chance
from cooperage.blending.answer.answer import Answer, LeftOut
from cooperage.blending.answer.tidiness import unchanged, with_price
from cooperage.blending.answer.translate import answer_from, litres_drawn, nothing_to_draw
from cooperage.blending.answer.worth import readings_worth
from cooperage.blending.brief.brief import Brief, read_brief
from cooperage.blending.fit import fitted, split_stocks
from cooperage.blending.lp.highs import Ending, TimeBudget
from cooperage.blending.lp.passes import Settled, mixing_of
from cooperage.blending.settle import settled_for
from cooperage.blending.stocks.dosing import stocks_for_brief
from cooperage.blending.stocks.part_full import untidy_of
from cooperage.blending.stocks.pool import PoolSource, Stocks, read_pool
from cooperage.blending.tidy import tidied

MOST_FREED = 10  # forbidden stocks that are tried one by one when a brief cannot be met

BriefSource: TypeAlias = Mapping[str, Any] | Brief | str | os.PathLike[str]


@dataclass(frozen=True)
class CheckedBrief:
    """A brief that has been checked against its stocks, those a solve can consider, and those left out.

    The brief here asks for the best plan; `avoids` is True where one with fewer part-full barrels is wanted after it.
    """

    brief: Brief
    stocks: Stocks
    left_out: tuple[LeftOut, ...]
    avoids: bool = False


def asked_of(pool: PoolSource, brief: BriefSource) -> CheckedBrief:
    """Read and check a pool and a brief; raises BadPool, BadBrief or BadInput."""
    stocks = read_pool(pool)
    wanted = brief if isinstance(brief, Brief) else read_brief(brief)
    stocks = stocks_for_brief(wanted, stocks)
    wanted = fitted(wanted, stocks)
    avoids = wanted.draws.part_full == "avoid"
    wanted = replace(wanted, draws=replace(wanted.draws, part_full=None))
    return CheckedBrief(wanted, *split_stocks(wanted, chance.ready(wanted, stocks)), avoids=avoids)


def clock_of(time_limit: float | None) -> TimeBudget:
    """Start the clock of a solve that may take so many seconds."""
    return TimeBudget(math.inf if time_limit is None else time_limit)


def solve(pool: PoolSource, brief: BriefSource, time_limit: float | None = None) -> Answer:
    """Solve a brief over a pool of stocks.

    `pool` is a table (or the path of a CSV file) with columns stock, litres and any figures; `brief` a mapping (or the
    path of a TOML file). `time_limit` is in seconds, for the whole solve. Raises BadPool, BadBrief or BadInput.

    >>> from cooperage.blending import solve
    >>> import pandas as pd
    >>> pool = pd.DataFrame(
    ...     {"stock": ["B-001", "B-002", "B-003"], "litres": 225, "abv": [11, 14, 13], "cost_per_l": [6, 8, 7.5]}
    ... )
    >>> brief = {"litres": 100, "mixing": "plain", "objective": ["least_cost"], "limits": {"abv": {"min": 12.5}}}
    >>> answer = solve(pool, brief)
    >>> answer.status, {draw.stock: round(draw.litres, 1) for draw in answer.draws}, round(answer.objective, 2)
    ('optimal', {'B-001': 50.0, 'B-002': 50.0}, 700.0)
    """
    stocks = read_pool(pool)
    asked, clock = asked_of(stocks, brief), clock_of(time_limit)
    if not len(asked.stocks):
        answer = nothing_to_draw(asked.brief, asked.left_out)
    else:
        answer = answer_of(settled_for(asked.brief, asked.stocks, clock), asked, clock)
    if answer.draws and asked.avoids:
        return _with_less_left(answer, asked, clock)
    if answer.status != "infeasible":
        return answer
    return replace(answer, notes=(*answer.notes, *_would_close(stocks, asked.brief, clock)))


def solve_tidily(pool: PoolSource, brief: BriefSource, found: Answer, time_limit: float | None = None) -> Answer:
    """Return the plan with fewest part-full barrels and tiny draws near the best one `found` for a brief.

    Where there is none with fewer, or `part_full` of the brief is not "avoid", that is the best one. Raises as `solve`.
    """
    asked = asked_of(pool, brief)
    return _with_less_left(found, asked, clock_of(time_limit)) if found.draws and asked.avoids else found


def _with_less_left(found: Answer, asked: CheckedBrief, clock: TimeBudget) -> Answer:
    came = tidied(asked.brief, asked.stocks, found, clock)
    within = asked.brief.draws.part_full_within
    if came.settled is None:
        return unchanged(found, within, is_proved=came.is_proved)
    aims = came.settled.model.aims
    return with_price(answer_of(came.settled, asked, clock), found, aims[0] if aims else None, asked.brief)


def _would_close(stocks: Stocks, brief: Brief, clock: TimeBudget) -> Iterator[str]:
    """Return which of the stocks that an impossible brief forbids would make it possible."""
    for name in brief.draws.never[:MOST_FREED]:
        never = tuple(other for other in brief.draws.never if other != name)
        freed = asked_of(stocks, replace(brief, draws=replace(brief.draws, never=never)))
        settled = settled_for(freed.brief, freed.stocks, clock)
        if settled.plan.ending in (Ending.OPTIMAL, Ending.FEASIBLE):
            yield f"{name} would close the gap, and the brief forbids it"


def answer_of(settled: Settled, asked: CheckedBrief, clock: TimeBudget) -> Answer:
    """Return the answer of a settled solve, and how sure it is."""
    answer = answer_from(settled, mixing_of(asked.brief, settled.model.columns.stocks), asked.left_out, clock)
    if not answer.draws or settled.plan.z is None:
        return answer
    litres = litres_drawn(settled.model, settled.plan.z)
    stocks = settled.model.columns.stocks
    deviation = chance.deviations(stocks, litres, answer.blend["litres"] or 0.0)
    found = chance.chances(asked.brief, answer.blend, deviation)
    worth = readings_worth(asked.brief, stocks, litres, answer.blend, found)
    of_all = chance.chance_of_all(found)
    left = untidy_of(asked.brief, stocks, litres)
    return replace(
        answer,
        uncertainty=deviation,
        chances=found,
        chance_of_all=of_all,
        readings=worth,
        part_full=left.part_full,
        tiny_draws=left.tiny_draws,
    )

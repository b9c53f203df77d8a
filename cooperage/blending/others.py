"""Other blends worth tasting: nearly as good as the best, and as unlike it and one another as can be.

Each is the plan that draws least from what the plans before it drew on, held to within a fraction of the best (hop,
skip and jump: Brill, Chang and Hopkins 1982, Management Science 28, 221-235).
"""

from collections.abc import Mapping, Sequence

import numpy as np

from cooperage.blending.answer.answer import Answer
from cooperage.blending.answer.compared import best_of, distance, shares
from cooperage.blending.lp.highs import Ending, TimeBudget, run
from cooperage.blending.lp.model import Model
from cooperage.blending.lp.ranks import Plan, held_within
from cooperage.blending.settle import settled_for
from cooperage.blending.solving import BriefSource, CheckedBrief, answer_of, asked_of, clock_of, solve
from cooperage.blending.stocks.pool import Floats, PoolSource
from cooperage.errors import BadInput

ALIKE = 0.01  # blends that share all but a hundredth of their litres taste the same


class NoSuchChoice(BadInput):
    """A number of others, or a distance from the best, that makes no sense."""

    def __init__(self, k: int, within: float) -> None:
        super().__init__(f"{k} others within {100 * within:g} % of the best: ask for 1 or more, within 0 % or more")


def alternatives(
    pool: PoolSource,
    brief: BriefSource,
    k: int = 3,
    within: float = 0.05,
    time_limit: float | None = None,
    best: Answer | None = None,
) -> tuple[Answer, ...]:
    """Return up to k blends that meet a brief, whose first objective is within a fraction of the best one's.

    They differ from the best and from one another by at least a hundredth of their litres; fewer are returned when
    there are no more, none when the brief cannot be met. `time_limit` [s] is for each; `best` is the brief's answer, if
    it is known. Raises as `solve`, and NoSuchChoice.

    >>> from cooperage.blending import alternatives
    >>> import pandas as pd
    >>> pool = pd.DataFrame(
    ...     {"stock": ["B-001", "B-002", "B-003"], "litres": 225, "abv": [11, 14, 13], "cost_per_l": [6, 8, 7.5]}
    ... )
    >>> brief = {"litres": 100, "mixing": "plain", "objective": ["least_cost"], "limits": {"abv": {"min": 12.5}}}
    >>> (other,) = alternatives(pool, brief, k=1, within=0.1)
    >>> round(other.blend["abv"], 2) >= 12.5, other.objective <= 770.01
    (True, True)
    """
    if k < 1 or within < 0:
        raise NoSuchChoice(k, within)
    asked = asked_of(pool, brief)
    best = best or solve(pool, brief, time_limit)
    found: list[Answer] = [best] if best.draws else []
    while found and len(found) <= k:
        other = _other(asked, found, within, clock_of(time_limit))
        if not other.draws or min(distance(other, each) for each in found) < ALIKE:
            break
        found.append(other)
    return tuple(found[1:])


def _other(asked: CheckedBrief, found: Sequence[Answer], within: float, clock: TimeBudget) -> Answer:
    used = _used(found)

    def unlike(model: Model, clock: TimeBudget, likely: Floats | None) -> Plan:
        shunned = np.array([used.get(str(name), 0.0) for name in model.columns.stocks.names])
        held = [held_within(aim, best_of(found[0]), within) for aim in model.aims[:1]]
        outcome = run(model.program(model.columns.over_draws(shunned), model.limits, held), clock, likely)
        return Plan(outcome.ending, outcome.z, outcome.gap)

    settled = settled_for(asked.brief, asked.stocks, clock, unlike)
    if settled.plan.ending not in (Ending.OPTIMAL, Ending.FEASIBLE):
        return Answer("no_plan")
    return answer_of(settled, asked, clock)


def _used(found: Sequence[Answer]) -> Mapping[str, float]:
    """Return how much of the blends found each stock makes up, summed over them."""
    used: dict[str, float] = {}
    for answer in found:
        for stock, share in shares(answer).items():
            used[stock] = used.get(stock, 0.0) + share
    return used

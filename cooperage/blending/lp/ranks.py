"""Ranked objectives: each is brought to its best and held there while the next is improved."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from cooperage.blending.lp.aims import Aim
from cooperage.blending.lp.columns import total
from cooperage.blending.lp.highs import Ending, Outcome, TimeBudget, run
from cooperage.blending.lp.model import Model, Row
from cooperage.blending.stocks.pool import Floats

MOST_RATES = 30


@dataclass(frozen=True, slots=True)
class Plan:
    """How a model was solved; `z` is the plan, `prices` what each limit is worth to the first objective.

    `prices` are d(objective)/d(bound) in the order of the limits. `stopped_at` is the rank at which time ran out, when
    there was a plan in hand by then.
    """

    ending: Ending
    z: Floats | None = None
    gap: float | None = None
    prices: Floats | None = None
    stopped_at: int | None = None


def best(model: Model, clock: TimeBudget, likely: Floats | None = None) -> Plan:
    """Solve a model rank by rank; `likely` is a plan near the answer, if one is known."""
    first = model.aims[0] if model.aims else None
    outcome = _reach(model, first, [], clock, likely)
    plan = Plan(outcome.ending, outcome.z, outcome.gap, prices_of(model, outcome))
    held: list[Row] = []
    for rank, (aim, following) in enumerate(zip(model.aims, model.aims[1:], strict=False), start=1):
        if plan.z is None or plan.ending is not Ending.OPTIMAL:
            break
        held.append(_hold(aim, plan.z, model.brief.slack))
        outcome = _reach(model, following, held, clock, likely)
        plan = _follow(plan, outcome, rank)
    return plan


def _follow(plan: Plan, outcome: Outcome, rank: int) -> Plan:
    """Take the plan of the next rank; what it costs to go without one is an unproved rank, not the plan in hand."""
    if outcome.z is None:
        timed_out = outcome.ending is Ending.NO_PLAN
        return replace(plan, ending=Ending.FEASIBLE, stopped_at=rank) if timed_out else plan
    stopped = rank if outcome.ending is Ending.FEASIBLE else None
    return replace(plan, ending=outcome.ending, z=outcome.z, gap=outcome.gap, stopped_at=stopped)


def _hold(aim: Aim, z: Floats, slack: float) -> Row:
    """Return the row that keeps an aim within a fraction of what the plan reached (HiGHS allows for rounding)."""
    reached = aim.quantity.of(z)
    if np.isnan(reached):
        return np.zeros_like(z), 0.0
    return held_within(aim, reached, slack)


def held_within(aim: Aim, best: float | None, within: float) -> Row:
    """Return the row that keeps an aim within a fraction of its best."""
    allowed = (best or 0.0) + aim.sign * within * abs(best or 0.0)
    bound = allowed if aim.quantity.base is None else 0.0
    return aim.sign * aim.quantity.less(allowed), aim.sign * bound


def _reach(model: Model, aim: Aim | None, held: list[Row], clock: TimeBudget, likely: Floats | None) -> Outcome:
    """Bring one aim to its best."""

    def lower(cost: Floats) -> Outcome:
        return run(model.program(cost, model.limits, held), clock, likely)

    if aim is None:
        return lower(np.zeros(model.columns.count))
    base = aim.quantity.base
    span = model.brief.litres
    if base is None or (span.low == span.high and base is model.columns.volume):
        return lower(aim.sign * aim.quantity.amount)
    return _reach_figure(aim, lower)


def _reach_figure(aim: Aim, lower: Callable[[Floats], Outcome]) -> Outcome:
    """Bring a figure of a blend to its best when its litres are free: a ratio, so no single linear programme.

    Dinkelbach's method: improve amount - rate * base at the best rate so far until nothing improves it; that rate is
    the optimum, and it is reached in a few programmes.
    """
    found = lower(aim.sign * aim.quantity.amount)
    for _ in range(MOST_RATES):
        if found.z is None:
            return found
        rate = aim.quantity.of(found.z)
        if np.isnan(rate):
            return found
        following = lower(aim.sign * aim.quantity.less(rate))
        if following.z is None:
            return replace(found, ending=Ending.FEASIBLE) if following.ending is Ending.NO_PLAN else following
        gained = aim.sign * total(aim.quantity.less(rate), following.z)
        if gained > -1e-9 * max(1.0, abs(rate)) * max(1.0, aim.quantity.weight(found.z)):
            # The plan in hand is proved best; the prices are those of the programme that proved it.
            return replace(following, z=found.z)
        found = following
    return replace(found, ending=Ending.FEASIBLE)


def prices_of(model: Model, outcome: Outcome) -> Floats | None:
    """Return the price of each limit's bound, put back in the order of the limits."""
    if outcome.prices_ub is None or outcome.prices_eq is None:
        return None
    loose, exact = iter(outcome.prices_ub), iter(outcome.prices_eq)
    return np.array([next(exact if limit.side == "exact" else loose) for limit in model.limits])

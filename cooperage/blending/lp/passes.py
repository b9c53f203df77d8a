"""A short sequence of programmes: each is linear in litres, and together they find the blend at its true volume."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from cooperage.blending.brief.brief import Brief
from cooperage.blending.lp.aims import Aim
from cooperage.blending.lp.columns import total
from cooperage.blending.lp.highs import Ending, TimeBudget
from cooperage.blending.lp.limits import Cut
from cooperage.blending.lp.model import Model, build
from cooperage.blending.lp.ranks import Plan
from cooperage.blending.lp.volume import LiquidMixing, Mixing, PlainMixing
from cooperage.blending.stocks.pool import Floats, Stocks

FREE_PASSES = 6
MOST_PASSES = 24
STEP = 0.25
SETTLED_L = 2e-7
SETTLED_SHARE = 5e-10  # of a small blend, where 2e-7 L is more of its 1000 g/L than a limit forgives
SETTLED = 1e-12  # of a very large one, where no number is finer
ALIKE = 2e-5  # plans of one mead and another differ by this much in volume alone, so neither is the better

Solver = Callable[[Model, TimeBudget, Floats | None], Plan]


@dataclass(frozen=True, slots=True)
class Settled:
    """The last programme of a sequence and its plan; `settled` is False when the volume was still moving.

    `so_far` is a plan of this programme found on the way, where the sequence ended without one.
    """

    model: Model
    plan: Plan
    settled: bool = True
    so_far: Floats | None = None


def mixing_of(brief: Brief, stocks: Stocks) -> Mixing:
    """Return how litres add up under a brief whose mixing has been decided."""
    return LiquidMixing(stocks) if brief.mixing == "liquid" else PlainMixing()


def in_passes(brief: Brief, stocks: Stocks, solver: Solver, clock: TimeBudget, cuts: Sequence[Cut] = ()) -> Settled:
    """Solve, correct the volume factors at the plan found, and solve again until the volume stands still.

    Volume is smooth in the draws, and each pass is exact at the plan of the one before, so that the error of a pass
    is of second order: two or three passes are usual. The first factors are those of all stocks vatted together.
    Where the best blend lies between two plans that take turns, the passes are reined in: no draw moves further than
    an ever smaller step from the last, and whole numbers stay as they are.
    """
    mixing = mixing_of(brief, stocks)
    factors = mixing.factors(np.where(np.isfinite(stocks.litres), stocks.litres, 1.0))
    free, likely = Plan(Ending.NO_PLAN), None
    for turn in range(MOST_PASSES):
        model = build(brief, stocks, factors, cuts)
        is_reined = likely is not None and turn >= FREE_PASSES
        plan = solver(hold_near(model, likely, turn) if likely is not None and is_reined else model, clock, likely)
        if plan.z is None:
            return Settled(model, plan, so_far=likely)
        poured = model.columns.litres(plan.z)
        if is_settled(factors, poured, mixing):
            return _settled(model, plan, free if is_reined else plan)
        factors, likely, free = mixing.factors(poured), plan.z, free if is_reined else plan
    return _unsettled(model, plan)


def is_settled(factors: Floats, poured: Floats, mixing: Mixing) -> bool:
    """Return True if the volume a plan was made for is the volume it makes."""
    true = mixing.litres(poured) if poured.any() else 0.0
    return abs(total(factors, poured) - true) <= max(min(SETTLED_L, SETTLED_SHARE * true), SETTLED * true)


def hold_near(model: Model, last: Floats, turn: int) -> Model:
    """Restrict draws to within a step of the last plan, and whole numbers to what they were."""
    step = float(last[: model.columns.draws].max(initial=0.0)) * STEP ** (turn - FREE_PASSES + 1)
    draws = np.arange(model.columns.count) < model.columns.draws
    reach = np.where(model.integer, 0.0, np.where(draws, step, np.inf))
    middle = np.where(model.integer, np.rint(last), last)
    return replace(model, lower=np.maximum(model.lower, middle - reach), upper=np.minimum(model.upper, middle + reach))


def _settled(model: Model, plan: Plan, free: Plan) -> Settled:
    """Judge a plan by the last one found free of reins: whole numbers held in place prove nothing about others."""
    if plan.ending is Ending.INFEASIBLE and free.ending is not Ending.INFEASIBLE:
        return _unsettled(model, plan)
    if plan is free or plan.ending is not Ending.OPTIMAL or not model.integer.any() or not model.aims:
        return Settled(model, plan)
    gap = _gap(model.aims[0], plan, free)
    return Settled(model, plan if gap <= ALIKE else replace(plan, ending=Ending.FEASIBLE, gap=gap))


def _gap(first: Aim, plan: Plan, free: Plan) -> float:
    assert plan.z is not None
    assert free.z is not None
    here, there = first.quantity.of(plan.z), first.quantity.of(free.z)
    return abs(here - there) / max(abs(here), 1e-12)


def _unsettled(model: Model, plan: Plan) -> Settled:
    return Settled(model, replace(plan, ending=Ending.NO_PLAN, z=None), settled=False, so_far=plan.z)

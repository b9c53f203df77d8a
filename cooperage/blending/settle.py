"""From a brief to a settled plan: draws that can be made, and limits met as surely as was asked."""

from dataclasses import replace

import numpy as np

from cooperage.blending.answer import conflict as explain
from cooperage.blending.answer.chance import MOST_CUTS, cuts_at, deviations
from cooperage.blending.answer.drawn import blend_figures
from cooperage.blending.answer.translate import litres_drawn
from cooperage.blending.brief.brief import Brief
from cooperage.blending.lp.highs import Ending, TimeBudget
from cooperage.blending.lp.limits import Cut
from cooperage.blending.lp.model import Model, is_counted
from cooperage.blending.lp.passes import Settled, Solver, in_passes, mixing_of
from cooperage.blending.lp.ranks import Plan, best
from cooperage.blending.stocks.pool import Flags, Floats, Stocks

HAIR = 2e-7  # in a limit's own unit: finer than any instrument, coarser than rounding
LEAST_L = 0.001  # no draw is less than a millilitre ...
LARGE_L = 10.0  # ... for a blend of a cellar's size
ROUNDING_S = 2.0  # what a rounded plan may take once the time is up: a few linear programmes


def settled_for(brief: Brief, stocks: Stocks, clock: TimeBudget, solver: Solver | None = None) -> Settled:
    """Return the best plan whose draws are real and whose limits are met with the brief's confidence."""
    cuts: tuple[Cut, ...] = ()
    for _ in range(MOST_CUTS):
        settled = _real(brief, stocks, clock, solver or best_or_nearest, cuts)
        if brief.confidence is None or not _has_plan(settled):
            return settled if solver else _with_rounded_plan(settled, brief, stocks, cuts)
        more = unsure_cuts(brief, settled)
        if not more:
            return settled
        cuts += more
    no_plan = replace(settled.plan, ending=Ending.NO_PLAN, z=None)
    return Settled(settled.model, no_plan, settled=False, so_far=settled.plan.z)


def _with_rounded_plan(settled: Settled, brief: Brief, stocks: Stocks, cuts: tuple[Cut, ...]) -> Settled:
    """Put a rounded plan beside a solve whose time was up before it had any."""
    if settled.plan.ending is not Ending.NO_PLAN or settled.so_far is not None:
        return settled

    def rough(model: Model, clock: TimeBudget, likely: Floats | None) -> Plan:  # noqa: ARG001 - as every solver
        return explain.rounded(model, clock)

    near = in_passes(brief, stocks, rough, TimeBudget(ROUNDING_S), cuts)
    return replace(settled, model=near.model, so_far=near.so_far if near.plan.z is None else near.plan.z)


def _has_plan(settled: Settled) -> bool:
    return settled.plan.z is not None and settled.plan.ending in (Ending.OPTIMAL, Ending.FEASIBLE)


def unsure_cuts(brief: Brief, settled: Settled) -> tuple[Cut, ...]:
    """Return the rows that a settled plan's unsure limits call for."""
    assert settled.plan.z is not None
    stocks = settled.model.columns.stocks
    litres = litres_drawn(settled.model, settled.plan.z)
    blend = blend_figures(stocks, litres, mixing_of(brief, stocks))
    return cuts_at(brief, stocks, litres, blend, deviations(stocks, litres, blend["litres"] or 0.0))


def _real(brief: Brief, stocks: Stocks, clock: TimeBudget, solver: Solver, cuts: tuple[Cut, ...]) -> Settled:
    """Return the best plan without draws of less than a millilitre: none of such a stock, or a real draw of it."""
    settled = _least_draws(brief, stocks, clock, solver, cuts)
    tiny = _tiny(brief, stocks, settled)
    if not tiny.any():
        return settled
    least = np.where(tiny | (stocks.min_litres > 0), np.maximum(stocks.min_litres, LEAST_L), 0.0)
    return _least_draws(brief, replace(stocks, min_litres=least), clock, solver, cuts)


def _tiny(brief: Brief, stocks: Stocks, settled: Settled) -> Flags:
    if not _has_plan(settled) or brief.litres.high < LARGE_L:
        return np.zeros(len(stocks), dtype=np.bool_)
    litres = _litres(settled)
    tiny: Flags = (litres > 0) & (litres < LEAST_L)
    return tiny


def _litres(settled: Settled) -> Floats:
    assert settled.plan.z is not None
    return litres_drawn(settled.model, settled.plan.z)


def _least_draws(brief: Brief, stocks: Stocks, clock: TimeBudget, solver: Solver, cuts: tuple[Cut, ...]) -> Settled:
    """Solve without the least draws first, where they alone ask for integers: often the best plan keeps them anyway."""
    if stocks.min_litres.any() and not brief.draws.whole and not is_counted(brief, stocks):
        easy = in_passes(brief, replace(stocks, min_litres=np.zeros(len(stocks))), solver, clock, cuts)
        if easy.plan.ending is Ending.OPTIMAL and _keeps(stocks, _litres(easy)):
            return easy
    return in_passes(brief, stocks, solver, clock, cuts)


def _keeps(stocks: Stocks, litres: Floats) -> bool:
    return bool(((litres == 0) | (litres >= stocks.min_litres)).all())


def best_or_nearest(model: Model, clock: TimeBudget, likely: Floats | None) -> Plan:
    """Return the best plan, or for an impossible brief the nearest one, so that the volume can settle there too."""
    plan = best(model, clock, likely)
    if plan.ending is not Ending.INFEASIBLE:
        return plan
    near = explain.nearest(model, clock)
    return _met_within_rounding(model, near, clock) or near


def _met_within_rounding(model: Model, near: Plan, clock: TimeBudget) -> Plan | None:
    """Return the best plan when rounding alone stands in the way, as when two exact limits are the same."""
    if near.z is None or any(not limit.excess(limit.quantity.of(near.z)) <= HAIR for limit in model.limits):
        return None
    eased = replace(model, limits=tuple(side for limit in model.limits for side in limit.relaxed(2 * HAIR)))
    plan = best(eased, clock)
    return None if plan.z is None else replace(plan, prices=None)

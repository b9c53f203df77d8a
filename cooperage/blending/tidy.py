"""A plan with fewer part-full barrels and tiny draws, for a little of the first objective.

What is left in a barrel spoils under the air over it, and a draw of a few litres opens a barrel for nothing (common
practice, no source). After the best plan, a second programme holds the first objective near it and counts both; what
it decides (which stocks are opened, which drained) is then kept, and the plan is made the best there is of that kind.
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from cooperage.blending.answer.answer import Answer
from cooperage.blending.brief.brief import Brief
from cooperage.blending.lp.aims import Aim
from cooperage.blending.lp.highs import Ending, Outcome, SolverFailedError, TimeBudget, run
from cooperage.blending.lp.model import MOST_LOST, Model, Row
from cooperage.blending.lp.passes import Settled, is_settled, mixing_of
from cooperage.blending.lp.ranks import Plan, best, held_within
from cooperage.blending.settle import settled_for
from cooperage.blending.stocks.part_full import DRAINED_L, Untidy, untidy_of
from cooperage.blending.stocks.pool import Floats, Stocks

MOST_NODES = 100  # branches looked into: by then a tidy plan is found if one is, and only its proof would take longer
MOST_SEARCHES = 4  # the kinds of plan tried where the limits do not hold at their true volume
ROUNDING = 1e-7  # of the first objective


@dataclass(frozen=True, slots=True)
class Tidied:
    """What came of the search: a settled plan that leaves less behind (None: none found), and if that is proved."""

    settled: Settled | None
    is_proved: bool


def tidied(brief: Brief, stocks: Stocks, found: Answer, clock: TimeBudget) -> Tidied:
    """Look for a plan that leaves fewer barrels part full than the best one found, and no more tiny draws in all."""
    litres = _litres_of(found, stocks)
    before = untidy_of(brief, stocks, litres)
    if not before.total or clock.out:
        return Tidied(None, is_proved=not before.total)
    avoiding = replace(brief, draws=replace(brief.draws, part_full="avoid"))
    search = _Search(avoiding, stocks, found.objective, litres, before)
    try:
        settled = settled_for(avoiding, stocks, clock, search)
    except SolverFailedError:  # the best plan is there already, and stands
        return Tidied(None, is_proved=False)
    return Tidied(_with_true_prices(settled) if _is_better(settled, found, before) else None, search.is_proved)


def _with_true_prices(settled: Settled) -> Settled:
    """Drop the prices of limits where the plan cannot follow them: a drained barrel gives neither more nor less."""
    model, plan = settled.model, settled.plan
    if plan.z is None or plan.prices is None:
        return settled
    litres, there = model.columns.litres(plan.z), model.columns.stocks.litres
    free = int(((litres > DRAINED_L) & (there - litres > DRAINED_L)).sum())
    if int((np.abs(plan.prices) > ROUNDING).sum()) <= free:
        return settled
    return replace(settled, plan=replace(plan, prices=None))


def _litres_of(found: Answer, stocks: Stocks) -> Floats:
    drawn = {draw.stock: draw.litres for draw in found.draws}
    return np.array([drawn.get(str(name), 0.0) for name in stocks.names])


def _is_better(settled: Settled, found: Answer, before: Untidy) -> bool:
    """Return True if a settled plan leaves less behind and keeps to what that may cost."""
    plan, model = settled.plan, settled.model
    if plan.z is None or plan.ending not in (Ending.OPTIMAL, Ending.FEASIBLE):
        return False
    now = untidy_of(model.brief, model.columns.stocks, model.columns.litres(plan.z))
    if now.total >= before.total or now.part_full > before.part_full:
        return False
    if not model.aims or found.objective is None:
        return True
    lost = model.aims[0].sign * (model.aims[0].quantity.of(plan.z) - found.objective)
    return lost <= (model.brief.draws.part_full_within + ROUNDING) * abs(found.objective) + ROUNDING


class _Search:
    """A solver for `settled_for`: it decides the kind of plan once, and again only where that kind does not hold."""

    def __init__(self, brief: Brief, stocks: Stocks, objective: float | None, litres: Floats, before: Untidy) -> None:
        self._brief, self._objective, self._litres, self._before = brief, objective, litres, before
        self._mixing = mixing_of(brief, stocks)
        self._is_begun = False
        self._kind: Floats | None = None
        self._searches = 0
        self.is_proved = True

    def __call__(self, model: Model, clock: TimeBudget, likely: Floats | None) -> Plan:
        """Return the best plan of the kind decided on; to begin with the plan in hand, for its volume is near."""
        if not self._is_begun:
            self._is_begun = True
            if not is_settled(model.columns.factors, self._litres, self._mixing):
                return Plan(Ending.FEASIBLE, self._in_hand(model))
        plan = self._of_kind(model, clock, likely)
        while (plan is None or plan.z is None) and self._searches < MOST_SEARCHES:
            outcome = self._decided(model, clock)
            if outcome.z is None:
                self.is_proved &= outcome.ending is Ending.INFEASIBLE
                return Plan(outcome.ending)
            self.is_proved &= outcome.ending is Ending.OPTIMAL
            self._kind = np.where(model.integer, np.rint(outcome.z), 0.0)
            plan = self._of_kind(model, clock, likely)
        return plan or Plan(Ending.NO_PLAN)

    def _in_hand(self, model: Model) -> Floats:
        z = np.zeros(model.columns.count)
        z[: model.columns.draws] = self._litres / model.columns.measure
        return z

    def _of_kind(self, model: Model, clock: TimeBudget, likely: Floats | None) -> Plan | None:
        if self._kind is None or len(self._kind) != model.columns.count:
            return None
        lower = np.where(model.integer, self._kind, model.lower)
        upper = np.where(model.integer, self._kind, model.upper)
        return best(replace(model, lower=lower, upper=upper), clock, likely)

    def _decided(self, model: Model, clock: TimeBudget) -> Outcome:
        """Find the kind of plan that leaves least behind, and among those the best one."""
        self._searches += 1
        columns = model.columns
        count = columns.partly_full + columns.tiny_draws
        rows: list[Row] = [(count, self._before.total - 1.0), (columns.partly_full, float(self._before.part_full))]
        if not model.aims:
            return run(model.program(count, model.limits, rows), clock, nodes=MOST_NODES)
        aim, within = model.aims[0], model.brief.draws.part_full_within
        rows.append(held_within(aim, self._objective, within))
        span = within * abs(self._objective or 0.0) * self._weight(aim)
        tie = aim.sign * aim.quantity.less(self._objective or 0.0) / (2 * span) if span else np.zeros_like(count)
        return run(model.program(count + tie, model.limits, rows), clock, nodes=MOST_NODES)

    def _weight(self, aim: Aim) -> float:
        """Return the most that the first objective is over."""
        if aim.quantity.base is None:
            return 1.0
        high = self._brief.litres.high
        return MOST_LOST * (high if math.isfinite(high) else float(self._litres.sum()))

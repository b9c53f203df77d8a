"""What the rules on single stocks cost: the brief is solved once more without each, and the plans are compared."""

from dataclasses import replace

from cooperage.blending.answer.answer import Answer
from cooperage.blending.answer.compared import RuleCost, best_of
from cooperage.blending.answer.words import PriceBase, gain_words
from cooperage.blending.brief.brief import Brief
from cooperage.blending.brief.quantities import QuantityText
from cooperage.blending.lp.highs import Ending, TimeBudget
from cooperage.blending.settle import settled_for
from cooperage.blending.solving import BriefSource, asked_of, clock_of
from cooperage.blending.stocks.pool import PoolSource

ALIKE = 1e-7  # of the first objective: what rounding moves
HALF_A_PENNY = 0.005  # of the whole blend: too little to be paid


def rule_costs(
    pool: PoolSource, brief: BriefSource, answer: Answer, time_limit: float | None = None
) -> tuple[RuleCost, ...]:
    """Return what each stock under `must` and `never` costs against the answer to the same brief without that rule.

    Of a brief that cannot be met only `must` is given: `solve` itself names which forbidden stock would close the gap.
    `time_limit` [s] is for all of them. Raises as `solve`.
    """
    wanted, clock = asked_of(pool, brief).brief, clock_of(time_limit)
    rules = [("must", name) for name in wanted.draws.must]
    if answer.draws:
        rules += [("never", name) for name in wanted.draws.never]
    return tuple(_cost(pool, wanted, answer, rule, stock, clock) for rule, stock in rules)


def _without(brief: Brief, stock: str) -> Brief:
    """Return the brief without its rule on a stock, which stands under one of the two."""
    must, never = (tuple(name for name in rule if name != stock) for rule in (brief.draws.must, brief.draws.never))
    return replace(brief, draws=replace(brief.draws, must=must, never=never))


def _cost(pool: PoolSource, brief: Brief, answer: Answer, rule: str, stock: str, clock: TimeBudget) -> RuleCost:
    """Solve without one rule and compare."""

    def cost_of(words: str, cost: float | None = None) -> RuleCost:
        return RuleCost(rule, stock, cost, QuantityText(f"Rule '{rule} {stock}' ", words))

    freed = asked_of(pool, _without(brief, stock))
    settled = settled_for(freed.brief, freed.stocks, clock)
    plan, aims = settled.plan, settled.model.aims
    if plan.ending is Ending.UNBOUNDED:
        return cost_of("is all that keeps this brief within bounds")
    if plan.ending is Ending.NO_PLAN or plan.z is None:
        return cost_of("costs what time was too short to find out")
    if not answer.draws:
        is_met = plan.ending is not Ending.INFEASIBLE
        return cost_of("is what stands in the way: there is a blend without it" if is_met else _NEITHER)
    best = best_of(answer)
    if best is None or not aims:
        return cost_of("costs nothing: the brief aims at nothing")
    gain = aims[0].sign * (best - aims[0].quantity.of(plan.z))
    is_proved = plan.ending is Ending.OPTIMAL and answer.status == "optimal"
    least = HALF_A_PENNY if aims[0].objective.kind in ("least_cost", "most_profit") else 0.0
    if gain <= max(least, ALIKE * max(1.0, abs(best))):
        return cost_of("costs nothing" if is_proved else "costs nothing that the time allowed to find", 0.0)
    size = PriceBase(answer.blend["litres"] or 1.0, freed.brief.bottle_ml)
    unproved = "" if is_proved else ", as far as the time allowed to find"
    if aims[0].objective.kind == "least_cost":
        return cost_of(QuantityText("costs ", size.each(gain), unproved), gain)
    price = QuantityText("has a cost: without it the plan would ", gain_words(aims[0], gain, size), unproved)
    return cost_of(price, gain)


_NEITHER = "changes nothing: no blend meets this brief without it either"

"""Several bottlings from the same stocks: one programme, in which no litre is promised twice.

The programmes of the briefs stand side by side and share one row a stock. Objectives of briefs of one rank are summed,
each times the brief's weight; a lower rank is improved while the higher ones are held. Doses and heels are each
brief's own.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from cooperage.blending.answer.answer import Answer, AnswerPart, Nearest, Status
from cooperage.blending.brief.brief import BadBrief
from cooperage.blending.lp.aims import Aim
from cooperage.blending.lp.columns import total
from cooperage.blending.lp.highs import Ending, Outcome, TimeBudget, run
from cooperage.blending.lp.limits import Cut
from cooperage.blending.lp.model import Model, Row, build
from cooperage.blending.lp.passes import FREE_PASSES, MOST_PASSES, Settled, hold_near, is_settled, mixing_of
from cooperage.blending.lp.ranks import Plan
from cooperage.blending.lp.side_by_side import shared_rows, side_by_side, split_outcome
from cooperage.blending.settle import unsure_cuts
from cooperage.blending.solving import BriefSource, CheckedBrief, answer_of, asked_of, clock_of, solve
from cooperage.blending.stocks.pool import Floats, PoolSource, Stocks, read_pool

MOST_ROUNDS = 30
NOT_TIDIED = "several briefs together are solved at their best; only one brief alone avoids part-full barrels"


@dataclass(frozen=True)
class Programme(AnswerPart):
    """What came of several briefs: one answer each, by the brief's name, in the order in which they are poured.

    `status` is that of all together; `objective` the weighted sum of the first objectives of the first rank.
    What is left of a stock in an answer is what the bottlings up to that one leave; those with the largest heel come
    first, so that each leaves its own.

    >>> from cooperage.blending import solve_together
    >>> import pandas as pd
    >>> pool = pd.DataFrame(
    ...     {"stock": ["B-001", "B-002", "B-003"], "litres": 225, "abv": [11, 14, 13], "cost_per_l": [6, 8, 7.5]}
    ... )
    >>> brief = {"litres": 100, "mixing": "plain", "objective": ["least_cost"], "limits": {"abv": {"min": 12.5}}}
    >>> programme = solve_together(pool, {"dry": brief})
    >>> round(programme["objective"], 2)
    700.0
    """

    status: Status
    objective: float | None = None
    bottlings: Mapping[str, Answer] = field(default_factory=dict)
    notes: tuple[str, ...] = ()

    @property
    def exit_status(self) -> int:
        """As of one answer."""
        return Answer(self.status).exit_status


def solve_together(pool: PoolSource, briefs: Mapping[str, BriefSource], time_limit: float | None = None) -> Programme:
    """Solve several briefs, by name, over the same stocks.

    Where they cannot all be met, each in turn (by rank, then as given) is solved over what is left, so that what
    stands in the way is named where it stands. Raises as `solve`.

    >>> from cooperage.blending import solve_together
    >>> import pandas as pd
    >>> pool = pd.DataFrame(
    ...     {"stock": ["B-001", "B-002", "B-003"], "litres": 225, "abv": [11, 14, 13], "cost_per_l": [6, 8, 7.5]}
    ... )
    >>> brief = {"litres": 100, "mixing": "plain", "objective": ["least_cost"], "limits": {"abv": {"min": 12.5}}}
    >>> stronger = brief | {"limits": {"abv": {"min": 13.5}}}
    >>> programme = solve_together(pool, {"dry": brief, "strong": stronger})
    >>> programme.status, sorted(programme.bottlings)
    ('optimal', ['dry', 'strong'])
    """
    stocks, clock = read_pool(pool), clock_of(time_limit)
    asked = {name: asked_of(stocks, brief) for name, brief in briefs.items()}
    if not all(len(each.stocks) for each in asked.values()):
        return _solve_in_turn(stocks, briefs, asked, time_limit)
    settled = _settle_with_confidence(list(asked.values()), stocks, clock)
    ending = settled[0].plan.ending
    if ending is Ending.INFEASIBLE:
        return _solve_in_turn(stocks, briefs, asked, time_limit)
    if ending is Ending.NO_PLAN and all(each.settled for each in settled):
        return _nearest_in_turn(stocks, briefs, asked)
    answers = {
        name: replace(answer_of(each, asked[name], clock), ranging=())
        for name, each in zip(asked, settled, strict=True)
    }
    objective = _weighted(list(asked.values()), settled) if settled[0].plan.z is not None else None
    status: Status = answers[next(iter(answers))].status
    notes = (NOT_TIDIED,) if any(each.avoids for each in asked.values()) else ()
    in_turn = {name: answers[name] for name in sorted(answers, key=lambda name: -asked[name].brief.draws.heel_l)}
    return Programme(status, objective, _left_in_turn(in_turn, stocks), notes)


def _weighted(asked: Sequence[CheckedBrief], settled: Sequence[Settled]) -> float | None:
    first = min(each.brief.rank for each in asked)
    values = [
        each.brief.weight * solved.model.aims[0].quantity.of(solved.plan.z)
        for each, solved in zip(asked, settled, strict=True)
        if each.brief.rank == first and solved.model.aims and solved.plan.z is not None
    ]
    return sum(values) if values else None


def _left_in_turn(answers: Mapping[str, Answer], stocks: Stocks) -> dict[str, Answer]:
    """Return what is left of each stock after each bottling, poured in this order."""
    left = {str(name): float(litres) for name, litres in zip(stocks.names, stocks.litres, strict=True)}
    answered = {}
    for name, answer in answers.items():
        draws = []
        for draw in answer.draws:
            if draw.stock in left:
                left[draw.stock] -= draw.litres
                rest = None if math.isinf(left[draw.stock]) else left[draw.stock]
                draws.append(replace(draw, left_l=rest))
            else:
                draws.append(draw)
        answered[name] = replace(answer, draws=tuple(draws))
    return answered


# --- one programme --------------------------------------------------------------------------------------------------


def _settle_with_confidence(asked: Sequence[CheckedBrief], stocks: Stocks, clock: TimeBudget) -> list[Settled]:
    """Settle all briefs at once, each with its own confidence (see answer/chance.py)."""
    cuts: list[tuple[Cut, ...]] = [() for _ in asked]
    for _ in range(MOST_ROUNDS):
        settled = _in_passes(asked, stocks, cuts, clock)
        if settled[0].plan.z is None:
            break
        more = [
            unsure_cuts(each.brief, item) if each.brief.confidence is not None else ()
            for each, item in zip(asked, settled, strict=True)
        ]
        if not any(more):
            return settled
        cuts = [old + new for old, new in zip(cuts, more, strict=True)]
    return settled


def _in_passes(
    asked: Sequence[CheckedBrief], stocks: Stocks, cuts: Sequence[tuple[Cut, ...]], clock: TimeBudget
) -> list[Settled]:
    """Solve and correct the volumes until they all stand still, as for one brief (see lp/passes.py)."""
    mixings = [mixing_of(each.brief, each.stocks) for each in asked]
    factors = [
        mixing.factors(np.where(np.isfinite(each.stocks.litres), each.stocks.litres, 1.0))
        for mixing, each in zip(mixings, asked, strict=True)
    ]
    last: list[Floats] | None = None
    for turn in range(MOST_PASSES):
        parts = zip(asked, factors, cuts, strict=True)
        models = [build(each.brief, each.stocks, own, sure) for each, own, sure in parts]
        if last is not None and turn >= FREE_PASSES:
            models = [hold_near(model, z, turn) for model, z in zip(models, last, strict=True)]
        plans = _plans(
            models, [each.brief.weight for each in asked], [each.brief.rank for each in asked], stocks, clock
        )
        settled = [Settled(model, plan) for model, plan in zip(models, plans, strict=True)]
        if any(plan.z is None for plan in plans):
            return settled
        poured = [item.model.columns.litres(item.plan.z) for item in settled if item.plan.z is not None]
        if all(is_settled(own, drawn, mixing) for own, drawn, mixing in zip(factors, poured, mixings, strict=True)):
            return settled
        factors = [mixing.factors(drawn) for mixing, drawn in zip(mixings, poured, strict=True)]
        last = [plan.z for plan in plans if plan.z is not None]
    return [Settled(item.model, replace(item.plan, ending=Ending.NO_PLAN, z=None), settled=False) for item in settled]


def _plans(
    models: Sequence[Model], weights: Sequence[float], ranks: Sequence[int], stocks: Stocks, clock: TimeBudget
) -> list[Plan]:
    """Solve the models side by side, rank by rank, and return each one's part."""
    steps = list(_steps(models, weights, ranks))
    shared = shared_rows(models, stocks)
    held: list[Row] = []
    outcome = Outcome(Ending.NO_PLAN)
    for cost, slack in steps:
        following = run(side_by_side(models, cost, shared, held), clock)
        if following.z is None:
            ending = following.ending if outcome.z is None else Ending.FEASIBLE
            outcome = replace(outcome, ending=ending) if outcome.z is not None else following
            break
        outcome = following
        reached = total(cost, following.z)
        held.append((cost, reached + slack * abs(reached)))
    return split_outcome(models, weights, outcome, has_prices=len(steps) == 1)


def _steps(models: Sequence[Model], weights: Sequence[float], ranks: Sequence[int]) -> Iterator[tuple[Floats, float]]:
    """Yield the rows to bring low, one after the other, and the slack each may lose to the next."""
    found = False
    for rank in sorted(set(ranks)):
        here = [place for place, own in enumerate(ranks) if own == rank]
        for turn in range(max(len(models[place].aims) for place in here)):
            rows = [np.zeros(model.columns.count) for model in models]
            for place in here:
                if turn < len(models[place].aims):
                    rows[place] = weights[place] * _row(models[place].aims[turn], models[place])
            found = True
            yield np.concatenate(rows), max(models[place].brief.slack for place in here)
    if not found:
        yield np.concatenate([np.zeros(model.columns.count) for model in models]), 0.0


def _row(aim: Aim, model: Model) -> Floats:
    """Return what to bring low for an aim; a figure of a blend counts only where its litres are exact."""
    if aim.quantity.base is None:
        row: Floats = aim.sign * aim.quantity.amount
        return row
    litres = model.brief.litres
    if litres.low != litres.high:
        raise BadBrief(
            "objective",
            f"{aim.objective} is summed over several briefs only where litres are exact; write litres = 400",
        )
    return aim.sign * aim.quantity.amount / litres.high


# --- where they cannot all be met -----------------------------------------------------------------------------------


def _nearest_in_turn(stocks: Stocks, briefs: Mapping[str, BriefSource], asked: Mapping[str, CheckedBrief]) -> Programme:
    """Offer what is near to each brief when the time is up, from what those before it leave."""
    answers, left = {}, stocks
    for name in _in_turn(asked):
        answers[name] = solve(left, briefs[name], time_limit=0.0)
        left = _less(left, answers[name].nearest)
    return Programme("no_plan", None, answers)


def _in_turn(asked: Mapping[str, CheckedBrief]) -> list[str]:
    return sorted(asked, key=lambda each: (asked[each].brief.rank, -asked[each].brief.draws.heel_l))


def _solve_in_turn(
    stocks: Stocks, briefs: Mapping[str, BriefSource], asked: Mapping[str, CheckedBrief], time_limit: float | None
) -> Programme:
    """Solve each brief over what those before it leave, and return whether it could be met alone."""
    answers, left = {}, stocks
    for name in _in_turn(asked):
        answer = solve(left, briefs[name], time_limit)
        if not answer.draws and solve(stocks, briefs[name], time_limit).draws:
            note = "alone this brief can be met; what the bottlings before it take stands in the way"
            answer = replace(answer, notes=(*answer.notes, note))
        answers[name] = answer
        left = _less(left, answer)
    note = "the briefs cannot all be met; each is answered from what those before it leave"
    return Programme("infeasible", None, answers, (note,))


def _less(stocks: Stocks, answer: Answer | Nearest | None) -> Stocks:
    drawn = {draw.stock: draw.litres for draw in answer.draws} if answer is not None else {}
    taken = np.array([drawn.get(str(name), 0.0) for name in stocks.names])
    litres = np.maximum(stocks.litres - taken, 0.0)
    keep = litres > 0
    return replace(stocks, litres=litres).take(keep)

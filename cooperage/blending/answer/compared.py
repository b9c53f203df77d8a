"""Answers beside one another: how far apart two plans are, how much worse one is, and what a rule on a stock costs."""

from collections.abc import Iterator
from dataclasses import dataclass

from cooperage.blending.answer.answer import Answer, AnswerPart
from cooperage.blending.brief.quantities import in_units
from cooperage.units import DEFAULT, Units

FEW = 4
"""So many stocks that change are named."""


@dataclass(frozen=True)
class RuleCost(AnswerPart):
    """What one stock's rule costs the first objective (None: not known, or there is a blend on one side only)."""

    rule: str
    stock: str
    cost: float | None
    words: str


def rule_lines(costs: tuple[RuleCost, ...], units: Units = DEFAULT) -> Iterator[str]:
    """Return what rules cost, the dearest first, those that cost nothing in one line."""
    dear = [each for each in costs if each.cost != 0.0]
    yield from (in_units(each.words, units) for each in sorted(dear, key=lambda each: -(each.cost or 0.0)))
    free = [f"'{each.rule} {each.stock}'" for each in costs if each.cost == 0.0]
    if free:
        yield f"Rule {free[0]} costs nothing" if len(free) == 1 else f"Rules {', '.join(free)} cost nothing"


def shares(answer: Answer) -> dict[str, float]:
    """Return each stock's share of the litres drawn."""
    poured = sum(draw.litres for draw in answer.draws)
    return {draw.stock: draw.litres / poured for draw in answer.draws}


def distance(plan: Answer, other: Answer) -> float:
    """Return the share of one blend that would have to be poured out to make the other: 0 alike, 1 nothing shared."""
    here, there = shares(plan), shares(other)
    return sum(abs(here.get(stock, 0.0) - there.get(stock, 0.0)) for stock in here | there) / 2


def best_of(plan: Answer) -> float | None:
    """Return the first objective of the best plan: of this one, or of the one it was made tidier from."""
    return plan.objective if plan.best_objective is None else plan.best_objective


def behind(plan: Answer, other: Answer) -> float | None:
    """Return by what fraction of the best plan's first objective another lies behind; None where that has no size.

    `plan` is the best, or one made tidier from it, which lies behind the best itself.
    """
    best = best_of(plan)
    if best is None or other.objective is None or not best:
        return None
    return abs(other.objective - best) / abs(best)


def changes(plan: Answer, other: Answer) -> str:
    """Return which stocks another plan leaves out and which it brings in: "B-049 out, B-013 in"; of many, how many."""
    here, there = [draw.stock for draw in plan.draws], [draw.stock for draw in other.draws]
    out = [stock for stock in here if stock not in there]
    brought = [stock for stock in there if stock not in here]
    are_few = len(out) + len(brought) <= FEW
    parts = [
        f"{', '.join(stocks) if are_few else len(stocks)} {way}"
        for stocks, way in ((out, "out"), (brought, "in"))
        if stocks
    ]
    return ", ".join(parts) or "the same stocks, drawn otherwise"

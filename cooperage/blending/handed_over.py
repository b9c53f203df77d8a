"""Work for a process of its own: each function imports its solver there, so that the screen loads no SciPy."""

from collections.abc import Mapping
from typing import Any

from cooperage.blending.answer.answer import Answer
from cooperage.blending.answer.compared import RuleCost
from cooperage.blending.stocks.pool import Stocks


def solve(stocks: Stocks, brief: Mapping[str, Any], time_limit: float) -> Answer:
    """Solve a brief as `solving.solve` does."""
    from cooperage.blending import solving

    return solving.solve(stocks, brief, time_limit)


def solve_tidily(stocks: Stocks, brief: Mapping[str, Any], found: Answer, time_limit: float) -> Answer:
    """Find the plan with fewest part-full barrels near the best one found as `solving.solve_tidily` does."""
    from cooperage.blending import solving

    return solving.solve_tidily(stocks, brief, found, time_limit)


def alternatives(
    stocks: Stocks, brief: Mapping[str, Any], most: int, within: float, time_limit: float, best: Answer
) -> tuple[Answer, ...]:
    """Find other blends nearly as good as `others.alternatives` does."""
    from cooperage.blending import others

    return others.alternatives(stocks, brief, most, within, time_limit, best)


def rule_costs(stocks: Stocks, brief: Mapping[str, Any], answer: Answer, time_limit: float) -> tuple[RuleCost, ...]:
    """Find what each rule on a stock costs as `rules.rule_costs` does."""
    from cooperage.blending import rules

    return rules.rule_costs(stocks, brief, answer, time_limit)

"""When the volume stands still with whole barrels held in place: how much that proves."""

import numpy as np
import pandas as pd
import pytest

from cooperage.blending.brief.brief import read_brief
from cooperage.blending.lp.highs import Ending
from cooperage.blending.lp.model import build
from cooperage.blending.lp.passes import ALIKE, _settled
from cooperage.blending.lp.ranks import Plan
from cooperage.blending.stocks.pool import read_pool


@pytest.mark.parametrize(
    ("objective", "dearer", "ending"),
    [
        (["least_cost"], 0.0, Ending.OPTIMAL),
        (["least_cost"], 0.99 * ALIKE, Ending.OPTIMAL),
        (["least_cost"], 1.01 * ALIKE, Ending.FEASIBLE),
        (["least_cost"], 0.5, Ending.FEASIBLE),
        ([], 0.5, Ending.OPTIMAL),
    ],
)
def test_barrels_held_in_place_are_best_where_the_free_choice_was_no_better(
    objective: list[str], dearer: float, ending: Ending
) -> None:
    """Held to B, dearer than A by a share: best within rounding of the volume, else only possible, with its gap.

    Without an objective any blend that meets the limits is as good as another.
    """
    pool = pd.DataFrame({"stock": ["A", "B"], "litres": 100.0, "cost_per_l": [1.0 - dearer, 1.0]})
    brief = read_brief({"litres": 100, "mixing": "plain", "objective": objective, "draws": {"whole": True}})
    model = build(brief, read_pool(pool), np.ones(2))
    held, free = Plan(Ending.OPTIMAL, np.array([0.0, 1.0])), Plan(Ending.OPTIMAL, np.array([1.0, 0.0]))
    settled = _settled(model, held, free)
    assert settled.plan.ending is ending
    assert settled.plan.gap == (None if ending is Ending.OPTIMAL else pytest.approx(dearer))

"""Which stocks can help a brief first: how far each on its own lies from the limits."""

import math

import pandas as pd

from cooperage.blending.brief.brief import read_brief
from cooperage.blending.stocks.near import near_limits
from cooperage.blending.stocks.pool import read_pool

BRIEF = read_brief(
    {"litres": 100, "limits": {"abv": {"min": 12.0, "max": 13.0}, "sugar_g_l": {"max": 60}, "ta_g_l": {"max": 6}}}
)


def test_a_stock_is_as_near_as_its_figures_are_within_the_limits() -> None:
    """Within all: 0. Outside: each figure's distance in its own spread among the stocks, the worst told first."""
    table = {"stock": ["in", "strong", "both", "?"], "litres": 225, "abv": [12.5, 14.5, 11.5, 12.5]}
    near = near_limits(read_pool(pd.DataFrame(table | {"sugar_g_l": [60, 60, 90, math.nan]})), BRIEF)
    assert (near["in"].miss, near["in"].words) == (0.0, "")
    assert near["strong"].words == "strength +1.5 % vol"
    assert near["both"].words == "sugar +30 g/L, strength −0.5 % vol"
    assert near["strong"].miss < near["both"].miss < math.inf
    assert (near["?"].is_known, near["?"].words) == (False, "sugar unknown")


def test_one_figure_for_all_and_none_at_all() -> None:
    """Stocks that are all alike have no spread, and a pool may lack what the brief limits."""
    near = near_limits(read_pool(pd.DataFrame({"stock": ["a", "b"], "litres": 10, "abv": 14.0})), BRIEF)
    assert near["a"] == near["b"]
    assert near["a"].miss == 1.0

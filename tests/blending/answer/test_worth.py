"""What a reading is worth, against taking it: truths, readings and what would then be believed, drawn many times."""

from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy.special import ndtr

from cooperage.blending import solve
from cooperage.blending.answer.summary import reasons
from cooperage.book.declared.properties import PROPERTIES
from cooperage.units import DEFAULT

DRAWS = 200_000
BRIEF: dict[str, Any] = {
    "litres": 300,
    "mixing": "plain",
    "objective": ["least_cost"],
    "limits": {"sugar_g_l": {"max": 60}, "abv": {"min": 12.0}},
}


def pool(**doubts: Any) -> pd.DataFrame:
    """Three stocks, of which a plan draws all; the sweet one is the least sure."""
    stocks = {
        "stock": ["B-1", "B-2", "B-3"],
        "litres": [120, 120, 120],
        "min_litres": [60, 60, 60],
        "sugar_g_l": [95.0, 40.0, 44.0],
        "sugar_g_l_u": [9.0, 3.0, 2.0],
        "abv": [12.5, 12.3, 12.1],
        "abv_u": [0.2, 0.2, 0.3],
        "cost_per_l": [5.0, 6.0, 7.0],
    }
    return pd.DataFrame(stocks | doubts)


def wrong_after(answer: Any, stock: str, name: str, limit: float, frame: pd.DataFrame, *, below: bool) -> float:
    """Draw truths and a reading of one stock; return how often the side then held likelier is the wrong one."""
    chance = np.random.default_rng(11)
    share = {draw.stock: draw.litres / 300 for draw in answer.draws}
    table = frame.set_index("stock")
    means, doubts = (np.array([table.loc[each, key] for each in share]) for key in (name, f"{name}_u"))
    weights, place = np.array([*share.values()]), [*share].index(stock)
    truth = means + doubts * chance.standard_normal((DRAWS, len(share)))
    error = PROPERTIES[name].uncertainty
    read = truth[:, place] + error * chance.standard_normal(DRAWS)
    gain = doubts[place] ** 2 / (doubts[place] ** 2 + error**2)
    believed = means @ weights + weights[place] * gain * (read - means[place])
    left = np.sqrt(((weights * doubts) ** 2).sum() - (weights[place] * doubts[place]) ** 2 * gain)
    is_met = (truth @ weights <= limit) if below else (truth @ weights >= limit)
    says_met = ndtr((limit - believed) / left if below else (believed - limit) / left) >= 0.5
    return float((is_met != says_met).mean())


def test_the_worth_of_each_reading_is_what_taking_it_shows() -> None:
    """Against 200,000 draws of truths and readings, to what so many draws can tell; the ranking is the same."""
    frame = pool()
    answer = solve(frame, BRIEF)
    assert answer.readings
    limits = {"sugar_g_l": (60.0, True), "abv": (12.0, False)}
    drawn = []
    for worth in answer.readings:
        limit, below = limits[worth.limit]
        found = wrong_after(answer, worth.stock, worth.limit, limit, frame, below=below)
        drawn.append(worth.wrong - found)
        assert worth.wrong_after == pytest.approx(found, abs=0.005)
        assert worth.chance_low < worth.chance < worth.chance_high
    assert drawn == sorted(drawn, reverse=True)
    assert (answer.readings[0].stock, answer.readings[0].limit) == ("B-1", "sugar_g_l")


def test_the_reading_is_named_in_the_reasons() -> None:
    """The line names the figure and the stock, how sure the limit is now, and how sure it would be."""
    lines = reasons(solve(pool(), BRIEF), DEFAULT)
    line = lines[lines.index("Worth measuring, the best first:") + 1]
    assert line.startswith("· sugar of B-1: ")
    assert line.endswith(" % once it is measured")


def test_where_all_is_sure_no_reading_is_worth_a_walk() -> None:
    """Stocks known as well as an ordinary reading of a limit far away leave nothing to decide."""
    answer = solve(pool(), BRIEF | {"limits": {"sugar_g_l": {"max": 90}}})
    assert answer.readings == ()


def test_figures_known_exactly_are_not_measured_again() -> None:
    """Without doubt a reading would change nothing."""
    answer = solve(pool(sugar_g_l_u=[0.0, 0.0, 0.0], abv_u=[0.0, 0.0, 0.0]), BRIEF)
    assert answer.readings == ()

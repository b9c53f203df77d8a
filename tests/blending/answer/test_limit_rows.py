"""The limits of a brief as rows: what is wanted, what it comes to, how surely, at what price."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cooperage.blending import solve
from cooperage.blending.answer.compared import changes
from cooperage.blending.answer.limit_rows import limit_rows, share_of, together_words
from cooperage.blending.answer.summary import other_figures, value_words
from cooperage.blending.brief.brief import read_brief
from cooperage.blending.stocks.part_full import rest_words
from cooperage.blending.stocks.pool import read_pool
from cooperage.blending.typed_brief import rules_line
from cooperage.units import DEFAULT, Units

POOL = pd.DataFrame(
    {
        "stock": ["B-1", "B-2", "B-3"],
        "litres": [200.0, 200.0, 200.0],
        "abv": [12.0, 14.0, 13.0],
        "abv_u": [0.1, 0.1, 0.1],
        "va_g_l": [0.3, 0.5, 0.4],
        "cost_per_l": [4.0, 5.0, 4.8],
        "group": ["new oak", "used oak", "used oak"],
    }
)
BRIEF = {
    "litres": 100,
    "mixing": "plain",
    "objective": ["least_cost"],
    "limits": {"abv": {"min": 12.5, "max": 13.5}, "va_g_l": {"max": 0.6}},
    "share": {"group:new oak": {"max": 0.9}},
    "draws": {"max_stocks": 3},
}


def rows_of(brief: dict[str, object], units: Units = DEFAULT) -> dict[str, tuple[str, ...]]:
    """The rows of a brief solved over the pool, by name."""
    found = limit_rows(read_brief(brief), solve(POOL, brief), read_pool(POOL), units)
    return {row.name: (row.wanted, row.comes_to, row.band, row.unit, row.chance, row.price, row.state) for row in found}


def test_the_rows_of_a_plan_by_hand() -> None:
    """75 L of B-1 and 25 of B-2 give 12.5 % vol: half sure, since that is the limit; 0.1 % vol costs 0.05 a litre.

    One standard deviation is 0.1 x sqrt(0.75^2 + 0.25^2) = 0.079, 90 in 100 lie within 0.13.
    """
    rows = rows_of(BRIEF)
    assert list(rows) == ["strength", "VA", "new oak", "stocks", "volume"]
    assert rows["strength"] == ("12.5 – 13.5", "12.5", "±0.1", "% vol", "50 %", "0.1 % vol: 0.05 per litre", "unsure")
    assert rows["VA"] == ("≤ 0.6", "0.35", "", "g/L", "", "not in the way", "met")
    assert rows["new oak"] == ("≤ 90", "75.0", "", "%", "", "not in the way", "met")
    assert rows["stocks"][:2] == ("≤ 3", "2")
    assert rows["volume"] == ("100", "100.0", "", "L", "", "1 litre: 4.25", "met")


def test_in_the_persons_units() -> None:
    """Litres become gallons, the point a comma."""
    rows = rows_of(BRIEF, Units(volume="gal", decimal=","))
    assert rows["strength"][:3] == ("12,5 – 13,5", "12,5", "±0,1")
    assert rows["volume"][1:4] == ("26,42", "", "gal")


def test_a_limit_that_is_missed_stands_first_and_has_no_price() -> None:
    """16 % vol is more than any barrel has: the row is that of the nearest blend."""
    brief = BRIEF | {"limits": {"va_g_l": {"max": 0.6}, "abv": {"min": 16.0}}}
    rows = rows_of(brief)
    assert next(iter(rows)) == "strength"
    assert rows["strength"][0] == "≥ 16"
    assert rows["strength"][-2:] == ("", "missed")


def test_without_any_blend_there_are_no_rows() -> None:
    """Nothing is there to draw on."""
    brief = BRIEF | {"draws": {"never": ["B-1", "B-2", "B-3"]}}
    answer = solve(POOL, brief)
    assert limit_rows(read_brief(brief), answer, read_pool(POOL), DEFAULT) == []
    assert (together_words(answer), value_words(answer, DEFAULT), other_figures(answer, (), DEFAULT)) == ("", "", "")


def test_how_sure_all_are_and_what_a_plan_costs() -> None:
    """One limit has a doubt; 100 L fill 133 bottles at 4.25 a litre; what is limited is not told again."""
    answer = solve(POOL, BRIEF)
    assert together_words(answer).startswith("It holds 50 % of the time. Measure strength of B-")
    assert value_words(answer, DEFAULT) == "3.19 a bottle · 133 of 750 mL"
    assert other_figures(answer, ("abv",), DEFAULT) == "It comes to VA 0.35 g/L."


@settings(max_examples=40, deadline=None)
@given(st.integers(1, 200), st.integers(1, 200))
def test_shares_sum_to_one(first: int, second: int) -> None:
    """Over all labels, whatever is drawn."""
    from cooperage.blending.answer.answer import Draw

    draws = (Draw("B-1", float(first), 0.0), Draw("B-3", float(second), 0.0))
    stocks = read_pool(POOL)
    parts = [share_of(key, draws, stocks) for key in ("group:new oak", "group:used oak")]
    assert sum(parts) == pytest.approx(1.0)
    assert share_of("B-1", draws, stocks) == pytest.approx(parts[0])
    assert np.isclose(share_of("B-2", draws, stocks), 0.0)


def test_what_another_plan_changes() -> None:
    """Stocks by name while they are few, else how many."""
    one, other = solve(POOL, BRIEF), solve(POOL, BRIEF | {"draws": {"must": ["B-3"], "never": ["B-2"]}})
    assert changes(one, other) == "B-2 out, B-3 in"
    assert changes(one, one) == "the same stocks, drawn otherwise"


def test_what_is_left_of_a_barrel_has_a_name() -> None:
    """Nothing, a few litres, or a part."""
    assert [rest_words(100.0, left) for left in (0.0, 3.3, 27.6)] == ["drained", "heel", "part full"]


def test_the_rules_of_a_brief_in_a_line() -> None:
    """The aim, and what is asked of stocks; by default the aim alone."""
    texts = {"objective": "fewest_stocks", "max_stocks": "4", "never": "B-1 B-2", "part_full": "any", "whole": "yes"}
    assert rules_line({}) == "least cost"
    assert rules_line(texts) == (
        "fewest stocks · at most 4 stocks · whole barrels · never B-1, B-2 · part-full allowed"
    )

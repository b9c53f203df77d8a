"""Glasses for the bench: the nearest that a pipette can draw, blind, with a control; and back to the cellar."""

from itertools import product

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.blending import alternatives, solve
from cooperage.blending.pour.bench_sheet import (
    NotAmongTheStocks,
    NothingToScale,
    bench_glasses,
    bench_sheet,
    nearest_counts,
    predicted,
    scale_up,
)
from cooperage.blending.stocks.pool import read_pool
from cooperage.liquid import mix


@given(parts=st.lists(st.floats(0.01, 1), min_size=2, max_size=4), steps=st.integers(1, 12))
def test_no_glass_lies_nearer_the_plan(parts: list[float], steps: int) -> None:
    """For any plan: of every way to fill the glass with that many steps, none is nearer by squares."""
    shares = np.array(parts) / sum(parts)
    ways = np.array([way for way in product(range(steps + 1), repeat=len(parts)) if sum(way) == steps])
    nearest = ((ways - shares * steps) ** 2).sum(axis=1).min()
    counts = nearest_counts(shares, steps)
    assert counts.sum() == steps
    assert ((counts - shares * steps) ** 2).sum() == pytest.approx(nearest, abs=1e-9)


def test_a_glass_is_reckoned_as_it_is_pipetted(cellar: pd.DataFrame) -> None:
    """A third and two thirds in steps of 10 ml are 30 and 70 ml, with the figures of 30 and 70 truly mixed."""
    pool = cellar.iloc[[0, 3]]
    share = {"rich": {"min": 1 / 3, "max": 1 / 3}}
    answer = solve(pool, {"litres": 90, "objective": ["least_cost"], "share": share})
    sheet = bench_sheet(answer, 100, 10)
    assert {row.stock: row.millilitres for row in sheet.rows} == {"dry": 70, "rich": 30}
    true = mix([70, 30], [12.0, 16.0], [0.0, 100.0])
    result = predicted(sheet, read_pool(cellar))
    assert result["abv"] == pytest.approx(float(true.abv))
    assert result["sugar_g_l"] == pytest.approx(float(true.extract_g_l))


def test_several_plans_stand_blind_beside_a_control(cellar: pd.DataFrame) -> None:
    """The best, two others and the largest stock alone: four codes, none alike, in one sheet."""
    brief = {"litres": 100, "objective": ["least_cost"], "limits": {"abv": {"min": 12}}}
    plans = {"best": solve(cellar, brief)}
    plans |= {f"other {at}": other for at, other in enumerate(alternatives(cellar, brief, 2, 0.5), 1)}
    glasses = bench_glasses(plans, read_pool(cellar), 100, 1, rng=np.random.default_rng(1))
    assert [glass.what for glass in glasses] == [*plans, "control"]
    assert len({glass.code for glass in glasses}) == len(glasses)
    assert all(sum(row.millilitres for row in glass.sheet.rows) == 100 for glass in glasses)
    assert len(glasses[-1].sheet.rows) == 1
    named = bench_glasses(plans, read_pool(cellar), control="rich")[-1]
    assert named.sheet.rows[0].stock == "rich"
    assert named.predicted["abv"] == pytest.approx(16.0)


def test_a_chosen_glass_goes_back_to_whole_litres(cellar: pd.DataFrame) -> None:
    """37 and 63 ml in 100 are 148 and 252 L in 400, but the dry barrel holds 200: 117 and 200 are what there is."""
    stocks = read_pool(cellar)
    scaled = scale_up({"sweet": 37, "dry": 63}, stocks, 200)
    assert scaled.draws == {"sweet": 74.0, "dry": 126.0}
    less = scale_up({"sweet": 37, "dry": 63}, stocks, 400)
    assert (less.draws, less.asked) == ({"sweet": 117.0, "dry": 200.0}, 400)
    exact = mix([0.37, 0.63], [12.0, 12.0], [100.0, 0.0])
    true = mix([117, 200], [12.0, 12.0], [100.0, 0.0])
    assert less.blend["litres"] == pytest.approx(float(true.litres))
    assert less.drift["sugar_g_l"] == pytest.approx(float(true.extract_g_l - exact.extract_g_l))


@given(
    ml=st.lists(st.integers(1, 60), min_size=3, max_size=3), litres=st.floats(20, 900), step=st.sampled_from([1.0, 5.0])
)
def test_scaled_up_nothing_is_overdrawn(ml: list[int], litres: float, step: float) -> None:
    """For any glass: whole steps, no more of a stock than it holds, no more in all than was asked for."""
    pool = pd.DataFrame({"stock": list("abc"), "litres": [205.5, 60.2, 30.9], "ta_g_l": [5.0, 6.0, 7.0]})
    held: dict[str, float] = dict(zip(pool["stock"], pool["litres"], strict=True))
    scaled = scale_up(dict(zip("abc", ml, strict=True)), read_pool(pool), litres, step)
    for stock, drawn in scaled.draws.items():
        assert drawn <= held[stock]
        assert drawn / step == int(drawn / step)
    assert sum(scaled.draws.values()) <= litres + 1e-9


def test_a_glass_of_nothing_or_of_something_unknown(cellar: pd.DataFrame) -> None:
    """Each is one clear line."""
    with pytest.raises(NothingToScale):
        scale_up({"dry": 0}, read_pool(cellar), 100)
    with pytest.raises(NotAmongTheStocks, match="no stock 'B-99'"):
        scale_up({"B-99": 10}, read_pool(cellar), 100)

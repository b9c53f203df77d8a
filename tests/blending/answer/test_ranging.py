"""How far an input may move before the plan changes, held against solving again; and what is judged on the blend."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.blending import solve
from tests.examples import tried_on


@pytest.fixture
def two() -> pd.DataFrame:
    """Return two stocks and a dearer third between which every range can be reckoned by hand."""
    return pd.DataFrame(
        {
            "stock": ["dry", "sweet", "middle"],
            "litres": 500.0,
            "sugar_g_l": [0.0, 100.0, 50.0],
            "cost_per_l": [1.0, 5.0, 4.0],
        }
    )


BRIEF = {"litres": 100, "mixing": "plain", "objective": ["least_cost"], "limits": {"sugar_g_l": {"min": 30}}}


def test_how_dear_a_stock_may_become(two: pd.DataFrame) -> None:
    """Half dry, half sweet cost 3 like the middle would at 3: sweet may rise to 7, the middle must fall to 3."""
    result = {reach.name: reach for reach in solve(two, BRIEF).ranging if reach.what == "cost"}
    assert result["sweet"].high == pytest.approx(7.0)
    assert result["dry"].high == pytest.approx(3.0)
    assert result["middle"].low == pytest.approx(3.0)
    assert result["middle"].words == "middle at 4 a litre of cost: would be drawn on below 3"


def test_how_far_a_price_holds(two: pd.DataFrame) -> None:
    """Between all dry and all sweet, 0 to 100 g/L, each g/L costs the same."""
    result = next(reach for reach in solve(two, BRIEF).ranging if reach.name == "sugar_g_l")
    assert (result.low, result.high) == pytest.approx((0.0, 100.0))
    assert result.words == "sugar at least 30 g/L: its price holds down to 0 g/L and up to 100 g/L"


def test_nothing_is_told_that_is_not_so(two: pd.DataFrame) -> None:
    """Whole barrels and ranked objectives have no such ranges, and none are told."""
    assert solve(two, BRIEF | {"objective": ["least_cost", "highest:sugar_g_l"]}).ranging == ()
    two["litres"] = [70.0, 30.0, 40.0]
    assert solve(two, BRIEF | {"draws": {"whole": True}}).ranging == ()


@pytest.mark.slow
@tried_on(60)
@given(seed=st.integers(0, 100_000))
def test_within_its_range_a_cost_changes_nothing_and_beyond_it_something(seed: int) -> None:
    """For any pool, solved again just inside a range the draws are the same, and just outside they are not."""
    random = np.random.default_rng(seed)
    n = 7
    pool = pd.DataFrame(
        {
            "stock": [f"B-{at}" for at in range(n)],
            "litres": random.uniform(50, 120, n).round(1),
            "sugar_g_l": random.uniform(0, 100, n).round(1),
            "ta_g_l": random.uniform(4, 8, n).round(2),
            "cost_per_l": random.uniform(2, 5, n).round(2),
        }
    )
    limits = {"sugar_g_l": {"min": 40, "max": 50}, "ta_g_l": {"max": 6}}
    brief = {"litres": 200, "mixing": "plain", "objective": ["least_cost"], "limits": limits}
    answer = solve(pool, brief)
    litres = {draw.stock: draw.litres for draw in answer.draws}
    for reach in answer.ranging:
        if reach.what != "cost":
            continue
        for edge, way in ((reach.low, -1), (reach.high, 1)):
            if edge is None or abs(edge - reach.value) < 0.01:
                continue
            for step, same in ((-1e-3, True), (1e-3, False)):
                moved = pool.copy()
                moved.loc[moved["stock"] == reach.name, "cost_per_l"] = edge + way * step
                again = {draw.stock: draw.litres for draw in solve(moved, brief).draws}
                alike = again.keys() == litres.keys() and all(abs(again[at] - litres[at]) < 1e-6 for at in litres)
                assert alike == same, reach.words


@pytest.mark.slow
@tried_on(40)
@given(seed=st.integers(0, 100_000))
def test_within_its_range_a_limit_has_its_price(seed: int) -> None:
    """For any pool, moving a limit to anywhere in its range moves the cost by price times the way."""
    random = np.random.default_rng(seed)
    n = 6
    pool = pd.DataFrame(
        {
            "stock": [f"B-{at}" for at in range(n)],
            "litres": random.uniform(50, 120, n).round(1),
            "sugar_g_l": random.uniform(0, 100, n).round(1),
            "cost_per_l": random.uniform(2, 5, n).round(2),
        }
    )
    brief = {"litres": 150, "mixing": "plain", "objective": ["least_cost"], "limits": {"sugar_g_l": {"target": 45}}}
    answer = solve(pool, brief)
    result = next((reach for reach in answer.ranging if reach.name == "sugar_g_l"), None)
    if result is None:
        return
    assert result.low is not None
    assert result.high is not None
    values = np.linspace(result.low, result.high, 5)[1:-1]
    costs = []
    for value in values:
        cost = solve(pool, brief | {"limits": {"sugar_g_l": {"target": float(value)}}}).objective
        assert cost is not None
        costs.append(cost)
    assert costs[1] - costs[0] == pytest.approx(costs[2] - costs[1], abs=1e-5)


def test_ph_and_molecular_so2_are_told_as_far_as_they_are_known(cellar: pd.DataFrame) -> None:
    """The blend's pH lies between its stocks'; molecular SO2 likewise, and both are to be measured again."""
    cellar["ph"] = [3.2, 3.6, 3.4, 3.4, 3.3]
    cellar["free_so2_mg_l"] = 30.0
    answer = solve(cellar, {"litres": 300, "objective": ["least_cost"], "draws": {"never": ["tank"]}})
    notes = " ".join(answer.notes)
    assert "pH does not average: measure it again in the blend (it will lie between 3.20 and" in notes
    assert "molecular SO2 starts between" in notes


def test_unknown_ph_promises_nothing(cellar: pd.DataFrame) -> None:
    """One stock without a pH, and no bounds are told."""
    cellar["ph"] = [3.2, np.nan, 3.4, 3.4, np.nan]
    cellar["free_so2_mg_l"] = 30.0
    answer = solve(cellar, {"litres": 300, "mixing": "plain", "objective": ["least_cost"]})
    assert answer.notes == ("pH does not average: measure it again in the blend",)


def test_a_line_of_law_is_told_as_reference(cellar: pd.DataFrame) -> None:
    """The citation stands in the notes, and the blend stays under the line."""
    answer = solve(cellar, {"litres": 100, "objective": ["highest:abv"], "under": ["14 % vol"]})
    assert answer.blend["abv"] == pytest.approx(14.0, abs=1e-6)
    assert "27 CFR 4.36" in answer.notes[0]
    assert "not as advice" in answer.notes[0]

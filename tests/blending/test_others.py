"""Other blends for the bench: nearly as good, and unlike."""

from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cooperage.blending import alternatives, solve
from cooperage.blending.answer.compared import distance
from cooperage.blending.others import NoSuchChoice


def plain(litres: float | dict[str, float], **rest: Any) -> dict[str, Any]:
    return {"litres": litres, "mixing": "plain", "objective": ["least_cost"], **rest}


@pytest.fixture
def meads() -> pd.DataFrame:
    """Return four meads of one strength at 1.00, 1.02, 1.04 and 2.00 a litre."""
    return pd.DataFrame({"stock": list("abcd"), "litres": 100.0, "abv": 12.0, "cost_per_l": [1.0, 1.02, 1.04, 2.0]})


def test_others_share_nothing_where_they_need_not(meads: pd.DataFrame) -> None:
    """Within 5 % of a at 1.00 lie b and c, each of which fills the blend alone; d is too dear and is not offered."""
    found = alternatives(meads, plain(100), k=3, within=0.05)
    assert [{draw.stock for draw in other.draws} for other in found[:1]] in ([{"b"}], [{"c"}], [{"b", "c"}])
    best = solve(meads, plain(100))
    assert distance(found[0], best) == pytest.approx(1.0)
    assert all(other.objective is not None and other.objective <= 105 + 1e-6 for other in found)
    assert all(draw.litres < 5.01 for other in found for draw in other.draws if draw.stock == "d")


def test_the_most_unlike_is_found(meads: pd.DataFrame) -> None:
    """With 1 % to give, at most half of a can go to b: the blend farthest from a is 50 of each."""
    other = alternatives(meads, plain(100), k=1, within=0.01)[0]
    assert {draw.stock: round(draw.litres, 6) for draw in other.draws} == {"a": 50.0, "b": 50.0}


def test_where_there_is_one_blend_there_are_no_others(meads: pd.DataFrame) -> None:
    """All that there is makes one blend; and an impossible brief has none."""
    assert alternatives(meads, plain(400), k=3) == ()
    assert alternatives(meads, plain(500), k=3) == ()


@pytest.mark.parametrize(("k", "within"), [(0, 0.05), (3, -0.1)])
def test_what_makes_no_sense_is_refused(meads: pd.DataFrame, k: int, within: float) -> None:
    """No others, or others better than the best."""
    with pytest.raises(NoSuchChoice):
        alternatives(meads, plain(100), k, within)


@pytest.mark.slow
@settings(max_examples=25)
@given(seed=st.integers(0, 10_000), within=st.sampled_from([0.02, 0.1]), whole=st.booleans())
def test_every_other_meets_the_brief_and_its_distance(seed: int, within: float, whole: bool) -> None:
    """For any pool, at true volume or in whole barrels: each meets every limit, is within reach, and is another."""
    random = np.random.default_rng(seed)
    n = 8
    pool = pd.DataFrame(
        {
            "stock": [f"B-{at}" for at in range(n)],
            "litres": random.uniform(50, 200, n).round(1),
            "abv": random.uniform(11, 15, n).round(2),
            "sugar_g_l": random.uniform(0, 90, n).round(1),
            "cost_per_l": random.uniform(2, 5, n).round(2),
        }
    )
    litres = {"min": 250, "max": 330}
    brief = {"litres": litres, "objective": ["least_cost"], "limits": {"abv": {"min": 12.5}}, "draws": {"whole": whole}}
    best = solve(pool, brief)
    found = [best, *alternatives(pool, brief, 3, within)]
    for at, other in enumerate(found[1:], 1):
        assert best.objective is not None
        assert other.objective is not None
        assert other.blend["litres"] is not None
        assert other.blend["abv"] is not None
        assert 250 - 1e-6 <= other.blend["litres"] <= 330 + 1e-6
        assert other.blend["abv"] >= 12.5 - 1e-6
        assert other.objective <= best.objective * (1 + within) + 1e-6
        assert min(distance(other, each) for each in found[:at]) >= 0.01

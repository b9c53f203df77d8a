"""What is said of a blend: what each limit is worth, which clash, the nearest blend, what would close the gap."""

import json
from typing import Any

import pandas as pd
import pytest

from cooperage.blending import solve
from cooperage.errors import BadInput


def plain(litres: float | dict[str, float], **rest: Any) -> dict[str, Any]:
    return {"litres": litres, "mixing": "plain", "objective": ["least_cost"], **rest}


@pytest.fixture
def two() -> pd.DataFrame:
    """Return two stocks between which every price can be reckoned by hand."""
    return pd.DataFrame(
        {"stock": ["dry", "sweet"], "litres": 500.0, "abv": 12.0, "sugar_g_l": [0.0, 100.0], "cost_per_l": [1.0, 5.0]}
    )


def test_price_of_a_limit(two: pd.DataFrame) -> None:
    """One g/L of sugar is a hundredth of each litre changed from 1 to 5: 0.04 a litre, 4 in a hundred litres."""
    answer = solve(two, plain(100, limits={"sugar_g_l": {"min": 30}}))
    sugar = answer.binding[1]
    assert (sugar.limit, sugar.side, sugar.value) == ("sugar_g_l", "min", 30)
    assert sugar.price == pytest.approx(4.0)
    assert sugar.words == "sugar at least 30 g/L; one g/L less sugar allowed would save 0.04 per litre"


@pytest.mark.parametrize(
    ("objective", "price", "words"),
    [
        ("least_cost", 4.0, "one g/L less sugar allowed would save 0.04 per litre"),
        ("most_profit", 4.0, "one g/L less sugar allowed would earn 0.04 per litre more"),
        ("lowest:sugar_g_l", 1.0, "one g/L less sugar allowed would lower sugar by 1 g/L"),
        ("nearest:sugar_g_l=20", 1.0, "one g/L less sugar allowed would bring sugar nearer by 1 g/L"),
    ],
)
def test_price_of_a_limit_by_objective(two: pd.DataFrame, objective: str, price: float, words: str) -> None:
    """One g/L less of sugar is worth 0.04 a litre as cost and as profit alike, and one g/L where sugar is the aim."""
    answer = solve(two, plain(100, objective=[objective], price_per_l=10, limits={"sugar_g_l": {"min": 30}}))
    assert answer.binding[1].price == pytest.approx(price)
    assert words in answer.binding[1].words


def test_price_of_litres(two: pd.DataFrame) -> None:
    """A litre less of a blend at 2.2 a litre saves 2.2."""
    answer = solve(two, plain(100, limits={"sugar_g_l": {"min": 30}}))
    assert answer.binding[0].words == "exactly 100 L of blend; 1 litre less would save 2.2"


def test_price_at_true_volume(two: pd.DataFrame) -> None:
    """At true volume the price still is what a small easing gains, found by easing it."""
    brief = {"litres": 100, "objective": ["least_cost"], "limits": {"sugar_g_l": {"min": 30}}}
    answer, eased = solve(two, brief), solve(two, brief | {"limits": {"sugar_g_l": {"min": 29.99}}})
    assert answer.objective is not None
    assert eased.objective is not None
    assert answer.binding[1].price == pytest.approx((answer.objective - eased.objective) / 0.01, rel=1e-3)


def test_price_of_a_figure(cellar: pd.DataFrame) -> None:
    """For an objective that is a figure, the price is in its unit: 1 % at 16 instead of 10 is 0.06 % vol."""
    answer = solve(cellar, plain(100, objective=["highest:abv"], share={"group:steel": {"min": 0.5}}))
    share = answer.binding[1]
    assert share.price == pytest.approx(6.0)
    assert share.words == (
        "at least 50 % of the blend from the group 'steel'; "
        "1 % less of the group 'steel' allowed would raise strength by 0.06 % vol"
    )


def test_clash_with_the_stocks(cellar: pd.DataFrame) -> None:
    """A strength no stock has is a clash on its own, and the answer says what the strongest is."""
    answer = solve(cellar, plain(100, limits={"abv": {"min": 17}, "sugar_g_l": {"max": 500}}))
    assert [(clash.limit, clash.side, clash.value) for clash in answer.conflict] == [("abv", "min", 17)]
    assert answer.conflict[0].words == "strength at least 17 % vol; no stock has more than 16 % vol"


def test_clash_of_two_limits(cellar: pd.DataFrame) -> None:
    """Strong stocks are in new oak alone: strength and a share of steel cannot both be had."""
    brief = plain(100, limits={"abv": {"min": 15}, "sugar_g_l": {"max": 90}}, share={"group:steel": {"min": 0.5}})
    answer = solve(cellar, brief)
    assert {clash.limit for clash in answer.conflict} == {"abv", "share group:steel"}


def test_clash_with_what_there_is(cellar: pd.DataFrame) -> None:
    """More litres than there are: the answer says how many the stocks hold, and the nearest blend is all of them."""
    answer = solve(cellar, plain(2000))
    assert answer.conflict[0].words == "exactly 2000 L of blend; the stocks hold 1600 L"
    assert answer.nearest is not None
    assert answer.nearest.blend["litres"] == pytest.approx(1600)
    assert answer.nearest.misses[0].words == "exactly 2000 L of blend: comes to 1600 L, 400 L short of it"


def test_clash_of_whole_barrels(cellar: pd.DataFrame) -> None:
    """250 L cannot be had in whole barrels; the nearest are 200 or 300, and the reason names the rule."""
    answer = solve(cellar, plain(250, draws={"whole": True}))
    assert [clash.limit for clash in answer.conflict] == ["litres", "whole"]
    assert answer.nearest is not None
    assert answer.nearest.misses[0].by == pytest.approx(50.0)


def test_clash_of_least_draws(cellar: pd.DataFrame) -> None:
    """90 L cannot be had where no stock gives less than 100."""
    cellar["min_litres"] = [200.0, 200.0, 100.0, 100.0, 300.0]
    answer = solve(cellar, plain({"max": 90, "min": 50}))
    assert [clash.limit for clash in answer.conflict] == ["litres", "min_litres"]


def test_nearest_blend_keeps_its_litres(cellar: pd.DataFrame) -> None:
    """The nearest blend is of the size asked for and as strong as can be: 100 L at 16 instead of 17."""
    answer = solve(cellar, plain(100, limits={"abv": {"min": 17}}))
    assert answer.nearest is not None
    assert answer.nearest.blend["litres"] == pytest.approx(100.0)
    miss = answer.nearest.misses[0]
    assert (miss.got, miss.by) == pytest.approx((16.0, 1.0))
    assert miss.words == "strength at least 17 % vol: comes to 16 % vol, 1 % vol short of it"


def test_dosing_with_spirit(cellar: pd.DataFrame) -> None:
    """Spirit at 96 closes a gap in strength; by mass balance, x litres in 100: at least 96 x = 1700 - 16 (100 - x)."""
    brief = {"litres": 100, "objective": ["least_cost"], "limits": {"abv": {"min": 17}}}
    nearest = solve(cellar, brief).nearest
    assert nearest is not None
    doses = {dose.stock: dose.litres for dose in nearest.dosing}
    plain_sum = (1700 - 1600) / (96 - 16)
    # contraction makes a strong blend out of a little less spirit, by less than the 4 % that is ever lost
    assert set(doses) == {"spirit"}
    assert 0.9 * plain_sum < doses["spirit"] < plain_sum


def test_dosing_with_honey(two: pd.DataFrame) -> None:
    """Honey of 1136 g/L closes a gap in sugar: plainly summed, x = 100 (120 - 100) / (1136 - 100) of 100 L."""
    brief = plain(100, limits={"sugar_g_l": {"min": 120}})
    nearest = solve(two, brief).nearest
    assert nearest is not None
    doses = {dose.stock: dose.litres for dose in nearest.dosing}
    assert doses == {"honey": pytest.approx(100 * 20 / 1036)}


def test_a_forbidden_barrel_that_would_close_the_gap_is_named(cellar: pd.DataFrame) -> None:
    """Without the two strong barrels nothing reaches 14 %; either of them would do, the tank would not."""
    answer = solve(cellar, plain(50, limits={"abv": {"min": 14}}, draws={"never": ["strong", "rich", "tank"]}))
    assert answer.status == "infeasible"
    closing = [note for note in answer.notes if "would close the gap" in note]
    assert [note.split()[0] for note in closing] == ["strong", "rich"]


def test_dosing_cannot_mend_everything(cellar: pd.DataFrame) -> None:
    """No honey, water or spirit brings down volatile acid that water alone would drown, so none is offered."""
    cellar["score"] = 5.0
    answer = solve(cellar, plain(100, limits={"score": {"min": 6}}))
    assert answer.nearest is not None
    assert answer.nearest.dosing == ()


def test_neither_pool_nor_brief(cellar: pd.DataFrame) -> None:
    """Something that is no pool or no brief is bad input, not a traceback."""
    with pytest.raises(BadInput, match="a pool is a pandas table"):
        solve([{"stock": "B-1"}], {"litres": 1})  # type: ignore[arg-type]  # a list is no pool
    with pytest.raises(BadInput, match="a brief is a mapping"):
        solve(cellar, 400)  # type: ignore[arg-type]  # a number is no brief


def test_answer_is_a_mapping_of_plain_values(cellar: pd.DataFrame) -> None:
    """An answer reads by attribute, by key and as JSON alike."""
    answer = solve(cellar, plain(100, limits={"abv": {"min": 11}}))
    assert answer["status"] == answer.status
    assert answer["draws"][0]["litres"] == answer.draws[0].litres == answer.draws[0]["litres"]
    assert json.loads(json.dumps(answer.to_json())) == dict(answer)
    with pytest.raises(KeyError):
        answer["colour"]


def test_stock_without_end_has_nothing_left_to_tell() -> None:
    """What is left of a stock without end is null in JSON."""
    pool = pd.DataFrame({"stock": ["water"], "litres": [float("inf")]})
    answer = solve(pool, {"litres": 10})
    assert answer.to_json()["draws"] == [{"stock": "water", "litres": 10.0, "left_l": None}]

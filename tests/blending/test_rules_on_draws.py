"""Draws that somebody can make: heels, least draws, barrels left partly full, bottles, and the order to pull them."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cooperage.blending import solve
from cooperage.blending.answer.answer import Answer
from cooperage.blending.brief.brief import BadBrief


def drawn(answer: Answer) -> dict[str, float]:
    return {draw.stock: draw.litres for draw in answer.draws}


def plain(litres: float | dict[str, float], **rest: Any) -> dict[str, Any]:
    return {"litres": litres, "mixing": "plain", "objective": ["least_cost"], **rest}


def test_the_heel_stays_behind(cellar: pd.DataFrame) -> None:
    """The cheap tank gives 990 of its 1000 L, the dry barrel the other 10 L; both keep what they held less the draw."""
    answer = solve(cellar, plain(1000, draws={"heel_l": 10}))
    assert drawn(answer) == {"tank": pytest.approx(990), "dry": pytest.approx(10)}
    assert {draw.stock: draw.left_l for draw in answer.draws} == {"tank": pytest.approx(10), "dry": pytest.approx(190)}


def test_whole_barrels_are_drained_to_their_heel(cellar: pd.DataFrame) -> None:
    """A barrel of 200 and one of 100, each less 5 L, make 290 L."""
    answer = solve(cellar, plain(290, draws={"whole": True, "heel_l": 5}))
    assert drawn(answer) == {"dry": pytest.approx(195), "strong": pytest.approx(95)}


def test_a_stock_that_is_all_heel_is_left_out(cellar: pd.DataFrame) -> None:
    """100 L of dregs give nothing."""
    answer = solve(cellar, plain(300, draws={"heel_l": 100}))
    assert ("strong", "holds no more than its heel") in {(out.stock, out.why) for out in answer.left_out}


def test_nobody_takes_eight_litres_from_a_barrel(reference: Callable[[str], Any]) -> None:
    """The worked blend's silly 8.6 L of A2 go, at a cost; every draw is of 20 L or more."""
    oracle = reference("blend_oracle.json")
    answer = solve(pd.DataFrame(oracle["pool"]), oracle["brief"] | {"draws": {"min_draw_l": 20}})
    assert answer.status == "optimal"
    assert min(drawn(answer).values()) >= 20 - 1e-9
    assert answer.objective is not None
    assert answer.objective > oracle["expected"]["cost"]


def test_a_least_draw_that_the_best_blend_keeps_costs_nothing(reference: Callable[[str], Any]) -> None:
    """With 8 L as the least, the worked blend stays litre for litre, and its prices stay known."""
    oracle = reference("blend_oracle.json")
    answer = solve(pd.DataFrame(oracle["pool"]), oracle["brief"] | {"draws": {"min_draw_l": 8}})
    assert {stock: round(litres, 3) for stock, litres in drawn(answer).items()} == oracle["expected"]["draws"]
    assert all("with the same stocks drawn" not in binding.words for binding in answer.binding)


def test_no_draw_of_less_than_a_millilitre_is_told() -> None:
    """A blend a millionth stronger than one stock takes a real draw of the stronger one, not 0.1 ml of it."""
    pool = pd.DataFrame({"stock": ["a", "b"], "litres": 500.0, "abv": [12.0, 16.0], "cost_per_l": [1.0, 9.0]})
    answer = solve(pool, plain(400, limits={"abv": {"min": 12.000001}}))
    assert answer.status == "optimal"
    assert all(draw.litres >= 0.001 - 1e-9 for draw in answer.draws)
    assert answer.blend["abv"] is not None
    assert answer.blend["abv"] >= 12.000001 - 1e-6


@pytest.mark.parametrize(("spice", "litres"), [(0.5, 0.001), (2.0, 0.002)])
def test_a_real_draw_of_a_cheap_stock_goes_before_a_dear_one(spice: float, litres: float) -> None:
    """Half a millilitre of the dose would do: the least real draw is a whole one, and far cheaper than the herb.

    By hand: 1 ml of 100,000 in 100 L is 1, twice the 0.5 asked for, at 1 a litre; the herb would need half a litre at
    50. Where 2 ml are needed 2 ml are drawn.
    """
    pool = pd.DataFrame(
        {
            "stock": ["mead", "dose", "herb"],
            "litres": [500.0, 1.0, 500.0],
            "spice": [0.0, 100_000.0, 100.0],
            "cost_per_l": [1.0, 1.0, 50.0],
        }
    )
    answer = solve(pool, plain(100, limits={"spice": {"min": spice}}))
    assert drawn(answer) == {"mead": pytest.approx(100 - litres), "dose": pytest.approx(litres)}
    assert answer.status == "optimal"
    assert answer.objective == pytest.approx(100.0)


@pytest.mark.parametrize(("litres", "dosed"), [(10.0, 0.001), (9.9, 0.0495 / 1000)])
def test_a_blend_below_ten_litres_is_measured_more_finely(litres: float, dosed: float) -> None:
    """At 10 L the least draw is a millilitre; a bench blend of 9.9 L takes its 0.0495 ml, 0.5 x 9.9 / 100,000."""
    pool = pd.DataFrame(
        {"stock": ["mead", "dose"], "litres": [500.0, 1.0], "spice": [0.0, 100_000.0], "cost_per_l": [1.0, 9.0]}
    )
    answer = solve(pool, plain(litres, limits={"spice": {"min": 0.5}}))
    assert drawn(answer)["dose"] == pytest.approx(dosed)


@pytest.mark.parametrize(
    ("heel", "held", "why"),
    [(0.5, 0.5, "holds no more than its heel"), (0.5, 0.4, "holds no more than its heel"), (0.0, 0.0, "holds nothing")],
)
def test_what_is_left_out_is_empty_or_all_heel(cellar: pd.DataFrame, heel: float, held: float, why: str) -> None:
    """A heel of half a litre is a heel too; without one an empty barrel is only empty."""
    cellar["litres"] = [200.0, 200.0, held, 100.0, 1000.0]
    answer = solve(cellar, plain(100, draws={"heel_l": heel}))
    assert [(out.stock, out.why) for out in answer.left_out] == [("strong", why)]


@pytest.mark.parametrize("name", ["B:12", "group", "wood", "cask:old oak"])
def test_a_share_finds_a_stock_by_whatever_name_it_has(cellar: pd.DataFrame, name: str) -> None:
    """With a colon in it, or called as a column of labels is: a quarter of 100 L is 25 L of it."""
    cellar["wood"] = "oak"
    cellar["stock"] = cellar["stock"].replace("dry", name)
    answer = solve(cellar, plain(100, share={name: {"min": 0.25}}))
    assert drawn(answer) == {name: pytest.approx(25.0), "tank": pytest.approx(75.0)}


def test_stocks_without_end_are_counted_only_with_a_most_of_litres(cellar: pd.DataFrame) -> None:
    """One river among four barrels: a switch needs a reach, so the brief must say how much is wanted at most."""
    cellar["litres"] = [200.0, 200.0, 100.0, 100.0, np.inf]
    counted = {"litres": {"min": 100}, "mixing": "plain", "objective": ["fewest_stocks"]}
    with pytest.raises(BadBrief, match="needs a max when stocks without end are counted"):
        solve(cellar, counted)
    assert len(solve(cellar, counted | {"litres": {"min": 100, "max": 150}}).draws) == 1


@pytest.mark.parametrize("most", [0, 1, 2])
def test_few_barrels_are_left_partly_full(cellar: pd.DataFrame, most: int) -> None:
    """Of 330 L of barrels at 60 g/L some stay partly full: no more than were allowed, a tank not counted."""
    brief = plain(330, limits={"sugar_g_l": {"min": 40, "max": 60}}, draws={"max_partly_full": most})
    answer = solve(cellar, brief)
    barrels = [draw for draw in answer.draws if draw.stock != "tank"]
    if answer.status == "optimal":
        assert sum(draw.left_l is None or draw.left_l > 1e-6 for draw in barrels) <= most
    assert most == 0 or answer.status == "optimal"


def test_a_tank_left_partly_full_does_not_count(cellar: pd.DataFrame) -> None:
    """The group 'tank' has a lid that follows the liquid."""
    cellar.loc[cellar["stock"] == "tank", "group"] = "tank"
    assert drawn(solve(cellar, plain(330, draws={"max_partly_full": 0}))) == {"tank": pytest.approx(330)}


def test_partly_full_barrels_are_named_where_they_clash(cellar: pd.DataFrame) -> None:
    """150 L cannot be had from barrels of 200 and 100 without leaving one partly full."""
    answer = solve(cellar, plain(150, draws={"max_partly_full": 0, "never": ["tank"]}))
    assert "max_partly_full" in {clash.limit for clash in answer.conflict}
    assert any("at most 0 left partly full" in clash.words for clash in answer.conflict)


def test_bottles_are_counted_and_priced(cellar: pd.DataFrame) -> None:
    """1200 bottles of 750 ml are 900 L of tank at 1 a litre: 0.75 a bottle, 100 cases of 12."""
    answer = solve(cellar, {"cases": 100, "mixing": "plain", "objective": ["least_cost"]})
    assert answer.blend["litres"] == pytest.approx(900)
    assert answer.bottling is not None
    assert answer.bottling.bottles == 1200
    assert answer.bottling.cases == 100
    assert answer.bottling.cost_per_bottle == pytest.approx(0.75)


def test_prices_are_told_per_bottle_where_the_brief_counts_bottles(cellar: pd.DataFrame) -> None:
    """One g/L is a hundredth of each litre changed from dry at 2 to sweet at 3: 0.01 a litre, 0.0075 a bottle."""
    brief = {"bottles": 200, "mixing": "plain", "objective": ["least_cost"], "limits": {"sugar_g_l": {"min": 30}}}
    answer = solve(cellar, brief | {"draws": {"never": ["tank"]}})
    assert answer.binding[1].words.endswith("one g/L less sugar allowed would save 0.0075 a bottle")


def test_the_faulty_are_pulled_last_and_the_sulphited_before_them(cellar: pd.DataFrame) -> None:
    """The largest clean draw first, then what is rich in sulphite, then the barrel with too much volatile acid."""
    cellar["va_g_l"] = [0.3, 0.3, 0.3, 0.3, 0.9]
    cellar["free_so2_mg_l"] = [30.0, 120.0, 30.0, 30.0, 30.0]
    brief = plain(1000, limits={"va_g_l": {"max": 0.7}}, draws={"must": ["strong"]}, share={"sweet": {"min": 0.19}})
    order = [draw.stock for draw in solve(cellar, brief).draws]
    assert order[-2:] == ["sweet", "tank"]
    assert set(order[:-2]) <= {"dry", "strong", "rich"}


barrels = st.lists(
    st.tuples(st.floats(60, 230), st.floats(8, 16), st.floats(1, 6)).map(lambda row: tuple(round(x, 1) for x in row)),
    min_size=2,
    max_size=6,
)


@pytest.mark.slow
@settings(max_examples=50)
@given(rows=barrels, least=st.floats(1, 50), heel=st.floats(0, 20), part=st.floats(0.1, 0.9), partly=st.integers(0, 3))
def test_every_rule_on_draws_holds(
    rows: list[tuple[float, ...]], least: float, heel: float, part: float, partly: int
) -> None:
    """For any pool: no draw under the least, the heel is left, and no more barrels partly full than allowed."""
    litres, abv, cost = map(np.array, zip(*rows, strict=True))
    names = [f"B-{at}" for at in range(len(rows))]
    pool = pd.DataFrame({"stock": names, "litres": litres, "abv": abv, "cost_per_l": cost})
    wanted = part * float((litres - heel).sum())
    brief = plain({"min": 0.8 * wanted, "max": wanted}, limits={"abv": {"min": float(np.median(abv))}})
    answer = solve(pool, brief | {"draws": {"min_draw_l": least, "heel_l": heel, "max_partly_full": partly}})
    for draw in answer.draws:
        there = litres[names.index(draw.stock)]
        assert draw.litres >= least - 1e-6
        assert draw.left_l is not None
        assert draw.left_l == pytest.approx(there - draw.litres)
        assert draw.left_l >= heel - 1e-6
    assert sum(draw.left_l is None or draw.left_l > heel + 1e-5 for draw in answer.draws) <= partly

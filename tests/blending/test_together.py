"""Several bottlings from the same stocks: no litre promised twice, and the best of all together."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from cooperage.blending import solve, solve_together
from cooperage.blending.answer.answer import Answer
from cooperage.blending.brief.brief import BadBrief


def plain(litres: float | dict[str, float], **rest: Any) -> dict[str, Any]:
    return {"litres": litres, "mixing": "plain", "objective": ["least_cost"], **rest}


def drawn(answer: Answer) -> dict[str, float]:
    return {draw.stock: draw.litres for draw in answer.draws}


# Five wines from four (winery_five_wines_lp): its rows, read as limits. Figures per base wine follow from the rows'
# coefficients: acid over 0.7, sugar over 0.2, alcohol over 10 %, so that each is what it is under or over the limit.
WINERY = pd.DataFrame(
    {
        "stock": ["SB11", "SL10", "SL11", "M"],
        "litres": [50_000.0, 60_000.0, 30_000.0, 200_000.0],
        "acid": [0.35, 0.75, 0.55, 0.25],
        "sugar": [0.12, 0.25, 0.30, 0.08],
        "alcohol": [13.5, 15.3, 11.5, 15.7],
        "cost_per_l": [2.35, 2.60, 2.10, 1.55],
        "variety": ["cab", "cab", "cab", "merlot"],
    }
)


def wine(price: float, acid: float, sugar: float, **share: float) -> dict[str, Any]:
    return {
        "litres": {"max": 400_000},
        "mixing": "plain",
        "objective": ["most_profit"],
        "price_per_l": price,
        "limits": {"acid": {"max": acid}, "sugar": {"max": sugar}, "alcohol": {"min": 10, "max": 15}},
        "share": {name.replace("__", ":"): {"min": least} for name, least in share.items()},
    }


def test_published_winery(reference: Callable[[str], Any]) -> None:
    """Five wines from four bases reach the published profit, and each base is used up as verified."""
    case = next(each for each in reference("blend_lp_cases.json")["cases"] if each["id"] == "winery_five_wines_lp")
    briefs = {
        "V_SB11": wine(9.0, 0.7, 0.2, variety__cab=0.75, SB11=0.95),
        "V_SL10": wine(9.0, 0.7, 0.2, variety__cab=0.75, SL10=0.95),
        "V_SL11": wine(9.0, 0.7, 0.2, variety__cab=0.75, SL11=0.95),
        "NV_cab": wine(5.5, 0.7, 0.3, variety__cab=0.75),
        "NV_merlot": wine(2.95, 0.3, 1.0, variety__merlot=0.75),
    }
    for variable in case["variables"]:  # the statement above is the published one, coefficient by coefficient
        base, product = variable["name"].split("_in_")
        row = WINERY.set_index("stock").loc[base]
        assert variable["objective"] == pytest.approx(briefs[product]["price_per_l"] - row["cost_per_l"])
        for constraint in case["constraints"]:
            kind, _, of = constraint["name"].partition("_")
            if of == product and kind in ("acid", "sugar"):
                coefficient = constraint["coeffs"].get(variable["name"], 0.0)
                assert coefficient == pytest.approx(row[kind] - briefs[product]["limits"][kind]["max"], abs=1e-9)
    answer = solve_together(WINERY, briefs)
    assert answer.status == "optimal"
    assert answer.objective == pytest.approx(case["expected"]["objective_verified"], rel=1e-6)
    got = {
        f"{stock}_in_{name}": litres for name, each in answer.bottlings.items() for stock, litres in drawn(each).items()
    }
    for name, litres in case["expected"]["solution_verified"].items():
        assert got[name] == pytest.approx(litres, rel=1e-6)


def test_no_litre_is_promised_twice(cellar: pd.DataFrame) -> None:
    """Alone, each would drain the dry barrel of 200; together they share it, and what is left is told in turn."""
    brief = plain(150, limits={"abv": {"min": 12, "max": 12}, "sugar_g_l": {"max": 50}})
    answer = solve_together(cellar, {"a": brief, "b": brief})
    both = [drawn(each).get("dry", 0.0) for each in answer.bottlings.values()]
    assert sum(both) <= 200 + 1e-6
    assert answer.status == "optimal"
    last = {draw.stock: draw.left_l for each in answer.bottlings.values() for draw in each.draws}
    held = dict(zip(cellar["stock"], cellar["litres"], strict=True))
    for stock, left in last.items():
        total = sum(drawn(each).get(stock, 0.0) for each in answer.bottlings.values())
        assert left == pytest.approx(held[stock] - total, abs=1e-6)


def test_one_brief_alone_is_as_solved_alone(cellar: pd.DataFrame) -> None:
    """A programme of one bottling is that bottling, with its prices."""
    brief = plain(300, limits={"sugar_g_l": {"min": 60}})
    each, alone = solve_together(cellar, {"a": brief}), solve(cellar, brief)
    assert each.objective == pytest.approx(alone.objective)
    assert drawn(each.bottlings["a"]) == pytest.approx(drawn(alone))
    assert [b.price for b in each.bottlings["a"].binding] == pytest.approx([b.price for b in alone.binding])


def test_rank_says_who_is_served_first() -> None:
    """One cheap barrel of 100: who ranks first gets it, whoever is named first."""
    pool = pd.DataFrame({"stock": ["cheap", "dear"], "litres": [100.0, 500.0], "cost_per_l": [1.0, 5.0]})
    first = solve_together(pool, {"a": plain(100, rank=2), "b": plain(100, rank=1)})
    assert set(drawn(first.bottlings["b"])) == {"cheap"}
    assert set(drawn(first.bottlings["a"])) == {"dear"}
    assert first.objective == pytest.approx(100.0)


def test_weight_says_whose_cost_counts_more() -> None:
    """Both want the sweet barrel's sugar; the one that weighs ten times more gets the cheap way."""
    pool = pd.DataFrame({"stock": ["cheap", "dear"], "litres": [100.0, 500.0], "cost_per_l": [1.0, 5.0]})
    answer = solve_together(pool, {"a": plain(100), "b": plain(100, weight=10.0)})
    assert set(drawn(answer.bottlings["b"])) == {"cheap"}


def test_briefs_that_cannot_all_be_met_are_told_one_by_one(cellar: pd.DataFrame) -> None:
    """There are 200 L of new oak: the first takes 150, and the second is told that alone it could be met."""
    brief = plain(150, share={"group:new oak": {"min": 1.0}})
    answer = solve_together(cellar, {"a": brief, "b": brief})
    assert (answer.status, answer.exit_status) == ("infeasible", 3)
    assert answer.bottlings["a"].status == "optimal"
    assert answer.bottlings["b"].nearest is not None
    assert "alone this brief can be met" in answer.bottlings["b"].notes[-1]


def test_whole_barrels_go_to_one_bottling(cellar: pd.DataFrame) -> None:
    """A barrel drained for one is not there for the other."""
    brief = plain({"min": 100, "max": 300}, draws={"whole": True, "never": ["tank"]})
    answer = solve_together(cellar, {"a": brief, "b": brief})
    assert answer.status == "optimal"
    a, b = (set(drawn(each)) for each in answer.bottlings.values())
    assert a
    assert b
    assert not a & b


def test_true_volume_and_confidence_hold_for_each(cellar: pd.DataFrame) -> None:
    """Each blend is of exactly its litres at true volume, and as sure as its own brief asks."""
    cellar["abv_u"] = 0.2
    briefs = {
        "dry": {
            "litres": 200,
            "objective": ["least_cost"],
            "limits": {"abv": {"min": 12, "max": 13}},
            "confidence": 0.9,
        },
        "strong": {"litres": 120, "objective": ["least_cost"], "limits": {"abv": {"min": 15}}},
    }
    answer = solve_together(cellar, briefs)
    assert answer.status == "optimal"
    assert [each.blend["litres"] for each in answer.bottlings.values()] == pytest.approx([200, 120], abs=1e-6)
    assert answer.bottlings["dry"].chances[0].chance >= 0.9


def test_endings_are_told_for_all(cellar: pd.DataFrame) -> None:
    """Out of time, nothing to draw on, nothing to stop at: no plan, infeasible, unbounded, as for one brief."""
    brief = plain(100)
    late = solve_together(cellar, {"a": brief, "b": brief}, time_limit=0.0)
    assert (late.status, late.exit_status) == ("no_plan", 4)
    nearest = [each.nearest for each in late.bottlings.values()]
    assert None not in nearest
    drawn = [draw for each in nearest if each is not None for draw in each.draws]
    assert sum(draw.litres for draw in drawn) == pytest.approx(200)
    for stock, there in zip(cellar["stock"], cellar["litres"], strict=True):  # no litre is offered twice
        assert sum(draw.litres for draw in drawn if draw.stock == stock) <= there + 1e-6
    empty = solve_together(cellar.iloc[:0], {"a": {"litres": 10}, "b": {"litres": 10}})
    assert (empty.status, empty.exit_status) == ("infeasible", 3)
    river = pd.DataFrame({"stock": ["river"], "litres": [np.inf], "cost_per_l": [1.0]})
    sold = {"litres": {"min": 1}, "objective": ["most_profit"], "price_per_l": 2.0}
    assert solve_together(river, {"a": sold, "b": sold}).status == "unbounded"


def test_each_bottling_leaves_its_own_heel(cellar: pd.DataFrame) -> None:
    """Of the 200 L of dry one may draw 140 and leave 60, then the other all but 10: 190 in all, the fussy one first."""
    limits = {"abv": {"min": 12}, "sugar_g_l": {"max": 0}}
    briefs = {
        "plain": plain(50, limits=limits, draws={"heel_l": 10, "never": ["strong"]}),
        "fussy": plain(140, limits=limits, draws={"heel_l": 60, "never": ["strong"]}),
    }
    answer = solve_together(cellar, briefs)
    assert answer.status == "optimal"
    result = {name: (draw.litres, draw.left_l) for name, each in answer.bottlings.items() for draw in each.draws}
    assert list(result) == ["fussy", "plain"]
    assert result["fussy"] == pytest.approx((140, 60))
    assert result["plain"] == pytest.approx((50, 10))
    assert solve_together(cellar, briefs | {"plain": briefs["plain"] | {"litres": 51}}).status == "infeasible"
    assert solve_together(cellar, briefs | {"fussy": briefs["fussy"] | {"litres": 141}}).status == "infeasible"


@pytest.mark.slow
@given(
    heels=st.lists(st.floats(0, 60), min_size=3, max_size=3),
    wanted=st.lists(st.floats(5, 80), min_size=3, max_size=3),
    ample=st.booleans(),
)
@settings(max_examples=40)
def test_no_heel_is_ever_drawn_on(heels: list[float], wanted: list[float], ample: bool) -> None:
    """For any heels: poured in the order told, every bottling leaves at least its own in whatever it draws on."""
    pool = pd.DataFrame({"stock": ["a", "b"], "litres": [150.0, 400.0 if ample else 90.0], "cost_per_l": [1.0, 2.0]})
    briefs = {
        f"brief {at}": plain(litres, draws={"heel_l": heel})
        for at, (heel, litres) in enumerate(zip(heels, wanted, strict=True))
    }
    answer = solve_together(pool, briefs)
    left = dict(zip(pool["stock"], pool["litres"], strict=True))
    for name, each in answer.bottlings.items():
        for draw in each.draws:
            left[draw.stock] -= draw.litres
            assert draw.left_l == pytest.approx(left[draw.stock], abs=1e-6)
            assert left[draw.stock] >= briefs[name]["draws"]["heel_l"] - 1e-6
    assert ample <= (answer.status == "optimal")


def test_the_heel_stays_under_all_bottlings(cellar: pd.DataFrame) -> None:
    """200 L of dry less 10 are shared by two of 95; the 10 are left."""
    brief = plain(95, limits={"abv": {"min": 12}, "sugar_g_l": {"max": 0}}, draws={"heel_l": 10, "never": ["strong"]})
    answer = solve_together(cellar, {"a": brief, "b": brief})
    assert answer.status == "optimal"
    assert [each.draws[0].left_l for each in answer.bottlings.values()] == pytest.approx([105, 10])
    assert solve_together(cellar, {"a": brief, "b": brief | {"litres": 96}}).status == "infeasible"


def test_a_figure_of_free_litres_cannot_be_summed(cellar: pd.DataFrame) -> None:
    """Highest strength of so many litres, give or take, has no sum with another's cost."""
    with pytest.raises(BadBrief, match="only where litres are exact"):
        solve_together(cellar, {"a": plain({"min": 1, "max": 9}, objective=["highest:abv"]), "b": plain(10)})


@pytest.mark.slow
@settings(max_examples=40)
@given(seed=st.integers(0, 100_000))
def test_together_agrees_with_an_independent_statement(seed: int) -> None:
    """For any pool and two briefs, the cost is that of the programme written out by hand as dense rows."""
    random = np.random.default_rng(seed)
    n = 5
    litres, sugar, cost = random.uniform(60, 150, n), random.uniform(0, 90, n), random.uniform(1, 5, n)
    pool = pd.DataFrame({"stock": list("abcde"), "litres": litres, "sugar_g_l": sugar, "cost_per_l": cost})
    wanted, least = random.uniform(50, 150, 2), random.uniform(20, 60, 2)
    briefs = {
        str(at): plain(float(wanted[at]), limits={"sugar_g_l": {"min": float(least[at])}}, weight=float(at + 1))
        for at in range(2)
    }
    rows = [np.r_[least[0] - sugar, np.zeros(n)], np.r_[np.zeros(n), least[1] - sugar], *np.tile(np.eye(n), 2)]
    equal = [np.r_[np.ones(n), np.zeros(n)], np.r_[np.zeros(n), np.ones(n)]]
    by_hand = linprog(np.r_[cost, 2 * cost], A_ub=rows, b_ub=np.r_[0, 0, litres], A_eq=equal, b_eq=wanted,
                      method="highs-ipm")  # fmt: skip
    answer = solve_together(pool, briefs)
    assert (answer.status == "optimal") == (by_hand.status == 0)
    if by_hand.status == 0:
        assert answer.objective == pytest.approx(by_hand.fun, rel=1e-6)

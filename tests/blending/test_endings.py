"""The endings of a solve, none of which may be taken for another, and pools at the edge of sense."""

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import pytest
from scipy import sparse

from cooperage.blending import solve
from cooperage.blending.answer.answer import Answer
from cooperage.blending.lp import ranks
from cooperage.blending.lp.highs import Ending, Outcome, Program, TimeBudget, run
from cooperage.blending.stocks.pool import Floats

if TYPE_CHECKING:
    from tests.blending.conftest import AssertMeets


def test_optimal(cellar: pd.DataFrame) -> None:
    """A possible brief is proved best and exits with 0."""
    answer = solve(cellar, {"litres": 100, "objective": ["least_cost"], "limits": {"abv": {"min": 11}}})
    assert (answer.status, answer.exit_status, answer.gap) == ("optimal", 0, None)


def test_infeasible(cellar: pd.DataFrame) -> None:
    """An impossible brief exits with 3, a reason and a nearest blend."""
    answer = solve(cellar, {"litres": 100, "limits": {"abv": {"min": 17}}})
    assert (answer.status, answer.exit_status) == ("infeasible", 3)
    assert answer.conflict
    assert answer.nearest is not None


def test_unbounded() -> None:
    """A stock without end, sold at a profit without a limit on litres, is told as such and exits with 3."""
    pool = pd.DataFrame({"stock": ["river"], "litres": [np.inf], "cost_per_l": [1.0]})
    answer = solve(pool, {"litres": {"min": 1}, "objective": ["most_profit"], "price_per_l": 2.0})
    assert (answer.status, answer.exit_status) == ("unbounded", 3)
    assert "nothing keeps the objective within bounds" in answer.notes[0]


def test_no_plan(cellar: pd.DataFrame) -> None:
    """Time that is out before it began leaves no plan, exits with 4, and is not called impossible."""
    answer = solve(cellar, {"litres": 100, "mixing": "plain", "limits": {"abv": {"min": 17}}}, time_limit=0.0)
    assert (answer.status, answer.exit_status) == ("no_plan", 4)
    assert answer.notes == ("time ran out before any plan was found",)
    assert answer.nearest is not None
    assert {draw.stock for draw in answer.nearest.draws} <= {"strong", "rich"}
    assert [miss.words for miss in answer.nearest.misses] == [
        "strength at least 17 % vol: comes to 16 % vol, 1 % vol short of it"
    ]
    assert answer.to_json()["nearest"]["blend"]["abv"] == pytest.approx(16.0)


@pytest.mark.parametrize(
    "draws",
    [
        {},
        {"whole": True},
        {"max_stocks": 10},
        {"max_stocks": 10, "max_partly_full": 2},
        {"must": ["B-3"], "never": ["B-1", "B-2"]},
    ],
)
@pytest.mark.parametrize("least", [0.0, 40.0])
@pytest.mark.parametrize("mixing", ["plain", "liquid"])
def test_out_of_time_something_near_is_offered_within_the_rules_on_draws(
    hard_to_prove: tuple[pd.DataFrame, dict[str, Any]], draws: dict[str, Any], least: float, mixing: str
) -> None:
    """Whole barrels stay whole, stocks are no more than asked, draws no less; every limit not met is told."""
    pool, brief = hard_to_prove
    pool = pool.iloc[:30].assign(min_litres=least)
    litres = {"min": 1500.0, "max": 1501.0}
    asked = brief | {"litres": litres, "draws": draws, "mixing": mixing}
    answer = solve(pool, asked, time_limit=0.0)
    assert (answer.status, answer.exit_status) == ("no_plan", 4)
    assert answer.nearest is not None
    held: dict[str, float] = dict(zip(pool["stock"], pool["litres"], strict=True))
    drawn = {draw.stock: draw.litres for draw in answer.nearest.draws}
    for stock, poured in drawn.items():
        assert 0 < poured <= held[stock] + 1e-6
        assert poured >= min(least, held[stock]) - 1e-6
        assert not draws.get("whole") or poured == pytest.approx(held[stock])
    assert len(drawn) <= draws.get("max_stocks", len(held))
    assert set(draws.get("must", ())) <= set(drawn)
    assert not set(draws.get("never", ())) & set(drawn)
    blend, result = answer.nearest.blend, {miss.limit for miss in answer.nearest.misses}
    assert blend["litres"] is not None
    assert 1300 < blend["litres"] < 1700
    limits = {"abv": (13.499, 13.501), "sugar_g_l": (59.95, 60.05), "litres": (litres["min"], litres["max"])}
    for name, (low, high) in limits.items():
        got = blend[name]
        assert got is not None
        assert (name in result) or low - 1e-3 <= got <= high + 1e-3
    assert any("meets every limit" in note for note in answer.notes) == (not result)


def test_a_plan_found_before_the_time_was_up_is_the_nearest(
    monkeypatch: pytest.MonkeyPatch, cellar: pd.DataFrame
) -> None:
    """When the second pass finds no time left, the plan of the first is offered."""
    calls: list[Program] = []

    def short(program: Program, clock: TimeBudget, likely: Floats | None = None) -> Outcome:
        calls.append(program)
        return run(program, clock, likely) if len(calls) == 1 else Outcome(Ending.NO_PLAN)

    monkeypatch.setattr(ranks, "run", short)
    brief = {"litres": 100, "objective": ["least_cost"], "limits": {"abv": {"min": 14}}}
    answer = solve(cellar, brief | {"mixing": "liquid"})
    assert answer.status == "no_plan"
    assert len(calls) > 1
    assert answer.nearest is not None
    assert answer.nearest.blend["litres"] == pytest.approx(100, abs=1)


@pytest.mark.slow
def test_timed_out_with_a_plan_in_hand(
    hard_to_prove: tuple[pd.DataFrame, dict[str, Any]], until_a_plan: Callable[[Callable[[float], bool]], None]
) -> None:
    """When time runs out with a plan in hand it is usable, and its gap is told."""
    pool, brief = hard_to_prove
    answers: list[Answer] = []

    def found_within(seconds: float) -> bool:
        answers.append(solve(pool, brief, time_limit=seconds))
        return answers[-1].status != "no_plan"

    until_a_plan(found_within)
    answer = answers[-1]
    assert (answer.status, answer.exit_status) == ("feasible", 0)
    assert answer.gap is not None
    assert 0 < answer.gap < 1
    assert answer.blend["litres"] is not None
    assert 30 * 190.0 - 1e-6 <= answer.blend["litres"] <= 30 * 190.0 + 1.0 + 1e-6


def test_degenerate(reference: Callable[[str], Any]) -> None:
    """Where any split of two equal lots is best, the cost is the published one and the split is a possible one."""
    cases = reference("blend_lp_cases.json")["cases"]
    case = next(each for each in cases if each["id"] == "constructed_degenerate_duplicate_lots")
    pool = pd.DataFrame(
        {"stock": ["lot_1", "lot_2", "lot_3"], "litres": 60.0, "cost_per_l": [2, 2, 5], "strength": [12, 12, 14]}
    )
    answer = solve(pool, {"litres": 100, "limits": {"strength": {"min": 12}}})
    assert answer.objective == pytest.approx(case["expected"]["objective_verified"])
    for draw in answer.draws:
        low, high = case["expected"]["solution_ranges_on_optimal_face"][draw.stock]
        assert low - 1e-6 <= draw.litres <= high + 1e-6


def test_empty_pool(cellar: pd.DataFrame) -> None:
    """A pool without a stock is impossible in words, not an error."""
    answer = solve(cellar.iloc[:0], {"litres": 100, "mixing": "plain"})
    assert answer.status == "infeasible"
    assert answer.conflict[0].words == "100 L of blend asked for; there is no stock to draw on"
    assert answer.nearest is not None
    assert answer.nearest.blend == {"litres": 0.0}


def test_one_stock(cellar: pd.DataFrame) -> None:
    """One stock is a blend of itself."""
    answer = solve(cellar.iloc[:1], {"litres": 150, "limits": {"abv": {"target": 12}}})
    assert [draw.stock for draw in answer.draws] == ["dry"]
    assert (answer.draws[0].litres, answer.draws[0].left_l) == pytest.approx((150, 50))


def test_all_stocks_equal() -> None:
    """Equal stocks meet a limit on the dot, or miss it together by the same distance."""
    pool = pd.DataFrame({"stock": list("abcd"), "litres": 100.0, "abv": 13.0, "sugar_g_l": 50.0, "cost_per_l": 2.0})
    met = solve(pool, {"litres": 250, "limits": {"abv": {"target": 13}}})
    assert met.status == "optimal"
    assert met.objective == pytest.approx(500.0)
    missed = solve(pool, {"litres": 250, "limits": {"abv": {"min": 13.5}}})
    assert missed.nearest is not None
    assert missed.nearest.misses[0].by == pytest.approx(0.5, abs=1e-6)
    assert missed.nearest.blend["litres"] == pytest.approx(250.0)


def test_stock_of_no_litres(cellar: pd.DataFrame) -> None:
    """An empty barrel is never drawn on."""
    cellar.loc[cellar["stock"] == "tank", "litres"] = 0.0
    answer = solve(cellar, {"litres": 400, "mixing": "plain", "objective": ["least_cost"]})
    assert {draw.stock for draw in answer.draws} == {"dry", "sweet"}


def test_brief_that_may_be_empty(cellar: pd.DataFrame) -> None:
    """Where no litre need be blended, least cost blends none, and figures of nothing are unknown."""
    answer = solve(cellar, {"litres": {"max": 100}, "objective": ["least_cost"]})
    assert (answer.status, answer.draws, answer.blend["litres"], answer.blend["abv"]) == ("optimal", (), 0.0, None)


def test_unknown_figures_are_left_out_and_said(cellar: pd.DataFrame) -> None:
    """A stock whose limited figure is unknown is left out by name; one with another unknown figure is not."""
    cellar["va_g_l"] = [0.4, np.nan, 0.5, 0.5, 0.3]
    limits = {"sugar_g_l": {"min": 50.0}}
    brief = {"litres": 500, "objective": ["least_cost"], "limits": limits}
    unlimited = solve(cellar, brief)
    assert unlimited.left_out == ()
    assert unlimited.blend["va_g_l"] is None
    limited = solve(cellar, brief | {"litres": 100, "limits": limits | {"va_g_l": {"max": 0.6}}})
    assert [(out.stock, out.why) for out in limited.left_out] == [("sweet", "VA unknown")]
    assert "sweet" not in {draw.stock for draw in limited.draws}


def test_every_stock_left_out(cellar: pd.DataFrame) -> None:
    """When no stock has the figure that is asked for, the answer says which were left out."""
    cellar["va_g_l"] = np.nan
    answer = solve(cellar, {"litres": 100, "limits": {"va_g_l": {"max": 1}}})
    assert answer.status == "infeasible"
    assert len(answer.left_out) == 5


def many(count: int) -> pd.DataFrame:
    """Return a cellar of many barrels of round figures; the cheap ones are dry, the dear ones sweet."""
    at = np.arange(count)
    return pd.DataFrame(
        {
            "stock": [f"B-{number}" for number in at],
            "litres": 200.0,
            "abv": 12.0 + at % 3,
            "sugar_g_l": 100.0 * (at % 2),
            "cost_per_l": 1.0 + at % 2,
        }
    )


@pytest.mark.parametrize("count", [2_000, 20_000])
def test_many_stocks(count: int, assert_meets: "AssertMeets") -> None:
    """Thousands of barrels: half dry at 1 and half sweet at 2 make 50 g/L for 1.5 a litre, less what is never free."""
    brief = {"litres": 100.0 * count, "mixing": "plain", "limits": {"sugar_g_l": {"target": 50}, "abv": {"max": 13}}}
    answer = solve(many(count), brief)
    assert answer.status == "optimal"
    assert answer.objective == pytest.approx(150.0 * count)
    assert_meets(brief, answer, tolerance=1e-5)


def test_unbounded_or_infeasible_is_decided() -> None:
    """Where presolve cannot tell the two apart, a second look does."""

    def program(least: float) -> Program:
        rows, bounds = sparse.csr_array([[1.0, -1.0], [-1.0, 1.0]]), np.array([0.0, -least])
        nothing = sparse.csr_array((0, 2))
        return Program(
            np.array([-1.0, -1.0]),
            rows,
            bounds,
            nothing,
            np.zeros(0),
            np.zeros(2),
            np.full(2, np.inf),
            np.zeros(2, bool),
        )

    assert run(program(0.0), TimeBudget()).ending is Ending.UNBOUNDED
    assert run(program(1.0), TimeBudget()).ending is Ending.INFEASIBLE


@pytest.mark.parametrize(
    ("rows", "bounds", "most", "ending"),
    [
        ([[1.0, -1.0]], [0.0], np.inf, Ending.UNBOUNDED),  # x <= y, and both may rise
        ([[1.0, -1.0], [-1.0, 1.0]], [0.5, -0.5], np.inf, Ending.INFEASIBLE),  # x = y + 0.5, both whole
        ([[1.0, -1.0]], [0.0], 7.0, Ending.OPTIMAL),  # x <= y <= 7
    ],
)
@pytest.mark.parametrize("cost", [[-1.0, 0.0], [-1.0, -1e-3]])
def test_a_search_for_whole_numbers_is_decided_too(
    rows: list[list[float]], bounds: list[float], most: float, ending: Ending, cost: list[float]
) -> None:
    """The search often reports "unbounded or infeasible": then it is decided, whichever columns have a cost."""
    program = Program(
        np.array(cost),
        sparse.csr_array(np.array(rows)),
        np.array(bounds),
        sparse.csr_array((0, 2)),
        np.zeros(0),
        np.zeros(2),
        np.full(2, most),
        np.ones(2, bool),
    )
    assert run(program, TimeBudget()).ending is ending


@pytest.mark.parametrize(
    ("ending", "status", "notes"),
    [
        (Ending.OPTIMAL, "optimal", ()),
        (
            Ending.FEASIBLE,
            "feasible",
            ("time ran out while improving lowest:sugar_g_l; what ranks before it is at its best",),
        ),
    ],
)
def test_only_a_rank_that_ran_out_of_time_is_named(
    monkeypatch: pytest.MonkeyPatch, cellar: pd.DataFrame, ending: Ending, status: str, notes: tuple[str, ...]
) -> None:
    """The second of two ranks is proved best and nothing is noted, or its time runs out and it is named."""
    calls: list[Program] = []

    def timed(program: Program, clock: TimeBudget, likely: Any = None) -> Outcome:
        calls.append(program)
        outcome = run(program, clock, likely)
        return outcome if len(calls) == 1 else replace(outcome, ending=ending)

    monkeypatch.setattr(ranks, "run", timed)
    answer = solve(cellar, {"litres": 100, "mixing": "plain", "objective": ["least_cost", "lowest:sugar_g_l"]})
    assert len(calls) == 2
    assert (answer.status, answer.notes) == (status, notes)


@pytest.mark.parametrize(("gap", "status"), [(0.0, "optimal"), (1.9e-7, "optimal"), (2.5e-7, "infeasible")])
def test_two_limits_that_mean_the_same_agree_to_within_rounding(gap: float, status: str) -> None:
    """Two figures of the same stocks asked for to a hair of each other (2e-7) are one wish; further off, a clash."""
    pool = pd.DataFrame({"stock": ["a", "b"], "litres": 500.0, "x": [0.0, 10.0], "y": [0.0, 10.0]})
    answer = solve(pool, {"litres": 100, "limits": {"x": {"target": 5.0}, "y": {"target": 5.0 + gap}}})
    assert answer.status == status

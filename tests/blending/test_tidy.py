"""Fewer part-full barrels and tiny draws for a little of the first objective, and the price of that told."""

import json
from collections.abc import Mapping
from itertools import product
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linprog

from cooperage.blending import alternatives, solve, solve_together
from cooperage.blending.answer.answer import Answer
from cooperage.blending.answer.summary import reasons, tidy_line
from cooperage.blending.brief.brief import BadBrief
from cooperage.blending.from_cellar import avoiding_part_full
from cooperage.blending.handed_over import solve_tidily
from cooperage.blending.rules import rule_costs
from cooperage.blending.stocks.pool import read_pool
from cooperage.cli import main
from cooperage.units import DEFAULT
from tests.examples import tried_on

AVOID = {"draws": {"part_full": "avoid"}}
Problem: TypeAlias = tuple[pd.DataFrame, dict[str, Any]]


@pytest.fixture
def rack() -> pd.DataFrame:
    """Four barrels of heather mead that cost nearly the same; 300 L are least cost with two of them left part full."""
    table = {
        "stock": ["B-1", "B-2", "B-3", "B-4"],
        "litres": [200.0, 200.0, 150.0, 150.0],
        "abv": [12.0, 14.0, 13.0, 13.0],
        "cost_per_l": [4.00, 4.10, 4.08, 4.09],
    }
    return pd.DataFrame(table).assign(group="used oak")


BRIEF = {
    "litres": 300,
    "mixing": "plain",
    "objective": ["least_cost"],
    "limits": {"abv": {"target": 13.0}},
}


def test_two_barrels_are_drained_where_two_would_be_left_part_full(rack: pd.DataFrame) -> None:
    """150 L of B-1 and B-2 cost 4.05 a litre; B-3 and B-4 drained cost 4.085: 0.035 a litre, 0.86 %, more."""
    best, tidy = solve(rack, BRIEF), solve(rack, BRIEF | AVOID)
    assert (best.part_full, best.tiny_draws, best.price_of_tidiness) == (2, 0, None)
    assert {draw.stock for draw in tidy.draws} == {"B-3", "B-4"}
    assert (tidy.status, tidy.part_full, tidy.tiny_draws) == ("optimal", 0, 0)
    assert tidy.best_objective == pytest.approx(1215.0)
    assert tidy.objective == pytest.approx(1225.5)
    price = tidy.price_of_tidiness
    assert price is not None
    assert (price.part_full_of_best, price.unit) == (2, "money")
    assert price.price == pytest.approx(10.5)
    assert price.price_per_l == pytest.approx(0.035)
    assert price.price_percent == pytest.approx(100 * 10.5 / 1215)
    said = "No part-full barrel instead of 2: costs 0.035 per litre more; with any allowed: 4.05 per litre."
    assert said in reasons(tidy, DEFAULT)
    assert tidy_line(tidy, DEFAULT) == "None part full, not 2: 0.9 % off best"


def test_what_it_may_cost_is_a_rule_of_the_brief(rack: pd.DataFrame) -> None:
    """At half a per cent the two barrels are left part full, and the answer says that nothing near has fewer."""
    answer = solve(rack, BRIEF | {"draws": {"part_full": "avoid", "part_full_within": 0.005}})
    assert answer.objective == answer.best_objective == pytest.approx(1215.0)
    assert "2 part-full barrels: no plan within 0.5 % of the best has fewer." in reasons(answer, DEFAULT)
    assert tidy_line(answer, DEFAULT) == "2 part full; no plan near has fewer"


def test_tanks_and_doses_are_left_part_full_as_ever(rack: pd.DataFrame) -> None:
    """A tank is never counted, and water has no end."""
    tanks = rack.assign(group="tank")
    assert (
        solve(tanks, BRIEF | AVOID).to_json() | {"price_of_tidiness": None, "best_objective": None}
        == solve(tanks, BRIEF).to_json()
    )


def test_a_tiny_draw_is_avoided_for_a_real_one() -> None:
    """4 L of the sour barrel bring the acid to the point; 10 L bring it a little over, for 0.006 a litre."""
    rows = [("T-1", 1000.0, 5.0, 4.0), ("B-1", 200.0, 25.0, 4.1), ("B-2", 200.0, 7.0, 4.05)]
    pool = pd.DataFrame(rows, columns=["stock", "litres", "ta_g_l", "cost_per_l"]).assign(group=["tank", "oak", "oak"])
    brief = {"litres": 100, "mixing": "plain", "objective": ["least_cost"], "limits": {"ta_g_l": {"min": 5.8}}}
    best, tidy = solve(pool, brief), solve(pool, brief | AVOID)
    assert (best.part_full, best.tiny_draws) == (1, 1)
    assert (tidy.part_full, tidy.tiny_draws) == (1, 0)
    assert any(line.startswith("1 part-full barrel instead of 1 and 1 tiny draw") for line in reasons(tidy, DEFAULT))


def test_a_brief_of_its_own_aim_is_told_in_that_aim(rack: pd.DataFrame) -> None:
    """The best score gives way to whole barrels: the answer says what any allowed would raise it by."""
    scored = rack.assign(score=[80.0, 80.0, 79.0, 79.5])
    answer = solve(scored, BRIEF | AVOID | {"objective": ["highest:score"]})
    assert answer.best_objective == pytest.approx(80.0)
    assert answer.objective == pytest.approx(79.25)
    assert answer.price_of_tidiness is not None
    assert "any allowed the plan would raise score by 0.75" in answer.price_of_tidiness.words


def test_a_brief_without_an_aim_is_tidied_for_nothing(rack: pd.DataFrame) -> None:
    """Nothing is aimed at, so nothing is lost."""
    answer = solve(rack, BRIEF | AVOID | {"objective": []})
    assert answer.part_full == 0
    assert answer.price_of_tidiness is None or answer.price_of_tidiness.price in (None, 0.0)


def test_prices_are_those_of_the_plan_shown(rack: pd.DataFrame) -> None:
    """With all barrels drained no litre can be spared; where a tank makes up the rest, a litre is the tank's."""
    drained = solve(rack, BRIEF | AVOID)
    assert drained.binding
    assert all(limit.price is None for limit in drained.binding)
    tank = pd.DataFrame([("T-1", 500.0, 13.0, 4.2, "tank")], columns=list(rack.columns))
    answer = solve(pd.concat([rack, tank], ignore_index=True), BRIEF | AVOID | {"litres": 320, "limits": {}})
    assert answer.part_full == 0
    assert {limit.limit: limit.price for limit in answer.binding} == {"litres": pytest.approx(4.2)}
    assert not answer.ranging


def test_other_plans_and_rules_are_held_against_the_best(rack: pd.DataFrame) -> None:
    """Others lie within so much of the best objective, and a rule costs what it costs the best plan."""
    brief = BRIEF | {"draws": {"part_full": "avoid", "must": ["B-3"]}}
    answer = solve(rack, brief)
    assert answer.best_objective is not None
    for other in alternatives(rack, brief, 2, 0.01, best=answer):
        assert other.objective is not None
        assert other.objective <= 1.01 * answer.best_objective + 1e-6
    (rule,) = rule_costs(rack, brief, answer)
    assert rule.cost == pytest.approx(answer.best_objective - 1215.0, abs=1e-6)


def test_a_wrong_word_is_refused_with_those_there_are(rack: pd.DataFrame) -> None:
    """The rule has two words, and a fraction."""
    with pytest.raises(BadBrief, match='must be "avoid" or "any"'):
        solve(rack, BRIEF | {"draws": {"part_full": "never"}})
    with pytest.raises(BadBrief, match=r"draws\.part_full_within"):
        solve(rack, BRIEF | {"draws": {"part_full_within": 2}})


def test_only_a_cellar_avoids_part_full_barrels_unasked() -> None:
    """A brief that says what it wants is left as it is; one whose draws are nonsense too."""
    assert avoiding_part_full(BRIEF)["draws"] == {"part_full": "avoid"}
    assert avoiding_part_full(BRIEF | {"draws": {"part_full": "any"}})["draws"] == {"part_full": "any"}
    assert avoiding_part_full({"draws": 3}) == {"draws": 3}


def test_a_pool_file_is_solved_to_its_exact_best(rack: pd.DataFrame, tmp_path: Path) -> None:
    """`blend solve --pool` leaves barrels part full as ever, and avoids it where the brief says so."""
    pool, plain, avoiding = tmp_path / "pool.csv", tmp_path / "plain.toml", tmp_path / "avoiding.toml"
    rack.to_csv(pool, index=False)
    text = 'litres = 300\nmixing = "plain"\nobjective = ["least_cost"]\n[limits]\nabv = { target = 13.0 }\n'
    plain.write_text(text)
    avoiding.write_text(f'{text}[draws]\npart_full = "avoid"\n')

    def came(brief: Path) -> dict[str, Any]:
        done = CliRunner().invoke(main, ["blend", "solve", "--brief", str(brief), "--pool", str(pool), "--json"])
        answer: dict[str, Any] = json.loads(done.stdout)
        return answer

    assert came(plain)["objective"] == pytest.approx(1215.0)
    assert came(plain)["price_of_tidiness"] is None
    assert came(avoiding)["part_full"] == 0
    assert came(avoiding)["price_of_tidiness"]["price_per_l"] == pytest.approx(0.035)


def test_the_tidy_plan_can_be_asked_for_after_the_best(rack: pd.DataFrame) -> None:
    """The screen asks in two steps, and gets what one step gives."""
    best, pool = solve(rack, BRIEF), read_pool(rack)
    assert solve_tidily(pool, BRIEF | AVOID, best, 20.0) == solve(rack, BRIEF | AVOID)
    assert solve_tidily(pool, BRIEF, best, 20.0) == best


def test_several_briefs_say_that_they_are_not_tidied(rack: pd.DataFrame) -> None:
    """One programme for several briefs keeps to its optimum, and says so where a brief asks for more."""
    asked = {"dry": BRIEF | AVOID | {"litres": 100}, "strong": BRIEF | {"litres": 100}}
    assert any("part-full" in note for note in solve_together(rack, asked).notes)
    assert not solve_together(rack, {"strong": BRIEF}).notes


# --- laws -----------------------------------------------------------------------------------------------------------

figure = st.integers(0, 40).map(lambda tenths: tenths / 4)


@st.composite
def problems(draw: st.DrawFn, most: int = 4) -> Problem:
    """Return a pool of barrels, perhaps with a tank, and a brief that may or may not be possible."""
    count = draw(st.integers(1, most))
    column = st.lists(figure, min_size=count, max_size=count).map(np.array)
    pool = pd.DataFrame(
        {
            "stock": [f"B-{at}" for at in range(count)],
            "litres": np.array(draw(st.lists(st.integers(1, 9), min_size=count, max_size=count))) * 25.0,
            "ta_g_l": draw(column),
            "cost_per_l": draw(column) / 10 + 4,
            "group": draw(st.lists(st.sampled_from(["used oak", "used oak", "tank"]), min_size=count, max_size=count)),
        }
    )
    low, width = draw(figure), draw(figure)
    litres = draw(st.integers(2, 30)) * 10.0
    spare = draw(st.sampled_from([0.0, 10.0]))
    brief = {
        "litres": {"min": litres, "max": litres + spare},
        "mixing": "plain",
        "objective": ["least_cost"],
        "limits": {"ta_g_l": {"min": low, "max": low + width}},
    }
    return pool, brief


STATES = ("none", "drained", "part", "tiny")


def cheapest(pool: pd.DataFrame, brief: Mapping[str, Any], states: tuple[str, ...]) -> float | None:
    """Return what the cheapest blend costs in which each stock is in such a state; None where there is none."""
    ta, litres = pool["ta_g_l"].to_numpy(), pool["litres"].to_numpy()
    tiny = np.minimum(np.maximum(10.0, 0.05 * litres), litres)
    reach = {
        "none": (0 * tiny, 0 * tiny),
        "drained": (litres, litres),
        "part": (tiny, litres),
        "tiny": (0 * tiny, tiny),
    }
    tanks = (pool["group"] == "tank").to_numpy()
    bounds = [
        (0.0, litres[at]) if tanks[at] else (reach[state][0][at], reach[state][1][at])
        for at, state in enumerate(states)
    ]
    limits, span = brief["limits"]["ta_g_l"], brief["litres"]
    rows = np.array([limits["min"] - ta, ta - limits["max"], -np.ones(len(pool)), np.ones(len(pool))])
    bare = linprog(pool["cost_per_l"], rows, [0.0, 0.0, -span["min"], span["max"]], bounds=bounds)
    return float(bare.fun) if bare.status == 0 and bare.fun is not None else None


@pytest.mark.slow
@tried_on(60)
@given(problems())
def test_the_tidy_plan_is_that_of_trying_every_kind_of_plan(problem: Problem) -> None:
    """No set of barrels drained, left part full or let alone leaves less behind at that price, nor costs less."""
    pool, brief = problem
    answer = solve(pool, brief | AVOID)
    if not answer.draws:
        assert solve(pool, brief).status == answer.status
        return
    assert answer.price_of_tidiness is not None
    assert answer.best_objective is not None
    assert answer.objective is not None
    allowed = 1.02 * answer.best_objective
    tanks = (pool["group"] == "tank").to_numpy()
    found: list[tuple[int, float]] = []
    for states in product(*[("none",) if tank else STATES for tank in tanks]):
        cost = cheapest(pool, brief, states)
        part_full = sum(state in ("part", "tiny") for state in states)
        if cost is not None and part_full <= answer.price_of_tidiness.part_full_of_best and cost <= allowed + 1e-6:
            found.append((part_full + states.count("tiny"), cost))
    fewest = min(count for count, _ in found)
    assert (answer.part_full or 0) + (answer.tiny_draws or 0) == fewest
    assert answer.objective <= min(cost for count, cost in found if count == fewest) + 1e-4


@pytest.mark.slow
@tried_on(60)
@given(problems(most=7), st.sampled_from([0.0, 0.01, 0.05, 0.3]))
def test_every_limit_holds_and_no_more_is_left_than_by_the_best(problem: Problem, within: float) -> None:
    """For any pool: limits, the price allowed, never more part-full barrels; with any allowed, today's answer."""
    pool, brief = problem
    best = solve(pool, brief)
    assert solve(pool, brief | {"draws": {"part_full": "any"}}) == best
    tidy = solve(pool, brief | {"draws": {"part_full": "avoid", "part_full_within": within}})
    assert tidy.status == best.status
    if best.draws:
        assert_kept(brief, best, tidy, within)


def assert_kept(brief: Mapping[str, Any], best: Answer, tidy: Answer, within: float) -> None:
    """The tidy plan keeps the brief's limits and costs no more than it may."""
    assert best.objective is not None
    assert tidy.objective is not None
    assert tidy.best_objective == best.objective
    assert tidy.objective <= (1 + within) * best.objective * (1 + 1e-6) + 1e-6
    assert (tidy.part_full or 0) <= (best.part_full or 0)
    for name, span in {"litres": brief["litres"], **brief["limits"]}.items():
        got = tidy.blend[name]
        assert got is not None
        assert span["min"] - 1e-6 <= got <= span["max"] + 1e-6
    assert all(draw.litres > 0 and (draw.left_l or 0.0) >= 0 for draw in tidy.draws)

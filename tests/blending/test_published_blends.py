"""Published blending problems, through a pool and a brief, or through the solver core for several products."""

import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner
from scipy import sparse

from cooperage.blending import solve
from cooperage.blending.lp.highs import Program, TimeBudget, run
from cooperage.cli import main

if TYPE_CHECKING:
    from tests.blending.conftest import AssertMeets

BLENDS = (
    "alloy_lead_zinc_tin_balanced",
    "petfood_six_ingredient",
    "feedmix_two_active_plus_filler",
    "coffee_three_beans",
    "feed_corn_limestone_soy",
    "three_wines_max_volume",
    "constructed_infeasible_target_outside_hull",
)


@pytest.fixture(scope="module")
def cases(reference: Callable[[str], Any]) -> dict[str, dict[str, Any]]:
    return {case["id"]: case for case in reference("blend_lp_cases.json")["cases"]}


def pool_and_brief(view: dict[str, Any], path: Path) -> tuple[Path, Path]:
    """Write a case as the two files a user would."""
    materials = view["materials"]
    pool = pd.DataFrame(
        {
            "stock": [each["name"] for each in materials],
            "litres": [math.inf if each["max"] is None else each["max"] for each in materials],
            "min_litres": [each["min"] or None for each in materials],
            "cost_per_l": [each["cost"] for each in materials],
            **{name: [each["properties"][name] for each in materials] for name in materials[0]["properties"]},
        }
    )
    pool.to_csv(path / "POOL.csv", index=False)
    total = view["total"]
    lines = [
        f"litres = {total}" if total else "litres = { max = 1000 }",
        'mixing = "plain"',
        f'objective = ["{"least_cost" if total else "highest:litres"}"]',
        "[limits]",
        *(limit_line(target) for target in view["targets"]),
        "[draws]",
        f"must = {[each['name'] for each in materials if each['min']]}",
    ]
    (path / "BRIEF.toml").write_text("\n".join(lines), encoding="utf-8")
    return path / "POOL.csv", path / "BRIEF.toml"


def limit_line(target: dict[str, Any]) -> str:
    ends = [f"{end} = {target[end]}" for end in ("min", "max") if target[end] is not None]
    return f"{target['property']} = {{ {', '.join(ends)} }}"


def test_every_case_that_is_one_blend_is_listed(cases: dict[str, dict[str, Any]]) -> None:
    """No blend of the reference file is left out below."""
    assert {name for name, case in cases.items() if case.get("blend_view")} == set(BLENDS)


@pytest.mark.parametrize("name", BLENDS)
def test_published_blend(name: str, cases: dict[str, dict[str, Any]], tmp_path: Path) -> None:
    """A published blend reaches its verified optimum or status through POOL.csv and BRIEF.toml."""
    case, expected = cases[name], cases[name]["expected"]
    answer = solve(*pool_and_brief(case["blend_view"], tmp_path))
    assert answer.status == expected["status"]
    if answer.status == "optimal":
        # objective_verified is printed to seven decimals
        assert answer.objective == pytest.approx(expected["objective_verified"], rel=1e-6, abs=5e-8)
    if expected.get("solution_is_unique"):
        draws = {draw.stock: draw.litres for draw in answer.draws}
        largest = max(expected["solution_verified"].values())
        for stock, litres in expected["solution_verified"].items():
            assert draws.get(stock, 0.0) == pytest.approx(litres, abs=1e-4 * largest), stock


@pytest.mark.parametrize("name", BLENDS)
def test_published_blend_through_the_command(name: str, cases: dict[str, dict[str, Any]], tmp_path: Path) -> None:
    """`cooperage blend solve --pool --brief --json` ends as verified, with the verified optimum and exit status."""
    case, expected = cases[name], cases[name]["expected"]
    pool, brief = pool_and_brief(case["blend_view"], tmp_path)
    done = CliRunner().invoke(main, ["blend", "solve", "--pool", str(pool), "--brief", str(brief), "--json"])
    result = json.loads(done.stdout)
    assert (result["status"], done.exit_code) == (expected["status"], 0 if expected["status"] == "optimal" else 3)
    if result["status"] == "optimal":
        assert result["objective"] == pytest.approx(expected["objective_verified"], rel=1e-6, abs=5e-8)
        assert sum(draw["litres"] for draw in result["draws"]) == pytest.approx(result["blend"]["litres"], rel=1e-9)
    else:
        assert result["conflict"]


@pytest.mark.parametrize("name", BLENDS[:-1])
def test_published_blend_meets_its_targets(
    name: str, cases: dict[str, dict[str, Any]], tmp_path: Path, assert_meets: "AssertMeets"
) -> None:
    """The blend's own figures lie inside every target of a published case."""
    view = cases[name]["blend_view"]
    answer = solve(*pool_and_brief(view, tmp_path))
    limits = {
        each["property"]: {end: each[end] for end in ("min", "max") if each[end] is not None}
        for each in view["targets"]
    }
    assert_meets({"litres": view["total"] or {"max": 1000}, "limits": limits}, answer)


def program_of(case: dict[str, Any]) -> tuple[Program, float]:
    """State a case of any shape as the arrays of the solver core."""
    names = [each["name"] for each in case["variables"]]
    sign = 1.0 if case["sense"] == "min" else -1.0
    rows = np.array([[row["coeffs"].get(name, 0.0) for name in names] for row in case["constraints"]])
    low, high = (
        np.array([blank if row[end] is None else row[end] for row in case["constraints"]])
        for end, blank in (("lower", -np.inf), ("upper", np.inf))
    )
    upper, lower = np.isfinite(high), np.isfinite(low)
    column = {
        end: np.array([math.inf if each[end] is None else each[end] for each in case["variables"]])
        for end in ("lower", "upper")
    }
    return Program(
        cost=sign * np.array([each["objective"] for each in case["variables"]]),
        a_ub=sparse.csr_array(np.vstack([rows[upper], -rows[lower]])),
        b_ub=np.concatenate([high[upper], -low[lower]]),
        a_eq=sparse.csr_array((0, len(names))),
        b_eq=np.zeros(0),
        lower=column["lower"],
        upper=column["upper"],
        integer=np.array([each["type"] == "integer" for each in case["variables"]]),
    ), sign


def test_solver_core_reaches_every_published_optimum(cases: dict[str, dict[str, Any]]) -> None:
    """All published programmes, several products and whole packages among them, end as verified."""
    for name, case in cases.items():
        program, sign = program_of(case)
        outcome, expected = run(program, TimeBudget()), case["expected"]
        assert outcome.ending == expected["status"], name
        if expected["status"] == "optimal":
            assert outcome.z is not None
            value = sign * float(program.cost @ outcome.z)
            assert value == pytest.approx(expected["objective_verified"], rel=1e-6, abs=5e-8), name


def test_cellar_oracle(reference: Callable[[str], Any]) -> None:
    """The worked cellar blend comes out litre for litre, with the limits that bind."""
    oracle = reference("blend_oracle.json")
    answer = solve(pd.DataFrame(oracle["pool"]), oracle["brief"])
    expected = oracle["expected"]
    assert answer.objective == pytest.approx(expected["cost"], abs=5e-4)
    assert {draw.stock: round(draw.litres, 3) for draw in answer.draws} == expected["draws"]
    assert [limit.limit for limit in answer.binding] == expected["binding"]
    assert answer.blend["va_g_l"] == pytest.approx(expected["va_g_l"], abs=5e-4)


def test_least_draw_drops_the_silly_one(reference: Callable[[str], Any]) -> None:
    """With a least draw of 20 L nobody is sent to take 8.6 L from a barrel, and the blend costs a little more."""
    oracle = reference("blend_oracle.json")
    pool = pd.DataFrame(oracle["pool"]).assign(min_litres=20.0)
    answer = solve(pool, oracle["brief"])
    assert answer.status == "optimal"
    assert all(draw.litres >= 20.0 - 1e-9 for draw in answer.draws)
    assert answer.objective > oracle["expected"]["cost"]


def test_pearson_square(reference: Callable[[str], Any]) -> None:
    """Two stocks and one target are blended in the parts of the Pearson square."""
    for case in reference("pearson_square_cases.json")["cases"]:
        pool = pd.DataFrame({"stock": ["low", "high"], "litres": 100.0, "figure": [case["low"], case["high"]]})
        answer = solve(pool, {"litres": 100, "limits": {"figure": {"target": case["target"]}}})
        drawn = {draw.stock: draw.litres for draw in answer.draws}
        assert drawn.get("high", 0.0) == pytest.approx(100 * case["fraction_high"], abs=1e-6), case["id"]

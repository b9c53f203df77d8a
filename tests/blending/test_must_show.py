"""What anybody may ask of the blend desk, through its command: every ending in words, and true volume to 1e-6."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner

from cooperage.blending import solve
from cooperage.cli import main
from cooperage.liquid import mix


@pytest.fixture
def command(tmp_path: Path) -> Callable[..., tuple[int, str]]:
    """Return a runner of `cooperage blend solve` on a pool and a brief: (exit status, what it printed)."""

    def run(pool: pd.DataFrame, brief: str, *words: str) -> tuple[int, str]:
        pool.to_csv(tmp_path / "POOL.csv", index=False)
        (tmp_path / "BRIEF.toml").write_text(brief, encoding="utf-8")
        paths = ["--pool", str(tmp_path / "POOL.csv"), "--brief", str(tmp_path / "BRIEF.toml")]
        done = CliRunner().invoke(main, ["blend", "solve", *paths, *words])
        return done.exit_code, done.output

    return run


def pool(**columns: Any) -> pd.DataFrame:
    """Return a pool of three stocks, some of their columns otherwise."""
    rows = {"stock": ["dry", "sweet", "strong"], "litres": [200.0, 200.0, 100.0], "abv": [12.0, 12.0, 16.0]}
    return pd.DataFrame(rows | {"sugar_g_l": [0.0, 100.0, 0.0], "cost_per_l": [2.0, 3.0, 5.0]} | columns)


NO_PLAN = 4
PLAIN = 'litres = 100\nmixing = "plain"\n'
ENDINGS: dict[str, tuple[Any, ...]] = {
    "infeasible": (
        pool(), PLAIN + "limits.abv.min = 17", (), 3,
        "No blend meets this brief", "· strength at least 17 % vol; no stock has more than 16 % vol",
        "The nearest blend misses:",
    ),
    "degenerate": (
        pool(cost_per_l=2.0, sugar_g_l=0.0, abv=[12.0, 12.0, 12.0]), PLAIN + "limits.abv.min = 12", (), 0,
        "Best plan: ", "· strength at least 12 % vol",
    ),
    "unbounded": (
        pool(litres=np.inf), 'litres.min = 1\nmixing = "plain"\nobjective = ["most_profit"]\nprice_per_l = 9', (), 3,
        "Nothing keeps this brief within bounds", "nothing keeps the objective within bounds: give litres a max",
    ),
    "timed out with no plan": (
        pool(), PLAIN, ("--time-limit", "1e-9"), 4,
        "Time ran out before any plan was found. The nearest so far:", "time ran out before any plan was found",
    ),
    "an empty pool": (
        pool().iloc[:0], PLAIN, (), 3,
        "No blend meets this brief", "100 L of blend asked for; there is no stock to draw on",
    ),
    "one stock": (
        pool().iloc[:1], PLAIN, (), 0,
        "Best plan: ", "dry    100.0 L  100.0 L",
    ),
    "one stock that is too small": (
        pool().iloc[:1], PLAIN.replace("100", "300"), (), 3,
        "· exactly 300 L of blend; the stocks hold 200 L",
    ),
    "all stocks equal": (
        pool(abv=13.0, sugar_g_l=50.0, cost_per_l=2.0), PLAIN + "limits.abv.max = 13", (), 0,
        "Best plan: ", "strength 13.0 % vol", "cost 2.00 a litre",
    ),
    "a stock with unknown figures": (
        pool(va_g_l=[0.4, None, 0.5]), PLAIN + "limits.va_g_l.max = 0.6", (), 0,
        "Best plan: ", "Left out: sweet (VA unknown)",
    ),
    "a stock of unknown litres": (
        pool(litres=[200.0, None, 100.0]), PLAIN, (), 0,
        "Best plan: ", "Left out: sweet (litres unknown)",
    ),
    "zero litres asked for": (
        pool(), PLAIN.replace("100", "0"), (), 2,
        "brief, litres: must be above 0: a blend of no litres is no blend",
    ),
    "zero litres in a stock": (
        pool(litres=[0.0, 200.0, 100.0]), PLAIN, (), 0,
        "Best plan: ", "Left out: dry (holds nothing)",
    ),
    "a locked stock of zero litres": (
        pool(litres=[0.0, 200.0, 100.0]), PLAIN + 'draws.must = ["dry"]', (), 2,
        "dry cannot be drawn: holds nothing",
    ),
}  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize("name", ENDINGS)
def test_every_ending_is_told_in_words(name: str, command: Callable[..., tuple[int, str]]) -> None:
    """The exit status and the words a person reads; never a traceback."""
    stocks, brief, options, status, *words = ENDINGS[name]
    got, printed = command(stocks, brief, *options)
    assert got == status, printed
    for word in words:
        assert word in printed, printed
    assert "Traceback" not in printed


@pytest.mark.slow
def test_time_that_runs_out_with_a_plan_is_told_with_its_gap(
    command: Callable[..., tuple[int, str]],
    hard_to_prove: tuple[pd.DataFrame, dict[str, Any]],
    until_a_plan: Callable[[Callable[[float], bool]], None],
) -> None:
    """A plan is there, its proof is not; how far it may be from the best is said."""
    barrels, asked = hard_to_prove
    brief = (
        f'litres = {{ min = {asked["litres"]["min"]}, max = {asked["litres"]["max"]} }}\nmixing = "plain"\n'
        "limits.abv = { target = 13.5, within = 0.001 }\nlimits.sugar_g_l = { target = 60, within = 0.05 }\n"
        "draws.whole = true\n"
    )
    endings: list[tuple[int, str]] = []

    def found_within(seconds: float) -> bool:
        endings.append(command(barrels, brief, "--time-limit", str(seconds)))
        return endings[-1][0] != NO_PLAN

    until_a_plan(found_within)
    status, printed = endings[-1]
    assert status == 0
    assert "Time ran out with a plan: " in printed


def test_many_that_are_left_out_are_counted(command: Callable[..., tuple[int, str]]) -> None:
    """Six by name and the rest as a number; JSON has all."""
    barrels = pd.DataFrame(
        {"stock": ["T-1", *(f"B-{n}" for n in range(8))], "litres": 200.0, "abv": 12.0, "va_g_l": [0.4] + [None] * 8}
    )
    brief = 'litres = 100\nmixing = "plain"\nlimits.va_g_l.max = 0.6'
    [line] = [line for line in command(barrels, brief)[1].splitlines() if "Left out" in line]
    assert line.endswith("B-5 (VA unknown) and 2 more")
    assert len(json.loads(command(barrels, brief, "--json")[1])["left_out"]) == 8


def test_twenty_thousand_stocks_through_the_command(command: Callable[..., tuple[int, str]]) -> None:
    """The cheap half of 20,000 barrels makes it for 1 a litre."""
    at = np.arange(20_000)
    barrels = pd.DataFrame(
        {"stock": [f"B-{each}" for each in at], "litres": 200.0, "abv": 12.0 + at % 3, "cost_per_l": 1.0 + at % 2}
    )
    status, printed = command(barrels, 'litres = 1e6\nmixing = "plain"\nlimits.abv.max = 13', "--json")
    result = json.loads(printed)
    assert (status, result["status"]) == (0, "optimal")
    assert result["objective"] == pytest.approx(1e6)
    assert result["blend"]["abv"] <= 13 + 1e-6


def table_rows(reference: Callable[[str], Any]) -> list[tuple[float, ...]]:
    """Return (litres, % vol) of one and of the other stock, for every row of the mixing and contraction tables."""
    blends = reference("true_volume_of_blends.csv")
    contraction = reference("contraction_on_mixing.csv")
    return [
        *((row.litres_1, row.abv_1, row.litres_2, row.abv_2) for row in blends.itertuples()),
        *((row.spirit_volume, row.spirit_abv_percent, row.water_volume, 0.0) for row in contraction.itertuples()),
    ]


@pytest.mark.parametrize("sugar", [0.0, 30.0])
def test_liquid_draws_mixed_again_meet_every_limit(reference: Callable[[str], Any], sugar: float) -> None:
    """For every row of the tables: what `mix` makes of the draws has the litres, strength, sugar and acid asked for."""
    rows = table_rows(reference)
    assert len(rows) == 11
    for litres_1, abv_1, litres_2, abv_2 in rows:
        abv, extract, acid = [abv_1, abv_2], [0.0, sugar], [5.0, 1.0]
        some = mix([litres_1, litres_2], abv, extract)
        made = {"abv": float(some.abv), "sugar_g_l": float(some.extract_g_l)}
        made["ta_g_l"] = (5.0 * litres_1 + 1.0 * litres_2) / float(some.litres)
        stocks = pd.DataFrame({"stock": ["one", "two"], "litres": 1e4, "abv": abv, "sugar_g_l": extract})
        limits = {name: {"min": value - 1e-3, "max": value + 1e-3} for name, value in made.items()}
        brief = {"litres": float(some.litres), "mixing": "liquid", "limits": limits, "objective": ["lowest:abv"]}
        answer = solve(stocks.assign(ta_g_l=acid), brief)
        assert answer.status == "optimal", (abv, litres_1, litres_2)
        drawn = {draw.stock: draw.litres for draw in answer.draws}
        poured = [drawn.get("one", 0.0), drawn.get("two", 0.0)]
        blend = mix(poured, abv, extract)
        got = {"abv": float(blend.abv), "sugar_g_l": float(blend.extract_g_l)}
        got["ta_g_l"] = (5.0 * poured[0] + 1.0 * poured[1]) / float(blend.litres)
        assert float(blend.litres) == pytest.approx(float(some.litres), abs=1e-6)
        for name, limit in limits.items():
            assert limit["min"] - 1e-6 <= got[name] <= limit["max"] + 1e-6, (name, abv, litres_1, litres_2)

"""A bench glass written down with its flight, found again when it has been tasted, and scaled up to the brief."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner

from cooperage.blending import alternatives, solve
from cooperage.blending.answer.compared import behind
from cooperage.blending.pour.bench_sheet import BenchGlass, bench_glasses
from cooperage.blending.pour.glass import (
    bench_stocks,
    blind_benches,
    glass_words,
    plan_of_glass,
    read_parts,
    tasted_glasses,
)
from cooperage.blending.stocks.pool import read_pool
from cooperage.book import Book
from cooperage.cli import main
from cooperage.liquid import mix
from cooperage.tasting.flights import flight, reveal, score, start_flight

BRIEF = {"litres": 100, "objective": ["least_cost"], "limits": {"abv": {"min": 12, "max": 14}}}


@pytest.fixture
def glasses(cellar: pd.DataFrame) -> tuple[BenchGlass, ...]:
    """Return the best, another and the control as glasses of 100 ml in steps of half a millilitre."""
    best = solve(cellar, BRIEF)
    plans = {"best": best, "other 1": alternatives(cellar, BRIEF, 1, 0.5, best=best)[0]}
    return bench_glasses(plans, read_pool(cellar), 100, 0.5, rng=np.random.default_rng(1))


def test_a_glass_is_read_back_as_it_was_written(glasses: tuple[BenchGlass, ...]) -> None:
    """Every part with its half millilitres; what is no glass has no parts."""
    for glass in glasses:
        read = read_parts(glass_words(glass))
        assert read == {row.stock: row.millilitres for row in glass.sheet.rows if row.millilitres}
        assert sum(read.values()) == pytest.approx(100)
    assert read_parts("plan: 62.5 ml B-003, 37.5 ml old oak 7") == {"B-003": 62.5, "old oak 7": 37.5}
    assert read_parts("table, another 1") == read_parts("") == {}


def test_bench_flights_are_found_again(cellar_book: Book, glasses: tuple[BenchGlass, ...]) -> None:
    """Nothing of them while they are blind, then best first; flights of vessels are none."""
    start_flight(cellar_book, ["B-1"], code="VESSEL")
    trials = {glass.code: glass_words(glass) for glass in glasses}
    start_flight(cellar_book, [], code="BENCH", trials=trials)
    assert (tasted_glasses(cellar_book), blind_benches(cellar_book)) == ([], ["BENCH"])
    best = glasses[0].code
    for glass in glasses:
        score(cellar_book, "BENCH", glass.code, "Ada", 15.0 if glass.code == best else 9.0)
    assert tasted_glasses(cellar_book) == []
    reveal(cellar_book, "BENCH")
    first = tasted_glasses(cellar_book)[0]
    assert (first.flight, first.code, first.called, first.mean) == ("BENCH", best, "best", 15.0)
    assert blind_benches(cellar_book) == []
    assert flight(cellar_book, "VESSEL").glasses[0].called == "B-1"


def test_a_glass_is_scaled_up_to_what_the_brief_asks(cellar: pd.DataFrame) -> None:
    """70 and 30 ml are 140 and 60 L of the 200 asked for; the figures are those of 140 and 60 truly mixed."""
    answer = plan_of_glass({"dry": 70, "sweet": 30}, read_pool(cellar), {"litres": 200})
    assert {draw.stock: (draw.litres, draw.left_l) for draw in answer.draws} == {"dry": (140, 60), "sweet": (60, 140)}
    true = mix([140, 60], [12.0, 12.0], [0.0, 100.0])
    assert answer.blend["sugar_g_l"] == pytest.approx(float(true.extract_g_l))
    assert answer.notes == ("drawn in whole steps of 1 L, at the shares of the glass",)
    assert answer.bottling is not None
    assert answer.bottling.bottles == 266


def test_where_a_scaled_glass_misses_the_brief_is_said(cellar: pd.DataFrame) -> None:
    """The blend is not bent to the brief; limits it misses, litres it lacks and a heel it leaves are told."""
    brief = {"litres": {"min": 100, "max": 400}, "limits": {"sugar_g_l": {"max": 20}}, "draws": {"heel_l": 10}}
    answer = plan_of_glass({"dry": 70, "sweet": 30}, read_pool(cellar), brief)
    assert {draw.stock: draw.left_l for draw in answer.draws}["dry"] == pytest.approx(10)
    result = "\n".join(answer.notes)
    assert "271 L of the 400 L asked for is what the stocks give" in result
    assert "misses the brief: at most 20 g/L sugar" in result.replace("sugar at most 20 g/L", "at most 20 g/L sugar")


def test_a_dose_may_be_in_a_glass(cellar: pd.DataFrame) -> None:
    """Water of the brief stands beside the stocks, on the bench and in the cellar."""
    brief = {"litres": 100, "dosing": {"water": {}}}
    stocks = bench_stocks(read_pool(cellar), brief)
    assert "water" in stocks.names
    answer = plan_of_glass({"strong": 75, "water": 25}, read_pool(cellar), brief)
    assert {draw.stock: draw.left_l for draw in answer.draws} == {"strong": 25.0, "water": None}


def test_how_far_another_lies_behind_the_best(cellar: pd.DataFrame) -> None:
    """By the first objective, as a fraction of the best one's; nothing where that has no size."""
    best = solve(cellar, BRIEF)
    (other,) = alternatives(cellar, BRIEF, 1, 0.05, best=best)
    distance = behind(best, other)
    assert distance is not None
    assert 0 <= distance <= 0.05 + 1e-6
    assert alternatives(cellar, BRIEF, 1, 0.05) == (other,)
    assert behind(replace(best, objective=0.0), other) is None
    assert behind(replace(best, objective=None), other) is None


def test_the_command_writes_the_glasses_down(
    cellar_book: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """`blend trial --flight` pours what `g` on the screen finds again."""
    monkeypatch.setattr("cooperage.cli.blend.given.open_book", lambda _ctx: cellar_book)
    brief = tmp_path / "brief.toml"
    brief.write_text("litres = 20\n")
    done = CliRunner().invoke(main, ["blend", "trial", "--brief", str(brief), "--step", "0.5", "--flight", "--json"])
    assert done.exit_code == 0, done.output
    result = json.loads(done.stdout)
    reveal(cellar_book, result["flight"], sure=True)
    found = {glass.code: glass.parts for glass in tasted_glasses(cellar_book)}
    assert found == {
        glass["code"]: {row["stock"]: row["millilitres"] for row in glass["sheet"]["rows"] if row["millilitres"]}
        for glass in result["glasses"]
    }

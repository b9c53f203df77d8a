"""A brief over the cellar itself: the pool it makes, the pour it writes, the glass on the bench."""

import json
import shutil
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import pytest

from cooperage.blending.answer.answer import Answer
from cooperage.blending.brief.brief import BadBrief
from cooperage.blending.from_cellar import pool_of, solve_in_cellar
from cooperage.blending.pour.bench_sheet import NotAPipette, bench_sheet, predicted
from cooperage.blending.pour.short import short_now, short_words
from cooperage.blending.pour.tank import NothingToPour, StockChanged, pour, pour_words
from cooperage.blending.solving import solve
from cooperage.blending.stocks.pool import read_pool
from cooperage.book import Book, Lot
from cooperage.book.declared import acts
from cooperage.book.errors import WouldOverflow
from cooperage.book.log import entries
from cooperage.liquid import mix
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.losses.level import level_now
from cooperage.programme.ready.readiness import Readiness, ReadyState
from cooperage.tasting.vessels import last_scores, on_one_scale

if TYPE_CHECKING:
    from tests.conftest import Clock

BRIEF = {"litres": 300, "objective": ["least_cost"], "limits": {"abv": {"min": 12.6, "max": 12.7}}}


@pytest.fixture
def stocked(cellar_book: Book) -> Book:
    """T-1 holds 635 L of HEATHER at 13 %, B-2 225 L of LIME at 12 %; T-2 is free."""
    cellar_book.write(acts.Receive(lot="LIME", vessel="T-2", volume=225_000))
    cellar_book.write(acts.Fill(vessel="B-2", source="T-2"))
    return cellar_book


def solved(book: Book, brief: Mapping[str, Any] = BRIEF) -> Answer:
    return solve_in_cellar(book.cellar(), {}, brief)


def test_the_pool_is_what_barrels_and_tanks_hold(stocked: Book) -> None:
    """Kegs and empty vessels give nothing; an unknown figure is no number, and one known nowhere is left out."""
    pool = pool_of(stocked.cellar(), {"B-1": 15.0})
    at = {str(name): place for place, name in enumerate(pool.names)}
    assert sorted(at) == ["B-1", "B-2", "T-1"]
    assert pool.figures["cost_per_l"][at["B-2"]] == 8.0
    assert pool.figures["score"][at["B-1"]] == 15.0
    assert np.isnan(pool.figures["score"]).sum() == 2
    assert "va_g_l" not in pool.figures
    assert list(pool.uncertainty) == ["abv", "sugar_g_l"]
    assert pool.labels["group"][at["B-2"]] == "new oak"
    assert pool.labels["wood"][at["T-1"]] is None
    assert (pool.min_litres > 0).tolist() == [str(name).startswith("B-") for name in pool.names]


def test_molecular_so2_of_a_blend_is_that_of_the_temperature_of_its_draws(stocked: Book, clock: "Clock") -> None:
    """Drawn from a barrel in a room of 8 °C and from mead just read at 16 °C: their mean by litres."""
    stocked.write(acts.Shift(vessel="B-2", room="Low"))
    for _ in range(10):
        clock.pass_days(7)
        stocked.write(acts.Climate(room="Low", temperature=8.0, humidity=75.0))
    for tag in ("B-2", "T-1"):
        for name, value in (("free_so2_mg_l", 25.0), ("ph", 3.4)):
            stocked.write(acts.Reading(vessel=tag, property=name, value=value, sure=True))
    stocked.write(acts.Reading(vessel="T-1", property="temperature_c", value=16.0))
    brief = {"litres": 300, "draws": {"must": ["B-2"], "never": ["B-1"]}, "objective": ["least_leftover"]}
    answer = solve_in_cellar(cellar_now(stocked), {}, brief)
    draws = {draw.stock: draw.litres for draw in answer.draws}
    celsius = (8.0 * draws["B-2"] + 16.0 * draws["T-1"]) / sum(draws.values())
    (note,) = [str(note) for note in answer.notes if "molecular" in str(note)]
    assert f" mg/L at {celsius:.1f} °C, " in note


def test_a_plan_says_which_barrels_hold_less_by_now(stocked: Book, clock: "Clock") -> None:
    """Plans go by the book, which has 225 L in B-2 for years; topped to the bung, it is as the book has it."""
    brief = {"litres": 225, "draws": {"must": ["B-2"], "never": ["B-1", "T-1"]}}
    fresh = stocked.cellar()
    assert short_now([solved(stocked, brief)], fresh, level_now) == []
    clock.pass_days(400)
    cellar = stocked.cellar()
    (short,) = short_now([solved(stocked, brief)], cellar, level_now)
    assert short.vessel == "B-2"
    assert short.drawn_l == pytest.approx(225.0, abs=0.01)
    assert short.level_now_l == level_now(cellar["B-2"]).ml / 1000 < 220
    (line,) = short_words([short])
    assert line.endswith(f": B-2 {short.level_now_l:.1f} of 225.0 L. Dip them first.")
    two = {"litres": 120, "draws": brief["draws"]}
    plans = [solved(stocked, two), solved(stocked, two)]
    assert [each.vessel for each in short_now(plans, cellar, level_now)] == ["B-2"]  # together they take too much


def test_the_cellars_pool_is_what_its_table_reads_as(demo_file: Path, tmp_path: Path) -> None:
    """Written as a table and read again, the stocks of the demo are the same to the last digit."""
    book = Book.open(str(shutil.copy(demo_file, tmp_path / "demo.db")))
    pool = pool_of(book.cellar(), on_one_scale(last_scores(book)))
    book.close()
    doubts = {f"{name}_u": doubt for name, doubt in pool.uncertainty.items()}
    own = {"stock": pool.names, "litres": pool.litres, "min_litres": pool.min_litres}
    again = read_pool(pd.DataFrame({**own, **pool.figures, **doubts, **pool.labels}))
    assert list(again.names) == list(pool.names)
    for numbers, read in ((pool.figures, again.figures), (pool.uncertainty, again.uncertainty)):
        assert list(numbers) == list(read)
        for name, column in numbers.items():
            np.testing.assert_array_equal(column, read[name])
    for name, words in pool.labels.items():
        assert [word for word in again.labels[name] if isinstance(word, str)] == [word for word in words if word]


def test_a_lot_with_a_number_for_its_code_is_a_lot(stocked: Book) -> None:
    """Codes such as 2025 are words like any other code, and a share of that lot can be asked for."""
    with stocked.writing() as writing:
        writing.add_lot(Lot("", "2025", "Clover", "clover", 1.1, 1.01, 13.0, 6.0))
    stocked.write(acts.Receive(lot="2025", vessel="T-2", volume=225_000))
    pool = pool_of(stocked.cellar(), {})
    assert "2025" in pool.labels["lot"].tolist()
    answer = solved(stocked, {"litres": 100, "share": {"lot:2025": {"min": 0.5}}})
    assert {draw.stock: draw.litres for draw in answer.draws}["T-2"] >= 50 - 1e-6


def test_a_poured_blend_is_in_the_book_with_its_brief_and_plan(stocked: Book) -> None:
    """The draws leave their vessels, the tank holds the mixed volume, and the entry can be read in a year."""
    before, answer = stocked.cellar(), solved(stocked)
    written = pour(stocked, answer, "T-2", BRIEF, hand="Maren")
    after = stocked.cellar()
    drawn = {draw.stock: draw.litres for draw in answer.draws}
    for stock, litres in drawn.items():
        assert after[stock].litres == pytest.approx(before[stock].litres - litres, abs=0.001)
    abv, sugar = (np.array([before[s].value(name) for s in drawn], float) for name in ("abv", "sugar_g_l"))
    true = mix(list(drawn.values()), abv, sugar)
    assert after["T-2"].litres == pytest.approx(float(true.litres), abs=0.002)
    assert after["T-2"].litres == pytest.approx(300, abs=0.002)
    strength = after["T-2"].value("abv")
    assert strength is not None
    assert 12.6 - 1e-3 <= strength <= 12.7 + 1e-3
    with stocked.reading() as connection:
        entry = entries(connection, newest=1)[0]
    kept = json.loads(entry.said["plan"])
    assert (entry.id, entry.hand) == (written.id, "Maren")
    assert kept["brief"] == BRIEF
    assert kept["answer"]["status"] == "optimal"
    assert not any(finding.broken for finding in stocked.check())


def test_a_pour_is_refused_when_a_stock_has_changed(stocked: Book) -> None:
    """Somebody racked in between: the plan is void, and nothing is written."""
    answer = solved(stocked)
    stocked.write(acts.Rack(vessel="T-1", destination="K-1", volume=5_000))
    stocked.write(acts.Sample(vessel="B-2", volume=500))
    before = [standing.ml for standing in stocked.cellar()]
    with pytest.raises(StockChanged, match="solve it again"):
        pour(stocked, answer, "T-2", BRIEF)
    assert [standing.ml for standing in stocked.cellar()] == before


def test_a_pour_into_too_small_a_vessel_is_refused(stocked: Book) -> None:
    """300 L do not go into a 225 L barrel."""
    with pytest.raises(WouldOverflow):
        pour(stocked, solved(stocked), "B-3", BRIEF)


def test_an_impossible_brief_is_not_poured(stocked: Book) -> None:
    """Without a plan there is nothing to pour, or to pipette."""
    answer = solved(stocked, {"litres": 100, "limits": {"abv": {"min": 17}}})
    assert answer.status == "infeasible"
    with pytest.raises(NothingToPour):
        pour(stocked, answer, "T-2", BRIEF)
    with pytest.raises(NothingToPour):
        bench_sheet(answer)


def test_after_the_pour_somebody_is_told_what_to_do(stocked: Book) -> None:
    """A barrel drained is to be rinsed, one left partly full is to be covered, the blend is to be read again."""
    before = stocked.cellar()
    answer = solved(stocked, {"litres": 350, "limits": {"abv": {"max": 12.4}}, "share": {"B-2": {"max": 0.62}}})
    words = pour_words(pour(stocked, answer, "T-2", BRIEF), before, stocked.cellar())
    assert words[-1].startswith("read strength")
    assert any("partly full" in line or "is empty" in line for line in words)


def test_the_bench_rounds_to_pipette_steps_and_stays_near(stocked: Book) -> None:
    """A 100 ml glass in whole millilitres: they sum to 100 and no share strays by more than a point."""
    sheet = bench_sheet(solved(stocked), 100, 1)
    assert sum(row.millilitres for row in sheet.rows) == 100
    assert sheet.strays_by_points <= 1
    pool = pool_of(stocked.cellar(), {})
    sour = np.array([0.4, *[np.nan] * (len(pool) - 1)])
    result = predicted(sheet, replace(pool, figures={**pool.figures, "va_g_l": sour}))
    assert result["abv"] == pytest.approx(12.65, abs=0.1)
    assert result["va_g_l"] is None


@pytest.mark.parametrize(("ml", "step"), [(100, 0), (0, 1), (10, 3), (1, 5)])
def test_a_glass_that_cannot_be_pipetted(stocked: Book, ml: int, step: int) -> None:
    """A glass is a whole number of steps."""
    with pytest.raises(NotAPipette):
        bench_sheet(solved(stocked), ml, step)


def test_barrels_that_are_not_ready_enough_are_left_out_and_tanks_are_not(stocked: Book) -> None:
    """By the chance that is asked for; what is not known is left out; a panel's verdict goes before a forecast."""

    def left_out(least: float, **ready: Readiness) -> dict[str, str]:
        pool = pool_of(stocked.cellar(), {}, {each.vessel: each for each in ready.values()})
        answer = solve(pool, {"litres": 100, "objective": ["least_cost"], "draws": {"ready": least}})
        return {out.stock: out.why for out in answer.left_out}

    one = Readiness("B-1", "HEATHER", ReadyState.NOT_YET, chance=0.596)
    two = Readiness("B-2", "LIME", ReadyState.READY, chance=0.3)
    assert left_out(0.6, one=one) == {
        "B-1": "ready with 59 %, 60 % wanted",
        "B-2": "whether it is ready is not known",
    }
    assert left_out(0.5, one=one, two=two) == {"B-2": "ready with 30 %, 50 % wanted"}
    assert left_out(0.5, one=one, two=replace(two, state_by="verdict")) == {}
    with pytest.raises(BadBrief, match=r"draws.ready.*does not know"):
        solve(pd.DataFrame({"stock": ["A"], "litres": [200.0]}), {"litres": 100, "draws": {"ready": 0.5}})

"""A brief over the cellar itself: the pool it makes, the pour it writes, the glass on the bench."""

import json
from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest

from cooperage.blending.answer.answer import Answer
from cooperage.blending.from_cellar import pool_of, solve_in_cellar
from cooperage.blending.pour.bench_sheet import NotAPipette, bench_sheet, predicted
from cooperage.blending.pour.tank import NothingToPour, StockChanged, pour, pour_words
from cooperage.blending.stocks.pool import read_pool
from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.errors import WouldOverflow
from cooperage.book.log import entries
from cooperage.liquid import mix

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
    """Kegs and empty vessels give nothing; an unknown figure is blank."""
    pool = pool_of(stocked.cellar(), {"B-1": 15.0}).set_index("stock")
    assert sorted(pool.index) == ["B-1", "B-2", "T-1"]
    assert pool.loc["B-2", "cost_per_l"] == 8.0
    assert pool.loc["B-1", "score"] == 15.0
    assert pool["score"].isna().sum() == 2
    assert pool["va_g_l"].isna().all()
    assert pool.loc["B-2", "group"] == "new oak"


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
    result = predicted(sheet, read_pool(pool.assign(va_g_l=[0.4, *[np.nan] * (len(pool) - 1)])))
    assert result["abv"] == pytest.approx(12.65, abs=0.1)
    assert result["va_g_l"] is None


@pytest.mark.parametrize(("ml", "step"), [(100, 0), (0, 1), (10, 3), (1, 5)])
def test_a_glass_that_cannot_be_pipetted(stocked: Book, ml: int, step: int) -> None:
    """A glass is a whole number of steps."""
    with pytest.raises(NotAPipette):
        bench_sheet(solved(stocked), ml, step)

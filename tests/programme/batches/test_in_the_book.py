"""Honeys, batches and a fermentation in the book: kept, corrected, read, followed through racking, and its signs."""

from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from cooperage.book import Book, Lot
from cooperage.book.declared import acts
from cooperage.book.errors import NoSuchLot, NotPossible
from cooperage.book.store.engine import writing
from cooperage.errors import BadInput
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.batches.kept import keep_batch, keep_honey, standing_batches, standing_honeys
from cooperage.programme.batches.lot_sheet import honeys_now, lot_sheet, lot_sheets, lot_statuses
from cooperage.programme.batches.sheet import Batch, Honey, HoneyUsed, NoSuchHoney, NotEnoughHoney
from cooperage.programme.batches.status import LotStatus
from cooperage.programme.batches.typed import honey_grams
from cooperage.programme.batches.words import headline, sheet_lines
from cooperage.programme.signs.all_signs import signs
from cooperage.tui.lots.words import about_lot
from cooperage.units import DEFAULT

USED = (HoneyUsed("HB-1", 150_000),)


def sheet(**other: Any) -> Batch:
    return Batch("", "NEW", 350_000, USED, tolerance=14.0, coolest=15.0, warmest=22.0, nutrient_n=200.0, **other)


@pytest.fixture
def brewed(cellar_book: Book) -> Book:
    """A cellar with a honey, and a lot with its batch sheet."""
    with cellar_book.writing() as session:
        session.add_lot(Lot("", "NEW", "New"))
    keep_honey(cellar_book, Honey("", "HB-1", 200_000, floral="heather", moisture=17.2, price_per_kg=8.0))
    keep_batch(cellar_book, sheet(), hand="Ada")
    return cellar_book


def ferment(book: Book, clock: Any, gravities: list[float], vessel: str = "T-2") -> None:
    """Receive the must and read it once a day."""
    book.write(acts.Receive(lot="NEW", vessel=vessel, volume=450_000))
    for gravity in gravities:
        clock.pass_days(1)
        book.write(acts.Reading(vessel=vessel, property="sg", value=gravity, sure=True))


FALLS = [1.103, 1.098, 1.090, 1.080, 1.070, 1.061, 1.053]


def of_new(book: Book) -> Any:
    """All of the lot; how far each lot has come is the same where that alone is asked."""
    cellar = cellar_now(book)
    assert lot_statuses(book, cellar) == {each.lot.code: each.status for each in lot_sheets(book, cellar)}
    return lot_sheet(book, cellar, "new")


def test_the_sheet_has_what_went_in_and_what_it_makes(brewed: Book) -> None:
    """By hand in test_must.py: 1.1050 in 452.7 L."""
    found = of_new(brewed)
    assert found.status is LotStatus.PLANNED
    assert found.batch.target_sg == pytest.approx(1.1050, abs=0.0002)
    assert found.batch.target_l == pytest.approx(452.7, abs=0.1)
    assert found.honey_cost == pytest.approx(1200.0)
    assert found.batch.hand == "Ada"
    assert [(each.honey.code, each.left) for each in honeys_now(brewed)] == [("HB-1", 50_000)]
    with pytest.raises(NoSuchLot):
        lot_sheet(brewed, cellar_now(brewed), "NOPE")


def test_honey_is_corrected_by_writing_it_again_and_never_below_what_was_used(brewed: Book) -> None:
    keep_honey(brewed, Honey("", "hb-1", 160_000, moisture=18.0))
    with brewed.reading() as connection:
        assert standing_honeys(connection)["HB-1"].moisture == 18.0
        assert connection.execute(text("SELECT count(*) FROM honey")).scalar() == 2
    with pytest.raises(NotEnoughHoney, match="140 kg came in"):
        keep_honey(brewed, Honey("", "HB-1", 140_000))
    with pytest.raises(NotEnoughHoney):
        keep_batch(brewed, Batch("", "NEW", 1, (HoneyUsed("HB-1", 170_000),)))
    with pytest.raises(NoSuchHoney, match="no honey HB-2"):
        keep_batch(brewed, Batch("", "NEW", 1, (HoneyUsed("HB-2", 1),)))


def test_a_correction_leaves_what_it_does_not_name(brewed: Book) -> None:
    keep_batch(brewed, Batch("", "NEW", 350_000, (HoneyUsed("HB-1", 1000),), yeast="house", tolerance=13.0))
    corrected = keep_batch(brewed, Batch("", "new", 340_000, note="less water"))
    assert (corrected.water_ml, corrected.yeast, corrected.tolerance) == (340_000, "house", 13.0)
    assert corrected.honeys == (HoneyUsed("HB-1", 1000),)
    before = keep_honey(brewed, Honey("", "HB-1", 161_000, moisture=18.0))
    assert keep_honey(brewed, Honey("", "HB-1", 162_000)).moisture == before.moisture


def test_a_mass_of_honey_has_its_unit() -> None:
    assert honey_grams("0.5 kg") == 500
    with pytest.raises(BadInput, match="has no unit; write it as 420kg or 420lb"):
        honey_grams("420")


def test_unknown_moisture_leaves_the_target_unknown(brewed: Book) -> None:
    keep_honey(brewed, Honey("", "HB-2", 1000))
    kept = keep_batch(brewed, Batch("", "NEW", 350_000, (HoneyUsed("HB-2", 1000),)))
    assert kept.target_sg is None
    assert kept.end_sg is None


def test_rows_stand_as_they_were_written(brewed: Book) -> None:
    for table in ("honey", "batch"):
        for statement in (f"UPDATE {table} SET note = 'x'", f"DELETE FROM {table}"):
            with pytest.raises(DBAPIError, match="write it again"), writing(brewed._engine) as connection:
                connection.execute(text(statement))
    with brewed.reading() as connection:
        assert standing_batches(connection)["NEW"].note == ""
    assert not any(finding.broken for finding in brewed.check())


def test_a_fermentation_is_read_and_its_end_expected(brewed: Book, clock: Any) -> None:
    ferment(brewed, clock, FALLS)
    brewed.write(acts.Addition(vessel="T-2", substance="nutrient", amount=90.0, sure=True))
    found = of_new(brewed)
    assert found.status is LotStatus.FERMENTING
    assert [each.sg for each in found.fermented.gravities] == FALLS
    assert found.course.end.low80 < 1.0012 < found.course.end.high80  # where must and yeast end it
    assert found.course.stuck is None
    assert found.nitrogen_given == pytest.approx(90 * 200 / 450)
    lines = "\n".join([headline(found), *sheet_lines(found, clock.time)])
    assert "fermenting, 450.0 L in 1 vessel" in lines
    assert "Expected end" in lines
    assert "90.0 g of yeast nutrient" in lines


def test_readings_are_followed_to_where_it_was_racked_whole(brewed: Book, clock: Any) -> None:
    ferment(brewed, clock, FALLS[:4])
    with brewed.writing() as session:
        from cooperage.book import Vessel

        session.add_vessel(Vessel("", "T-3", "tank", 1_000_000))
    clock.pass_days(1)
    brewed.write(acts.Rack(vessel="T-2", destination="T-3"))
    clock.pass_days(1)
    brewed.write(acts.Reading(vessel="T-3", property="sg", value=1.060, sure=True))
    assert [(each.vessel, each.sg) for each in of_new(brewed).fermented.gravities][-2:] == [
        ("T-2", 1.080),
        ("T-3", 1.060),
    ]


def test_a_lot_that_stands_still_is_a_sign_and_a_sound_one_is_none(brewed: Book, clock: Any) -> None:
    ferment(brewed, clock, FALLS)
    assert not [sign for sign in signs(brewed) if sign.vessel == "T-2" and sign.kind == "stuck"]
    for _ in range(5):
        clock.pass_days(1)
        brewed.write(acts.Reading(vessel="T-2", property="sg", value=1.053, sure=True))
    brewed.write(acts.Reading(vessel="T-2", property="temperature_c", value=12.0, sure=True))
    found = {sign.kind: sign for sign in signs(brewed) if sign.vessel == "T-2"}
    assert found["stuck"].is_trouble
    assert found["stuck"].word == "stuck?"
    assert "at 1.053, where it would end near 1.001" in found["stuck"].why
    assert found["stuck"].sure is not None
    assert found["stuck"].waiting_costs_l == pytest.approx(0.10 * 450 * found["stuck"].sure)
    assert found["ferment warmth"].word == "too cold"
    assert of_new(brewed).course.stuck is not None


def test_a_lot_is_finished_on_the_day_that_is_given_later(brewed: Book, clock: Any) -> None:
    """It ferments no more, is not stuck, and has its day and final gravity everywhere; struck, all is as it was."""
    ferment(brewed, clock, FALLS)
    for _ in range(5):
        day = clock.pass_days(1)
        brewed.write(acts.Reading(vessel="T-2", property="sg", value=1.053, sure=True))
    assert of_new(brewed).course.stuck is not None
    clock.pass_days(1)
    ended = brewed.write(acts.LotEnd(lot="new", final_sg=1.053, at=day))
    found = of_new(brewed)
    assert (found.lot.finished_on, found.lot.final_sg) == (day, 1.053)
    assert found.status is not LotStatus.FERMENTING
    assert found.course.stuck is None
    assert found.course.has_ended
    assert any("Finished fermenting" in line and "1.053" in line for line in sheet_lines(found, clock.time))
    assert any("finished" in line for line in about_lot(brewed.cellar().lots["NEW"], DEFAULT, clock.time))
    assert not [sign for sign in signs(brewed) if sign.vessel == "T-2" and sign.kind == "stuck"]
    again = brewed.write(acts.LotEnd(lot="NEW"))
    assert (of_new(brewed).lot.final_sg, of_new(brewed).lot.finished_on) == (1.053, again.at)
    for entry in (again, ended):
        brewed.write(acts.Strike(entry=entry.id))
    assert (of_new(brewed).lot.finished_on, of_new(brewed).course.stuck is None) == (None, False)
    with pytest.raises(NotPossible, match="final gravity"):
        brewed.write(acts.LotEnd(lot="NEW", final_sg=3.0))
    with pytest.raises(NoSuchLot):
        brewed.write(acts.LotEnd(lot="NOPE"))
    assert not any(finding.broken for finding in brewed.check())


def test_its_figures_are_spread_over_its_vessels(brewed: Book) -> None:
    brewed.write(acts.Reading(vessel="T-1", property="ph", value=3.4, sure=True))
    brewed.write(acts.Reading(vessel="B-1", property="ph", value=3.6, sure=True))
    spread = {each.name: each for each in lot_sheet(brewed, cellar_now(brewed), "HEATHER").spread}["ph"]
    assert (spread.low_vessel, spread.high_vessel) == ("T-1", "B-1")
    assert spread.low == pytest.approx(3.4, abs=0.05)
    assert spread.high == pytest.approx(3.6, abs=0.05)
    assert spread.known <= spread.vessels == 3
    lines = sheet_lines(lot_sheet(brewed, cellar_now(brewed), "HEATHER"), brewed.now())
    assert [line for line in lines if "least, middle, most" in line] == ["Over all 3 vessels: least, middle, most"]


def test_a_lot_that_is_named_as_its_code_is_named_once() -> None:
    assert (Lot("", "ST-26", "ST-26").called, Lot("", "ST-26", "Storm").called) == ("ST-26", "ST-26  Storm")


def test_its_status_follows_the_book(brewed: Book, clock: Any) -> None:
    ferment(brewed, clock, [1.103])
    brewed.write(acts.Fill(vessel="B-2", source="T-2"))
    brewed.write(acts.Fill(vessel="B-3", source="T-2", volume=100_000, sure=True))
    clock.time += timedelta(days=1)
    assert of_new(brewed).status is LotStatus.AGEING
    for tag in ("B-2", "B-3"):
        brewed.write(acts.Judge(vessel=tag, verdict="ready"))
    assert of_new(brewed).status is LotStatus.READY

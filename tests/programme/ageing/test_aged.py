"""Figures as they are now at the doors: fresh ones as measured, older ones aged with bands; the book keeps its own."""

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from sqlalchemy import delete

from cooperage.book import Book, Vessel
from cooperage.book.declared import acts
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.store.tables import SNAPSHOT, STATE
from cooperage.book.vessel_words import basis_lines, figure_words
from cooperage.programme.ageing.aged import cellar_now

if TYPE_CHECKING:
    from tests.conftest import Clock


@pytest.fixture
def read_book(cellar_book: Book) -> Book:
    """B-1 with free SO2 of 40 mg/L and pH 3.5, just measured."""
    for name, value in (("free_so2_mg_l", 40.0), ("ph", 3.5)):
        cellar_book.write(acts.Reading(vessel="B-1", property=name, value=value))
    return cellar_book


def test_what_was_just_measured_is_shown_as_measured(read_book: Book) -> None:
    """On the same day the figure is the reading, to the digit."""
    figure = cellar_now(read_book)["B-1"].figure("free_so2_mg_l")
    assert (figure.value, figure.how) == (40.0, "read")
    assert figure_words(figure) == ("40.0 mg/L", "measured today")


def test_what_was_measured_long_ago_is_aged_and_the_reading_stands_beside_it(read_book: Book, clock: "Clock") -> None:
    """After ninety days less is there, within a band; what was measured is readable, and the book still has it."""
    clock.pass_days(90)
    figure = cellar_now(read_book)["B-1"].figure("free_so2_mg_l")
    assert figure.value is not None
    assert figure.low is not None
    assert figure.high is not None
    assert 5 < figure.low < figure.value < figure.high < 40
    assert (figure.measured, figure.how) == (40.0, "calculated")
    value, source = figure_words(figure)
    assert value == f"{figure.value:.1f} mg/L"
    assert source == f"{figure.low:.1f} to {figure.high:.1f}; 40.0 measured 90 days ago"
    assert read_book.cellar()["B-1"].value("free_so2_mg_l") == 40.0


def test_what_was_added_since_the_reading_is_told_beside_it(read_book: Book, clock: "Clock") -> None:
    """Else a figure above the reading looks like an error; once read again, there is nothing to tell."""
    clock.pass_days(1)
    read_book.write(acts.Addition(vessel="B-1", substance="metabisulphite", amount=5.0))
    clock.pass_days(30)
    figure = cellar_now(read_book)["B-1"].figure("free_so2_mg_l")
    assert figure.added == pytest.approx(5.0 * 576 * 0.6 / 225)
    assert figure_words(figure)[1].endswith(f"40.0 measured 31 days ago, {figure.added:.1f} added since")
    read_book.write(acts.Reading(vessel="B-1", property="free_so2_mg_l", value=40.0))
    clock.pass_days(30)
    assert figure_words(cellar_now(read_book)["B-1"].figure("free_so2_mg_l"))[1].endswith("40.0 measured 30 days ago")


def test_total_so2_is_never_under_what_free_is_at_least(read_book: Book, clock: "Clock") -> None:
    """Its band is wide where it was never read, but it holds the free part too."""
    read_book.write(acts.Reading(vessel="B-1", property="total_so2_mg_l", value=42.0))
    clock.pass_days(60)
    free, total = (cellar_now(read_book)["B-1"].figure(name) for name in ("free_so2_mg_l", "total_so2_mg_l"))
    assert free.low is not None
    assert total.low is not None
    assert 0 < free.low <= total.low


def test_a_figure_that_came_with_the_mead_is_not_measured_here(read_book: Book, clock: "Clock") -> None:
    """Racked into another barrel it is expected there too, less what racking takes, and said to be unmeasured."""
    clock.pass_days(30)
    read_book.write(acts.Rack(vessel="B-1", destination="B-2"))
    clock.pass_days(2)
    cellar = cellar_now(read_book)
    racked = cellar["B-2"].figure("free_so2_mg_l")
    assert racked.value is not None
    assert 25 < racked.value < 38
    assert racked.measured is None
    assert figure_words(racked)[1].endswith("; not measured in this fill")


def test_an_addition_is_counted_from_the_day_it_was_made(read_book: Book, clock: "Clock") -> None:
    """After eighty days 8 g in 225 L raise what is free now, not what was free then."""
    clock.pass_days(80)
    before = cellar_now(read_book)["B-1"].value("free_so2_mg_l")
    read_book.write(acts.Addition(vessel="B-1", substance="metabisulphite", amount=8.0))
    after = cellar_now(read_book)["B-1"].value("free_so2_mg_l")
    assert before is not None
    assert after is not None
    assert after - before == pytest.approx(8.0 * 576 * 0.6 / 225, rel=0.03)


def test_a_racking_does_not_bring_back_what_bound_of_a_dose(cellar_book: Book, clock: "Clock") -> None:
    """Of doses a quarter was found instead of all; dosed again and racked, a barrel has less than one left alone."""
    grams = 16.0 * 50 / (576 * 0.6)  # 16 mg/L free in 50 L
    tags = [f"B-{number}" for number in range(10, 16)]
    with cellar_book.writing() as session:
        for tag in (*tags, "B-20"):
            session.add_vessel(Vessel("", tag, "barrel", 50_000, "measured"))
    for tag in tags:
        cellar_book.write(acts.Fill(vessel=tag, source="T-1"))
    for found in (20.0, 24.0, 28.0, 32.0):
        for tag in tags:
            cellar_book.write(acts.Reading(vessel=tag, property="free_so2_mg_l", value=found, sure=True))
            cellar_book.write(acts.Addition(vessel=tag, substance="metabisulphite", amount=grams, sure=True))
        clock.pass_days(10)
    cellar_book.write(acts.Rack(vessel="B-10", destination="B-20", sure=True))
    clock.pass_days(1)
    cellar = cellar_now(cellar_book)
    racked, alone = cellar["B-20"].value("free_so2_mg_l"), cellar["B-11"].value("free_so2_mg_l")
    assert racked is not None
    assert alone is not None
    assert alone - 8 < racked < alone


def test_filling_a_vessel_with_a_past_moves_no_figure_of_another(cellar_book: Book, clock: "Clock") -> None:
    """What an emptied tank has shown of how total SO2 falls counts before mead is racked into it as well as after.

    A little moves: the tank's past counts for the lot that is in it now.
    """
    total = "total_so2_mg_l"
    cellar_book.write(acts.Receive(lot="LIME", vessel="T-2", volume=500_000))
    for value in (160.0, 150.0, 142.0):
        cellar_book.write(acts.Reading(vessel="T-2", property=total, value=value))
        clock.pass_days(60)
    cellar_book.write(acts.Rack(vessel="T-2", destination="poured away", sure=True))
    cellar_book.write(acts.Reading(vessel="T-1", property=total, value=110.0))
    cellar_book.write(acts.Fill(vessel="B-2", source="T-1"))
    clock.pass_days(300)
    before = cellar_now(cellar_book)["B-2"].figure(total)
    cellar_book.write(acts.Rack(vessel="B-2", destination="T-2", volume=50_000))
    after = cellar_now(cellar_book)["B-2"].figure(total)
    assert (after.value, after.low, after.high) == pytest.approx((before.value, before.low, before.high), rel=0.05)
    assert after.basis == before.basis == "learned from 2 readings here"


def test_molecular_so2_is_that_of_now(read_book: Book, clock: "Clock") -> None:
    """It falls with what is free, and its band is wider than that of free SO2 alone by the doubt of pH."""
    fresh = cellar_now(read_book)["B-1"].molecular_so2
    clock.pass_days(90)
    standing = cellar_now(read_book)["B-1"]
    figure, free = standing.molecular_figure(), standing.figure("free_so2_mg_l")
    assert fresh is not None
    assert figure.value is not None
    assert figure.uncertainty is not None
    assert free.value is not None
    assert free.uncertainty is not None
    assert figure.value < 0.8 * fresh
    assert figure.uncertainty / figure.value > free.uncertainty / free.value


def test_both_doors_of_molecular_so2_agree_on_the_day_of_a_reading(read_book: Book, clock: "Clock") -> None:
    """Just measured, the figure with its band and the one that doses and rounds ask are of the reading itself."""
    clock.pass_days(60)
    read_book.write(acts.Reading(vessel="B-1", property="free_so2_mg_l", value=26.0))
    standing = cellar_now(read_book)["B-1"]
    assert standing.value("free_so2_mg_l") == 26.0
    assert standing.molecular_figure().value == standing.molecular_so2


def test_dropping_what_is_kept_changes_nothing(read_book: Book, clock: "Clock") -> None:
    """Every figure is the same to the last bit once the kept states are gone and made again."""
    clock.pass_days(90)
    read_book.write(acts.Reading(vessel="B-1", property="free_so2_mg_l", value=31.0))
    clock.pass_days(40)
    at = read_book.now()
    names = ("free_so2_mg_l", "ph", "abv", "sugar_g_l")
    before = [cellar_now(read_book, at)["B-1"].figure(name) for name in names]
    with read_book.writing() as session:
        session.connection.execute(delete(SNAPSHOT))
        session.connection.execute(delete(STATE))
    assert [cellar_now(read_book, at)["B-1"].figure(name) for name in names] == before


def test_a_figure_is_the_same_whenever_it_is_asked(read_book: Book, clock: "Clock") -> None:
    """Looking back at a day shows what that day showed, whatever was measured since."""
    clock.pass_days(60)
    then = read_book.now()
    shown = cellar_now(read_book, then)["B-1"].figure("free_so2_mg_l")
    clock.pass_days(1)
    read_book.write(acts.Reading(vessel="B-1", property="free_so2_mg_l", value=30.0))
    assert cellar_now(read_book, then)["B-1"].figure("free_so2_mg_l") == shown


def test_a_figure_says_what_it_rests_on(cellar_book: Book, clock: "Clock") -> None:
    """Aged ones do, those on the same in one line; what was measured today needs no basis."""
    for name, value in (("ph", 3.4), ("va_g_l", 0.4)):
        cellar_book.write(acts.Reading(vessel="B-1", property=name, value=value))
    clock.pass_days(30)
    cellar_book.write(acts.Reading(vessel="B-1", property="free_so2_mg_l", value=25.0))
    standing = cellar_now(cellar_book)["B-1"]
    still = "no readings to learn from yet: still until the record shows otherwise"
    assert standing.figure("ph").basis == still
    lines = basis_lines(standing.figure(name) for name in PROPERTIES)
    assert [line for line in lines if "pH" in line] == [f"pH, gravity: {still}"]
    by_air = "no readings to learn from yet: by what evaporates, else still until the record shows otherwise"
    assert [line for line in lines if "sugar" in line] == [f"strength, sugar, volatile acidity: {by_air}"]
    assert not [line for line in lines if "free SO2" in line]
    assert basis_lines([cellar_book.cellar()["B-1"].figure("ph")]) == []


def test_gravity_has_its_band_and_goes_with_what_was_topped(cellar_book: Book, clock: "Clock") -> None:
    """Read as 1.020 and topped from a drier keg, it is what the mixture has, within a band; the reading stands by."""
    cellar_book.write(acts.Reading(vessel="B-1", property="sg", value=1.020, sure=True))
    clock.pass_days(10)
    drawn = acts.Sample(vessel="B-1", volume=22_500)
    cellar_book.write(replace(drawn, sure=True))
    before = cellar_now(cellar_book)["B-1"].figure("sg")
    cellar_book.write(acts.Top(vessel="B-1", source="K-1", volume=22_500, sure=True))
    figure, keg = cellar_now(cellar_book)["B-1"].figure("sg"), cellar_now(cellar_book)["K-1"].figure("sg")
    assert (before.value, keg.value, figure.value) > (0.0, 0.0, 0.0)
    assert figure.value == pytest.approx(0.9 * 1.020 + 0.1 * (keg.value or 0.0), abs=1e-3)
    assert (figure.how, figure.measured) == ("calculated", 1.020)
    assert figure.low is not None
    assert figure.high is not None
    assert 0.0005 < figure.high - figure.low < 0.006


def test_gravity_that_was_never_read_follows_from_strength_and_sugar(cellar_book: Book) -> None:
    """Filled from a tank whose lot has its gravities, a barrel has one too, with a band."""
    figure = cellar_now(cellar_book)["B-1"].figure("sg")
    plain = cellar_book.cellar()["B-1"]
    assert figure.value == pytest.approx(plain.calculated_sg, abs=1e-4)
    assert figure.measured is None
    assert figure.low is not None

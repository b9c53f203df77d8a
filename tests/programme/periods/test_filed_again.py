"""What may be filed besides the next period: an earlier one, a correction; and what is shown of what is filed."""

import shutil
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from cooperage.book import Book, Lot, Vessel
from cooperage.book.declared import acts
from cooperage.book.facts import fact_named, set_fact
from cooperage.book.filed import came_after_filing
from cooperage.errors import CooperageError
from cooperage.programme.periods.closing import (
    CannotPrecede,
    FiguresHaveChanged,
    NothingToCorrect,
    PeriodInTheWay,
    close_period,
)
from cooperage.programme.periods.differences import differences, later_counts
from cooperage.programme.periods.figures import balance, in_unit
from cooperage.programme.periods.lines import BULK, CLOSING, OPENING
from cooperage.programme.periods.period import NotAPeriod, PeriodNotBegun, read_period
from cooperage.programme.periods.rounding import RETURN_UNITS
from cooperage.programme.periods.shown import carried_lines, shown_period, shown_to_file
from cooperage.programme.periods.stored import filed_in, filed_periods
from cooperage.programme.periods.table import column_titles, table_of
from cooperage.programme.rules.kept import use_profile
from cooperage.units import read_when
from tests.conftest import Clock

LITRE, GALLON = RETURN_UNITS["L"], RETURN_UNITS["gal"]


@pytest.fixture
def nothing(empty_cellar: Path, tmp_path: Path) -> Iterator[Book]:
    """A cellar without an entry, on the tenth of February."""
    opened = Book.open(str(shutil.copy(empty_cellar, tmp_path / "cellar.db")), Clock())
    pass_to(opened, "2025-02-10")
    yield opened
    opened.close()


@pytest.fixture
def book(nothing: Book) -> Book:
    """A tank that was filled in December, and sampled then and in January."""
    with nothing.writing() as session:
        session.add_vessel(Vessel("", "T-1", "tank", 1_000_000, "measured"))
        session.add_lot(Lot("", "HE", "Heather", "heather", 1.110, 1.010, 13.0, 6.0))
    now = nothing.now()
    nothing.write(acts.Receive(lot="HE", vessel="T-1", volume=900_000, at=read_when("2024-12-10", now)))
    for day, ml in (("2024-12-20", 410), ("2025-01-10", 730)):
        nothing.write(acts.Sample(vessel="T-1", volume=ml, at=read_when(day, now)))
    return nothing


def pass_to(book: Book, day: str) -> None:
    clock: Any = book.now
    clock.time = read_when(f"{day} 12:00", clock.time.replace(year=2030))


def close(book: Book, text: str, **more: Any) -> Any:
    return close_period(book, read_period(text, book.now()), more.pop("unit", LITRE), hand="Ada", **more)


def refusal(work: Callable[[], object], kind: type[CooperageError]) -> str:
    with pytest.raises(kind) as caught:
        work()
    return str(caught.value)


def is_in_order(book: Book) -> bool:
    return not [line for finding in book.check() for line in finding.broken]


def test_an_earlier_month_is_filed_after_a_later_one(book: Book) -> None:
    """It closes with what that opened with; every law holds, nothing counts as late, and the two sum up."""
    january = close(book, "2025-01")
    december = close(book, "2024-12")
    assert december.figures.sum_ml(BULK, CLOSING) == january.figures.sum_ml(BULK, OPENING) == 899_590
    assert (december.figures.sum_ml(BULK, "samples"), january.figures.sum_ml(BULK, "samples")) == (410, 730)
    assert is_in_order(book)
    assert differences(book) == []
    with book.reading() as connection:
        assert came_after_filing(connection) is None
        assert set(later_counts(connection, filed_in(connection)).values()) == {0}
    both = shown_period(book, "2024-12-01..2025-01-31")
    assert both.how == "the sum of 2 filed periods"
    assert both.figures.sum_ml(BULK, "samples") == 1_140
    book.write(acts.Sample(vessel="T-1", volume=90, at=read_when("2024-12-24", book.now())))
    assert [each.period for each in differences(book)] == ["2024-12"]
    pass_to(book, "2025-03-02")
    february = close(book, "2025-02")
    assert [each.ml for each in february.figures.figures if each.is_carried] == [90]
    assert [each.carried_in for each in differences(book, "2024-12")] == ["2025-02"]
    assert is_in_order(book)


def test_an_earlier_month_that_leads_elsewhere_is_refused(book: Book) -> None:
    """Of what came late the later one knows nothing; and its class lines have to be the same."""
    close(book, "2025-01")
    with book.writing() as session:
        set_fact(session.connection, fact_named("class_lines"), (8.5, 22.0))
    assert "its class lines are others" in refusal(lambda: close(book, "2024-12"), CannotPrecede)
    with book.writing() as session:
        set_fact(session.connection, fact_named("class_lines"), None)
    book.write(acts.Sample(vessel="T-1", volume=90, at=read_when("2024-12-24", book.now())))
    assert "entries came later" in refusal(lambda: close(book, "2024-12"), CannotPrecede)
    assert [each.code for each in filed_periods(book)] == ["2025-01"]
    assert shown_period(book, "2024-12").how == "as the book has it now; not filed"


def test_a_correction_that_changes_nothing_is_not_filed(book: Book) -> None:
    """Another unit is a change, and so is an entry that came later, even one without litres."""
    filed = close(book, "2025-01")
    words = refusal(lambda: close(book, "2025-01", correct=True, note="again"), NothingToCorrect)
    assert words == "nothing changed since 2025-01 was filed 2025-02-10; there is nothing to correct"
    assert close(book, "2025-01", correct=True, unit=GALLON).corrects == filed.code
    book.write(acts.Reading(vessel="T-1", property="ph", value=3.4, at=read_when("2025-01-12", book.now())))
    assert close(book, "2025-01", correct=True, unit=GALLON).code == "2025-01/3"


def test_what_was_agreed_to_is_filed_and_nothing_else(book: Book) -> None:
    span = read_period("2025-01", book.now())
    seen = shown_to_file(book, span, LITRE).figures
    book.write(acts.Sample(vessel="T-1", volume=90, at=read_when("2025-01-24", book.now())))
    words = refusal(lambda: close(book, "2025-01", seen=seen), FiguresHaveChanged)
    assert words == "the figures of 2025-01 changed while they were shown; look at them again"
    assert close(book, "2025-01", seen=shown_to_file(book, span, LITRE).figures).code == "2025-01"


def test_a_month_without_figures_is_not_filed_unasked(nothing: Book) -> None:
    words = refusal(lambda: close(nothing, "2025-01"), PeriodInTheWay)
    assert words == "in the way of closing 2025-01: the book has nothing to file: no figure is above zero"
    assert close(nothing, "2025-01", sure=True).code == "2025-01"


def test_a_late_measurement_shows_what_it_brings_over_a_line(book: Book) -> None:
    """It moves no mead; the class of what is there is another, in its row and in what the next period takes on."""
    close(book, "2025-01")
    measured = acts.Reading(vessel="T-1", property="abv", value=15.0, sure=True, at=read_when("2025-01-20", book.now()))
    book.write(measured)
    [late] = differences(book)
    assert late.lines == ()
    assert late.crossed == (("a measurement", "<=14", ">14 <=16", 898_860),)
    assert carried_lines(book) == [
        "bulk, over 14 to 16 %: by a measurement, from another class +898.9 L",
        "bulk, to 14 %: by a measurement, to another class +898.9 L",
    ]


def test_a_strike_of_a_measurement_shows_what_goes_back_over_the_line(book: Book) -> None:
    """As much as there was when it was measured, from the class it had made to the one without it."""
    at = read_when("2025-01-05", book.now())
    measured = book.write(acts.Reading(vessel="T-1", property="abv", value=15.0, sure=True, at=at))
    close(book, "2025-01")
    book.write(acts.Strike(entry=measured.id, sure=True))
    [late] = differences(book)
    assert late.crossed == (("a measurement", ">14 <=16", "<=14", 899_590),)
    assert "bulk, over 14 to 16 %: by a measurement, from another class -899.6 L" in carried_lines(book)


@pytest.mark.parametrize("unit", RETURN_UNITS.values(), ids=str)
def test_what_is_filed_in_one_unit_is_shown_in_another(book: Book, unit: Any) -> None:
    """As it would have been filed in that; and it says that it was not."""
    as_filed = shown_to_file(book, read_period("2025-01", book.now()), unit).figures
    filed = close(book, "2025-01", unit=GALLON if unit is LITRE else LITRE)
    assert in_unit(filed.figures, unit).figures == as_filed.figures
    assert set(balance(in_unit(filed.figures, unit).figures).values()) == {(0, 0)}
    shown = shown_period(book, "2025-01", unit=unit.name)
    assert shown.figures.figures == as_filed.figures
    assert shown.title.endswith(f"in {unit.label}: filed in {filed.figures.unit.label} 2025-02-10 by Ada")
    assert shown_period(book, "2025-01").figures == filed.figures


def test_columns_of_older_lines_say_so_and_the_allowance_is_of_the_rules(book: Book) -> None:
    """From the day on which other rules were chosen; before it nothing changes."""
    close(book, "2025-01")
    use_profile(book, "EU", since=date(2025, 2, 10))
    early = shown_period(book)
    assert any("27 CFR 24.266" in note for note in early.notes)
    assert any("tax classes of EU" in note and "from the next period on" in note for note in early.notes)
    use_profile(book, "EU", since=date(2025, 2, 1))
    shown = shown_period(book)
    table = table_of(shown.figures)
    assert column_titles(table) == ("old: to 14 %", "over 10 to 15 %", "all")
    notes = "\n".join(shown.notes)
    assert "the EU rules that are known here have no allowance: ask your authority" in notes
    assert "27 CFR 24.266" not in notes
    with book.writing() as session:
        set_fact(session.connection, fact_named("loss_allowance"), 2.0)
    assert any("the cellar's own loss allowance" in note for note in shown_period(book).notes)


def test_a_text_that_is_no_period_is_answered_with_those_that_are(book: Book) -> None:
    forms = "type one such as 2026-06, 2026-Q2, 2026, last month or 2026-07-01..2026-07-15"
    for text in ("nonsense", "last fortnight", "2025-13", "2025-01-01..soon", "2025-01-40"):
        with pytest.raises(NotAPeriod) as caught:
            read_period(text, book.now())
        assert str(caught.value) == f"'{text}' is not a period; {forms}"


@pytest.mark.parametrize("rules", ["US", "EU"])
def test_what_is_over_the_line_of_spirits_is_in_proof_gallons_too(book: Book, rules: str) -> None:
    """By hand: 898.86 L at 30 % vol are 237.4518 wine gal x 0.6 = 142.47 proof gal, under US rules alone.

    It is measured 40 % a day later, and the filed figure stands.
    """
    use_profile(book, rules, since=date(2024, 1, 1))
    now = book.now()
    book.write(acts.Reading(vessel="T-1", property="abv", value=30.0, sure=True, at=read_when("2025-01-20", now)))
    close(book, "2025-01")
    book.write(acts.Reading(vessel="T-1", property="abv", value=40.0, sure=True, at=read_when("2025-01-21", now)))
    found = [note for note in shown_period(book, "2025-01").notes if "proof gal" in note]
    words = "over 24 %, distilled spirits by these rules: closing, in proof gal, 142.5 bulk (27 CFR 30.64)"
    assert found == ([words] if rules == "US" else [])
    assert is_in_order(book)


def test_a_period_that_has_not_begun_is_refused(book: Book) -> None:
    """Zeros would look like an answer; the one that goes on is shown."""
    with pytest.raises(PeriodNotBegun, match="2025-03 has not begun"):
        shown_period(book, "2025-03")
    assert shown_period(book, "2025-02").code == "2025-02"

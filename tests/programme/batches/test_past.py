"""Past fermentations: when they ended, what was expected of them early on, and how often that held."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from cooperage.book import Book, Lot
from cooperage.book.declared import acts
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.batches.curve import Came, Shape
from cooperage.programme.batches.gravities import Normal, Took
from cooperage.programme.batches.lot_sheet import lot_sheet
from cooperage.programme.batches.must import expected_end
from cooperage.programme.batches.past import PastFerment, past_ends
from cooperage.programme.batches.words import sheet_lines

START = datetime(2026, 3, 1, tzinfo=UTC)
FALL = [
    (2.0, 1.095),
    (4.0, 1.070),
    (6.0, 1.045),
    (8.0, 1.026),
    (10.0, 1.014),
    (12.0, 1.007),
    (15.0, 1.003),
    (23.0, 1.002),
]


def past(took: list[tuple[float, float]], code: str = "OLD", tolerance: float = 14.0) -> PastFerment:
    readings = tuple(Took(day, sg) for day, sg in took)
    end = expected_end(1.105, tolerance)
    came = Came(Shape(readings[-1].sg, 8.0, 1.5, 0.2), readings[-1].sg - end.sg)
    return PastFerment(code, START, START + timedelta(days=23), 1.105, readings, Normal(end.sg, end.sd), came)


def test_the_day_it_ended_lies_between_two_readings() -> None:
    """It comes as near as 0.003 to 1.002 half way from 1.007 on day 12 to 1.003 on day 15: on day 13.5."""
    assert past(FALL).end_day == pytest.approx(13.5)


def test_a_band_that_held_counts_and_one_that_did_not_does_not() -> None:
    """A fermentation as others are is held; one that breaks off at 1.075 is not, in gravity."""
    sound, broken = past(FALL), past([*FALL[:3], (9.0, 1.044), (20.0, 1.0435)], "BROKEN")
    (held,) = past_ends([sound])
    assert held.is_sg_held
    assert held.is_day_held
    assert not past_ends([past([(2.0, 1.10), (4.0, 1.09), (9.0, 1.08), (20.0, 1.075)])])[0].is_sg_held
    assert past_ends([broken]) == []  # by the eighth day it had ended already


def test_one_that_was_read_too_late_is_not_scored() -> None:
    assert past_ends([past(FALL[3:])]) == []


def _fermented(book: Book, clock: Any, code: str, vessel: str) -> None:
    with book.writing() as session:
        session.add_lot(Lot("", code, code, original_sg=1.105))
    book.write(acts.Receive(lot=code, vessel=vessel, volume=100_000))
    before = 0.0
    for day, gravity in FALL:
        clock.time += timedelta(days=day - before)
        book.write(acts.Reading(vessel=vessel, property="sg", value=gravity, sure=True))
        before = day


def test_the_sheet_shows_how_past_ends_were_met(
    cellar_book: Book, clock: Any, add_tank: Callable[[Book, str], None]
) -> None:
    """A lot whose gravity stood for a week counts as ended, though that was not registered; its forecast is scored."""
    for code, vessel in (("ONE", "T-7"), ("TWO", "T-8")):
        add_tank(cellar_book, vessel)
        _fermented(cellar_book, clock, code, vessel)
    add_tank(cellar_book, "T-9")
    with cellar_book.writing() as session:
        session.add_lot(Lot("", "NOW", "Now", original_sg=1.105))
    cellar_book.write(acts.Receive(lot="NOW", vessel="T-9", volume=100_000))
    for gravity in (1.100, 1.080):
        clock.pass_days(2)
        cellar_book.write(acts.Reading(vessel="T-9", property="sg", value=gravity, sure=True))
    sheet = lot_sheet(cellar_book, cellar_now(cellar_book), "NOW")
    assert sheet.course is not None
    assert sheet.course.habit.lots == 2
    assert [each.lot for each in sheet.course.past] == ["ONE", "TWO"]
    text = "\n".join(sheet_lines(sheet, clock.time))
    gravities, days = sum(each.is_sg_held for each in sheet.course.past), sum(e.is_day_held for e in sheet.course.past)
    held = f"the band of 8 in 10 held the gravity of {gravities} and the day of {days} of 2 fermentations."
    assert f"Past ends: forecast on day 8, {held}" in text


@pytest.fixture
def add_tank() -> Callable[[Book, str], None]:
    """Register a tank of 1000 L."""
    from cooperage.book import Vessel

    def add(book: Book, tag: str) -> None:
        with book.writing() as session:
            session.add_vessel(Vessel("", tag, "tank", 1_000_000))

    return add

"""The curve of a lot in letters and day by day, in the person's units."""

from datetime import UTC, datetime, timedelta

import pytest

from cooperage.programme.batches.curve import USUAL, FermentCurve
from cooperage.programme.batches.gravities import Normal
from cooperage.programme.batches.lot_sheet import FermentCourse
from cooperage.programme.batches.readings import Fermented, GravityRead
from cooperage.programme.batches.words import course_lines
from cooperage.programme.page.fermented import CURVE_HEAD, curve_days, curve_row, ferment_chart, ferment_lines
from cooperage.units import Units, show_date

BEGAN = datetime(2026, 3, 1, tzinfo=UTC)
FALL = {0: 1.105, 1: 1.103, 2: 1.098, 3: 1.090, 5: 1.070, 8: 1.046}
FERMENTED = Fermented(
    BEGAN, tuple(GravityRead(BEGAN + timedelta(days=day), "T-1", sg, 0.0007, None) for day, sg in FALL.items()), ()
)


@pytest.fixture(scope="module")
def course() -> FermentCourse:
    """A fermentation that was read until its eighth day."""
    curve = FermentCurve(1.105, FERMENTED.took(), Normal(1.001, 0.006))
    return FermentCourse(curve, curve.end(), curve.end_day(), USUAL, None, has_ended=False)


def test_every_reading_stands_on_its_day_within_the_curve(course: FermentCourse) -> None:
    days = {each.day: each for each in curve_days(course, FERMENTED)}
    assert {day: each.read for day, each in days.items() if each.read is not None} == FALL
    assert list(days) == list(range(max(days) + 1))
    assert max(days) >= course.end_day.middle
    for day, sg in FALL.items():
        assert days[day].span.middle == pytest.approx(sg, abs=0.006)
    falls = [each.span.middle for each in days.values()]
    assert falls == sorted(falls, reverse=True)


def test_an_end_that_is_still_to_come_is_never_before_today(course: FermentCourse) -> None:
    """Two days after the band of its day began, it begins today."""
    now = BEGAN + timedelta(days=course.end_day.low80 + 2)
    assert any(
        f"reached between {show_date(now, now).strip()} and" in line for line in course_lines(course, BEGAN, now)
    )


def test_a_row_is_in_the_persons_units(course: FermentCourse) -> None:
    """1.105 is 24.9 Brix (NBS Circular C440)."""
    row = curve_row(curve_days(course, FERMENTED)[0], BEGAN, Units(gravity="brix", decimal=","))
    assert len(row) == len(CURVE_HEAD)
    assert row[2] == "24,9 Bx"


def test_the_letters_have_each_reading_the_curve_and_what_lies_ahead(course: FermentCourse) -> None:
    now = BEGAN + timedelta(days=8)
    chart = ferment_chart(course, BEGAN, now, 60, 13)
    lines = ferment_lines(chart, 60, 13)
    assert sum(line.count("●") for line in lines) == len(FALL) - 1  # that of the pitching is where it begins
    ahead = min(line.index("╌") for line in lines if "╌" in line)
    assert ahead > max(line.rindex("─") for line in lines[:-2] if "─" in line)
    assert lines[-1].split()[:2] == ["1", "Mar"]
    assert all(len(line) <= 68 for line in lines)

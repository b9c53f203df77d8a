"""What charts show: readings and the line through them, limits in words, what was lost beside the usual."""

from typing import Any

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.losses.level import prior_rate
from cooperage.programme.page.charted import figure_chart
from cooperage.programme.page.lost import lost_chart
from cooperage.programme.page.past import past_of
from cooperage.units import Units

COLUMNS, ROWS = 70, 13


@pytest.fixture
def read_often(cellar_book: Book, clock: Any) -> Book:
    """Volatile acidity that climbs over its limit of 0.8, a step a month."""
    for nth in range(6):
        cellar_book.write(acts.Reading(vessel="B-1", property="va_g_l", value=0.3 + 0.12 * nth, sure=True))
        clock.pass_days(30)
    return cellar_book


def chart_of(book: Book, name: str = "va_g_l", units: Units | None = None) -> Any:
    standing = cellar_now(book)["B-1"]
    return figure_chart(standing, past_of(book, standing), name, COLUMNS, ROWS, units or Units())


def test_the_line_goes_through_the_readings_and_on_from_today(read_often: Book) -> None:
    """Each column between the first reading and the end has a value within its band; what is ahead is marked so."""
    chart = chart_of(read_often)
    assert chart.now is not None
    drawn = [(nth, at) for nth, at in enumerate(chart.line) if at is not None]
    assert all(at.low <= at.value <= at.high for _, at in drawn)
    assert all(at.is_ahead == (nth > chart.now) for nth, at in drawn if nth != chart.now)
    for point in chart.points[1:]:
        assert chart.line[point.column].low - 0.05 <= point.value <= chart.line[point.column].high + 0.05


def test_the_limit_is_drawn_and_what_is_beyond_it_is_known(read_often: Book) -> None:
    chart = chart_of(read_often)
    assert chart.limit == pytest.approx(0.8)
    assert [point.is_beyond for point in chart.points] == [False] * 5 + [True]
    assert chart.is_trouble
    assert chart.title == "volatile acidity, g/L"
    assert chart.ahead.startswith("left alone ")


def test_everything_lies_within_the_ticks(read_often: Book) -> None:
    chart = chart_of(read_often)
    low, high = chart.ticks[0][0], chart.ticks[-1][0]
    shown = [point.value for point in chart.points] + [end for at in chart.line if at for end in (at.low, at.high)]
    assert low <= min(shown)
    assert max(shown) <= high
    assert low <= chart.limit <= high


def test_a_limit_far_from_a_quiet_figure_is_not_drawn(cellar_book: Book, clock: Any) -> None:
    """0.20 over and over, where 0.80 is the most: the chart does not shrink it to a line at its foot."""
    for _ in range(4):
        cellar_book.write(acts.Reading(vessel="B-1", property="va_g_l", value=0.2))
        clock.pass_days(30)
    assert chart_of(cellar_book).limit is None


def test_what_was_never_measured_has_no_chart(cellar_book: Book) -> None:
    assert chart_of(cellar_book, "ta_g_l") is None


def test_a_chart_is_in_the_persons_units(cellar_book: Book, clock: Any) -> None:
    """A gravity of 1.020 is 5.07 °Bx."""
    cellar_book.write(acts.Reading(vessel="B-1", property="sg", value=1.020, sure=True))
    clock.pass_days(2)
    assert chart_of(cellar_book, "sg", Units(gravity="brix")).points[0].value == pytest.approx(5.08, abs=0.02)


def test_bars_stand_beside_the_usual_and_far_more_is_known(cellar_book: Book, clock: Any) -> None:
    """Two toppings a month apart: one of what is usual, one of five times as much."""
    usual = prior_rate(cellar_book.cellar()["B-1"]).ml_per_day * 30
    for times in (1, 5):
        clock.pass_days(30)
        cellar_book.write(acts.Top(vessel="B-1", volume=round(times * usual), source="K-1", sure=True))
    standing = cellar_book.cellar()["B-1"]
    chart = lost_chart(standing, past_of(cellar_book, standing), None, COLUMNS, ROWS)
    assert chart is not None
    assert [bar.is_much for bar in chart.bars] == [False, True]
    assert chart.bars[0].lost == pytest.approx(chart.bars[0].usual or 0, rel=0.2)
    assert chart.much == 1
    assert chart.usual.endswith(" a month")


def test_of_many_visits_the_latest_are_shown(cellar_book: Book, clock: Any) -> None:
    """As many as there are columns for, a gap between each."""
    for _ in range(12):
        clock.pass_days(10)
        cellar_book.write(acts.Top(vessel="B-1", volume=250, source="K-1", sure=True))
    standing = cellar_book.cellar()["B-1"]
    chart = lost_chart(standing, past_of(cellar_book, standing), None, 20, ROWS)
    assert chart is not None
    assert [bar.column for bar in chart.bars] == list(range(0, 20, 2))


def test_nothing_lost_has_no_bars(cellar_book: Book) -> None:
    standing = cellar_book.cellar()["B-1"]
    assert lost_chart(standing, past_of(cellar_book, standing), None, COLUMNS, ROWS) is None


def test_an_empty_vessel_shows_its_past_without_today(read_often: Book) -> None:
    """Its readings stand as they were; nothing is ahead."""
    read_often.write(acts.Rack(vessel="B-1", destination="T-1", volume=225_000, empties=True, sure=True))
    chart = chart_of(read_often)
    assert chart.now is None
    assert len(chart.points) == 6
    assert not any(at.is_ahead for at in chart.line if at is not None)

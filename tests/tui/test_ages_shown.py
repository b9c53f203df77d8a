"""How old a reading is, is counted one way on every page: by the days of the calendar, as people count."""

from datetime import UTC, datetime

from hypothesis import given
from hypothesis import strategies as st

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.vessel_words import figure_words
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.page.figures import page_figures
from cooperage.units import ago_words, calendar_days, local_day, show_ago

MOMENTS = st.datetimes(datetime(2020, 1, 1), datetime(2030, 1, 1), timezones=st.just(UTC))


def test_an_evening_and_a_morning_are_as_far_apart_in_a_column_as_in_a_sentence(book: Book) -> None:
    """From 22:00 to 9:00 of the day after next: 35 hours, which are two days of the calendar."""
    with book.writing() as w:
        evening = datetime(2026, 10, 1, 22, 0, tzinfo=UTC)
        w.write(acts.Reading(vessel="B-001", property="ph", value=3.41, at=evening, sure=True))
    standing = cellar_now(book)["B-001"]
    days = calendar_days(evening, standing.at)
    [row] = [row for row in page_figures(standing) if row.name == "ph"]
    assert row.age == f"{days} d"
    assert f"3.41 measured {ago_words(days)}" in figure_words(standing.figure("ph"))[1]


@given(MOMENTS, MOMENTS)
def test_days_are_those_between_two_days_of_the_calendar(then: datetime, now: datetime) -> None:
    days = calendar_days(then, now)
    assert days == max(0, (local_day(now) - local_day(then)).days)
    assert ago_words(days) == show_ago(then, now)

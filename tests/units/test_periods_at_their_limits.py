"""Where a period changes its words: exactly at each limit, and a step to either side of it."""

import time
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.units import (
    ALWAYS,
    EndsTooSoon,
    NotATime,
    Span,
    midnight,
    next_month,
    read_span,
    show_span,
    show_when,
    show_zone,
)

MICROSECOND = timedelta(microseconds=1)

HOUR = timedelta(hours=1)

JULY = datetime(2026, 7, 1, 5, tzinfo=UTC)  # the local midnight at which July begins

MIDDLE = datetime(2026, 7, 16, 5, tzinfo=UTC)

NOON = datetime(2026, 7, 15, 17, tzinfo=UTC)

NOW = datetime(2026, 8, 14, 12, tzinfo=UTC)


@pytest.mark.parametrize(
    ("span", "text"),
    [
        (ALWAYS, ""),
        (Span(JULY), "since 2026-07-01"),
        (Span(JULY + HOUR), "since 2026-07-01 01:00"),
        (Span(end=MIDDLE), "to 2026-07-15"),
        (Span(end=NOON), "to 2026-07-15 12:00"),
        (Span(JULY, MIDDLE), "2026-07-01 to 2026-07-15"),
        (Span(JULY, NOON), "2026-07-01 to 2026-07-15 12:00"),
        (Span(JULY + HOUR, MIDDLE), "2026-07-01 01:00 to 2026-07-15"),
        (Span(JULY, JULY + 24 * HOUR), "2026-07-01 to 2026-07-01"),
    ],
)
def test_a_period_is_shown_by_its_days_and_by_the_hour_where_a_day_is_cut(span: Span, text: str) -> None:
    """The last day is the one that ends at the period's end, and an end that is open has no words."""
    assert show_span(span) == text


@pytest.mark.parametrize(
    ("since", "until", "start", "end"),
    [
        (None, None, None, None),
        ("2026-07-01", None, JULY, None),
        (None, "2026-07-15", None, MIDDLE),
        (None, "2026-07-15 12:00", None, NOON),
        ("2026-07-01", "2026-07-15", JULY, MIDDLE),
        ("2026-07-01", "2026-07-01", JULY, JULY + 24 * HOUR),
        ("2026-07-01 00:00", "2026-07-01 00:01", JULY, JULY + HOUR / 60),
        ("2026-07-15 12:00", "2026-07-15", NOON, MIDDLE),
    ],
)
def test_a_typed_period_holds_its_last_day_whole_and_ends_at_a_typed_moment(
    since: str | None, until: str | None, start: datetime | None, end: datetime | None
) -> None:
    """A day is from its local midnight to the next; a moment bounds the period exactly."""
    assert read_span(since, until, NOW) == Span(start, end)


@pytest.mark.parametrize(
    ("since", "until"),
    [
        ("2026-07-02", "2026-07-01"),
        ("2026-07-01 12:00", "2026-07-01 12:00"),
        ("2026-07-01 12:00", "2026-07-01 11:59"),
        ("this month", "last month"),
    ],
)
def test_a_period_that_ends_before_it_begins_is_refused(since: str, until: str) -> None:
    """The line names both ends as they were typed; a period of no length is none."""
    with pytest.raises(EndsTooSoon) as refused:
        read_span(since, until, NOW)
    assert str(refused.value) == f"'{until}' is not after '{since}'; a period ends after it begins"


@pytest.mark.parametrize(
    ("since", "until"), [("soon", None), (None, "soon"), (None, "9999-12-31"), ("-9999999d", None)]
)
def test_a_bound_that_is_no_time_is_refused(since: str | None, until: str | None) -> None:
    """A day after which no other can be written ends no period either."""
    with pytest.raises(NotATime, match=f"'{since or until}' is not a date or time"):
        read_span(since, until, NOW)


def test_the_last_moment_of_a_period_is_a_microsecond_before_the_next() -> None:
    """Periods that adjoin leave no moment out that the book can keep, and share none."""
    span = Span(JULY, MIDDLE)
    assert (span.last, span.last_before) == (MIDDLE - MICROSECOND, JULY - MICROSECOND)
    assert Span(MIDDLE).last_before == span.last
    assert (ALWAYS.last, ALWAYS.last_before) == (None, None)


def test_a_period_is_looked_back_on_once_its_last_moment_has_passed() -> None:
    """Until then, and at that very moment, it is seen as it is now."""
    span = Span(JULY, MIDDLE)
    assert span.seen_at(MIDDLE) == span.last
    assert span.seen_at(MIDDLE - MICROSECOND) is None
    assert span.seen_at(NOON) is None
    assert ALWAYS.seen_at(NOW) is None


@pytest.mark.parametrize("year", [2024, 2026])
@pytest.mark.parametrize("month", range(1, 13))
def test_every_month_is_followed_by_the_next_from_its_first_moment_to_its_last(year: int, month: int) -> None:
    """Short and long ones, a February of either length, and the end of the year."""
    begins = midnight(date(year, month, 1))
    follows = midnight(date(year + month // 12, month % 12 + 1, 1))
    assert next_month(begins) == next_month(follows - MICROSECOND) == follows
    assert read_span("last month", None, follows) == Span(begins, follows)


@pytest.mark.parametrize(
    ("zone", "text"),
    [
        ("UTC0", "UTC"),
        ("XYZ+5", "XYZ, UTC-5"),
        ("CET-1", "CET, UTC+1"),
        ("<+0545>-5:45", "UTC+5:45"),
        ("<-0330>+3:30", "UTC-3:30"),
        ("NST+3:30", "NST, UTC-3:30"),
        ("GMT0", "GMT, UTC"),
        ("ABC-0:05", "ABC, UTC+0:05"),
    ],
)
def test_a_time_zone_is_its_name_and_its_hours_from_utc(zone: str, text: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whole hours, or hours and minutes; a zone without a name of letters is its hours alone (POSIX, TZ)."""
    with monkeypatch.context() as patch:
        patch.setenv("TZ", zone)
        time.tzset()
        shown = show_zone(NOW)
    time.tzset()
    assert shown == text


@given(
    st.datetimes(datetime(1990, 1, 1), datetime(2090, 1, 1), timezones=st.just(UTC)),
    st.datetimes(datetime(1990, 1, 1), datetime(2090, 1, 1), timezones=st.just(UTC)),
)
def test_a_typed_period_is_the_one_its_moments_show(since: datetime, until: datetime) -> None:
    """To the minute: what is typed as it is shown begins and ends there, or is refused where it would end too soon."""
    start, end = (moment.replace(second=0, microsecond=0) for moment in (since, until))
    texts = show_when(start), show_when(end)
    if start < end:
        assert read_span(*texts, now=NOW) == Span(start, end)
    else:
        with pytest.raises(EndsTooSoon):
            read_span(*texts, now=NOW)

"""Text becomes moments and spans in local time, and becomes text again."""

import re
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import cooperage
from cooperage.units import WHENS, NotADay, NotATime, read_day, read_span, read_when, show_ago, show_day, show_when

NOW = datetime(2026, 10, 3, 20, 15, tzinfo=UTC)  # 15:15 there


@pytest.mark.parametrize(
    ("text", "moment"),
    [
        ("2026-10-01", datetime(2026, 10, 1, 17, 0, tzinfo=UTC)),  # noon there
        ("2026-10-01 14:30", datetime(2026, 10, 1, 19, 30, tzinfo=UTC)),
        ("2026-10-01T14:30", datetime(2026, 10, 1, 19, 30, tzinfo=UTC)),
        ("2026-10-01T14:30Z", datetime(2026, 10, 1, 14, 30, tzinfo=UTC)),
        ("2026-10-01t14:30+02:00", datetime(2026, 10, 1, 12, 30, tzinfo=UTC)),
        ("today", datetime(2026, 10, 3, 17, 0, tzinfo=UTC)),
        (" Yesterday ", datetime(2026, 10, 2, 17, 0, tzinfo=UTC)),
        ("-3d", datetime(2026, 9, 30, 17, 0, tzinfo=UTC)),
        ("3 days ago", datetime(2026, 9, 30, 17, 0, tzinfo=UTC)),
        ("1 day ago", datetime(2026, 10, 2, 17, 0, tzinfo=UTC)),
    ],
)
def test_times_are_local_unless_they_say_otherwise(text: str, moment: Any) -> None:
    """A bare day is its noon; a zone, when typed, is kept."""
    assert read_when(text, NOW) == moment
    assert read_when(text, NOW).tzinfo is UTC


@pytest.mark.parametrize("text", ["today", "2026-10-03"])
def test_today_is_never_later_than_now(text: str) -> None:
    """In the morning, today's noon is still to come, and no entry lies in the future."""
    morning = datetime(2026, 10, 3, 13, 0, tzinfo=UTC)  # 08:00 there
    assert read_when(text, morning) == morning


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("yesterday 14:30", "2026-10-02 14:30"), ("Yesterday 9:05", "2026-10-02 09:05"),
        ("today 0:10", "2026-10-03 00:10"), ("3 days ago 07:00", "2026-09-30 07:00"),
        ("-1d 23:59", "2026-10-02 23:59"), ("2026-10-01 9:05", "2026-10-01 09:05"),
    ],
)  # fmt: skip
def test_a_named_day_may_have_its_time(text: str, shown: str) -> None:
    """As a paper walk has it."""
    assert show_when(read_when(text, NOW)) == shown


def test_a_time_of_today_that_is_to_come_is_not_bent_to_now() -> None:
    """It is for the book to refuse what has not happened."""
    morning = NOW.astimezone().replace(hour=8, minute=0)
    assert read_when("today 23:00", morning) > morning


def _promised() -> Any:
    """Return every example of a date or time that a message, a prompt or a help text shows."""
    root = Path(cooperage.__file__).parent
    found = set(WHENS)
    for path in (*root.rglob("*.py"), root.parent / "README.md"):
        text = path.read_text(encoding="utf-8")
        found |= set(re.findall(r"--(?:on|when|since|until) (\d{4}-\d\d-\d\d(?: \d\d:\d\d)?|yesterday)", text))
        found |= set(re.findall(r"(?:yesterday|today) \d?\d:\d\d", text))
    return sorted(found)


@pytest.mark.parametrize("text", _promised())
def test_every_example_of_a_time_is_understood(text: Any) -> None:
    """What the program itself shows as a date or time, it reads."""
    assert read_when(text, NOW).tzinfo is UTC


@pytest.mark.parametrize("text", ["yesterday 25:00", "today 9", "noon 14:30", "yesterday14:30", "3 days ago 14:60"])
def test_what_is_no_time_after_a_day_is_refused(text: str) -> None:
    """In one line with examples."""
    with pytest.raises(NotATime, match="yesterday 14:30"):
        read_when(text, NOW)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("today", date(2026, 10, 3)),
        (" Tomorrow", date(2026, 10, 4)),
        ("in 1 day", date(2026, 10, 4)),
        ("in  30 days", date(2026, 11, 2)),
        ("+2d", date(2026, 10, 5)),
        ("yesterday", date(2026, 10, 2)),
        ("2026-12-01", date(2026, 12, 1)),
        ("1 Dec 2026", date(2026, 12, 1)),
    ],
)
def test_a_day_may_lie_ahead(text: str, day: date) -> None:
    """It is the local one."""
    assert read_day(text, NOW) == day


@pytest.mark.parametrize("text", ["", "soon", "2026-13-01", "in days", "14:30", "in 99999 days", "2026-10-03 14:30"])
def test_what_is_no_day_is_refused_in_one_line(text: str) -> None:
    """That says what is one."""
    with pytest.raises(NotADay, match=r"is not a day; type tomorrow"):
        read_day(text, NOW)


def test_today_is_the_local_day() -> None:
    """Late in the evening there, UTC is already in tomorrow."""
    evening = datetime(2026, 10, 4, 2, 0, tzinfo=UTC)  # 21:00 on the third, there
    assert show_day(read_when("today", evening)) == "2026-10-03"


NO_TIMES: tuple[str, ...]

NO_TIMES = ("", "?", "tomorrow", "2026-13-01", "2026-02-30", "03/10/2026", "14:30", "2026", "-3", "9999 days")

NO_TIMES += ("2026-10-03 25:00", "9999-12-31T23:59-12:00", "0001-01-01T00:00+12:00", "-9999999d", "x\ny")


@pytest.mark.parametrize("text", NO_TIMES)
def test_what_is_no_time_is_refused_in_one_line(text: Any) -> None:
    """The line quotes what was typed and shows what would do."""
    with pytest.raises(NotATime, match=r"^'.*' is not a date or time; type one such as 2026-10-03") as refused:
        read_when(text, NOW)
    assert "\n" not in str(refused.value)


def test_moments_are_shown_in_local_time() -> None:
    """Seconds are left out; an unknown moment is a question mark."""
    assert show_when(NOW.replace(second=59)) == "2026-10-03 15:15"
    assert show_day(NOW.replace(hour=3)) == "2026-10-02"
    assert (show_when(None), show_day(None)) == ("?", "?")


@pytest.mark.parametrize("shower", [show_when, show_day])
def test_a_moment_without_a_zone_is_not_guessed_at(shower: Any) -> None:
    """Like a float volume, it is a slip of the program."""
    with pytest.raises(TypeError, match="time zone"):
        shower(datetime(2026, 10, 3))


@given(st.datetimes(datetime(1990, 1, 1), datetime(2090, 1, 1), timezones=st.just(UTC)))
def test_a_moment_shown_reads_back_to_the_minute(moment: Any) -> None:
    """Every minute of a century, in a zone without summer time (which repeats an hour each year)."""
    shown = read_when(show_when(moment), moment)
    assert timedelta(0) <= moment - shown < timedelta(minutes=1)


@pytest.mark.parametrize(("hours", "ago"), [(1, "today"), (13, "1 day ago"), (24 * 45 + 13, "46 days ago")])
def test_days_ago_are_days_of_the_calendar(hours: int, ago: str) -> None:
    """What was done last evening was yesterday, in every door alike."""
    now = datetime(2026, 11, 26, 12, 0).astimezone()
    assert show_ago(now - timedelta(hours=hours), now) == ago


@pytest.mark.parametrize(
    ("since", "until", "first", "end"),
    [
        ("last month", None, "2026-09-01", "2026-10-01"),
        ("this month", None, "2026-10-01", "2026-11-01"),
        ("last year", None, "2025-01-01", "2026-01-01"),
        ("This Year", "last month", "2026-01-01", "2026-10-01"),
        ("3 Oct 2026", "4 october 2026", "2026-10-03", "2026-10-05"),
    ],
)
def test_a_month_or_a_year_is_a_span(since: str, until: str | None, first: str, end: str) -> None:
    """From its first day to its last; a day may be written with the name of its month."""
    now = datetime(2026, 10, 14, 12, tzinfo=UTC)
    span = read_span(since, until, now)
    assert (show_day(span.start), show_day(span.end)) == (first, end)

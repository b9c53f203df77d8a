"""Text becomes dates, times and periods, and these become text again, in the person's own time zone."""

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from cooperage.errors import BadInput
from cooperage.units.reading import one_line
from cooperage.units.showing import counted

WHENS = ("2026-10-03", "2026-10-03 14:30", "today", "yesterday 14:30", "3 days ago")
"""Examples of dates and times that are understood, as messages and prompts show them."""


class NotATime(BadInput):
    """Text that is not a date or a time."""

    def __init__(self, text: str) -> None:
        self.text = text
        hint = f"type one such as {', '.join(WHENS[:-1])} or {WHENS[-1]}"
        super().__init__(f"'{one_line(text)}' is not a date or time; {hint}")


_MONTHS = ("JAN", "FEB", "MAR", "APR", "MAY", "JUN", "JUL", "AUG", "SEP", "OCT", "NOV", "DEC")
_NAMED_DATE = re.compile(r"([0-9]{1,2})\s+([A-Z]{3})[A-Z]*\.?\s+([0-9]{4})")
_PERIOD = re.compile(r"(THIS|LAST)\s+(MONTH|YEAR)")
_DATE = re.compile(r"[0-9W-]{7,10}")
_DAYS_AGO = re.compile(r"-\s*([0-9]{1,4})\s*D|([0-9]{1,4})\s*D(?:AYS?)?\s+AGO")
_DAYS_AHEAD = re.compile(r"IN\s+([0-9]{1,4})\s*D(?:AYS?)?|\+\s*([0-9]{1,4})\s*D")
_CLOCK = re.compile(r"(.*\S)[\sT]+([0-9]{1,2}:[0-9]{2})")
_NAMED_DAYS = {"TODAY": 0, "YESTERDAY": 1}


def read_when(text: str, now: datetime) -> datetime:
    """Return the moment that was typed, in UTC; `now` is aware.

    Understood are "2026-10-03", "2026-10-03 14:30", "2026-10-03T14:30Z", "3 Oct 2026", "today", "yesterday", "-3d" and
    "3 days ago", each of these with a time after it. A time without a zone is local, in the system's time zone. A day
    without a time is its noon, but today's is never later than now.

    Raises: NotATime.
    """
    typed, today = text.strip().upper(), now.astimezone().date()
    try:
        day = _day(typed, today)
        moment = datetime.combine(day, time(12)) if day else _day_and_time(typed, today)
        moment = moment.astimezone(UTC)
    except (ValueError, OverflowError) as error:
        raise NotATime(text) from error
    return min(moment, now.astimezone(UTC)) if day == today else moment


class NotADay(BadInput):
    """Text that is not a day."""

    def __init__(self, text: str) -> None:
        self.text = text
        super().__init__(f"'{one_line(text)}' is not a day; type tomorrow, in 3 days, or a date such as 2026-10-03")


def read_day(text: str, now: datetime) -> date:
    """Return the local day that was typed, which may lie ahead: "tomorrow", "in 3 days", and any day of `read_when`.

    Raises: NotADay.
    """
    typed, today = " ".join(text.split()).upper(), now.astimezone().date()
    try:
        if typed == "TOMORROW":
            return today + timedelta(days=1)
        if ahead := _DAYS_AHEAD.fullmatch(typed):
            return today + timedelta(days=int(ahead[1] or ahead[2]))
        day = _day(typed, today)
    except (ValueError, OverflowError) as error:
        raise NotADay(text) from error
    if day is None:
        raise NotADay(text)
    return day


def _day_and_time(typed: str, today: date) -> datetime:
    """Return the moment meant by a day with a time after it, or by ISO 8601; raises ValueError."""
    parts = _CLOCK.fullmatch(typed)
    day = _day(parts[1], today) if parts else None
    if parts is None or day is None:
        return datetime.fromisoformat(typed)
    return datetime.combine(day, time.fromisoformat(parts[2].zfill(5)))


def _day(typed: str, today: date) -> date | None:
    """Return the day meant by text that names a day and no time; None for anything else."""
    if ago := _DAYS_AGO.fullmatch(typed):
        return today - timedelta(days=int(ago[1] or ago[2]))
    if typed in _NAMED_DAYS:
        return today - timedelta(days=_NAMED_DAYS[typed])
    if (named := _NAMED_DATE.fullmatch(typed)) and named[2] in _MONTHS:
        return date(int(named[3]), _MONTHS.index(named[2]) + 1, int(named[1]))
    return date.fromisoformat(typed) if _DATE.fullmatch(typed) else None


class EndsTooSoon(BadInput):
    """A span of time that ends no later than it begins."""

    def __init__(self, since: str, until: str) -> None:
        self.since, self.until = since, until
        super().__init__(f"'{one_line(until)}' is not after '{one_line(since)}'; a period ends after it begins")


_SMALLEST_STEP = timedelta(microseconds=1)


@dataclass(frozen=True, slots=True)
class Span:
    """A span of time in UTC: `start` belongs to it, `end` no more; None is without end.

    Spans that adjoin therefore share no moment and leave none out. The book keeps moments to the microsecond: `last` is
    the last one inside and `last_before` the last one before.
    """

    start: datetime | None = None
    end: datetime | None = None

    @property
    def last(self) -> datetime | None:
        """The last moment of the span, for what includes the moment it looks up to."""
        return None if self.end is None else self.end - _SMALLEST_STEP

    @property
    def last_before(self) -> datetime | None:
        """The last moment before the span."""
        return None if self.start is None else self.start - _SMALLEST_STEP

    def seen_at(self, now: datetime) -> datetime | None:
        """Return the last moment of the span that has passed by now; None for now itself."""
        return None if self.last is None or self.last >= now else self.last


ALWAYS = Span()


def show_span(span: Span) -> str:
    """Return a span in local time: "2026-07-01 to 2026-07-15" for whole days, with the hour where a day is cut."""
    start = "" if span.start is None else _edge(span.start, show_day(span.start))
    end = "" if span.end is None else _edge(span.end, show_day(span.last))
    return f"{start} to {end}" if start and end else f"since {start}" if start else f"to {end}" if end else ""


def _edge(moment: datetime, day: str) -> str:
    return day if moment == midnight(_local(moment).date()) else show_when(moment)


def read_span(since: str | None, until: str | None, now: datetime) -> Span:
    """Return the span of time that was typed; either end may be left out.

    A day is from its local midnight to the next, so a span until a day holds all of it. A moment with its time bounds
    the span exactly: what happens then belongs to the span that begins there. Words are those of `read_when`, and
    "this month", "last month", "this year", "last year": since one of them is from its first day on, and all of it
    where no end is given; until one of them is to its last day.

    Raises: NotATime, EndsTooSoon.
    """
    start = None if since is None else _bound(since, now, days=0)
    if until is None and since is not None and _period(since, now) is not None:
        until = since
    end = None if until is None else _bound(until, now, days=1)
    if since is not None and until is not None and start is not None and end is not None and end <= start:
        raise EndsTooSoon(since, until)
    return Span(start, end)


def _bound(text: str, now: datetime, days: int) -> datetime:
    """Return the midnight at which a day begins, or so many days later; the moment itself where a time was typed."""
    if period := _period(text, now):
        return midnight(period[1] if days else period[0])
    try:
        day = _day(text.strip().upper(), now.astimezone().date())
        return read_when(text, now) if day is None else midnight(day + timedelta(days=days))
    except (ValueError, OverflowError) as error:
        raise NotATime(text) from error


def _period(text: str, now: datetime) -> tuple[date, date] | None:
    """Return the first day of a month or year that is named, and the first day after it; None for anything else."""
    named = _PERIOD.fullmatch(text.strip().upper())
    if named is None:
        return None
    first, back = now.astimezone().date().replace(day=1), named[1] == "LAST"
    if named[2] == "YEAR":
        year = first.year - back
        return date(year, 1, 1), date(year + 1, 1, 1)
    if back:
        first = (first - timedelta(days=1)).replace(day=1)
    return first, _first_of_next_month(first)


def _first_of_next_month(first: date) -> date:
    """Return the first day of the month after the one that begins on `first`; no month has more than 31 days."""
    return (first + timedelta(days=31)).replace(day=1)


def midnight(day: date) -> datetime:
    """Return the moment at which a local day begins, in UTC."""
    return datetime.combine(day, time()).astimezone(UTC)


def show_when(moment: datetime | None) -> str:
    """Return an aware moment as local "2026-10-03 14:30", or "?" when it is unknown."""
    return "?" if moment is None else _local(moment).isoformat(" ", "minutes")


def show_zone(moment: datetime) -> str:
    """Return the time zone in which moments are shown: "CET, UTC+1"."""
    local = moment.astimezone()
    minutes = round((local.utcoffset() or timedelta()).total_seconds() / 60)
    hours, rest = divmod(abs(minutes), 60)
    name = local.tzname() or ""
    away = f"UTC{'+' if minutes >= 0 else '-'}{hours}{f':{rest:02}' if rest else ''}" if minutes else "UTC"
    return away if name in ("", "UTC") or name[0] in "+-" else f"{name}, {away}"


def show_day(moment: datetime | None) -> str:
    """Return the local day of an aware moment as "2026-10-03", or "?" when it is unknown."""
    return "?" if moment is None else _local(moment).date().isoformat()


def show_date(moment: datetime | None, now: datetime) -> str:
    """Return the local day of an aware moment as a calendar has it: "26 Nov"; "26 Nov 2025" in another year than now.

    It is "?" when it is unknown. The day has two places, so that dates stand under one another.
    """
    if moment is None:
        return "?"
    day, today = local_day(moment), local_day(now)
    year = "" if day.year == today.year else f" {day.year}"
    return f"{day.day:>2} {_MONTHS[day.month - 1].capitalize()}{year}"


def show_moment(moment: datetime, now: datetime) -> str:
    """Return "26 Nov 10:02" in local time; in another year than now, the day with its year: "26 Nov 2025"."""
    date_, local = show_date(moment, now), _local(moment)
    return f"{date_} {show_clock(moment)}" if local.year == _local(now).year else date_


def show_clock(moment: datetime) -> str:
    """Return the local hour and minute of an aware moment: "14:30"."""
    return f"{_local(moment):%H:%M}"


def local_day(moment: datetime) -> date:
    """Return the local day of an aware moment."""
    return _local(moment).date()


def calendar_days(then: datetime, now: datetime) -> int:
    """Return how many days ago something was, as people count: by the calendar, whatever the hour; never below 0."""
    return max(0, (local_day(now) - local_day(then)).days)


def ago_words(days: int) -> str:
    """Return days of the calendar as text: "today", "1 day ago", "45 days ago"."""
    return f"{counted(days, 'day')} ago" if days else "today"


def show_ago(then: datetime, now: datetime) -> str:
    """Return how long ago something was, by the days of the calendar: "today", "1 day ago", "45 days ago"."""
    return ago_words(calendar_days(then, now))


def show_month(moment: datetime) -> str:
    """Return the local month of an aware moment as "2026-10"."""
    return show_day(moment)[:7]


def next_month(moment: datetime) -> datetime:
    """Return when the local month after that of a moment begins, in UTC."""
    return midnight(_first_of_next_month(_local(moment).date().replace(day=1)))


def _local(moment: datetime) -> datetime:
    """Return the wall-clock time. A moment without a zone is a slip of the program: its hour is a guess."""
    if moment.tzinfo is None:
        raise TypeError("a moment must know its time zone")
    return moment.astimezone().replace(tzinfo=None)

"""A period: its code and span as they are typed, and what is kept of one that was filed."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from cooperage.errors import BadInput, did_you_mean
from cooperage.programme.periods.figures import PeriodFigures
from cooperage.units import NotATime, Span, local_day, midnight, read_span

EXAMPLES = ("2026-06", "2026-Q2", "2026", "last month", "2026-07-01..2026-07-15")
"""Examples of periods that are understood."""
_MONTH = re.compile(r"([0-9]{4})-([0-9]{2})")
_QUARTER = re.compile(r"([0-9]{4})-?Q([1-4])")
_YEAR = re.compile(r"[0-9]{4}")
_DAYS = re.compile(r"(\S+)\s*\.\.\s*(\S+)")
NOTE = "A preparation aid, not a return: check with your authority."
"""Stands on whatever shows the figures of a period."""


class NotAPeriod(BadInput):
    """Text that is no period."""

    def __init__(self, text: str) -> None:
        self.text = text
        super().__init__(f"'{text}' is not a period; type one such as {', '.join(EXAMPLES[:-1])} or {EXAMPLES[-1]}")


class PeriodNotBegun(BadInput):
    """A period of which no moment has passed."""

    def __init__(self, span: Span) -> None:
        self.span = span
        super().__init__(f"{code_of(span)} has not begun; name a period that has")


class NoSuchPeriod(BadInput):
    """A code under which nothing was filed."""

    def __init__(self, code: str, known: Iterable[str]) -> None:
        self.code = code
        known = list(known)
        some = f"; filed are {', '.join(known[-6:])}" if known else "; nothing is filed yet: `cooperage period close`"
        super().__init__(f"no period '{code}' is filed{did_you_mean(code, known, some)}")


@dataclass(frozen=True, slots=True)
class FiledPeriod:
    """A period as it was filed: its figures, how many entries were counted, by whom and when.

    `code` is its span's, with "/2" behind it for a correction, whose `corrects` is the code of what it takes the place
    of; both stay. `counted` has what a physical count found, by vessel [ml] and by bottling [bottles].
    """

    id: str
    code: str
    figures: PeriodFigures
    zone: str
    counted: dict[str, dict[str, int]]
    entries: int
    hand: str
    note: str
    written_at: datetime
    corrects: str | None
    digest: str

    @property
    def span(self) -> Span:
        """Its span."""
        return self.figures.span

    @property
    def start(self) -> datetime:
        """Its first moment."""
        assert self.span.start is not None, "a filed period has a beginning"
        return self.span.start

    @property
    def end(self) -> datetime:
        """The first moment after it."""
        return self.figures.left.end


def _months(year: int, month: int, count: int) -> tuple[date, date]:
    last = year * 12 + month - 1 + count
    return date(year, month, 1), date(last // 12, last % 12 + 1, 1)


def read_period(text: str, now: datetime) -> Span:
    """Return the span of a period as it is typed, in local days: see `EXAMPLES`.

    Raises: NotAPeriod, and EndsTooSoon for two days in the wrong order.
    """
    typed = " ".join(text.split()).upper()
    try:
        if named := _MONTH.fullmatch(typed):
            first, after = _months(int(named[1]), int(named[2]), 1)
        elif named := _QUARTER.fullmatch(typed):
            first, after = _months(int(named[1]), 3 * int(named[2]) - 2, 3)
        elif _YEAR.fullmatch(typed):
            first, after = _months(int(typed), 1, 12)
        else:
            return _typed_span(typed, now)
        return Span(midnight(first), midnight(after))
    except (ValueError, OverflowError, NotATime) as error:
        raise NotAPeriod(text.strip()) from error


def begun(span: Span, now: datetime) -> Span:
    """Return a span that has begun; raises PeriodNotBegun."""
    if span.start is not None and span.start > now:
        raise PeriodNotBegun(span)
    return span


def _typed_span(typed: str, now: datetime) -> Span:
    if days := _DAYS.fullmatch(typed):
        return read_span(days[1], days[2], now)
    span = read_span(typed, None, now)
    if span.end is None:
        raise ValueError(typed)
    return span


def code_of(span: Span) -> str:
    """Return the code of a span: "2026-06" a month, "2026-Q2" a quarter, "2026" a year, else its first and last day."""
    assert span.start is not None, "a period has a beginning"
    assert span.end is not None, "a period has an end"
    first, after = local_day(span.start), local_day(span.end)
    months = 12 * (after.year - first.year) + after.month - first.month
    if first.day == after.day == 1 and (span.start, span.end) == (midnight(first), midnight(after)):
        if months == 1:
            return f"{first:%Y-%m}"
        if months == 3 and first.month % 3 == 1:
            return f"{first.year}-Q{first.month // 3 + 1}"
        if months == 12 and first.month == 1:
            return f"{first.year}"
    return f"{first.isoformat()}..{(after - timedelta(days=1)).isoformat()}"


def next_span(after: FiledPeriod) -> Span:
    """Return the span that comes after a filed one, as long as that was: a month after a month."""
    return Span(after.end, midnight(_as_far_again(local_day(after.start), local_day(after.end))))


def span_before(first: FiledPeriod) -> Span:
    """Return the span that comes before a filed one, as long as that was."""
    return Span(midnight(_as_far_again(local_day(first.end), local_day(first.start))), first.start)


def _as_far_again(one: date, other: date) -> date:
    """Return the day that is as far from another as that is from one: whole months where both begin alike."""
    months = 12 * (other.year - one.year) + other.month - one.month
    if months and one.day == other.day:
        there = other.year * 12 + other.month - 1 + months
        return date(there // 12, there % 12 + 1, other.day)
    return other + (other - one)

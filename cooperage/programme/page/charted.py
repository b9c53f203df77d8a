"""What a chart of one figure shows, in the person's unit: readings, the line through them with its band, its limit.

A chart is asked for in as many columns as it is drawn in; where they fall in time is decided here, and so is how high
it reaches, so that a screen only sets letters.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from fractions import Fraction
from statistics import median
from typing import NamedTuple

from cooperage.book import Standing
from cooperage.book.cellar import MOLECULAR
from cooperage.book.declared.properties import PROPERTIES
from cooperage.errors import OutOfRange
from cooperage.programme.ageing.course import band_of
from cooperage.programme.ageing.models import AGEINGS, MONTH
from cooperage.programme.page.figures import FigureLimit, limit_of, page_figures
from cooperage.programme.page.past import Measured, Past
from cooperage.programme.page.smoothed import KnownOn, Lifted, smoothed
from cooperage.programme.page.ticks import month_ticks, ticks_in_rows
from cooperage.units import DEFAULT, Quantity, Units, show, show_date, unit_written

CHARTED = ("free_so2_mg_l", "va_g_l", "abv", "lost", "ph", "sugar_g_l", "sg", "ta_g_l", "score")
"""What is drawn over time: figures, what was lost between visits, scores; in this sequence."""

_DAY = timedelta(days=1)
_AHEAD, _LEAST_AHEAD = 0.14, 30.0
"""How much of the width is left to what is ahead, and for how many days at least."""
_REACHES = 1.0
"""A limit further from what is drawn than so many times its height is given in text alone."""
_QUIET = 4.0
"""The height spans at least so many standard uncertainties of a reading, so that a quiet past looks quiet."""
_MOVES = 0.5
"""A figure may move by so much of a reading's uncertainty in a month at least (common practice, no source)."""
_MONTH_COLUMNS = 10


class At(NamedTuple):
    """A column of the line: the value with its band, in the person's unit; `is_ahead` of now."""

    value: float
    low: float
    high: float
    is_ahead: bool


class Point(NamedTuple):
    """A reading: its column, its value in the person's unit, and whether it is beyond the limit."""

    column: int
    value: float
    is_beyond: bool


@dataclass(frozen=True, slots=True)
class Chart:
    """One figure over time in so many columns.

    `line` has one place a column, None where nothing is calculated. `now` is the column of today, None beyond the
    chart. `ticks` are values with their text, `months` columns with theirs; `limit` is None where there is none, or
    none near. `title` is what is drawn, `today` the figure now, `ahead` how it goes on, as text.
    """

    name: str
    title: str
    today: str
    is_trouble: bool
    ahead: str
    points: Sequence[Point]
    line: Sequence[At | None]
    limit: float | None
    now: int | None
    ticks: Sequence[tuple[float, str]]
    months: Sequence[tuple[int, str]]


class _Axis(NamedTuple):
    """Columns over time: the first one begins at `first`, each is `days` long."""

    first: datetime
    days: float
    columns: int

    def column(self, at: datetime) -> int:
        return min(self.columns - 1, max(0, int((at - self.first) / _DAY / self.days)))

    def middle(self, column: int) -> float:
        """Return the days from the beginning to the middle of a column."""
        return (column + 0.5) * self.days


def figure_chart(
    standing: Standing, past: Past, name: str, columns: int, rows: int, units: Units = DEFAULT
) -> Chart | None:
    """Return the chart of a property in so many columns and rows; None where it was never measured here."""
    read = past.this_fill(standing, name) if standing.ml else past.measured.get(name, ())
    if not read:
        return None
    axis, limit = _axis(standing, read, columns), limit_of(standing, name)
    line = _line(standing, past, name, read, axis)
    shown = [_shown(each.value, name, units) for each in read]
    shown_line = [_in_unit(at, name, units) for at in line]
    beyond = [limit is not None and limit.sign * (each.value - limit.value) > 0 for each in read]
    doubt = abs(_shown(read[-1].value + read[-1].doubt, name, units) - _shown(read[-1].value, name, units))
    drawn = limit or _floor_of_free(standing, name)
    near = None if drawn is None else _shown(drawn.value, name, units)
    low, high, near = _height(shown, shown_line, doubt, near)
    row = next((row for row in page_figures(standing, past, units) if row.name == name), None)
    quantity = PROPERTIES[name].quantity
    unit = unit_written(quantity, units)
    return Chart(
        name,
        f"{PROPERTIES[name].label}{f', {unit}' if unit else ''}",
        "" if row is None else " ".join(part for part in (f"{row.value} {row.band}".strip(), "today") if part),
        row is not None and row.state == "trouble",
        _ahead_words(standing, name, axis, units),
        [Point(axis.column(each.at), value, far) for each, value, far in zip(read, shown, beyond, strict=True)],
        shown_line,
        near,
        axis.column(standing.at) if standing.ml else None,
        ticks_in_rows(low, high, rows, units),
        _months(axis),
    )


def _floor_of_free(standing: Standing, name: str) -> FigureLimit | None:
    """Return the free SO2 that is as much as the floor of molecular SO2, at the pH and strength of now."""
    free, molecular, floor = standing.value("free_so2_mg_l"), standing.molecular_so2, limit_of(standing, MOLECULAR)
    if name != "free_so2_mg_l" or not free or not molecular or floor is None:
        return None
    return FigureLimit(floor.value * free / molecular, floor.sign)


def _axis(standing: Standing, read: Sequence[Measured], columns: int) -> _Axis:
    first = read[0].at - _DAY
    last = standing.at if standing.ml else read[-1].at
    days = max(1.0, (last - first) / _DAY)
    ahead = max(_LEAST_AHEAD, days * _AHEAD / (1 - _AHEAD)) if standing.ml else 1.0
    return _Axis(first, (days + ahead) / columns, columns)


def _months(axis: _Axis) -> list[tuple[int, str]]:
    last = axis.first + axis.columns * axis.days * _DAY
    found = month_ticks(axis.first, last, max(2, axis.columns // _MONTH_COLUMNS))
    return [(axis.column(at), words) for at, words in found]


def _line(standing: Standing, past: Past, name: str, read: Sequence[Measured], axis: _Axis) -> list[At | None]:
    """Return the figure in each column: by its readings and by what it is now up to today, then by its course."""
    ageing, now = AGEINGS.get(name), (standing.at - axis.first) / _DAY
    course = standing.course(name) if standing.ml else None
    least = None if ageing is None else ageing.least
    known = [KnownOn((each.at - axis.first) / _DAY, each.value, each.doubt) for each in read]
    if course is not None:
        known.append(KnownOn(now, *course.after(0.0)))
    lifted = [Lifted((each.at - axis.first) / _DAY, each.by) for each in past.raised_in_fill(standing, name)]
    behind = [day for day in map(axis.middle, range(axis.columns)) if known[0].day <= day <= known[-1].day]
    wander = max(0.0 if ageing is None else ageing.wander, _MOVES * median(each.doubt for each in read)) ** 2 / MONTH
    by_day = {each.day: each for each in smoothed(known, lifted, behind, wander)}
    line: list[At | None] = []
    for column in range(axis.columns):
        day = axis.middle(column)
        if (behind_now := by_day.get(day)) is not None:
            line.append(_at(behind_now.value, behind_now.doubt, least, is_ahead=False))
        elif course is not None and day > now:
            line.append(_at(*course.after(day - now), least, is_ahead=True))
        else:
            line.append(None)
    return line


def _at(value: float, doubt: float, least: float | None, *, is_ahead: bool) -> At:
    return At(value, *band_of(value, doubt, least), is_ahead)


def _height(
    shown: Sequence[float], line: Sequence[At | None], doubt: float, limit: float | None
) -> tuple[float, float, float | None]:
    """Return from where to where the chart reaches, and the limit if that is near enough to be in it."""
    ends = [end for at in line if at is not None for end in (at.low, at.high)]
    low, high = min(*shown, *ends, shown[0]), max(*shown, *ends, shown[0])
    middle, span = (low + high) / 2, max(high - low, _QUIET * doubt)
    low, high = min(low, middle - span / 2), max(high, middle + span / 2)
    low = max(0.0, low) if min(shown) >= 0 else low
    if limit is None or max(low - limit, limit - high) > _REACHES * span:
        return low, high, None
    return min(low, limit), max(high, limit), limit


def _ahead_words(standing: Standing, name: str, axis: _Axis, units: Units) -> str:
    """Return how a figure goes on if its vessel is left alone: "1.1 to 1.4 g/L on 1 Feb, left alone"."""
    course = standing.course(name) if standing.ml else None
    if course is None:
        return ""
    end = axis.first + axis.columns * axis.days * _DAY
    ageing = AGEINGS.get(name)
    value, doubt = course.after((end - standing.at) / _DAY)
    low, high = band_of(value, doubt, None if ageing is None else ageing.least)
    quantity = PROPERTIES[name].quantity
    least, most = show(quantity, low, units, with_unit=False), show(quantity, high, units)
    return f"left alone {least} to {most} on {show_date(end, standing.at).strip()}"


def _in_unit(at: At | None, name: str, units: Units) -> At | None:
    if at is None:
        return None
    value, low, high = (_shown(each, name, units) for each in at[:3])
    return At(value, low, high, at.is_ahead)


def _shown(value: float, name: str, units: Units) -> float:
    """Return a value of a property in the unit in which the person reads it."""
    return in_unit(PROPERTIES[name].quantity, value, units)


def in_unit(quantity: Quantity, value: float, units: Units = DEFAULT) -> float:
    """Return a canonical value in the unit in which the person reads it; one beyond that unit's scale as it is."""
    try:
        return float(units.usual(quantity).from_canonical(Fraction(value)))
    except OutOfRange:
        return value

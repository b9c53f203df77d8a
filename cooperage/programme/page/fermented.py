"""What the chart of a fermentation shows, in the person's unit of gravity: readings and the curve with its band."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from fractions import Fraction
from math import floor
from typing import NamedTuple

from cooperage.programme.batches.curve import Banded
from cooperage.programme.batches.lot_sheet import FermentCourse
from cooperage.programme.batches.readings import Fermented
from cooperage.programme.page.letter_grid import LetterGrid
from cooperage.programme.page.ticks import ticks_in_rows
from cooperage.units import DEFAULT, Quantity, Units, show, show_date

_DAY = timedelta(days=1)
_SPREAD = 1.08
_LEAST_DAYS, _MOST_DAYS = 10.0, 60


class CurveColumn(NamedTuple):
    """A column of the curve: the gravity and where it lies 8 times of 10, in the person's unit; `is_ahead` of now."""

    value: float
    low: float
    high: float
    is_ahead: bool


@dataclass(frozen=True, slots=True)
class FermentChart:
    """A fermentation in so many columns: the curve, the readings (column, value), ticks and days with their text."""

    line: tuple[CurveColumn, ...]
    points: tuple[tuple[int, float], ...]
    ticks: tuple[tuple[float, str], ...]
    days: tuple[tuple[int, str], ...]


def ferment_chart(
    course: FermentCourse, began: datetime, at: datetime, columns: int, rows: int, units: Units = DEFAULT
) -> FermentChart:
    """Return the chart of a fermentation from its beginning to where it ends, in columns and rows (2 or more each)."""
    now = (at - began) / _DAY
    last = max(_LEAST_DAYS, course.curve.took[-1].day, course.end_day.middle) * _SPREAD
    each = last / (columns - 1)
    spans = [course.curve.gravity(column * each) for column in range(columns)]
    line = tuple(
        CurveColumn(
            _shown(span.middle, units), _shown(span.low80, units), _shown(span.high80, units), column * each > now
        )
        for column, span in enumerate(spans)
    )
    points = tuple((round(read.day / each), _shown(read.sg, units)) for read in course.curve.took)
    values = [*(value for fall in line for value in (fall.low, fall.high)), *(value for _, value in points)]
    ticks = tuple(ticks_in_rows(min(values), max(values), rows, units))
    marks = (0.0, last / 3, 2 * last / 3)
    days = tuple((round(day / each), show_date(began + day * _DAY, at).strip()) for day in marks)
    return FermentChart(line, points, ticks, days)


def draw_ferment(grid: LetterGrid, chart: FermentChart) -> None:
    """Draw a fermentation on a grid: its band, the curve, which is broken where it lies ahead, and the readings."""
    for column, fall in enumerate(chart.line):
        for row in range(grid.row(fall.high), grid.row(fall.low) + 1):
            grid.set(column, row, "░", "mist")
        grid.set(column, grid.row(fall.value), "╌" if fall.is_ahead else "─", "quiet")
    for column, value in chart.points:
        grid.set(column, grid.row(value), "●", "ink")


def ferment_lines(chart: FermentChart, columns: int, rows: int) -> list[str]:
    """Return the chart of a fermentation in plain letters, axes included (two rows more than `rows`)."""
    grid = LetterGrid(columns, rows, chart.ticks)
    draw_ferment(grid, chart)
    return ["".join(letters for letters, _ in line).rstrip() for line in grid.lines(chart.days)]


class CurveDay(NamedTuple):
    """A day of a fermentation: since the pitching, when, the curve [SG] and what was read on that day, if anything."""

    day: int
    at: datetime
    span: Banded
    read: float | None


def curve_days(course: FermentCourse, fermented: Fermented) -> list[CurveDay]:
    """Return the curve day by day, from the pitching to the last reading or the expected end; at most 60 days.

    Where there are more, every second is left out, or more of them, but none on which a gravity was read.
    """
    began = fermented.began
    if began is None:
        return []
    read = {round(each.day): each.sg for each in fermented.took()}
    last = floor(max(_LEAST_DAYS, course.curve.took[-1].day, course.end_day.middle)) + 1
    step = 1 + last // _MOST_DAYS
    days = sorted({*range(0, last + 1, step), *read})
    return [CurveDay(day, began + day * _DAY, course.curve.gravity(float(day)), read.get(day)) for day in days]


CURVE_HEAD = ("day", "date", "read", "expected", "low", "high")


def curve_row(each: CurveDay, at: datetime, units: Units = DEFAULT) -> tuple[str, ...]:
    """Return a day of a curve as a row under `CURVE_HEAD`; low and high hold the gravity 8 times of 10."""
    read = "" if each.read is None else show(Quantity.GRAVITY, each.read, units)
    span = (show(Quantity.GRAVITY, value, units) for value in (each.span.middle, each.span.low80, each.span.high80))
    return str(each.day), show_date(each.at, at).strip(), read, *span


def _shown(sg: float, units: Units) -> float:
    return float(units.usual(Quantity.GRAVITY).from_canonical(Fraction(sg)))

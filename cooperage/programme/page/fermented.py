"""What the chart of a fermentation shows, in the person's unit of gravity: readings and the curve with its band."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import NamedTuple

from cooperage.programme.batches.lot_sheet import FermentCourse
from cooperage.programme.page.ticks import ticks_in_rows
from cooperage.units import DEFAULT, Quantity, Units, show_date

_DAY = timedelta(days=1)
_SPREAD = 1.08
_LEAST_DAYS = 10.0


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
    ticks = tuple(ticks_in_rows(min(values), max(values), rows))
    marks = (0.0, last / 3, 2 * last / 3)
    days = tuple((round(day / each), show_date(began + day * _DAY, at).strip()) for day in marks)
    return FermentChart(line, points, ticks, days)


def _shown(sg: float, units: Units) -> float:
    from fractions import Fraction

    return float(units.usual(Quantity.GRAVITY).from_canonical(Fraction(sg)))

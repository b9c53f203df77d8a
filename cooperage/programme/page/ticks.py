"""Where an axis is marked: round values, in steps of 1, 2 or 5, and the beginnings of months."""

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from math import ceil, floor, log10

from cooperage.units import DEFAULT, Units, local_day, midnight

_STEPS = (1, 2, 5, 10)
_MOST, _FEW_ROWS = 6, 5
_MONTHS = (1, 2, 3, 6, 12, 24, 60, 120)
_NAMES = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def ticks_in_rows(low: float, high: float, rows: int, units: Units = DEFAULT) -> list[tuple[float, str]]:
    """Return the round ticks for an axis of so many rows (2 at least), each with how the person writes it.

    Of all that have room those are taken that leave least of the rows unused; two only in very few rows.
    """
    is_above_nothing = low >= 0 and high > 0
    fewest = 2 if rows < _FEW_ROWS and is_above_nothing else 3
    found = [round_ticks(low, high, most) for most in range(fewest, _MOST + 1)]
    with_room = [each for each in found if even_rows(rows, len(each[0])) <= rows] or found
    enough = [each for each in with_room if len(each[0]) >= fewest] or with_room
    ticks, labels = max(enough, key=lambda each: _used(low, high, each[0], rows))
    return [(tick, label.replace(".", units.decimal)) for tick, label in zip(ticks, labels, strict=True)]


def _used(low: float, high: float, ticks: Sequence[float], rows: int) -> float:
    """Return how many rows what is drawn would take; none where there are more ticks than rows."""
    used = even_rows(rows, len(ticks))
    return -1.0 if used > rows else used * (high - low) / (ticks[-1] - ticks[0])


def even_rows(rows: int, ticks: int) -> int:
    """Return how many of the rows let so many ticks stand evenly apart, the first and the last at the ends."""
    gaps = max(1, ticks - 1)
    return max(1, (rows - 1) // gaps) * gaps + 1


def round_ticks(low: float, high: float, most: int = 6) -> tuple[list[float], list[str]]:
    """Return two to `most` evenly spaced round values that enclose low to high, and how each is written.

    Steps are 1, 2 or 5 of a power of ten. `most` is at least 3, or 2 where nothing is less than nothing.
    """
    if high == low:
        margin = abs(high) / 20 or 0.5
        low, high = low - margin, high + margin
    tenth = 10.0 ** floor(log10((high - low) / most))
    step, first, last = next(
        found
        for size in (tenth, 10 * tenth, 100 * tenth)
        for times in _STEPS
        if (found := _enclosing(low, high, size * times))[2] - found[1] < most
    )
    decimals = max(0, -floor(log10(step) + 1e-9))
    ticks = [step * nth for nth in range(first, last + 1)]
    return ticks, [f"{abs(tick) if round(tick, decimals) == 0 else tick:.{decimals}f}" for tick in ticks]


def _enclosing(low: float, high: float, step: float) -> tuple[float, int, int]:
    return step, floor(low / step + 1e-9), ceil(high / step - 1e-9)


def month_ticks(first: datetime, last: datetime, most: int) -> list[tuple[datetime, str]]:
    """Return the beginnings of months between two moments, at most so many (at least one), with how each is written.

    They are 1, 2, 3, 6 or 12 months apart or whole years, counted from January: "Mar 25". None may lie between.
    """
    months = list(_first_days(local_day(first), local_day(last)))
    for apart in _MONTHS:
        found = [day for day in months if (day.year * 12 + day.month - 1) % apart == 0]
        if len(found) <= max(1, most):
            break
    return [(at, month_written(day)) for day in found if first <= (at := midnight(day)) <= last]


def _first_days(first: date, last: date) -> Sequence[date]:
    found, day = [], first.replace(day=1)
    while day <= last:
        found.append(day)
        day = (day + timedelta(days=32)).replace(day=1)
    return found


def month_written(day: date) -> str:
    """Return the month of a day as an axis has it: "Mar 25"."""
    return f"{_NAMES[day.month - 1]} {day.year % 100:02}"

"""A figure between its readings: what they show together, and how sure it is at every moment.

The figure is taken to wander, by as much as its own readings show it does, and each reading to have its error; what
hands added lifts it there and then. Estimated forwards and then backwards, so that a moment is judged by the readings
after it too (Rauch, Tung and Striebel (1965), AIAA Journal 3, 1445-1450).
"""

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

_UNSETTLED = 0.3
"""What stays of an addition is not known better than to so much of it (common practice, no source)."""


class KnownOn(NamedTuple):
    """A figure at a time [days]: its value, and one standard deviation of it."""

    day: float
    value: float
    doubt: float


class Lifted(NamedTuple):
    """What a hand added to a figure at a time [days]."""

    day: float
    by: float


class _Step(NamedTuple):
    day: float
    expected: float  # before the reading
    expected_var: float
    value: float  # after it
    var: float


def smoothed(
    readings: Sequence[KnownOn], lifted: Sequence[Lifted], days: Sequence[float], wander: float
) -> list[KnownOn]:
    """Return the figure on each of `days` (ascending, none before the first reading), by all its readings.

    `wander` is the variance that a day adds [unit squared], at the least: where the readings wander more, so much.
    Readings and additions are oldest first; without readings nothing is returned.
    """
    if not readings:
        return []
    rate = max(wander, wander_of(readings, lifted))
    steps = _forwards(readings, lifted, days, rate)
    value, var, found = steps[-1].value, steps[-1].var, {}
    for at in range(len(steps) - 1, -1, -1):
        step = steps[at]
        if at < len(steps) - 1:
            after = steps[at + 1]
            gain = step.var / after.expected_var if after.expected_var > 0 else 0.0
            value = step.value + gain * (value - after.expected)
            var = step.var + gain**2 * (var - after.expected_var)
        found[step.day] = KnownOn(step.day, value, max(0.0, var) ** 0.5)
    return [found[day] for day in days]


def _forwards(readings: Sequence[KnownOn], lifted: Sequence[Lifted], days: Sequence[float], rate: float) -> list[_Step]:
    by_day: dict[float, list[KnownOn]] = {day: [] for day in days}
    for read in readings:
        by_day.setdefault(read.day, []).append(read)
    first, steps = readings[0], []
    day, value, var = first.day, first.value, first.doubt**2
    for now in sorted(moment for moment in by_day if moment >= first.day):
        expected, expected_var = _waits(value, var, day, now, lifted, rate)
        value, var = expected, expected_var
        for read in by_day[now]:
            if read is not first:
                value, var = _reads(value, var, read)
        steps.append(_Step(now, expected, expected_var, value, var))
        day = now
    return steps


def _waits(
    value: float, var: float, day: float, now: float, lifted: Sequence[Lifted], rate: float
) -> tuple[float, float]:
    for lift in lifted:
        if day < lift.day <= now:
            value, var = value + lift.by, var + (_UNSETTLED * lift.by) ** 2
    return value, var + rate * (now - day)


def _reads(value: float, var: float, read: KnownOn) -> tuple[float, float]:
    gain = var / (var + read.doubt**2) if var + read.doubt**2 > 0 else 0.0
    return value + gain * (read.value - value), var * (1 - gain)


def wander_of(readings: Sequence[KnownOn], lifted: Sequence[Lifted] = ()) -> float:
    """Return what readings wander a day beyond their errors and additions [unit squared]; never less than none."""
    squares = days = 0.0
    for before, after in pairwise(readings):
        by = sum(lift.by for lift in lifted if before.day < lift.day <= after.day)
        error = before.doubt**2 + after.doubt**2 + (_UNSETTLED * by) ** 2
        squares += (after.value - before.value - by) ** 2 - error
        days += after.day - before.day
    return max(0.0, squares / days) if days > 0 else 0.0

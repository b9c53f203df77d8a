"""The weeks ahead in which all limits of a definition hold: drawn courses of what each limit is on, counted.

Courses of one barrel are drawn together: what is tasted by its curve, with what errors of different attributes have in
common; figures of the book by how they age, high ones staying high. The seed is fixed, so that a look twice at one
book shows the same.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

from cooperage.programme.ready.looks import WEEKS
from cooperage.programme.ready.mixed import Floats
from cooperage.programme.ready.pulling import LATEST_LOOK, SOONEST_LOOK, Flags, best_week, week_to_look, weeks_off

DRAWS = 1000
PAST_STEP = 4
"""Weeks from one moment looked back at to the next."""
NEVER = WEEKS + 1
"""Stands for a week beyond those looked at."""
_INTERVALS = (0.5, 0.8)
_JITTER = 1e-9


@dataclass(frozen=True)
class Expected:
    """What one limit's figure is expected to be at the moments: mean (k,), covariance (k, k), and where it must lie."""

    name: str
    mean: Floats
    covariance: Floats
    least: float
    most: float
    is_figure: bool = False


@dataclass(frozen=True, slots=True)
class WindowAhead:
    """When all limits hold, in weeks from now.

    `chance` is that for each week, 0 to `WEEKS`. `first` and `last` are the first and the last week with the chance
    that was asked for; None where there is none, and `last` of a window still open is `WEEKS`. `middle` is the middle
    of the week in which they first hold, `becomes` are its low and high ends 50 and 80 times in 100; `NEVER` is later
    than can be seen. `passed` is the chance that the time for it is over. `pull` is the week that is least off
    the window on average, 0 where waiting is not worth another look. `look` is the week of the next look, after the
    last one: it may be past. `holds_now` is the chance of each limit by itself.
    """

    chance: tuple[float, ...]
    first: int | None
    last: int | None
    middle: int
    becomes: tuple[tuple[int, int], tuple[int, int]]
    passed: float
    pull: int
    look: float
    holds_now: tuple[float, ...]


@dataclass(frozen=True)
class Moments:
    """Moments in weeks from now: coarse ones of this fill, then each week from the last look on.

    `look` is the place of the last look, `now` that of now.
    """

    weeks: Floats
    look: int
    now: int


def moments(days_in_wood: float, days_since_look: float) -> Moments:
    """Return the moments to draw: this fill so far, a year at most, and `WEEKS` ahead.

    Where a fill was never looked at, it began with its last look.
    """
    looked = min(WEEKS, int(min(days_since_look, days_in_wood) // 7))
    longest = min(WEEKS, int(days_in_wood // 7))
    past = np.arange(-longest, -looked, PAST_STEP, dtype=np.float64)
    return Moments(np.concatenate([past, np.arange(-float(looked), WEEKS + 1)]), len(past), len(past) + looked)


def ahead_of(
    expected: Sequence[Expected],
    at: Moments,
    *,
    wanted: float,
    risk: float,
    alike: Floats | None = None,
    seed: str = "",
) -> WindowAhead:
    """Count drawn courses of what several limits are on, at `at`.

    `wanted` is the chance of a window, `risk` that of missing its end. `alike` is the correlation of the errors of what
    is expected, of shape (limits, limits).
    """
    holds = np.ones((DRAWS, len(at.weeks)), dtype=bool)
    over = np.zeros(DRAWS, dtype=bool)
    single = []
    for each, courses in zip(expected, _courses(expected, alike, seed), strict=True):
        own = (courses >= each.least) & (courses <= each.most)
        holds &= own
        single.append(float(own[:, at.now].mean()))
        over |= courses[:, at.now :].min(axis=1) > each.most
    chance, ever = holds[:, at.now :].mean(axis=0), holds[:, at.now :].any(axis=1)
    onset = np.where(ever, holds[:, at.now :].argmax(axis=1), NEVER)
    good = np.flatnonzero(chance >= wanted)
    off = weeks_off(holds, over, at.weeks)
    return WindowAhead(
        tuple(float(each) for each in chance),
        int(good[0]) if len(good) else None,
        _end_of_run(good) if len(good) else None,
        _quantile(onset, 0.5),
        _intervals(onset),
        float((~ever & (holds[:, : at.now].any(axis=1) | over)).mean()),
        best_week(off[:, at.now :]),
        float(at.weeks[at.look] + _weeks_to_look(holds, over, off, at.look, risk)),
        tuple(single),
    )


def _weeks_to_look(holds: Flags, over: Flags, off: Floats, look: int, risk: float) -> int:
    """Return how many weeks after the last look to look again.

    That is where a look is worth most, and before the time for it is over with more than the risk. What is best pulled
    at once waits for no look but that.
    """
    since = holds[:, look:]
    weeks, ever = since.shape[1], since.any(axis=1)
    ends = np.where(ever, weeks - 1 - since[:, ::-1].argmax(axis=1), NEVER + weeks)
    ends = np.where(ends == weeks - 1, NEVER + weeks, ends)
    ends = np.where(~ever & (holds[:, :look].any(axis=1) | over), -1, ends)
    was_over = float((ends < 0).mean())
    safe = max(week for week in range(weeks) if float((ends < week).mean()) - was_over <= risk)
    worth = week_to_look(off, holds, over, look) if best_week(off[:, look:]) else LATEST_LOOK
    return max(SOONEST_LOOK, min(worth, safe))


def _courses(expected: Sequence[Expected], alike: Floats | None, seed: str) -> list[Floats]:
    """Return drawn courses of each, of shape (draws, moments); half of them mirror the others."""
    rng, count = np.random.default_rng(crc32(seed.encode())), len(expected)
    longest = max((len(each.mean) for each in expected), default=0)
    half = rng.standard_normal((DRAWS // 2, longest, count))
    if alike is not None and count:
        half = half @ np.linalg.cholesky(alike).T
    drawn = np.concatenate([half, -half])
    found = []
    for place, each in enumerate(expected):
        if each.is_figure:  # one that is high now is high later
            spread = np.sqrt(np.maximum(np.diagonal(each.covariance), 0.0))
            found.append(each.mean + drawn[:, :1, place] * spread)
        else:
            found.append(each.mean + drawn[:, :, place] @ _root(each.covariance).T)
    return found


def _root(covariance: Floats) -> Floats:
    """Return a square root of a covariance, to what rounding may have taken from it."""
    size = len(covariance)
    least = _JITTER * float(np.trace(covariance)) / size + _JITTER**2
    return np.asarray(np.linalg.cholesky(covariance + least * np.eye(size)))


def _end_of_run(good: NDArray[np.intp]) -> int:
    """Return the last of the weeks that follow the first without a gap of more than a month."""
    gaps = np.flatnonzero(np.diff(good) > 4)
    return int(good[gaps[0]] if len(gaps) else good[-1])


def _intervals(onset: NDArray[np.int_]) -> tuple[tuple[int, int], tuple[int, int]]:
    """Return the shortest run of weeks that holds 80 of 100 courses, and within it that which holds 50; 50 first.

    Much of what is likely may lie in one week: ready today, or later than can be seen. Ends with equal tails outside
    would take that week in whole where the half of it was asked for, and hold the truth far too often.
    """
    counted, middle = np.bincount(onset, minlength=NEVER + 1), _quantile(onset, 0.5)
    wide = _shortest(counted, (0, NEVER), middle, _INTERVALS[1])
    return _shortest(counted, wide, middle, _INTERVALS[0]), wide


def _shortest(counted: NDArray[np.intp], within: tuple[int, int], middle: int, probability: float) -> tuple[int, int]:
    """Return the ends of the shortest run of weeks about a middle that holds so much; of several the likeliest."""
    before = np.concatenate([[0], counted.cumsum()])
    wanted = math.ceil(probability * counted.sum())
    runs = []
    for low in range(within[0], middle + 1):
        high = max(middle, int(np.searchsorted(before, before[low] + wanted)) - 1)
        if high <= within[1]:
            runs.append((high - low, -int(before[high + 1] - before[low]), low, high))
    _, _, low, high = min(runs)
    return low, high


def _quantile(onset: NDArray[np.int_], share: float) -> int:
    return int(np.quantile(onset, share, method="inverted_cdf"))

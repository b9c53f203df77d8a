"""How a fermentation goes on: the curve through its readings, where it ends and when, each with its band.

After a lag the gravity falls steadily while there is plenty to eat, and ever more slowly as it runs out: dr/dt = -k r /
(r + h) for what is left of the way, the law of Michaelis and Menten (1913) in its closed form (Schnell and Mendoza,
J. Theor. Biol. 187:207-212 (1997)). Beforehand each of the four (end, days, lag, tail) is expected near what must and
yeast give, or what the cellar's own fermentations came to (`Habit`); readings then weigh the points of a grid, so that
nothing is drawn at random. A fermentation strays from the form for days on end, and that is allowed for.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log, sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from cooperage.programme.batches.gravities import Normal, Took

Floats = NDArray[np.float64]

STRAYS, STRAYS_DAYS = 0.04, 3.0
"""How far a fermentation strays from the form half way down [share of the way], and for how many days (common practice,
no source)."""
_NODES = np.array([-1.0, 0.0, 1.0]) * 3**0.5  # of Gauss and Hermite, for a normal spread
_NODE_WEIGHTS = np.array([1.0, 4.0, 1.0]) / 6.0
END_STRAYS = 0.2
"""How far the day it ends lies from the form's, whatever was read [of the days] (common practice, no source)."""
ENDED = 0.003
"""A fermentation has ended when it is within so much of its last gravity [SG] (common practice, no source)."""
_POINTS = (33, 27, 9, 9)
_WIDE = 3.0
_LEAST_LEFT = 1e-4
_NEAR = 0.04
"""It strays no less near its beginning and its end than with so much of the way done, or left."""


class Shape(NamedTuple):
    """One fermentation's curve: last gravity [SG], days of the steady fall, days of lag, tail [share of the way]."""

    end: float
    days: float
    lag: float
    tail: float


@dataclass(frozen=True, slots=True)
class Habit:
    """What is expected of a fermentation before it is read, from the cellar's own past ones and common practice.

    `above` is by how much the last gravity lies above what must and yeast would give [SG]; the others are logarithms
    of the curve's days, lag and tail. `lots` is from how many of the cellar's own fermentations that comes.
    """

    above: Normal
    days: Normal
    lag: Normal
    tail: Normal
    lots: int = 0


USUAL = Habit(Normal(0.0, 0.0), Normal(log(9.0), 0.6), Normal(log(1.5), 0.6), Normal(log(0.25), 0.6))
"""What is expected where the cellar has no ended fermentation of its own (common practice, no source)."""


class Banded(NamedTuple):
    """A figure with the band in which it lies 50 and 80 times of 100."""

    middle: float
    low50: float
    high50: float
    low80: float
    high80: float

    def covers(self, value: float, share: int) -> bool:
        """Return True if a value lies in the band of 50 or of 80 times of 100."""
        low, high = (self.low50, self.high50) if share == 50 else (self.low80, self.high80)
        return low <= value <= high


class FermentCurve:
    """The curve through the readings of a fermentation, as a grid of curves with what each weighs."""

    def __init__(self, original: float, took: Sequence[Took], end: Normal, habit: Habit = USUAL) -> None:
        """Fit it: `original` is the first gravity [SG], `end` where must and yeast would end, with its deviation.

        Readings before the pitching are left out; with none the curve is what is expected beforehand.
        """
        self.original = original
        self.took = [each for each in took if each.day > 0.0]
        self.expected = Normal(end.mean + habit.above.mean, sqrt(end.sd**2 + habit.above.sd**2))
        ends = _points(self.expected, _POINTS[0])
        ends = ends[ends < original - 2 * ENDED]
        self._ends = ends if ends.size else np.array([original - 2 * ENDED])
        logs = [_points(known, count) for known, count in zip(_logs(habit), _POINTS[1:], strict=True)]
        self._days, self._lag, self._tail = (np.exp(each) for each in logs)
        weights = _prior(self._ends, self.expected)[:, None, None, None]
        for place, (known, points) in enumerate(zip(_logs(habit), logs, strict=True)):
            shape = [1, 1, 1, 1]
            shape[place + 1] = points.size
            weights = weights + _prior(points, known).reshape(shape)
        weights = weights + self._likelihood()
        weights = np.exp(weights - weights.max())
        self._weights: Floats = weights / weights.sum()

    def _likelihood(self) -> Floats:
        if not self.took:
            return np.zeros((1, 1, 1, 1))
        off = np.stack([each.sg - self._at(each.day) for each in self.took])
        days = np.array([each.day for each in self.took])
        way = self.original - self.expected.mean
        left = np.clip([(each.sg - self.expected.mean) / way for each in self.took], _NEAR, 1.0 - _NEAR)
        strays = STRAYS * way * 2.0 * np.sqrt(left * (1.0 - left))
        together = np.exp(-np.abs(days[:, None] - days[None, :]) / STRAYS_DAYS)
        errors = np.outer(strays, strays) * together + np.diag([each.sd**2 for each in self.took])
        white = np.linalg.solve(np.linalg.cholesky(errors), off.reshape(len(days), -1))
        likelihood: Floats = -0.5 * (white**2).sum(axis=0).reshape(off.shape[1:])
        return likelihood

    def _at(self, day: float) -> Floats:
        steps = np.maximum(0.0, day - self._lag)[None, :] / self._days[:, None]  # of the steady fall
        left = np.stack([_left(steps, tail) for tail in self._tail], axis=-1)
        falling: Floats = self._ends[:, None, None, None] + (self.original - self._ends)[:, None, None, None] * left
        return falling

    def gravity(self, day: float) -> Banded:
        """Return the gravity on a day [SG]; what a reading would show, but for its own error."""
        return _span(self._at(max(0.0, day)), self._weights)

    def end(self) -> Banded:
        """Return the last gravity [SG]."""
        return _span(np.broadcast_to(self._ends[:, None, None, None], self._weights.shape), self._weights)

    def end_day(self) -> Banded:
        """Return the day since pitching on which it has come as near its last gravity as `ENDED`."""
        left = (ENDED / (self.original - self._ends))[:, None, None, None]
        tail = self._tail[None, None, None, :]
        steps = 1.0 - left - tail * np.log(left)
        days = self._lag[None, None, :, None] + self._days[None, :, None, None] * steps
        spread = np.exp(END_STRAYS * _NODES)[:, None, None, None, None]
        weights = _NODE_WEIGHTS[:, None, None, None, None] * self._weights
        return _span(days * spread, weights)

    def shape(self) -> Shape:
        """Return the curve that the readings weigh as the middle one."""
        over = self._weights
        end = float((over.sum(axis=(1, 2, 3)) * self._ends).sum())
        days = float((over.sum(axis=(0, 2, 3)) * np.log(self._days)).sum())
        lag = float((over.sum(axis=(0, 1, 3)) * np.log(self._lag)).sum())
        tail = float((over.sum(axis=(0, 1, 2)) * np.log(self._tail)).sum())
        return Shape(end, exp(days), exp(lag), exp(tail))


def _logs(habit: Habit) -> tuple[Normal, Normal, Normal]:
    return habit.days, habit.lag, habit.tail


def _left(steps: Floats, tail: float) -> Floats:
    """Return what is left of the way after so many `steps`, each as long as the whole way at the steady pace."""
    left = np.geomspace(_LEAST_LEFT, 1.0, 200)[::-1]
    taken = 1.0 - left - tail * np.log(left)
    found: Floats = np.interp(steps, taken, left)
    return found


def _points(known: Normal, count: int) -> Floats:
    return np.linspace(known.mean - _WIDE * known.sd, known.mean + _WIDE * known.sd, count)


def _prior(points: Floats, known: Normal) -> Floats:
    if known.sd <= 0.0:
        return np.zeros_like(points)
    density: Floats = -0.5 * ((points - known.mean) / known.sd) ** 2
    return density


def _span(values: Floats, weights: Floats) -> Banded:
    flat, weighed = values.ravel(), weights.ravel()
    heavy = weighed > weighed.max() * 1e-9
    flat, weighed = flat[heavy], weighed[heavy]
    order = np.argsort(flat)
    flat, weighed = flat[order], weighed[order]
    below = np.cumsum(weighed) - weighed / 2.0
    at = np.interp([0.5, 0.25, 0.75, 0.1, 0.9], below / weighed.sum(), flat)
    return Banded(*(float(each) for each in at))


# --- what the cellar's own fermentations came to ----------------------------------------------------------------------

_PRIOR_LOTS = 3.0
"""What common practice counts beside the cellar's own fermentations: as so many of them."""


@dataclass(frozen=True, slots=True)
class Came:
    """A fermentation that ended: its curve, and by how much its last gravity lay above what must and yeast gave."""

    shape: Shape
    above: float


def habit_of(past: Sequence[Came], before: Habit = USUAL) -> Habit:
    """Return what is expected of the next fermentation by those that ended, pooled with what is usual."""
    if not past:
        return before
    return Habit(
        _pooled([each.above for each in past], before.above),
        _pooled([log(each.shape.days) for each in past], before.days),
        _pooled([log(each.shape.lag) for each in past], before.lag),
        _pooled([log(each.shape.tail) for each in past], before.tail),
        len(past),
    )


def _pooled(values: Sequence[float], before: Normal) -> Normal:
    """Return mean and spread of the next value: the values', with what is usual as `_PRIOR_LOTS` more of them."""
    count = len(values)
    mean = (_PRIOR_LOTS * before.mean + sum(values)) / (_PRIOR_LOTS + count)
    scatter = _PRIOR_LOTS * before.sd**2 + sum((value - mean) ** 2 for value in values)
    return Normal(mean, sqrt(scatter / (_PRIOR_LOTS + count)))

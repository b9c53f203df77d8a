"""How a fermentation goes on: the curve through its readings, where it ends and when, each with its band.

After a lag the gravity falls steadily while there is plenty to eat, and ever more slowly as it runs out and as alcohol
rises: dr/dt = -k r / (r + h) (1 - s (1 - r)) for what is left of the way. The first factor is the law of Michaelis and
Menten (1913), the second that of Levenspiel (Biotechnol. Bioeng. 22:1671 (1980); from memory) with an exponent of 1;
together they have a closed form for the time, by parts of fractions. Beforehand end, days, lag and tail are expected
near what must and yeast give, or what the cellar's own fermentations came to (`Habit`). Readings then weigh the points
of a grid, laid twice, the second time where the first was heavy; over each point the end is a normal distribution, for
gravity is a straight line of it. Nothing is drawn at random. A fermentation strays from the form for days on end, and a
hydrometer reads wrong by as much all along; both are allowed for.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log, sqrt
from statistics import NormalDist
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from cooperage.programme.batches.gravities import Normal, Took

Floats = NDArray[np.float64]

STRAYS, STRAYS_DAYS = 0.06, 3.0
"""How far a fermentation strays from the form half way down [share of the way], and for how many days (common practice,
no source)."""
BIAS = 0.0008
"""How far wrong a hydrometer reads all along [SG] (common practice, no source)."""
AHEAD_STRAYS, READ_STRAYS = 0.3, 0.14
"""How far the days that are still to come, and those that were read, lie from the form's [of them] (common practice, no
source)."""
ENDED = 0.003
"""A fermentation has ended when it is within so much of its last gravity [SG] (common practice, no source)."""
_NODES = np.array([NormalDist().inv_cdf((nth + 0.5) / 15) for nth in range(15)])  # equally likely steps of a normal
_FEW_NODES = np.array([NormalDist().inv_cdf((nth + 0.5) / 7) for nth in range(7)]) * 1.097  # of deviation 1
_SLOWINGS = np.array([0.0, 0.4, 0.75, 0.95])
"""By how much alcohol slows it at the end [share], each as likely."""
_POINTS = (25, 7, 9)  # of days, lag and tail
_WIDE = 3.0
_LEAST_LEFT = 1e-4
_NEAR = 0.01
"""It strays no less near its beginning and its end than with so much of the way done, or left."""
_BINS = 400


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


USUAL = Habit(Normal(0.0, 0.0), Normal(log(6.0), 0.6), Normal(log(1.5), 0.6), Normal(log(0.2), 0.7))
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
        self.expected = Normal(end.mean + habit.above.mean, max(1e-4, sqrt(end.sd**2 + habit.above.sd**2)))
        self._known = habit.days, habit.lag, habit.tail
        self._lay([_points(each, count) for each, count in zip(self._known, _POINTS, strict=True)])
        self._lay([_points(self._around(nth), count) for nth, count in enumerate(_POINTS)])

    def _lay(self, logs: Sequence[Floats]) -> None:
        """Lay the grid over logarithms of days, lag and tail, and weigh its points."""
        self._logs = logs
        self._days, self._lag, self._tail = (np.exp(each) for each in logs)
        self._weigh()

    def _weigh(self) -> None:
        weights = np.zeros((*(each.size for each in self._logs), _SLOWINGS.size))
        for place, (known, points) in enumerate(zip(self._known, self._logs, strict=True)):
            weights += _prior(points, known).reshape([-1 if axis == place else 1 for axis in range(4)])
        precision = np.full_like(weights, self.expected.sd**-2)
        self._end: Floats = np.full_like(weights, self.expected.mean)
        if self.took:
            lefts = np.stack([self._left(each.day) for each in self.took])
            taken, off = self._white(1.0 - lefts), self._white(self._unlike(lefts))
            precision = precision + (taken**2).sum(axis=0)
            moved = (taken * off).sum(axis=0) / precision
            self._end += moved
            weights = weights - 0.5 * ((off**2).sum(axis=0) - moved**2 * precision + np.log(precision))
        self._end_sd: Floats = precision**-0.5
        weights = np.exp(weights - weights.max())
        self._weights: Floats = weights / weights.sum()

    def _unlike(self, lefts: Floats) -> Floats:
        """Return how far the readings lie above each curve that ends where it is expected [SG]."""
        read = np.array([each.sg for each in self.took]).reshape(-1, 1, 1, 1, 1)
        unlike: Floats = read - self.expected.mean - (self.original - self.expected.mean) * lefts
        return unlike

    def _white(self, values: Floats) -> Floats:
        """Return values of the readings in deviations that have nothing in common."""
        days = np.array([each.day for each in self.took])
        way = self.original - self.expected.mean
        left = np.clip([(each.sg - self.expected.mean) / way for each in self.took], _NEAR, 1.0 - _NEAR)
        strays = STRAYS * way * 2.0 * np.sqrt(left * (1.0 - left))
        together = np.exp(-np.abs(days[:, None] - days[None, :]) / STRAYS_DAYS)
        errors = np.outer(strays, strays) * together + BIAS**2 + np.diag([each.sd**2 for each in self.took])
        white = np.linalg.solve(np.linalg.cholesky(errors), values.reshape(days.size, -1))
        return np.asarray(white.reshape(values.shape), dtype=np.float64)

    def _around(self, place: int) -> Normal:
        """Return where the weight of an axis of the grid lies: never beyond what it was laid over."""
        logs, held = self._logs[place], self._weights.sum(axis=tuple(axis for axis in range(4) if axis != place))
        mean = float((held * logs).sum())
        step = float(logs[1] - logs[0]) if self._known[place].sd > 0.0 else 0.0
        return Normal(mean, min(self._known[place].sd, sqrt(float((held * (logs - mean) ** 2).sum()) + step**2 / 12.0)))

    def _left(self, day: float) -> Floats:
        """Return what is left of the way on a day, at each point of the grid."""
        steps = np.maximum(0.0, day - self._lag)[None, :] / self._days[:, None]  # of the steady fall
        left = np.geomspace(_LEAST_LEFT, 1.0, 200)[::-1]
        lefts = [
            np.stack([np.interp(steps, _taken(left, tail, slowing), left) for slowing in _SLOWINGS], axis=-1)
            for tail in self._tail
        ]
        return np.stack(lefts, axis=-2)

    def gravity(self, day: float) -> Banded:
        """Return the gravity on a day [SG]; what a reading would show, but for its own error."""
        left = self._left(max(0.0, day))[..., None]
        return self._span(self.original * left + self._ends() * (1.0 - left))

    def end(self) -> Banded:
        """Return the last gravity [SG]."""
        return self._span(self._ends())

    def _ends(self) -> Floats:
        ends = self._end[..., None] + self._end_sd[..., None] * _FEW_NODES
        return np.minimum(ends, self.original - 2 * ENDED)

    def _span(self, values: Floats) -> Banded:
        return _span(values, np.broadcast_to(self._weights[..., None], values.shape))

    def end_day(self) -> Banded:
        """Return the day since pitching on which it has come as near its last gravity as `ENDED`."""
        left = ENDED / (self.original - self._ends())
        steps = _taken(left, self._tail[:, None, None], _SLOWINGS[:, None])
        days = self._lag[:, None, None, None] + self._days[:, None, None, None, None] * steps
        weights = np.broadcast_to(self._weights[..., None], days.shape)
        logs, held = _binned(np.log(days), weights)
        form, last = np.exp(logs)[:, None], max((each.day for each in self.took), default=0.0)
        ahead = np.maximum(0.0, form - last)
        strayed = (form - ahead) * np.exp(READ_STRAYS * _NODES) + ahead * np.exp(AHEAD_STRAYS * _NODES)
        return _span(strayed, np.broadcast_to(held[:, None], strayed.shape))

    def shape(self) -> Shape:
        """Return the curve that the readings weigh as the middle one."""
        days, lag, tail = (self._around(nth).mean for nth in range(3))
        return Shape(float((self._weights * self._end).sum()), exp(days), exp(lag), exp(tail))


def _taken(left: Floats, tail: Floats | float, slowing: Floats | float) -> Floats:
    """Return the steps until so much of the way is left, each as long as the whole way at the steady pace."""
    pace = 1.0 - slowing
    slows = np.maximum(slowing, 1e-9)  # which leaves the limit for none
    taken: Floats = -tail / pace * np.log(left) - (1.0 - tail * slows / pace) * np.log1p(-slows * (1.0 - left)) / slows
    return taken


def _points(known: Normal, count: int) -> Floats:
    return np.linspace(known.mean - _WIDE * known.sd, known.mean + _WIDE * known.sd, count)


def _prior(points: Floats, known: Normal) -> Floats:
    if known.sd <= 0.0:
        return np.zeros_like(points)
    density: Floats = -0.5 * ((points - known.mean) / known.sd) ** 2
    return density


def _binned(values: Floats, weights: Floats) -> tuple[Floats, Floats]:
    """Return the middles of bins and what each weighs."""
    held, edges = np.histogram(values, bins=_BINS, weights=weights)
    return (edges[:-1] + edges[1:]) / 2.0, held


def _span(values: Floats, weights: Floats) -> Banded:
    flat, weighed = values.ravel(), weights.ravel()
    heavy = weighed > weighed.max() * 1e-6
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

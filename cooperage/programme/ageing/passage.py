"""What a stretch of time does to a figure, and to how sure it is: one calculation for one vessel or arrays of them.

`maths` is the module whose exponential is taken: NumPy's where arrays are given.
"""

import math
from types import ModuleType
from typing import Any, NamedTuple, TypeAlias

from cooperage.programme.ageing.models import MONTH, Ageing

_MOST_TAKEN = 0.5
"""Racking takes at most this share of what there is, though little is there (common practice, no source)."""
_UNSETTLED = 0.5  # doubt of what was just added, as a share of it, until it has bound (common practice, no source)


Number: TypeAlias = Any
"""A float, or an array of shape (n,)."""


class Stretch(NamedTuple):
    """A stretch of time: what there was is multiplied by `kept` and ages `age` days, `added` ages `added_age` days.

    Of both, `racked` rackings took their part `racked_age` days ago, and what evaporated changed it `by_air`. What goes
    to the room's temperature `nears` it, which is doubtful by one standard deviation, `nears_doubt`. Floats, or arrays
    of one shape.
    """

    kept: Number
    age: Number
    added: Number
    added_age: Number
    racked: Number
    racked_age: Number
    by_air: Number
    nears: Number = 0.0
    nears_doubt: Number = 0.0


class AirDrift(NamedTuple):
    """What a room's air does to a barrel, as means of the year.

    `strength` is what it adds to that [% vol a day], `richer` by what share a day what stays behind grows.
    """

    strength: float = 0.0
    richer: float = 0.0

    def of(self, ageing: Ageing, value: float) -> float:
        """Return how much it changes a figure a day, where it is `value` now."""
        return self.strength if ageing.leaves_by_air else self.richer * value if ageing.grows_richer else 0.0


NO_DRIFT = AirDrift()


class Moved(NamedTuple):
    """The figure after a stretch, and how that moves with the figure before, the rate and what is usual of hands."""

    value: Number
    by_value: Number
    by_rate: Number
    by_share: Number
    by_takes: Number


def moved(
    ageing: Ageing,
    stretch: Stretch,
    value: Number,
    rate: Number,
    share: float,
    takes: float,
    maths: ModuleType = math,
) -> Moved:
    """Let a stretch of time pass: what there was and what was added each age by the vessel's rate, racking takes some.

    `share` is that of additions that is found, `takes` what one racking takes.
    """
    kept, age, added, added_age, racked, racked_age, by_air, nears, _ = stretch
    if ageing.fades:
        a_day = maths.exp(rate * (rate < 0))
        left, added_left = kept * maths.exp(-a_day * age), added * maths.exp(-a_day * added_age)
        taken_left = racked * maths.exp(-a_day * racked_age)  # what a racking took would have aged as well
        there = value * left + share * added_left
        by_rate = -a_day * (age * value * left + added_age * share * added_left)
        if ageing.to_room:
            there, by_rate = there + nears * (1 - left), by_rate + a_day * age * nears * left
    else:
        left, added_left, taken_left, by_rate = kept, added, racked, age
        there = kept * value + share * added + rate * age + by_air
    taken = _least(takes * taken_left, _MOST_TAKEN * there * (there > 0))
    return Moved(there - taken, left, by_rate, added_left, -taken_left)


def _least(a: Number, b: Number) -> Number:
    return a + (b - a) * (b < a)


class Doubt(NamedTuple):
    """Variances of a figure and of its rate, and their covariance."""

    vv: Number
    vr: Number
    rr: Number


class Varies(NamedTuple):
    """How much differs from one time to the next, as standard deviations.

    `wander` is what else happens in a month, `rate_varies` is of the rate from one stretch to the next, `takes_varies`
    of what racking takes from one racking to the next.
    """

    wander: float
    rate_varies: float
    takes_varies: float


def doubt_after(ageing: Ageing, stretch: Stretch, to: Moved, doubt: Doubt, varies: Varies) -> Doubt:
    """Return the doubt after a stretch: what was there carried on, and what else happens in the time added."""
    is_open = (stretch.added > 0) * (stretch.added_age < ageing.settles)
    of_share = is_open * _UNSETTLED + (1 - is_open) * ageing.stays_doubt
    vv = to.by_value**2 * doubt.vv + 2 * to.by_value * to.by_rate * doubt.vr + to.by_rate**2 * doubt.rr
    vv = vv + (of_share * to.by_share) ** 2
    vv = vv + besides(ageing, stretch.age, to.by_value, varies.wander, stretch.nears_doubt)
    vv = vv + (varies.rate_varies * to.by_rate) ** 2 + _of_rackings(stretch.racked, varies.takes_varies * to.by_takes)
    return Doubt(vv, to.by_value * doubt.vr + to.by_rate * doubt.rr, doubt.rr)


def besides(ageing: Ageing, days: Number, left: Number, wander: float, nears_doubt: Number) -> Number:
    """Return the variance of what else happens in some days; what is `left` of a figure has not gone to its room yet.

    Where a figure ends wanders about the room's temperature, which is doubtful itself.
    """
    if ageing.to_room:
        gone = (1 - left) * (left < 1)
        return wander**2 * gone * (1 + left) + (nears_doubt * gone) ** 2
    return wander**2 * days / MONTH


def _of_rackings(racked: Number, of_all: Number) -> Number:
    """Return the variance of what rackings took: each varies by itself, a part of one by that part of it."""
    is_several = racked > 1
    return of_all**2 / (is_several * racked + (1 - is_several))

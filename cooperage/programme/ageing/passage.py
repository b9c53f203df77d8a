"""What a stretch of time does to a figure, and to how sure it is: one calculation for one vessel or arrays of them.

`maths` is the module whose exponential is taken: NumPy's where arrays are given.
"""

import math
from types import ModuleType
from typing import Any, NamedTuple, TypeAlias

from cooperage.programme.ageing.models import MONTH, Ageing

_UNSETTLED = 0.5  # doubt of what was just added, as a share of it, until it has bound (common practice, no source)


Number: TypeAlias = Any
"""A float, or an array of shape (n,)."""


class Stretch(NamedTuple):
    """A stretch of time: what there was is multiplied by `kept` and ages `age` days, `added` ages `added_age` days.

    Floats, or arrays of one shape.
    """

    kept: Number
    age: Number
    added: Number
    added_age: Number


class Moved(NamedTuple):
    """The figure after a stretch, and how that moves with the figure before, the rate and the share that is found."""

    value: Number
    by_value: Number
    by_rate: Number
    by_share: Number


def moved(
    ageing: Ageing, stretch: Stretch, value: Number, rate: Number, share: float, maths: ModuleType = math
) -> Moved:
    """Let a stretch of time pass: what there was and what was added each age by the vessel's rate."""
    kept, age, added, added_age = stretch
    if not ageing.fades:
        return Moved(kept * value + share * added + rate * age, kept, age, added)
    a_day = maths.exp(rate * (rate < 0))
    left, added_left = kept * maths.exp(-a_day * age), added * maths.exp(-a_day * added_age)
    by_rate = -a_day * (age * value * left + added_age * share * added_left)
    return Moved(value * left + share * added_left, left, by_rate, added_left)


class Doubt(NamedTuple):
    """Variances of a figure and of its rate, and their covariance."""

    vv: Number
    vr: Number
    rr: Number


def doubt_after(ageing: Ageing, stretch: Stretch, to: Moved, doubt: Doubt, wander: float, rate_varies: float) -> Doubt:
    """Return the doubt after a stretch: what was there carried on, and what else happens in the time added.

    `wander` is one standard deviation of that in a month, `rate_varies` of the rate from one stretch to the next.
    """
    is_open = (stretch.added > 0) * (stretch.added_age < ageing.settles)
    of_share = is_open * _UNSETTLED + (1 - is_open) * ageing.stays_doubt
    vv = to.by_value**2 * doubt.vv + 2 * to.by_value * to.by_rate * doubt.vr + to.by_rate**2 * doubt.rr
    vv = vv + (of_share * to.by_share) ** 2 + wander**2 * stretch.age / MONTH + (rate_varies * to.by_rate) ** 2
    return Doubt(vv, to.by_value * doubt.vr + to.by_rate * doubt.rr, doubt.rr)

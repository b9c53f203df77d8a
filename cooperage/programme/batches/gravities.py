"""Gravities of a fermentation, and whether it stands still while there is sugar left: plain arithmetic, no arrays."""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import NamedTuple

# All common practice, no source: they decide what is shown, never what is written.
STILL_DAYS = 3.0
"""A fermentation is looked at over so many days."""
_LEFT = 0.010
_LEFT_SDS = 2.0
_STEADY_DAYS = 60.0
_BEGUN, _BEGINS_DAYS = 0.006, 6.0
_READ_WITHIN = 10.0
_SURE = 0.8


class Took(NamedTuple):
    """A gravity that was read: days since the yeast was pitched, SG 20/20, one standard deviation of the reading."""

    day: float
    sg: float
    sd: float = 0.0007


class Normal(NamedTuple):
    """A mean and a standard deviation."""

    mean: float
    sd: float


@dataclass(frozen=True, slots=True)
class Stuck:
    """A fermentation that stands still: for how many days, at which gravity, how sure, and whether it ever began."""

    days: float
    sg: float
    sure: float
    has_begun: bool


def stands_still(took: Sequence[Took], original: float, end: Normal, now_day: float) -> Stuck | None:
    """Return a fermentation that falls no more although there is sugar left which its yeast could take; else None.

    `took` is oldest first, `original` the first gravity, `end` the expected last one with its deviation. Over the last
    `STILL_DAYS` or more the fall must be so slow that what is left would take two months, as sure as 4 of 5; what is
    left must be more than the expected end is unsure of. Where nothing has fermented yet, it is given 6 days to begin.
    What was not read for 10 days is not judged.
    """
    last = took[-1] if took else None
    if last is None or now_day - last.day > _READ_WITHIN:
        return None
    left = last.sg - end.mean
    if left < max(_LEFT, _LEFT_SDS * end.sd):
        return None
    has_begun = original - last.sg >= _BEGUN
    if not has_begun and last.day < _BEGINS_DAYS:
        return None
    stretch = _stretch(took)
    if stretch is None:
        return None
    fall = _fall(stretch)
    sure = NormalDist(fall.mean, fall.sd).cdf(left / _STEADY_DAYS)
    return Stuck(last.day - stretch[0].day, last.sg, sure, has_begun) if sure >= _SURE else None


def _stretch(took: Sequence[Took]) -> Sequence[Took] | None:
    """Return the last readings that reach back as far as `STILL_DAYS`, no further than they must."""
    reaching = (nth for nth in range(len(took) - 1, -1, -1) if took[-1].day - took[nth].day >= STILL_DAYS)
    first = next(reaching, None)
    return None if first is None else took[first:]


def _fall(stretch: Sequence[Took]) -> Normal:
    """Return how fast gravity falls [SG a day], by a straight line of weighted least squares."""
    weights = [each.sd**-2 for each in stretch]
    whole = sum(weights)
    middle = sum(weight * each.day for weight, each in zip(weights, stretch, strict=True)) / whole
    across = sum(weight * (each.day - middle) ** 2 for weight, each in zip(weights, stretch, strict=True))
    rising = sum(weight * (each.day - middle) * each.sg for weight, each in zip(weights, stretch, strict=True)) / across
    return Normal(-rising, across**-0.5)

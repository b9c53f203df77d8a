"""Readings that move by more than their own error and more than the other barrels' do.

A straight line is drawn through the last few readings, weighted by their uncertainty, and its slope is held against the
peers' middling slope and how far peers differ. The number of readings looked back over is not known beforehand, so
several are tried and the chance of a false alarm is multiplied by how many (Bonferroni).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import NormalDist, median

from cooperage.book.replay.state import DAY

YEAR = 365.25
_LOOK_BACK = range(3, 9)
_LEAST_DAYS = 10.0
_FEW_PEERS = 4

Point = tuple[float, float, float]
"""When [seconds since 1970], what was read, and one standard uncertainty of it."""


@dataclass(frozen=True, slots=True)
class Trend:
    """A move that chance does not explain: per year, first and last value of it, since when, and the chance."""

    per_year: float
    first: float
    last: float
    since: float
    chance: float


@dataclass(frozen=True, slots=True)
class Slope:
    """A slope a year and its variance."""

    per_year: float
    variance: float


def slope(points: Sequence[Point]) -> Slope:
    """Fit a straight line by weighted least squares; needs readings on more than one day."""
    at, values = [when / (YEAR * DAY) for when, _, _ in points], [value for _, value, _ in points]
    weights = [1 / u**2 for _, _, u in points]
    middle = _dot(weights, at) / sum(weights)
    years = [when - middle for when in at]
    across = _dot(weights, [year**2 for year in years])
    return Slope(
        _dot([weight * year for weight, year in zip(weights, years, strict=True)], values) / across, 1 / across
    )


def _dot(one: Sequence[float], other: Sequence[float]) -> float:
    return sum(a * b for a, b in zip(one, other, strict=True))


def usual_slope(histories: Mapping[str, Sequence[Point]]) -> Slope:
    """Return the middling slope of all barrels and the variance among them beyond the readings' own; 0 with few."""
    slopes = [slope(points) for points in histories.values() if len(points) >= 3 and _days(points) >= _LEAST_DAYS]
    if len(slopes) < _FEW_PEERS:
        return Slope(0.0, 0.0)
    middle = median(each.per_year for each in slopes)
    spread = (1.4826 * median(abs(each.per_year - middle) for each in slopes)) ** 2
    return Slope(middle, max(0.0, spread - median(each.variance for each in slopes)))


def moves(points: Sequence[Point], usual: Slope, direction: int) -> Trend | None:
    """Find the stretch of last readings that moves furthest beyond the usual, up (+1) or down (-1); None if none can.

    `points` are oldest first. The chance is that of seeing as much by error alone, one-sided.
    """
    best: Trend | None = None
    looks = [back for back in _LOOK_BACK if back <= len(points) and _days(points[-back:]) >= _LEAST_DAYS]
    for back in looks:
        stretch = points[-back:]
        found = slope(stretch)
        z = direction * (found.per_year - usual.per_year) / (found.variance + usual.variance) ** 0.5
        chance = min(1.0, len(looks) * (1 - NormalDist().cdf(z)))
        if best is None or chance < best.chance:
            best = Trend(found.per_year, stretch[0][1], stretch[-1][1], stretch[0][0], chance)
    return best


def _days(points: Sequence[Point]) -> float:
    return (points[-1][0] - points[0][0]) / DAY

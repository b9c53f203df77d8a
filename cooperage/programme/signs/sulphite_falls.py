"""How far free SO2 fell over a barrel's last few readings, what was added in between counted.

One month's fall is hardly more than the error of two readings; over several months that error stays as it is while the
fall adds up. How many readings to look back over is not known beforehand, so several are tried and the chance of a
false alarm is multiplied by how many (Bonferroni). The usual fall is the middling one of all barrels (first order).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import exp, log
from statistics import NormalDist, median

from cooperage.book.replay.state import DAY
from cooperage.programme.signs.readings import FREE_SO2, SinceFill
from cooperage.programme.signs.trends import Point

_LOOK_BACK = range(2, 6)
_LEAST_DAYS = 5.0
_FEW_BARRELS = 4
# Common practice, no source: how much of an addition binds, and a barrel's own pace, are not known better (shares).
_BINDING_DOUBT, _PACE_DOUBT = 0.2, 0.35


@dataclass(frozen=True, slots=True)
class Fall:
    """Free SO2 [mg/L] read first, added since, read last and expected then; the chance of as little by error alone."""

    first: float
    added: float
    last: float
    expected: float
    since: float
    days: float
    chance: float

    @property
    def lost(self) -> float:
        """What went [mg/L]."""
        return self.first + self.added - self.last

    @property
    def normal(self) -> float:
        """What would have gone at the usual pace [mg/L]."""
        return self.first + self.added - self.expected


def worst_fall(since: SinceFill, usual: float) -> Fall | None:
    """Return the stretch of last readings whose fall is furthest beyond the usual pace [1/day]; None without any."""
    points = since.read.get(FREE_SO2, [])
    stretches = [points[-back:] for back in _LOOK_BACK if back <= len(points)]
    text = [stretch for stretch in stretches if _days(stretch) >= _LEAST_DAYS]
    falls = [_fall(stretch, since.doses, usual, len(text)) for stretch in text]
    return min(falls, key=lambda fall: fall.chance, default=None)


def _fall(points: Sequence[Point], doses: Iterable[tuple[float, float]], usual: float, looks: int) -> Fall:
    (began, first, u_first), (ended, last, u_last) = points[0], points[-1]
    dosed = [(rise, exp(-usual * (ended - at) / DAY)) for at, rise in doses if began <= at < ended]
    kept, added, left = exp(-usual * _days(points)), sum(rise for rise, _ in dosed), sum(r * k for r, k in dosed)
    expected = first * kept + left
    normal = first + added - expected
    variance = u_last**2 + (u_first * kept) ** 2 + (_BINDING_DOUBT * left) ** 2 + (_PACE_DOUBT * normal) ** 2
    chance = min(1.0, looks * NormalDist().cdf((last - expected) / variance**0.5))
    return Fall(first, added, last, expected, began, _days(points), chance)


def usual_pace(sinces: Iterable[SinceFill]) -> float | None:
    """Return the middling rate of decline [1/day] between last readings; None with too few barrels."""
    paces = [pace for since in sinces if (pace := _last_pace(since)) is not None]
    return max(0.0, median(paces)) if len(paces) >= _FEW_BARRELS else None


def _last_pace(since: SinceFill) -> float | None:
    points = since.read.get(FREE_SO2, [])[-2:]
    if len(points) < 2 or _days(points) < _LEAST_DAYS:
        return None
    (began, first, _), (ended, last, _) = points
    start = first + sum(rise for at, rise in since.doses if began <= at < ended)
    return log(start / last) / _days(points) if start > 0 and last > 0 else None


def _days(points: Sequence[Point]) -> float:
    return (points[-1][0] - points[0][0]) / DAY

"""How far free SO2 fell over a barrel's last few readings, beyond what its ageing and what was done to it explain.

One month's fall is hardly more than the error of two readings; over several months that error stays as it is while the
fall adds up. How many readings to look back over is not known beforehand, so several are tried and the chance of a
false alarm is multiplied by how many (Bonferroni). How fast it usually falls, what becomes of additions and rackings,
and how large errors are, is what the cellar's readings have shown (see `ageing`).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import NormalDist

from cooperage.book import Standing
from cooperage.book.replay.rereads import Reread
from cooperage.book.replay.state import DAY
from cooperage.programme.ageing.experience import Experience
from cooperage.programme.ageing.models import AGEINGS
from cooperage.programme.ageing.passage import Doubt, Stretch, Varies, doubt_after, moved
from cooperage.programme.ageing.trails import remembered
from cooperage.programme.signs.readings import readings

FREE_SO2 = "free_so2_mg_l"
_LOOK_BACK = range(2, 6)
_LEAST_DAYS = 5.0
_USUAL_READINGS = 12.0  # readings' worth of trust (common practice, no source)
_STRETCH = len(Stretch._fields)


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


def worst_fall(standing: Standing, experience: Experience) -> Fall | None:
    """Return the stretch of a barrel's last readings whose fall is furthest beyond the usual; None without any."""
    read = readings(standing, FREE_SO2)
    steps = [Stretch(*row[:_STRETCH]) for row in remembered(standing, FREE_SO2)]
    stretches = [back for back in _LOOK_BACK if back <= len(read) and _days(read[-back:]) >= _LEAST_DAYS]
    spread = _spread(standing, experience)
    falls = [_fall(read[-back:], steps[1 - back :], experience, spread, len(stretches)) for back in stretches]
    return min(falls, key=lambda fall: fall.chance, default=None)


def _spread(standing: Standing, experience: Experience) -> float:
    """Return the variance of a sound barrel's pace about the usual one, and of that."""
    ageing, reached = AGEINGS[FREE_SO2], experience.reached.get(standing.tag)
    among = ageing.of_vessel**2 + ageing.of_lot**2 + ageing.of_room**2
    return among + (ageing.usual_doubt**2 if reached is None else reached.ww)


def _fall(read: Sequence[Reread], steps: Sequence[Stretch], experience: Experience, spread: float, looks: int) -> Fall:
    ageing, scale, first, last = AGEINGS[FREE_SO2], _scale(experience), read[0], read[-1]
    varies = Varies(experience.wander, experience.rate_varies, experience.takes_varies)
    value, doubt = first.value, Doubt((scale * first.uncertainty) ** 2, 0.0, spread)
    for step in steps:
        to = moved(ageing, step, value, experience.usual_rate, experience.share, experience.takes)
        value, doubt = to.value, doubt_after(ageing, step, to, doubt, varies)
    off = (last.value - value) / sqrt(doubt.vv + (scale * last.uncertainty) ** 2)
    chance = min(1.0, looks * NormalDist().cdf(off))
    added = sum(step.added for step in steps)
    return Fall(first.value, added, last.value, value, first.at, _days(read), chance)


def _scale(experience: Experience) -> float:
    """Return how large errors of readings are against what they claim, the fall itself not being taken for one.

    In a small cellar a lone fall makes all its readings seem bad: as many are added that err as they claim.
    """
    count = experience.count
    return sqrt((count * experience.scale**2 + _USUAL_READINGS) / (count + _USUAL_READINGS))


def _days(read: Sequence[Reread]) -> float:
    return (read[-1].at - read[0].at) / DAY

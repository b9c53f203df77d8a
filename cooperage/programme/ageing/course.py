"""The course of one figure: what it is now, how it goes on, and when it will have passed a limit."""

from dataclasses import dataclass, replace
from math import exp, sqrt
from statistics import NormalDist

from cooperage.programme.ageing.models import AGEINGS
from cooperage.programme.ageing.passage import besides

BAND = 0.9
"""How often a figure lies in the band that is shown beside it."""
FARTHEST_DAYS = 730.0
"""How far ahead a limit is looked for."""
_STANDARD = NormalDist()


@dataclass(frozen=True, slots=True)
class Course:
    """A figure with its rate (see `models`), their variances and covariance, in the property's unit and days.

    `wander` is one standard deviation of what else happens in a month. `scale` is the size of its unit against the
    property's, where it is the course of a share. `by_air` is the part of the rate that evaporation has.
    What goes to the room's temperature `nears` it as it is now, give or take `nears_doubt`.
    """

    name: str
    value: float
    rate: float
    vv: float
    vr: float
    rr: float
    scale: float = 1.0
    wander: float = 0.0
    by_air: float = 0.0
    nears: float = 0.0
    nears_doubt: float = 0.0

    def after(self, days: float) -> tuple[float, float]:
        """Return the figure so many days from now, left alone, and one standard deviation of it."""
        ageing = AGEINGS[self.name]
        if ageing.fades:
            a_day = exp(min(self.rate, 0.0))
            by_value = exp(-a_day * days)
            off = self.value - self.nears
            value, by_rate = self.nears + off * by_value, -a_day * days * off * by_value
        else:
            value, by_value, by_rate = self.value + self.scale * self.rate * days, 1.0, self.scale * days
        variance = by_value**2 * self.vv + 2 * by_value * by_rate * self.vr + by_rate**2 * self.rr
        variance += self.scale**2 * besides(ageing, max(0.0, days), by_value, self.wander, self.nears_doubt)
        least = ageing.least
        return value if least is None else max(least, value), sqrt(max(0.0, variance))

    def besides_air(self, days: float) -> float:
        """Return how much it drifts in so many days by other things than what evaporates; none where it fades."""
        return 0.0 if AGEINGS[self.name].fades else self.scale * (self.rate - self.by_air) * days

    def times(self, share: float, doubt: float = 0.0) -> "Course":
        """Return the course of a share of it, where that is doubtful by `doubt` of itself."""
        square = share**2
        doubtful = self.vv + (doubt * self.value) ** 2
        return replace(
            self, value=share * self.value, vv=square * doubtful, vr=share * self.vr, scale=share * self.scale
        )

    def chance(self, days: float, limit: float, sign: int) -> float:
        """Return the chance that it is below (`sign` -1) or above (1) a limit, so many days from now."""
        value, sd = self.after(days)
        return chance_below(value, sd, limit) if sign < 0 else 1 - chance_below(value, sd, limit)

    def days_until(self, limit: float, sign: int, chance: float) -> float | None:
        """Return after how many days the figure is below (`sign` -1) or above (1) a limit with at least a chance.

        To half a day; zero where it is now, None where that is not within two years.
        """
        if self.chance(0.0, limit, sign) >= chance:
            return 0.0
        low, high = 0.0, FARTHEST_DAYS
        if self.chance(high, limit, sign) < chance:
            return None
        while high - low > 0.5:
            middle = (low + high) / 2
            low, high = (low, middle) if self.chance(middle, limit, sign) >= chance else (middle, high)
        return high


def chance_below(value: float, sd: float, limit: float) -> float:
    """Return the chance that a figure with a standard deviation is below a limit."""
    return _STANDARD.cdf((limit - value) / sd) if sd > 0 else float(value < limit)


def band_of(value: float, sd: float, least: float | None, probability: float = BAND) -> tuple[float, float]:
    """Return the interval in which a figure lies with a probability."""
    reach = _STANDARD.inv_cdf(0.5 + probability / 2) * sd
    low = value - reach
    return (low if least is None else max(least, low)), value + reach

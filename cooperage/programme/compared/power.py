"""What a trial can find, before it is begun: its power, the least difference it finds, how much of everything it needs.

A difference of two treatments is found when its interval leaves nought out: by Student's t, and by the studentized
range where there are more than two treatments, so that of all trials without a difference at most the stated share
finds any. With a difference there, the quotient is a noncentral t. Sources: Johnson and Welch (1940), Biometrika 31,
362-389; Cohen, Statistical Power Analysis for the Behavioral Sciences (1988), ch. 2.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from cooperage.programme.compared.layout import BarrelLayout

LEVEL, POWER = 0.95, 0.8
"""How sure a found difference is, and how often a difference is to be found (common practice, no source)."""
MOST_EACH, MOST_TASTERS, MOST_FLIGHTS = 60, 24, 24
"""More barrels of a treatment, tasters, or flights than these are not thought of."""
_DOUBT = 0.8
"""How often the true spread lies within its band."""


@dataclass(frozen=True)
class BarrelSpread:
    """How far like barrels differ, and one score about barrel and taster: standard deviations, in points or units.

    Each is known as well as an estimate with so many degrees of freedom. `of` is what they were learned from.
    """

    barrel: float
    score: float
    barrel_degrees: float
    score_degrees: float
    of: str = ""

    def variance(self, flights: int, tasters: int) -> float:
        """Return the variance of a barrel's mean over so many flights with so many tasters each."""
        return self.barrel**2 + self.score**2 / (flights * tasters)

    def band(self, flights: int, tasters: int) -> tuple[float, float]:
        """Return the variance of such a mean at the ends of the band that holds the true one 80 times in 100.

        By chi-square, with the degrees of freedom of a sum of variances (Satterthwaite 1946).
        """
        from scipy.special import chdtri  # scipy stays out of start-up

        whole, by_scores = self.variance(flights, tasters), self.score**2 / (flights * tasters)
        doubt = self.barrel**4 / self.barrel_degrees + by_scores**2 / self.score_degrees
        if not doubt > 0:
            return whole, whole
        degrees, beyond = whole**2 / doubt, (1 - _DOUBT) / 2
        low, high = (whole * degrees / float(chdtri(degrees, tail)) for tail in (beyond, 1 - beyond))
        return low, high


@dataclass(frozen=True)
class BarrelComparing:
    """How a trial compares: the variance of a difference for each unit of a barrel's, the degrees of its error."""

    pair_variance: float
    degrees: int
    treatments: int
    level: float = LEVEL

    @property
    def critical(self) -> float:
        """The t that a difference must pass to be found."""
        return critical_t(self.treatments, self.degrees, self.level)

    def power(self, difference: float, variance: float) -> float:
        """Return how often a difference is found [0 to 1], where a barrel's mean has so great a variance."""
        if not self.degrees > 0:
            return 0.0
        error = math.sqrt(self.pair_variance * variance)
        if not error > 0:
            return float(difference != 0)
        return passed(self.critical, abs(difference) / error, self.degrees)

    def least(self, variance: float, power: float = POWER) -> float:
        """Return the least difference that is found so often; infinite where no error can be known."""
        if not self.degrees > 0:
            return math.inf
        return least_quotient(self.critical, self.degrees, power) * math.sqrt(self.pair_variance * variance)


def critical_t(treatments: int, degrees: float, level: float) -> float:
    """Return the quotient of a difference and its error that is passed by chance in one trial of 1 / (1 - level)."""
    from cooperage.tasting.statistics.quantiles import range_quantile  # brings NumPy

    return range_quantile(round(1 - level, 12), treatments, degrees) / math.sqrt(2)


def passed(critical: float, true: float, degrees: float) -> float:
    """Return how often the t of a difference, so many of its errors large, passes `critical` on either side."""
    from scipy.special import nctdtr  # scipy stays out of start-up

    if math.isnan(critical):
        return 0.0
    if true > critical + 40:  # beyond it nothing is left of the tail
        return 1.0
    return float(1 - nctdtr(degrees, true, critical) + nctdtr(degrees, true, -critical))


def least_quotient(critical: float, degrees: float, power: float) -> float:
    """Return how many of its errors a difference must be large to be found so often."""
    low, high = 0.0, critical + 1
    while passed(critical, high, degrees) < power:
        low, high = high, 2 * high
    while high - low > 1e-9 * high:
        middle = (low + high) / 2
        low, high = (middle, high) if passed(critical, middle, degrees) < power else (low, middle)
    return high


def of_layout(layout: BarrelLayout, level: float = LEVEL) -> BarrelComparing:
    """Return how a layout compares two treatments, taken over all pairs."""
    return BarrelComparing(layout.pair_variance, layout.degrees, layout.treatments, level)


@dataclass(frozen=True)
class TrialPower:
    """A trial as it is planned: how it compares, the barrels' spread, in how many flights by how many tasters.

    `each` are the barrels of a treatment, `blocks` how many blocks they lie in.
    """

    comparing: BarrelComparing
    spread: BarrelSpread
    flights: int
    tasters: int
    each: float
    blocks: int

    @property
    def variance(self) -> float:
        """The variance of a barrel's mean."""
        return self.spread.variance(self.flights, self.tasters)

    def power(self, difference: float) -> tuple[float, float, float]:
        """Return how often a difference is found: by the spread as learned, and at both ends of its band."""
        low, high = self.spread.band(self.flights, self.tasters)
        value, least, most = (self.comparing.power(difference, each) for each in (self.variance, high, low))
        return value, least, most

    def least(self, power: float = POWER) -> tuple[float, float, float]:
        """Return the least difference that is found so often, and the same at both ends of the spread's band."""
        low, high = self.spread.band(self.flights, self.tasters)
        value, near, far = (self.comparing.least(each, power) for each in (self.variance, low, high))
        return value, near, far

    def with_barrels(self, each: int) -> TrialPower:
        """Return the trial with so many barrels of a treatment, in blocks of the same size."""
        treatments = self.comparing.treatments
        blocks = max(1, round(self.blocks * each / self.each)) if self.blocks > 1 else 1
        comparing = replace(
            self.comparing,
            pair_variance=self.comparing.pair_variance * self.each / each,
            degrees=each * treatments - (treatments - 1) - blocks,
        )
        return replace(self, comparing=comparing, each=each, blocks=blocks)

    def barrels_needed(self, difference: float, power: float = POWER) -> int | None:
        """Return how many barrels of each treatment find a difference so often; None where not even the most do."""
        tried = range(2, MOST_EACH + 1)
        return next((n for n in tried if self.with_barrels(n).power(difference)[0] >= power), None)

    def tasters_needed(self, difference: float, power: float = POWER) -> int | None:
        """Return how many tasters of the same barrels and flights find it so often."""
        tried = range(1, MOST_TASTERS + 1)
        return next((n for n in tried if replace(self, tasters=n).power(difference)[0] >= power), None)

    def flights_needed(self, difference: float, power: float = POWER) -> int | None:
        """Return how many flights with the same barrels and tasters find it so often."""
        tried = range(1, MOST_FLIGHTS + 1)
        return next((n for n in tried if replace(self, flights=n).power(difference)[0] >= power), None)

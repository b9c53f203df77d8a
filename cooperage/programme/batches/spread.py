"""How a figure lies over the vessels of a lot: the least, the middle, the most, and which vessels those are."""

from dataclasses import dataclass
from statistics import median

from cooperage.book import Cellar
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.lots import LotNow

MOSTLY = 0.5
"""A vessel is counted as a lot's where it is so much of what it holds."""
_SPREAD = ("abv", "sugar_g_l", "ph", "ta_g_l", "va_g_l", "free_so2_mg_l", "total_so2_mg_l")


@dataclass(frozen=True, slots=True)
class VesselSpread:
    """A figure over a lot's vessels now, in its canonical unit: least, middle, most, and where the extremes are.

    `known` of `vessels` have the figure; the others' is unknown, which is not zero.
    """

    name: str
    low: float
    middle: float
    high: float
    low_vessel: str
    high_vessel: str
    known: int
    vessels: int


def spread_of(now: LotNow, cellar: Cellar) -> list[VesselSpread]:
    """Return the spread of every figure that is known in any of the vessels that hold mostly this lot."""
    tags = [holding.vessel for holding in now.holdings if holding.fraction >= MOSTLY]
    found = []
    for name in (each for each in _SPREAD if each in PROPERTIES):
        values = [(value, tag) for tag in tags if (value := cellar[tag].value(name)) is not None]
        if values:
            (low, at_low), (high, at_high) = min(values), max(values)
            middle = median(value for value, _ in values)
            found.append(VesselSpread(name, low, middle, high, at_low, at_high, len(values), len(tags)))
    return found

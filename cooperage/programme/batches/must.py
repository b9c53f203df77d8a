"""A must from what goes into it: the gravity, the litres and where the yeast would leave it.

Masses add, volumes do not: the grams and the sugar of all parts give the sugar by mass, and that the gravity. Honey's
solids count as sucrose, as in `cooperage.liquid.honey`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from typing import NamedTuple

from cooperage.errors import OutOfRange
from cooperage.liquid import brix_from_sg, density_of, sg_from_brix, sg_from_density
from cooperage.liquid.ethanol import ETHANOL_20C
from cooperage.liquid.fermentation import EXTRACT_LOST, EXTRACT_PER_ALCOHOL
from cooperage.liquid.sucrose import WATER_20C

FERMENTS, FERMENTS_SD = 0.90, 0.03
"""The share of a must's extract that yeast takes where nothing stops it, and its standard deviation. Of 100 g of honey
solids 94 g are sugars of one and two units (White et al., USDA Technical Bulletin 1261 (1962)); what yeast makes beside
alcohol stays as extract (common practice, no source)."""
TOLERANCE_SD = 1.0
"""How far the strength at which a yeast gives up lies from that on its packet [% vol] (common practice, no source)."""
_MOST_BRIX = 84.0
_MUSTS = (1.005, 1.23)


class MustPart(NamedTuple):
    """A part of a must: its mass [kg] and the sugar in it [kg]."""

    kg: float
    sugar_kg: float


@dataclass(frozen=True, slots=True)
class Must:
    """A must: mass and sugar [kg], sugar by mass [g per 100 g], gravity [SG 20/20], volume [L at 20 °C]."""

    kg: float
    sugar_kg: float
    brix: float
    sg: float
    litres: float

    @property
    def sugar_g_l(self) -> float:
        """The sugar in a litre [g/L at 20 °C]."""
        return 1000.0 * self.sugar_kg / self.litres


class NoMust(OutOfRange):
    """Parts that make no must: nothing at all, or more sugar than dissolves."""

    def __init__(self, brix: float | None) -> None:
        what = "nothing goes into it" if brix is None else f"it would be {brix:.0f} Brix, which is no must"
        super().__init__(f"{what}; give water, honey or juice")


def honey_part(grams: float, moisture: float) -> MustPart:
    """Return what honey brings: grams, and its moisture [g per 100 g]."""
    kg = grams / 1000.0
    return MustPart(kg, kg * (1.0 - moisture / 100.0))


def water_part(ml: int) -> MustPart:
    """Return what water at 20 °C brings [ml]."""
    return MustPart(ml / 1e6 * WATER_20C, 0.0)


def juice_part(ml: int, sg: float) -> MustPart:
    """Return what a juice brings [ml] by its gravity [SG 20/20], all of its extract counted as sugar."""
    kg = ml / 1e6 * WATER_20C * sg
    return MustPart(kg, kg * float(brix_from_sg(sg)) / 100.0)


def must_of(parts: Sequence[MustPart]) -> Must:
    """Return the must that parts make together.

    Mass and sugar are conserved; the gravity is that of the sugar by mass (ICUMSA SPS-4). Raises NoMust.
    """
    kg, sugar = sum(part.kg for part in parts), sum(part.sugar_kg for part in parts)
    if kg <= 0.0:
        raise NoMust(None)
    brix = 100.0 * sugar / kg
    if brix > _MOST_BRIX:
        raise NoMust(brix)
    sg = float(sg_from_brix(brix))
    return Must(kg, sugar, brix, sg, 1000.0 * kg / (WATER_20C * sg))


class MustEnd(NamedTuple):
    """Where a must is expected to end: gravity [SG 20/20], one standard deviation of it, strength [% vol]."""

    sg: float
    sd: float
    abv: float


def fermented(original_sg: float, share: float) -> tuple[float, float]:
    """Return gravity [SG 20/20] and strength [% vol] once yeast has taken a share of the extract.

    Balling's rule for the alcohol (Balling (1865), as in Cutaia, Reid and Speers, J. Inst. Brew. 115:318-327 (2009)),
    Tabarié's for the gravity. `share` is from 0 to 1.
    """
    sugar = float(brix_from_sg(original_sg))
    left = sugar * (1.0 - share)
    alcohol = (sugar - left) / (EXTRACT_PER_ALCOHOL - EXTRACT_LOST * sugar / 100.0)  # g per 100 g
    rho = original_sg * WATER_20C
    abv = 0.0
    for _ in range(30):
        abv, extract, before = alcohol * rho / ETHANOL_20C, left * rho / 100.0, rho
        rho = float(density_of(abv, extract))
        if abs(rho - before) < 1e-5:
            break
    return float(sg_from_density(rho)), abv


def share_at(original_sg: float, abv: float) -> float:
    """Return the share of the extract that has to be taken for a strength [% vol]; above 1 there is too little."""
    most = fermented(original_sg, 1.0)[1]
    if most <= abv:
        return 1.0 + (abv - most) / 100.0
    low, at_low, share = 0.0, 0.0, abv / most
    for _ in range(20):  # by the secant, for strength rises all but evenly
        strength = fermented(original_sg, share)[1]
        if abs(strength - abv) < 1e-6:
            break
        low, at_low, share = share, strength, share + (abv - strength) * (share - low) / (strength - at_low)
    return share


def can_end(original_sg: float | None) -> bool:
    """Return True for a gravity of which an end can be calculated: that of a must, neither water nor honey [SG]."""
    return original_sg is not None and _MUSTS[0] <= original_sg <= _MUSTS[1]


def expected_end(original_sg: float, tolerance: float | None = None) -> MustEnd:
    """Return where a must of a gravity ends: at what yeast can take, or before it where the yeast gives up.

    `tolerance` is the strength at which the yeast gives up [% vol], None where it is not known. Gravities beyond those
    of `can_end` may raise OutsideFormula.
    """
    share, sd = FERMENTS, FERMENTS_SD
    if tolerance is not None:
        gives_up = share_at(original_sg, tolerance)
        slack = gives_up - share_at(original_sg, max(0.0, tolerance - TOLERANCE_SD))
        share, sd = _lesser((FERMENTS, FERMENTS_SD), (gives_up, slack))
    sg, abv = fermented(original_sg, share)
    lighter, heavier = (fermented(original_sg, min(1.0, share + by))[0] for by in (sd, -sd))
    return MustEnd(sg, (heavier - lighter) / 2.0, abv)


def _lesser(one: tuple[float, float], other: tuple[float, float]) -> tuple[float, float]:
    """Return mean and deviation of the lesser of two that scatter (Clark, Operations Research 9:145 (1961))."""
    from statistics import NormalDist

    (m1, s1), (m2, s2) = one, other
    apart = sqrt(s1 * s1 + s2 * s2)
    unit = NormalDist()
    z = (m2 - m1) / apart
    first, density = unit.cdf(z), unit.pdf(z)
    mean = m1 * first + m2 * (1.0 - first) - apart * density
    square = (m1 * m1 + s1 * s1) * first + (m2 * m2 + s2 * s2) * (1.0 - first) - (m1 + m2) * apart * density
    return mean, sqrt(max(0.0, square - mean * mean))

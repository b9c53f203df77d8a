"""Fermentation by Balling's rule: 2.0665 g of extract give 1 g of alcohol; the rest is gas and yeast.

Original gravity, final gravity and strength: any two give the third, and the three functions agree, because all
use the same density (`density_of`).
"""

import numpy as np
from numpy.typing import ArrayLike

from cooperage.errors import OutOfRange
from cooperage.liquid._ranges import Floats, within
from cooperage.liquid.ethanol import ETHANOL_20C, SG_OF_ABV
from cooperage.liquid.fermented import density_of, extract_g_l, sg_from_density
from cooperage.liquid.sucrose import LEAST_G_L, SG_OF_EXTRACT, WATER_20C, brix_from_sg, sg_from_brix

EXTRACT_PER_ALCOHOL = 2.0665  # g of extract that give 1 g of alcohol
EXTRACT_LOST = 1.0665  # of them, g that leave as gas or settle as yeast
BALLING_ABV = 0.3  # % vol: standard uncertainty of the rule itself in mead, where it has not been tested; our allowance


class GravitiesCrossed(OutOfRange):
    """A liquid cannot be denser after fermentation than before."""

    def __init__(self, original: float, final: float) -> None:
        self.original, self.final = original, final
        super().__init__(f"final SG {final:.4f} lies above original SG {original:.4f}; were they exchanged?")


class FermentedAway(OutOfRange):
    """The strength needs more sugar than there was."""

    def __init__(self) -> None:
        super().__init__("the original SG holds too little sugar for this; check the readings")


def balling_original_extract(ethanol_mass_percent: ArrayLike, real_extract: ArrayLike) -> Floats:
    """Extract before fermentation, by Balling's rule.

    Parameters
    ----------
    ethanol_mass_percent : array, any shape
        [g per 100 g], 0 to 25
    real_extract : array, broadcast with it
        [g per 100 g], -1.5 to 60

    Returns
    -------
    array, broadcast shape [g per 100 g (Plato, Brix)]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    Balling (1865), as in Cutaia, Reid and Speers, J. Inst. Brew. 115(4):318-327 (2009), who find it
    -0.1 to +0.2 Plato off on average for beer. It is not proven for mead: allow 0.3 % vol
    (`BALLING_ABV`).

    Examples
    --------
    >>> round(float(balling_original_extract(0.0, 12.0)), 1)
    12.0

    """
    alcohol = within("ethanol", ethanol_mass_percent, 0.0, 25.0, "g per 100 g")
    rest = within("real extract", real_extract, -1.5, 60.0, "g per 100 g")
    return 100.0 * (EXTRACT_PER_ALCOHOL * alcohol + rest) / (100.0 + EXTRACT_LOST * alcohol)


def _real_extract(original: Floats, alcohol: Floats) -> Floats:
    """Balling's rule turned round; all in g per 100 g."""
    return original * (1.0 + EXTRACT_LOST * alcohol / 100.0) - EXTRACT_PER_ALCOHOL * alcohol


def abv_from_gravities(original_sg: ArrayLike, final_sg: ArrayLike) -> Floats:
    """Strength from original and final gravity.

    Parameters
    ----------
    original_sg : array, any shape
        [SG 20/20, true densities], 1 to 1.25
    final_sg : array, broadcast with it
        [SG 20/20, true densities], 0.96 to 1.25

    Returns
    -------
    array, broadcast shape [% vol at 20 °C]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.
    GravitiesCrossed
        The final gravity lies above the original one.
    FermentedAway
        The original gravity holds too little sugar to end so light.

    Source
    ------
    Balling's rule for the alcohol and Tabarié's for the density of what is left; see
    `balling_original_extract` and `density_of`.

    Examples
    --------
    >>> bool(5.0 < abv_from_gravities(1.050, 1.010) < 5.5)  # 131 x 0.040 = 5.2 by the brewer's rule of thumb
    True

    """
    original = within("original SG", original_sg, 1.0, 1.25)
    final = within("final SG", final_sg, 0.96, 1.25)
    _refuse_crossed(original, final)
    rho, sugar = final * WATER_20C, brix_from_sg(original)
    per_alcohol = rho / ETHANOL_20C  # % vol per g of alcohol in 100 g
    alcohol = (original - final) * 100.0
    for _ in range(30):
        extract = _real_extract(sugar, alcohol) * rho / 100.0
        light, thinning = SG_OF_ABV.with_slope(alcohol * per_alcohol)
        heavy, thickening = SG_OF_EXTRACT.with_slope(extract)
        slope = thinning * per_alcohol + thickening * rho / 100.0 * (EXTRACT_LOST * sugar / 100.0 - EXTRACT_PER_ALCOHOL)
        step = (light + heavy - 1.0 - final) / slope
        alcohol = alcohol - step
        if not (np.abs(step) > 1e-10).any():
            break
    if (extract < LEAST_G_L).any():
        raise FermentedAway
    return np.maximum(alcohol * per_alcohol, 0.0)


def _refuse_crossed(original: Floats, final: Floats) -> None:
    crossed = final > original + 1e-9  # more than rounding
    if crossed.any():
        given = np.broadcast_arrays(original, final)
        raise GravitiesCrossed(*(float(x[crossed].flat[0]) for x in given))


def original_sg(final_sg: ArrayLike, abv: ArrayLike) -> Floats:
    """Original gravity of a finished mead from its gravity and strength.

    Parameters
    ----------
    final_sg : array, any shape
        [SG 20/20, true densities], 0.96 to 1.2
    abv : array, broadcast with it
        [% vol at 20 °C], 0 to 25

    Returns
    -------
    array, broadcast shape [SG 20/20, true densities]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.
    GravityContradictsStrength
        No extract gives this gravity at this strength.

    Source
    ------
    Tabarié's rule for the extract left, Balling's for the sugar that became alcohol; inverse of
    `abv_from_gravities`.

    Examples
    --------
    >>> round(float(original_sg(1.012, 0.0)), 3)
    1.012

    """
    final = within("final SG", final_sg, 0.96, 1.2)
    strength = within("strength", abv, 0.0, 25.0, "% vol")
    rho = final * WATER_20C
    alcohol = strength * ETHANOL_20C / rho
    return sg_from_brix(balling_original_extract(alcohol, 100.0 * extract_g_l(final, strength) / rho))


def final_sg(original_sg: ArrayLike, abv: ArrayLike) -> Floats:
    """Gravity at which a must reaches a strength.

    Parameters
    ----------
    original_sg : array, any shape
        [SG 20/20, true densities], 1 to 1.25
    abv : array, broadcast with it
        [% vol at 20 °C], 0 to 25

    Returns
    -------
    array, broadcast shape [SG 20/20, true densities]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.
    FermentedAway
        The original gravity holds too little sugar for that strength.

    Source
    ------
    Balling's and Tabarié's rules, as `abv_from_gravities`, solved by repeated substitution.

    Examples
    --------
    >>> round(float(final_sg(1.050, 0.0)), 3)
    1.05

    """
    original = within("original SG", original_sg, 1.0, 1.25)
    strength = within("strength", abv, 0.0, 25.0, "% vol")
    sugar, rho = brix_from_sg(original), original * WATER_20C + 0.0 * strength
    for _ in range(60):
        extract = _real_extract(sugar, strength * ETHANOL_20C / rho) * rho / 100.0
        if (extract < LEAST_G_L).any():
            raise FermentedAway
        rho = WATER_20C * sg_from_density(density_of(strength, extract))
    return rho / WATER_20C

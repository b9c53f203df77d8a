"""Mead: water, ethanol and extract together. Density from both, extract from density, by Tabarié's rule.

Both directions use one pair of curves, so they are each other's inverse. See `fermentation` for strength
from gravities.
"""

import numpy as np
from numpy.typing import ArrayLike

from cooperage.errors import OutOfRange
from cooperage.liquid._ranges import Floats, within
from cooperage.liquid._tabarie import ETHANOL_G_L, checked_liquid
from cooperage.liquid.ethanol import ETHANOL_20C, SG_OF_ABV, WATER_20C
from cooperage.liquid.sucrose import LEAST_G_L, MOST_G_L, SG_OF_EXTRACT, brix_from_sg, sugar_g_l_from_brix

# What the rule is unsure of [g/L]. The method reports to 0.5 g/L. Two rules can be defended: that alcohol and
# sugar change density independently (Tabarié), and that a gram of sugar takes the room in wine that it takes in
# water. Between 5 and 18 % vol and 20 to 250 g/L they differ by up to 3e-4 x % vol x g/L; measured mixtures have been
# found on the other side of Tabarié's (Hackbarth 2009), so the gap is taken as a standard uncertainty.
METHOD_G_L, RULE_G_L = 0.3, 3e-4
DOCUMENTED_SUGAR, DOCUMENTED_ETHANOL = 0.05, 0.18  # mass fractions (Hackbarth, J. Am. Soc. Brew. Chem. 67:146, 2009)
_LIGHTEST, _HEAVIEST = (
    float(SG_OF_EXTRACT(np.asarray(g_l))) for g_l in (LEAST_G_L - 1e-6, MOST_G_L + 1e-6)
)  # SG 20/20


class GravityContradictsStrength(OutOfRange):
    """No extract, however small or large, gives this SG at this strength."""

    def __init__(self, sg: float, abv: float) -> None:
        self.sg, self.abv = sg, abv
        super().__init__(f"SG {sg:.4f} and {abv:g} % vol do not go together; check both figures")


def density_of(abv: ArrayLike, extract_g_l: ArrayLike) -> Floats:
    """Density at 20 °C of a liquid with this strength and extract, by Tabarié's rule.

    Parameters
    ----------
    abv : array, any shape
        [% vol at 20 °C], 0 to 100
    extract_g_l : array, broadcast with it
        [g/L at 20 °C, counted as sucrose], -10 to 1228

    Returns
    -------
    array, broadcast shape [kg/m3], true density; divide by 998.20123 (`sg_from_density`) for SG 20/20

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.
    NoSuchLiquid
        Strength and extract together leave no room for water.

    Source
    ------
    Tabarié's rule, d = d(alcohol) + d(extract) - 1 (OIV-MA-AS2-03B), with OIML R 22 (1975) for the alcohol and
    ICUMSA SPS-4 (1990) for the extract. Exact for spirit and for must or honey; see `tabarie_uncertainty`.

    Examples
    --------
    >>> round(float(density_of(0.0, 216.2)), 0), round(float(density_of(10.0, 0.0)), 1)
    (1081.0, 984.7)

    """
    return WATER_20C * checked_liquid(abv, extract_g_l)[2]


def extract_g_l(sg: ArrayLike, abv: ArrayLike) -> Floats:
    """Total dry extract of a mead from its SG and strength, by Tabarié's rule.

    Parameters
    ----------
    sg : array, any shape
        [SG 20/20, true densities], 0.78 to 1.449
    abv : array, broadcast with it
        [% vol at 20 °C], 0 to 100

    Returns
    -------
    array, broadcast shape [g/L at 20 °C, counted as sucrose]; slightly below zero when reading errors
    outweigh the extract

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.
    GravityContradictsStrength
        The extract would come out below -10 or above 1228 g/L.

    Source
    ------
    OIV-MA-AS2-03B (R2012). Documented below about 5 % sugar and 18 % ethanol by mass; a sweet mead lies
    outside, see `tabarie_uncertainty`.

    Examples
    --------
    >>> round(float(extract_g_l(1.020, 0.0)), 0)
    52.0

    """
    gravity = within("SG", sg, 0.78, 1.449)
    strength = within("strength", abv, 0.0, 100.0, "% vol")
    residue = gravity - SG_OF_ABV(strength) + 1.0  # of the liquid freed of its alcohol and made up with water
    outside = (residue < _LIGHTEST) | (residue > _HEAVIEST)
    if outside.any():
        given = np.broadcast_arrays(gravity, strength)
        raise GravityContradictsStrength(*(float(x[outside].flat[0]) for x in given))
    return sugar_g_l_from_brix(brix_from_sg(residue))


def strength_from_density(kg_m3: ArrayLike, extract_g_l: ArrayLike) -> Floats:
    """Strength of a mead whose density and extract are known; the other inverse of `density_of`.

    Parameters
    ----------
    kg_m3 : array, any shape
        [kg/m3 at 20 °C], 780 to 1445
    extract_g_l : array, broadcast with it
        [g/L at 20 °C, counted as sucrose], -10 to 1228

    Returns
    -------
    array, broadcast shape [% vol at 20 °C]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above, or the two contradict each other.

    Source
    ------
    Tabarié's rule (OIV-MA-AS2-03B), solved for the alcohol with OIML R 22 (1975).

    Examples
    --------
    >>> round(float(strength_from_density(984.71, 0.0)), 1)
    10.0

    """
    rho = within("density", kg_m3, 780.0, 1445.0, "kg/m3")
    extract = within("extract", extract_g_l, LEAST_G_L, MOST_G_L, "g/L")
    wanted = within("SG of the alcohol in it", rho / WATER_20C - SG_OF_EXTRACT(extract) + 1.0, 0.7906, 1.00001)
    strength = 100.0 * (1.0 - wanted) / (1.0 - ETHANOL_20C / WATER_20C)
    for _ in range(40):
        value, slope = SG_OF_ABV.with_slope(strength)
        step = (value - wanted) / slope
        strength = np.clip(strength - step, 0.0, 100.0)
        if not (np.abs(step) > 1e-9).any():
            break
    return strength


def sg_from_density(kg_m3: ArrayLike) -> Floats:
    """SG 20/20 from true density at 20 °C.

    Parameters
    ----------
    kg_m3 : array, any shape
        [kg/m3 at 20 °C], 770 to 1460

    Returns
    -------
    array, same shape [SG 20/20, true densities]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    Definition, with the water of OIML R 22 (1975), 998.20123 kg/m3.

    Examples
    --------
    >>> round(float(sg_from_density(998.20)), 4)
    1.0

    """
    return within("density", kg_m3, 770.0, 1460.0, "kg/m3") / WATER_20C


def tabarie_uncertainty(abv: ArrayLike, extract_g_l: ArrayLike) -> Floats:
    """Standard uncertainty of an extract by Tabarié's rule itself, readings taken as exact.

    Parameters
    ----------
    abv : array, any shape
        [% vol at 20 °C], 0 to 100
    extract_g_l : array, broadcast with it
        [g/L at 20 °C, counted as sucrose], -10 to 1228

    Returns
    -------
    array, broadcast shape [g/L]; multiply by 0.38 for kg/m3 of density

    Raises
    ------
    OutsideFormula, NoSuchLiquid
        A figure lies outside the range above, or there is no such liquid.

    Source
    ------
    0.3 g/L for the method (OIV-MA-AS2-03B reports to 0.5 g/L), and 3e-4 x abv x extract for the rule: our
    estimate, the gap between it and the rule that sugar takes the same room in wine as in water. No published
    figure for sweet mead is known.

    Examples
    --------
    >>> round(float(tabarie_uncertainty(13.5, 100.0)), 1)
    0.5

    """
    strength, extract, _ = checked_liquid(abv, extract_g_l)
    return np.hypot(METHOD_G_L, RULE_G_L * strength * extract)


def tabarie_documented(abv: ArrayLike, extract_g_l: ArrayLike) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Whether a liquid lies where Tabarié's rule was found good to within experimental error.

    Parameters
    ----------
    abv : array, any shape
        [% vol at 20 °C], 0 to 100
    extract_g_l : array, broadcast with it
        [g/L at 20 °C, counted as sucrose], -10 to 1228

    Returns
    -------
    array of bool, broadcast shape [1]; False where a figure is unknown

    Raises
    ------
    OutsideFormula, NoSuchLiquid
        A figure lies outside the range above, or there is no such liquid.

    Source
    ------
    Hackbarth, J. Am. Soc. Brew. Chem. 67(3):146-151 (2009): below 5 % sugar and 18 % ethanol by mass.

    Examples
    --------
    >>> bool(tabarie_documented(13.5, 20.0)), bool(tabarie_documented(13.5, 100.0))
    (True, False)

    """
    strength, extract, sg = checked_liquid(abv, extract_g_l)
    rho = WATER_20C * sg
    return (extract / rho < DOCUMENTED_SUGAR) & (ETHANOL_G_L * strength / rho < DOCUMENTED_ETHANOL)

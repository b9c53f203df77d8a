"""The scales a gravity is written in. The name is the scale; 20/20, 20/4, 60/60 and "in air" all differ."""

from numpy.typing import ArrayLike

from cooperage.liquid._ranges import Floats, within
from cooperage.liquid.ethanol import WATER_20C

WATER_4C = 999.972  # kg/m3, the densest water gets
AIR = 1.2  # kg/m3, the conventional air in which gravity tables were weighed
SUGAR_PER_STRENGTH = 16.83  # g/L of sugar that ferment to 1 % vol


def sg_20_4_from_sg(sg: ArrayLike) -> Floats:
    """SG 20/4 (numerically g/mL) from SG 20/20.

    Parameters
    ----------
    sg : array, any shape
        [SG 20/20], 0.7 to 1.5

    Returns
    -------
    array, same shape [SG 20/4]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    Definition, with water of 998.201 kg/m3 at 20 °C (OIML R 22) and 999.972 kg/m3 at 4 °C.

    Examples
    --------
    >>> round(float(sg_20_4_from_sg(1.0)), 4)
    0.9982

    """
    return within("SG 20/20", sg, 0.7, 1.5) * (WATER_20C / WATER_4C)


def sg_from_sg_20_4(sg_20_4: ArrayLike) -> Floats:
    """SG 20/20 from SG 20/4.

    Parameters
    ----------
    sg_20_4 : array, any shape
        [SG 20/4], 0.69 to 1.5

    Returns
    -------
    array, same shape [SG 20/20]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    The inverse of `sg_20_4_from_sg` (definition).

    Examples
    --------
    >>> round(float(sg_from_sg_20_4(0.99823)), 4)
    1.0

    """
    return within("SG 20/4", sg_20_4, 0.69, 1.5) * (WATER_4C / WATER_20C)


def apparent_sg(sg: ArrayLike) -> Floats:
    """SG 20/20 as weighed in air, which is what NBS, ASBC and pharmacopoeia tables print.

    Parameters
    ----------
    sg : array, any shape
        [SG 20/20, true densities], 0.7 to 1.5

    Returns
    -------
    array, same shape [SG 20/20 in air]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    Buoyancy of air of 1.2 kg/m3, as in NBS Circular C440 (1942).

    Examples
    --------
    >>> round(float(apparent_sg(1.04)), 5)
    1.04005

    """
    return (within("SG", sg, 0.7, 1.5) * WATER_20C - AIR) / (WATER_20C - AIR)


def true_sg(apparent: ArrayLike) -> Floats:
    """SG 20/20 of true densities from SG 20/20 as weighed in air; the inverse of `apparent_sg`.

    Parameters
    ----------
    apparent : array, any shape
        [SG 20/20 in air], 0.7 to 1.5

    Returns
    -------
    array, same shape [SG 20/20, true densities]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    Buoyancy of air of 1.2 kg/m3, as in NBS Circular C440 (1942).

    Examples
    --------
    >>> round(float(true_sg(1.04005)), 5)
    1.04

    """
    return (within("SG in air", apparent, 0.7, 1.5) * (WATER_20C - AIR) + AIR) / WATER_20C


def oechsle_from_sg(sg: ArrayLike) -> Floats:
    """Degrees Oechsle.

    Parameters
    ----------
    sg : array, any shape
        [SG 20/20], 0.7 to 1.5

    Returns
    -------
    array, same shape [°Oe]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    Definition: 1000 (SG 20/20 - 1).

    Examples
    --------
    >>> round(float(oechsle_from_sg(1.085)), 1)
    85.0

    """
    return 1000.0 * (within("SG", sg, 0.7, 1.5) - 1.0)


def sg_from_oechsle(oechsle: ArrayLike) -> Floats:
    """SG 20/20 from degrees Oechsle.

    Parameters
    ----------
    oechsle : array, any shape
        [°Oe], -300 to 500

    Returns
    -------
    array, same shape [SG 20/20]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    Definition: 1000 (SG 20/20 - 1).

    Examples
    --------
    >>> round(float(sg_from_oechsle(85.0)), 3)
    1.085

    """
    return 1.0 + within("Oechsle", oechsle, -300.0, 500.0, "°Oe") / 1000.0


def baume_from_sg_60_60(sg_60_60: ArrayLike) -> Floats:
    """Degrees Baumé (heavy, US) from SG 60/60 °F.

    Parameters
    ----------
    sg_60_60 : array, any shape
        [SG 60/60 °F], 1 to 1.9

    Returns
    -------
    array, same shape [°Bé]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    NBS Circular C440 (1942): 145 - 145/SG.

    Examples
    --------
    >>> round(float(baume_from_sg_60_60(1.0)), 2), round(float(baume_from_sg_60_60(1.45)), 2)
    (0.0, 45.0)

    """
    return 145.0 - 145.0 / within("SG 60/60 °F", sg_60_60, 1.0, 1.9)


def sg_60_60_from_baume(baume: ArrayLike) -> Floats:
    """SG 60/60 °F from degrees Baumé (heavy, US).

    Parameters
    ----------
    baume : array, any shape
        [°Bé], 0 to 68

    Returns
    -------
    array, same shape [SG 60/60 °F]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    NBS Circular C440 (1942): 145/(145 - °Bé).

    Examples
    --------
    >>> round(float(sg_60_60_from_baume(45.0)), 2)
    1.45

    """
    return 145.0 / (145.0 - within("Baumé", baume, 0.0, 68.0, "°Bé"))


def potential_abv(sugar_g_l: ArrayLike) -> Floats:
    """Strength that a sugar would ferment to, by the European convention for must.

    Parameters
    ----------
    sugar_g_l : array, any shape
        [g/L], 0 to 400

    Returns
    -------
    array, same shape [% vol]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    16.83 g/L per 1 % vol (OIV-MA-AS2-02 Table II as used in European law). A convention, not a prediction.

    Examples
    --------
    >>> round(float(potential_abv(191.9)), 1)
    11.4

    """
    return within("sugar", sugar_g_l, 0.0, 400.0, "g/L") / SUGAR_PER_STRENGTH

"""Sugar in water: the density of sucrose solutions (ICUMSA SPS-4), and Brix, g/L and SG by it.

Brix and Plato are both grams per 100 grams of solution, counted as sucrose (the polynomials of the older sugar and
brewing tables agree to 0.005 below 10 and 0.03 below 40). SG here is SG 20/20 of true densities unless a name states
otherwise; see `scales`.
"""

import numpy as np
from numpy.typing import ArrayLike

from cooperage.liquid._curves import CELLS, Curve
from cooperage.liquid._ranges import Floats, OutsideFormula, derivative, polynomial, within

# rho(w, t) = rho_water(t) + sum SOLUTE[k] w^(k+1) + sum WARMING[i][k] w^(k+1) tau^(i+1),
# w = mass fraction, tau = (t - 20 °C)/100; the source calls them b and c
SOLUTE = (385.1761, 135.3705, 40.9299, -3.9643, 13.4853, -17.289)
WARMING = (
    (-46.272, -7.172, 1.1597, 5.1126, 17.5254),
    (59.7712, 7.2491, 12.363, -35.4791),
    (-47.2207, -21.6977, 27.6301),
    (18.3184, 12.3081),
)
# water, Bettin and Spieweck (1990): a polynomial in t over a polynomial in t
WATER_NUMERATOR = (999.83952, 16.952577, -0.0079905127, -4.6241757e-05, 1.0584601e-07, -2.8103006e-10)
WATER_DENOMINATOR = (1.0, 0.016887236)

LEAST, MOST = -0.12, 0.85  # mass fractions; below zero is apparent extract, see `brix_from_sg`
LEAST_G_L, MOST_G_L = -10.0, 1228.0  # g/L; a little below zero is what reading errors leave of no extract


def water_density(celsius: ArrayLike) -> Floats:
    """Density of air-free water.

    Parameters
    ----------
    celsius : array, any shape
        [°C], 0 to 80

    Returns
    -------
    array, same shape [kg/m3], true density (in vacuum)

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    Bettin and Spieweck (1990), on ITS-90, as ICUMSA SPS-4 uses it.

    Examples
    --------
    >>> round(float(water_density(20.0)), 2)
    998.2

    """
    t = within("temperature", celsius, 0.0, 80.0, "°C")
    return polynomial(WATER_NUMERATOR, t) / polynomial(WATER_DENOMINATOR, t)


WATER_20C = float(water_density(20.0))  # kg/m3, on this formula's own scale

_DENSITY = (WATER_20C, *SOLUTE)  # kg/m3 at 20 °C
_GRAMS = (0.0, *_DENSITY)  # w rho(w): g sucrose per L of solution at 20 °C


def _inverse(coefficients: tuple[float, ...], wanted: Floats, start: Floats) -> Floats:
    """Solve polynomial(coefficients, w) = wanted by Newton's method; these rise smoothly, so it is quick."""
    slope, w = derivative(coefficients), start
    for _ in range(12):
        step = (polynomial(coefficients, w) - wanted) / polynomial(slope, w)
        w = w - step
        if not (np.abs(step) > 1e-9).any():  # the next step would be of the order of its square
            break
    return w


def _fraction_from_g_l(grams: Floats) -> Floats:
    return _inverse(_GRAMS, grams, grams / (WATER_20C + 0.38 * grams))


def _kept_at_20c() -> Curve:
    """Tabulate SG 20/20 against g/L."""
    grams = np.linspace(LEAST_G_L, MOST_G_L, CELLS + 1)
    w = _fraction_from_g_l(grams)
    slope = polynomial(derivative(_DENSITY), w) / polynomial(derivative(_GRAMS), w)
    return Curve(LEAST_G_L, MOST_G_L, polynomial(_DENSITY, w) / WATER_20C, slope / WATER_20C)


SG_OF_EXTRACT = _kept_at_20c()


def sucrose_density(mass_fraction: ArrayLike, celsius: ArrayLike = 20.0) -> Floats:
    """Density of a solution of sucrose in water.

    Parameters
    ----------
    mass_fraction : array, any shape
        [kg sucrose per kg], 0 to 0.85
    celsius : array, broadcast with it
        [°C], 0 to 80

    Returns
    -------
    array, broadcast shape [kg/m3], true density (in vacuum)

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    ICUMSA Specification and Standard SPS-4 (1990); water by Bettin and Spieweck (1990).

    Examples
    --------
    >>> round(float(sucrose_density(0.20)), 1)
    1081.0

    """
    w = within("sucrose mass fraction", mass_fraction, 0.0, MOST)
    tau = within("temperature", celsius, 0.0, 80.0, "°C") / 100.0 - 0.2
    total = np.zeros(np.broadcast(w, tau).shape)
    for row in reversed(WARMING):
        total = (total + w * polynomial(row, w)) * tau
    return total + w * polynomial(SOLUTE, w) + water_density(celsius)


def sg_from_brix(brix: ArrayLike) -> Floats:
    """SG 20/20 of a sugar solution.

    Parameters
    ----------
    brix : array, any shape
        [g per 100 g, counted as sucrose], -12 to 85

    Returns
    -------
    array, same shape [SG 20/20, true densities]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    ICUMSA SPS-4 (1990). Below zero the polynomial is continued, see `brix_from_sg`.

    Examples
    --------
    >>> round(float(sg_from_brix(10.0)), 3)
    1.04

    """
    w = within("sugar", brix, 100 * LEAST, 100 * MOST, "°Brix") / 100.0
    return polynomial(_DENSITY, w) / WATER_20C


def brix_from_sg(sg: ArrayLike) -> Floats:
    """Sugar of a solution from its SG 20/20; of a fermented liquid, its apparent extract.

    Parameters
    ----------
    sg : array, any shape
        [SG 20/20, true densities], 0.955 to 1.449

    Returns
    -------
    array, same shape [g per 100 g, counted as sucrose]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    ICUMSA SPS-4 (1990), inverted by Newton's method. Below SG 1 (a dry fermented liquid, lighter than water)
    the same polynomial is continued to a negative "apparent" extract, as brewers' tables do.

    Examples
    --------
    >>> round(float(brix_from_sg(1.04)), 1)
    10.0

    """
    gravity = within("SG", sg, 0.955, 1.449)
    return 100.0 * _inverse(_DENSITY, gravity * WATER_20C, 2.0 * (gravity - 1.0))


def sugar_g_l_from_brix(brix: ArrayLike) -> Floats:
    """Sugar in g/L from g per 100 g (they are not ten times each other: 20 °Brix is 216 g/L).

    Parameters
    ----------
    brix : array, any shape
        [g per 100 g, counted as sucrose], -12 to 85

    Returns
    -------
    array, same shape [g/L at 20 °C]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    ICUMSA SPS-4 (1990): mass fraction times density.

    Examples
    --------
    >>> round(float(sugar_g_l_from_brix(20.0)), 1)
    216.2

    """
    return polynomial(_GRAMS, within("sugar", brix, 100 * LEAST, 100 * MOST, "°Brix") / 100.0)


def brix_from_sugar_g_l(sugar_g_l: ArrayLike) -> Floats:
    """Sugar in g per 100 g from g/L; the inverse of `sugar_g_l_from_brix`.

    Parameters
    ----------
    sugar_g_l : array, any shape
        [g/L at 20 °C, counted as sucrose], -10 to 1228

    Returns
    -------
    array, same shape [g per 100 g]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    ICUMSA SPS-4 (1990), inverted by Newton's method.

    Examples
    --------
    >>> round(float(brix_from_sugar_g_l(216.2)), 1)
    20.0

    """
    return 100.0 * _fraction_from_g_l(within("sugar", sugar_g_l, LEAST_G_L, MOST_G_L, "g/L"))


def brix_from_density(kg_m3: ArrayLike, celsius: ArrayLike) -> Floats:
    """Sugar of a solution from its density at any temperature.

    Parameters
    ----------
    kg_m3 : array, any shape
        [kg/m3], 970 to 1460
    celsius : array, broadcast with it
        [°C], 0 to 80

    Returns
    -------
    array, broadcast shape [g per 100 g, counted as sucrose]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above, or no sugar solution is so light or so heavy there (by more than
        0.05 kg/m3; nearer than that it counts as water).

    Source
    ------
    ICUMSA SPS-4 (1990), inverted by repeated substitution.

    Examples
    --------
    >>> round(float(brix_from_density(1081.0, 20.0)), 1)
    20.0

    """
    rho = within("density", kg_m3, 970.0, 1460.0, "kg/m3")
    water, heaviest = water_density(celsius), sucrose_density(MOST, celsius)
    strange = (rho < water - 0.05) | (rho > heaviest + 0.05)
    if strange.any():
        given, least, most = (float(x[strange].flat[0]) for x in np.broadcast_arrays(rho, water, heaviest))
        raise OutsideFormula("density of a sugar solution", given, least, most, "kg/m3 at that temperature")
    w = np.clip((rho - water) / 450.0, 0.0, MOST)
    for _ in range(30):  # the slope is 350 to 560 kg/m3 all over, so each step removes most of the error
        w = np.clip(w - (sucrose_density(w, celsius) - rho) / 460.0, 0.0, MOST)
    return 100.0 * w


def sg_at_basis(brix: ArrayLike, basis_celsius: ArrayLike) -> Floats:
    """SG of a sugar solution on another basis than 20/20: 15/15, or 60/60 °F (15.56 °C) for Baumé.

    Parameters
    ----------
    brix : array, any shape
        [g per 100 g, counted as sucrose], 0 to 85
    basis_celsius : array, broadcast with it
        [°C of solution and water alike], 0 to 80

    Returns
    -------
    array, broadcast shape [SG on that basis, true densities]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    ICUMSA SPS-4 (1990) for the solution, Bettin and Spieweck (1990) for the water. `brix_from_density` leads back.

    Examples
    --------
    >>> round(float(sg_at_basis(4.65, 15.0)), 3)
    1.018

    """
    sugar = within("sugar", brix, 0.0, 100.0 * MOST, "°Brix") / 100.0
    t = within("basis temperature", basis_celsius, 0.0, 80.0, "°C")
    return sucrose_density(sugar, t) / water_density(t)

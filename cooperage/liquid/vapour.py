"""Vapour over mead: what drives evaporation."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from cooperage.liquid._ranges import Floats, within
from cooperage.liquid._tabarie import ETHANOL_G_L, checked_liquid
from cooperage.liquid.ethanol import WATER_20C

KELVIN = 273.15
M_WATER, M_ETHANOL, M_SUGAR = 18.01528, 46.06844, 180.156  # g/mol; honey's sugars are fructose and glucose

WATER_CRITICAL_K, WATER_CRITICAL_PA = 647.096, 22.064e6
WATER_TERMS = (
    (-7.85951783, 1.0),
    (1.84408259, 1.5),
    (-11.7866497, 3.0),
    (22.6807411, 3.5),
    (-15.9618719, 4.0),
    (1.80122502, 7.5),
)
ETHANOL_DIPPR = (73.304, -7122.3, -7.1424, 2.8853e-06)
HENRY = (30.60636, -6045.389)  # ln(H/Pa) = a + b/T, ethanol in water
BOILING_A12, BOILING_A21 = 1.6798, 0.9227  # van Laar at 101.325 kPa


class VapourPressures(NamedTuple):
    """Partial pressures over a liquid."""

    water: Floats
    """[Pa]."""
    ethanol: Floats
    """[Pa]."""


class Activity(NamedTuple):
    """Activity coefficients: how much more each escapes than its share of the molecules alone."""

    ethanol: Floats
    """[1]."""
    water: Floats
    """[1]."""


def water_vapour_pressure(celsius: ArrayLike) -> Floats:
    """Pressure of water vapour over pure water.

    Parameters
    ----------
    celsius : array, any shape
        [°C], 0 to 100

    Returns
    -------
    array, same shape [Pa]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    Wagner and Pruss, J. Phys. Chem. Ref. Data 22:783 (1993), saturation equation on ITS-90.

    Examples
    --------
    >>> round(float(water_vapour_pressure(20.0)) / 2339.32, 3)
    1.0

    """
    kelvin = within("temperature", celsius, 0.0, 100.0, "°C") + KELVIN
    depth = 1.0 - kelvin / WATER_CRITICAL_K
    exponent = sum((a * depth**power for a, power in WATER_TERMS), start=np.zeros_like(depth))
    return WATER_CRITICAL_PA * np.exp(WATER_CRITICAL_K / kelvin * exponent)


def ethanol_vapour_pressure(celsius: ArrayLike) -> Floats:
    """Pressure of ethanol vapour over pure ethanol.

    Parameters
    ----------
    celsius : array, any shape
        [°C], 0 to 100

    Returns
    -------
    array, same shape [Pa], good to 0.7 %

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    Perry's Chemical Engineers' Handbook, 8th ed., Table 2-8.

    Examples
    --------
    >>> round(float(ethanol_vapour_pressure(20.0)) / 5876, 2)
    1.0

    """
    kelvin = within("temperature", celsius, 0.0, 100.0, "°C") + KELVIN
    a, b, c, d = ETHANOL_DIPPR
    return np.exp(a + b / kelvin + c * np.log(kelvin) + d * kelvin**2)


def henry_ethanol(celsius: ArrayLike) -> Floats:
    """Henry's constant of ethanol in water: vapour pressure per mole fraction when very dilute.

    Parameters
    ----------
    celsius : array, any shape
        [°C], 0 to 40

    Returns
    -------
    array, same shape [Pa]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    Sander, Compilation of Henry's law constants for water as solvent.

    Examples
    --------
    >>> round(float(henry_ethanol(20.0)) / 21681, 2)
    1.0

    """
    a, b = HENRY
    return np.exp(a + b / (within("temperature", celsius, 0.0, 40.0, "°C") + KELVIN))


def activity_coefficients(
    ethanol_mole_fraction: ArrayLike, a12: ArrayLike = BOILING_A12, a21: ArrayLike = BOILING_A21
) -> Activity:
    """Activity coefficients of ethanol and water by van Laar's equation.

    Parameters
    ----------
    ethanol_mole_fraction : array, any shape
        [mol/mol of ethanol and water], 0 to 1
    a12 : array, broadcast with it
        [1, ln of ethanol's coefficient when very dilute], 0.1 to 4
    a21 : array, broadcast with it
        [1, ln of water's coefficient when very dilute], 0.1 to 4

    Returns
    -------
    Activity of arrays, broadcast shape: ethanol [1], water [1]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    Perry's Chemical Engineers' Handbook, 7th ed., Table 13-4. The defaults were fitted on the boiling curve at
    1 atm; in a cellar they overstate ethanol, see `partial_pressures`.

    Examples
    --------
    >>> round(float(activity_coefficients(1.0).ethanol), 2)
    1.0

    """
    x = within("ethanol mole fraction", ethanol_mole_fraction, 0.0, 1.0)
    a, b = within("A12", a12, 0.1, 4.0), within("A21", a21, 0.1, 4.0)
    total = a * x + b * (1.0 - x)
    return Activity(np.exp(a * (b * (1.0 - x) / total) ** 2), np.exp(b * (a * x / total) ** 2))


def partial_pressures(abv: ArrayLike, extract_g_l: ArrayLike, celsius: ArrayLike) -> VapourPressures:
    """Partial pressures of water and ethanol over mead in a cellar.

    Parameters
    ----------
    abv : array, any shape
        [% vol at 20 °C], 0 to 100
    extract_g_l : array, broadcast with it
        [g/L], -10 to 1228
    celsius : array, broadcast with it
        [°C], 0 to 40

    Returns
    -------
    VapourPressures of arrays, broadcast shape: water [Pa], ethanol [Pa]

    Raises
    ------
    OutsideFormula, NoSuchLiquid
        A figure lies outside the range above, or there is no such liquid.

    Source
    ------
    Modified Raoult's law. Van Laar's equation with A12 = ln(H/Psat) from Henry's constant at cellar
    temperature (Sander) and A21 from Perry's; extract counts as monosaccharide and merely dilutes.

    Examples
    --------
    >>> over_water = partial_pressures(0.0, 0.0, 20.0)
    >>> round(float(over_water.water) / 2339.32, 3), float(over_water.ethanol)
    (1.0, 0.0)

    """
    strength, extract, sg = checked_liquid(abv, extract_g_l)
    ethanol = ETHANOL_G_L * strength / M_ETHANOL  # mol/L
    water = (WATER_20C * sg - ETHANOL_G_L * strength - extract) / M_WATER
    everything = ethanol + water + extract / M_SUGAR
    pure = ethanol_vapour_pressure(within("temperature", celsius, 0.0, 40.0, "°C"))
    dilute = np.log(henry_ethanol(celsius) / pure)
    escape = activity_coefficients(np.clip(ethanol / (ethanol + water), 0.0, 1.0), dilute, BOILING_A21)
    return VapourPressures(
        water / everything * escape.water * water_vapour_pressure(celsius),
        ethanol / everything * escape.ethanol * pure,
    )

"""Honey: moisture by refractometer, weight per litre, and honey as a stream that `mix` can pour."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from cooperage.liquid._ranges import Floats, within
from cooperage.liquid.ethanol import WATER_20C
from cooperage.liquid.sucrose import sucrose_density

INDEX_PER_CELSIUS = 0.00023  # what a degree above 20 °C takes off the refractive index
TABLE_MOISTURE = np.array([13.0, 14.0, 15.0, 16.0, 17.0, 18.0, 18.6, 19.0])  # g per 100 g
TABLE_SG = np.array([1.4457, 1.4404, 1.435, 1.4295, 1.4237, 1.4171, 1.4129, 1.4101])  # 20/20


class HoneyStream(NamedTuple):
    """Honey as `mix` takes it: exact in mass and sugar, the litres those of sucrose syrup as strong."""

    litres: Floats
    """Volume [L]; `honey_density` gives the litres a jug would show, about 0.7 % more."""
    abv: Floats
    """Always 0 [% vol]."""
    extract_g_l: Floats
    """Solids [g/L]."""


def honey_moisture(refractive_index: ArrayLike, celsius: ArrayLike = 20.0) -> Floats:
    """Water in honey from its refractive index.

    Parameters
    ----------
    refractive_index : array, any shape
        [1, at 589 nm], 1.46 to 1.52
    celsius : array, broadcast with it
        [°C of honey and prism], 10 to 40

    Returns
    -------
    array, broadcast shape [g water per 100 g]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    Wedmore, Bee World 36:197-206 (1955): W = (-0.26810 - log10(n - 1))/0.002243 at 20 °C; temperature by
    Bogdanov, Harmonised methods of the International Honey Commission: add 0.00023 per °C above 20.

    Examples
    --------
    >>> round(float(honey_moisture(1.4940)), 1)
    17.0

    """
    n = within("refractive index", refractive_index, 1.46, 1.52)
    t = within("temperature", celsius, 10.0, 40.0, "°C")
    return (-0.26810 - np.log10(n + INDEX_PER_CELSIUS * (t - 20.0) - 1.0)) / 0.002243


def honey_density(moisture: ArrayLike) -> Floats:
    """Weight of honey per litre at 20 °C.

    Parameters
    ----------
    moisture : array, any shape
        [g water per 100 g], 13 to 19

    Returns
    -------
    array, same shape [kg/m3]; good to 0.5 %, weigh honey where it matters

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    USDA table of the specific gravity of honey, interpolated; known from memory only, so of low certainty.

    Examples
    --------
    >>> round(float(honey_density(17.0)), 0)
    1421.0

    """
    water = within("moisture", moisture, 13.0, 19.0, "g per 100 g")
    sg: Floats = np.interp(water, TABLE_MOISTURE, TABLE_SG)
    return WATER_20C * sg


def honey_stream(kilograms: ArrayLike, moisture: ArrayLike) -> HoneyStream:
    """Honey as a stream for `mix`: its mass and its solids exact, the solids counted as sucrose.

    Parameters
    ----------
    kilograms : array, any shape
        [kg], 0 or more
    moisture : array, broadcast with it
        [g water per 100 g], 15 to 30

    Returns
    -------
    HoneyStream of arrays, broadcast shape: litres [L], abv [% vol], extract_g_l [g/L]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    Conservation of mass, with ICUMSA SPS-4 (1990). Honey's own sugars, fructose and glucose, make a solution
    lighter by about 1 kg/m3 at 30 % than sucrose does (CRC Handbook): an SG reading shows 1 % less than is there.

    Examples
    --------
    >>> honey = honey_stream(10.0, 18.0)
    >>> round(float(honey.litres * honey.extract_g_l), 0)
    8200.0

    """
    mass = within("honey", kilograms, 0.0, unit="kg")
    solids = 1.0 - within("moisture", moisture, 15.0, 30.0, "g per 100 g") / 100.0
    rho = sucrose_density(solids)
    return HoneyStream(mass * 1000.0 / rho, 0.0 * mass * solids, solids * rho + 0.0 * mass)

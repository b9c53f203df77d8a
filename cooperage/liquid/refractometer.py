"""The refractometer: sugar of a must that holds no alcohol. Alcohol bends light too and spoils the reading."""

import numpy as np
from numpy.typing import ArrayLike

from cooperage.liquid._curves import bilinear
from cooperage.liquid._ranges import Floats, polynomial, within

BRIX_FROM_INDEX = (-99127.4536, 318417.95, -413145.8, 270177.93, -88885.21, 11758.74)

CORRECTION_BRIX = np.array([10.0, 20.0, 25.0, 35.0, 40.0, 50.0, 55.0, 65.0, 70.0])
CORRECTION_CELSIUS = np.array([10.0, 11.0, 12.0, 13.0, 14.0, 15.0, 16.0, *range(20, 31)])
CORRECTION = np.array(
    [
        [-0.59, -0.65, -0.67, -0.71, -0.72, -0.74, -0.75, -0.75, -0.75],
        [-0.54, -0.59, -0.61, -0.64, -0.65, -0.67, -0.68, -0.68, -0.68],
        [-0.49, -0.53, -0.55, -0.57, -0.58, -0.60, -0.60, -0.61, -0.60],
        [-0.43, -0.47, -0.48, -0.51, -0.52, -0.53, -0.53, -0.53, -0.53],
        [-0.38, -0.40, -0.42, -0.44, -0.44, -0.45, -0.46, -0.46, -0.46],
        [-0.32, -0.34, -0.35, -0.37, -0.37, -0.38, -0.38, -0.38, -0.38],
        [-0.26, -0.28, -0.28, -0.30, -0.30, -0.31, -0.31, -0.31, -0.31],
        [0.0] * 9,
        [0.07, 0.07, 0.08, 0.08, 0.08, 0.08, 0.08, 0.08, 0.08],
        [0.14, 0.15, 0.15, 0.15, 0.15, 0.16, 0.16, 0.16, 0.16],
        [0.21, 0.22, 0.23, 0.23, 0.23, 0.24, 0.24, 0.24, 0.24],
        [0.28, 0.3, 0.3, 0.31, 0.31, 0.32, 0.32, 0.32, 0.32],
        [0.36, 0.38, 0.38, 0.4, 0.4, 0.4, 0.4, 0.4, 0.4],
        [0.43, 0.45, 0.46, 0.48, 0.48, 0.48, 0.48, 0.48, 0.48],
        [0.52, 0.54, 0.55, 0.56, 0.56, 0.56, 0.56, 0.56, 0.56],
        [0.6, 0.62, 0.63, 0.64, 0.64, 0.64, 0.64, 0.64, 0.64],
        [0.68, 0.71, 0.72, 0.73, 0.73, 0.73, 0.73, 0.73, 0.73],
        [0.77, 0.79, 0.8, 0.81, 0.81, 0.81, 0.81, 0.81, 0.81],
    ]
)
COLD_BRIX = CORRECTION_BRIX[:3]
COLD_CELSIUS = np.array([5.0, 6.0, 7.0, 8.0, 9.0, 10.0])
COLD = np.array(
    [
        [-0.82, -0.92, -0.95],
        [-0.78, -0.87, -0.90],  # the first is printed -0.80, which lies out of line: between its neighbours
        [-0.74, -0.82, -0.84],
        [-0.69, -0.76, -0.79],
        [-0.64, -0.71, -0.73],
        CORRECTION[0, :3],
    ]
)


def brix_from_refractive_index(refractive_index: ArrayLike) -> Floats:
    """Sugar of an alcohol-free must from its refractive index at 20 °C.

    Parameters
    ----------
    refractive_index : array, any shape
        [1, at 20 °C and 589 nm], 1.3329 to 1.503

    Returns
    -------
    array, same shape [g per 100 g, counted as sucrose]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    Polynomial fit to the ICUMSA refractometric table; reads 0.01 low at 0 and 0.13 low at 84 °Brix.

    Examples
    --------
    >>> round(float(brix_from_refractive_index(1.3639)), 1)
    20.0

    """
    return polynomial(BRIX_FROM_INDEX, within("refractive index", refractive_index, 1.3329, 1.503))


def correct_refractometer(brix: ArrayLike, celsius: ArrayLike) -> Floats:
    """Sugar at 20 °C from a refractometer reading in a cool or warm cellar (no automatic compensation).

    Parameters
    ----------
    brix : array, any shape
        [g per 100 g as read], 10 to 70; below 10 °C only to 25
    celsius : array, broadcast with it
        [°C of prism and must], 5 to 30

    Returns
    -------
    array, broadcast shape [g per 100 g at 20 °C]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    To 20 °C OIV-MA-AS2-02 Table I, above it the International Temperature Correction Table (1936), from memory;
    interpolated both ways, zero at 20 °C.

    Examples
    --------
    >>> round(float(correct_refractometer(25.0, 12.0)), 2)
    24.45

    """
    reading = within("sugar", brix, 10.0, 70.0, "°Brix")
    t = within("temperature", celsius, 5.0, 30.0, "°C")
    reading, t = np.broadcast_arrays(reading, t)
    is_cold = t < CORRECTION_CELSIUS[0]
    within("sugar below 10 °C", reading[is_cold], COLD_BRIX[0], COLD_BRIX[-1], "°Brix")
    cold = bilinear(COLD_CELSIUS, COLD_BRIX, COLD, t, reading)
    return reading + np.where(is_cold, cold, bilinear(CORRECTION_CELSIUS, CORRECTION_BRIX, CORRECTION, t, reading))

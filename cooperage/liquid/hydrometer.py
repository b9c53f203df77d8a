"""Floating instruments, read away from the temperature they were made for.

The glass swells as it warms and the liquid swells more. A hydrometer made for 60 °F (15.56 °C) reads SG 60/60,
one made for 20 °C reads SG 20/20; both are brought to SG 20/20 here.
"""

import numpy as np
from numpy.typing import ArrayLike

from cooperage.errors import OutOfRange
from cooperage.liquid._ranges import Floats, within
from cooperage.liquid.ethanol import (
    SG_OF_ABV,
    abv_at_basis,
    abv_from_density,
    ethanol_water_density,
    mass_fraction_at_basis,
    mass_fraction_from_abv,
)
from cooperage.liquid.sucrose import WATER_20C, brix_from_sg, sucrose_density, water_density

SODA_LIME_GLASS = 25e-6  # swelling in volume per °C (OIML R 22)
HOTTEST_WITH_ALCOHOL = 40.0  # °C, the end of OIML R 22


class TooHotForStrength(OutOfRange):
    """How alcohol swells is known to 40 °C only."""

    def __init__(self, celsius: float) -> None:
        self.celsius = celsius
        super().__init__(f"with alcohol the correction is known to 40 °C, not {celsius:g} °C; let it cool")


def correct_hydrometer(
    sg: ArrayLike,
    celsius: ArrayLike,
    calibrated_at: ArrayLike = 20.0,
    abv: ArrayLike = 0.0,
    glass: ArrayLike = SODA_LIME_GLASS,
) -> Floats:
    """SG 20/20 from a hydrometer reading taken at another temperature.

    Parameters
    ----------
    sg : array, any shape
        [SG as read, on the hydrometer's own scale], 0.78 to 1.4
    celsius : array, broadcast with it
        [°C of the liquid], 0 to 60
    calibrated_at : array, broadcast with it
        [°C the hydrometer was made for: 20, 15.56 (60 °F) or 15], 0 to 40
    abv : array, broadcast with it
        [% vol of the liquid, 0 for must], 0 to 100
    glass : array, broadcast with it
        [swelling of the glass in volume per °C], 0 to 0.0001

    Returns
    -------
    array, broadcast shape [SG 20/20, true densities]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.
    TooHotForStrength
        Alcohol above 40 °C.

    Source
    ------
    Glass: OIML R 22 (1975). The liquid swells as sucrose in water (ICUMSA SPS-4, 1990) and as ethanol in water
    (OIML R 22) do, the two factors multiplied. A liquid below SG 1 of no stated strength swells as water.

    Examples
    --------
    >>> round(float(correct_hydrometer(0.9993, 20.0, calibrated_at=15.56)), 4)
    1.0

    """
    reading = within("SG", sg, 0.78, 1.4)
    t = within("temperature", celsius, 0.0, 60.0, "°C")
    made_for = within("calibration temperature", calibrated_at, 0.0, 40.0, "°C")
    strength = within("strength", abv, 0.0, 100.0, "% vol")
    swelling = within("swelling of the glass", glass, 0.0, 1e-4, "per °C")
    rho = reading * water_density(made_for) / (1.0 + swelling * (t - made_for))
    alcohol = _alcohol_swelling(strength, t)
    gravity = rho / WATER_20C
    for _ in range(6):  # how the liquid swells depends on the answer, weakly
        gravity = rho / WATER_20C / (_sugar_swelling(gravity - SG_OF_ABV(strength) + 1.0, t) * alcohol)
    return gravity


def _sugar_swelling(sg_without_alcohol: Floats, t: Floats) -> Floats:
    w = brix_from_sg(np.clip(sg_without_alcohol, 1.0, 1.447)) / 100.0
    w = np.clip(w, 0.0, 0.85)
    return sucrose_density(w, t) / sucrose_density(w, 20.0)


def _alcohol_swelling(strength: Floats, t: Floats) -> Floats:
    """Density at t over density at 20 °C, beside that of water."""
    strength, t = np.broadcast_arrays(strength, t)
    hot = (strength > 0.0) & (t > HOTTEST_WITH_ALCOHOL)
    if hot.any():
        raise TooHotForStrength(float(t[hot].flat[0]))
    known = np.minimum(t, HOTTEST_WITH_ALCOHOL)
    p = mass_fraction_from_abv(strength)
    return (ethanol_water_density(p, known) / ethanol_water_density(p, 20.0)) / (
        ethanol_water_density(0.0, known) / ethanol_water_density(0.0, 20.0)
    )


def correct_alcoholometer(abv: ArrayLike, celsius: ArrayLike, basis_celsius: ArrayLike = 20.0) -> Floats:
    """True strength from a glass alcoholometer read at another temperature (spirit: no sugar).

    Parameters
    ----------
    abv : array, any shape
        [% vol as read, on the instrument's basis], 0 to 100
    celsius : array, broadcast with it
        [°C of the spirit], -20 to 40
    basis_celsius : array, broadcast with it
        [°C of the instrument's basis: 20, or 15.56 for proof], 0 to 40

    Returns
    -------
    array, broadcast shape [% vol at the basis temperature]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above, or no spirit reads so at that temperature.

    Source
    ------
    OIML R 22 (1975), Tables VIIIa and VIIIb are made this way; glass swells 25e-6 per °C.

    Examples
    --------
    >>> round(float(correct_alcoholometer(67.0, 35.0)), 1)
    61.8

    """
    t = within("temperature", celsius, -20.0, 40.0, "°C")
    basis = within("basis temperature", basis_celsius, 0.0, 40.0, "°C")
    indicated = ethanol_water_density(mass_fraction_at_basis(abv, basis), basis)
    true_density = indicated / (1.0 + SODA_LIME_GLASS * (t - basis))
    return abv_at_basis(mass_fraction_from_abv(abv_from_density(true_density, t)), basis)


def correct_us_proof(proof: ArrayLike, fahrenheit: ArrayLike) -> Floats:
    """True US proof at 60 °F from a proof hydrometer read at another temperature.

    Parameters
    ----------
    proof : array, any shape
        [US proof as read], 0 to 200
    fahrenheit : array, broadcast with it
        [°F of the spirit], -4 to 104

    Returns
    -------
    array, broadcast shape [US proof at 60 °F]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above, or no spirit reads so at that temperature.

    Source
    ------
    27 CFR 30.11 (proof is twice % vol at 60 °F) with OIML R 22 (1975); agrees with the Gauging Manual's Table 1.

    Examples
    --------
    >>> round(float(correct_us_proof(192.0, 73.0)), 1)
    188.9

    """
    reading = within("proof", proof, 0.0, 200.0, "US proof")
    t = (within("temperature", fahrenheit, -4.0, 104.0, "°F") - 32.0) / 1.8  # °F to °C
    return 2.0 * correct_alcoholometer(reading / 2.0, np.clip(t, -20.0, 40.0), (60.0 - 32.0) / 1.8)

"""Ethanol and water: density, % mass and % vol, by the International Alcoholometric Formula (OIML R 22, 1975).

Densities are true (in vacuum). % vol is always at 20 °C, as labels have it; US proof at 60 °F is a cooler
basis and reads lower: `abv_at_basis`.
"""

import numpy as np
from numpy.typing import ArrayLike

from cooperage.liquid._curves import CELLS, Curve
from cooperage.liquid._ranges import Floats, OutsideFormula, derivative, polynomial, within

# rho(p, t) = sum A[k] p^k + sum B[k] dt^(k+1) + sum C[i][k] p^(k+1) dt^(i+1), dt = t - 20 °C, p = mass fraction
# fmt: off
A = (
    998.20123, -192.9769495, 389.1238958, -1668.103923, 13522.15441, -88292.78388,
    306287.4042, -613838.1234, 747017.2998, -547846.1354, 223446.0334, -39032.85426,
)
B = (-0.20618513, -0.0052682542, 3.6130013e-05, -3.8957702e-07, 7.169354e-09, -9.9739231e-11)
C = (
    (
        0.1693443461530087, -10.46914743455169, 71.96353469546523, -704.7478054272792,
        3924.090430035045, -12101.64659068747, 22486.46550400788, -26055.62982188164,
        18523.73922069467, -7420.201433430137, 1285.617841998974,
    ),
    (
        -0.0119301300505701, 0.2517399633803461, -2.170575700536993, 13.53034988843029,
        -50.29988758547014, 109.635566657757, -142.2753946421155, 108.043594285623,
        -44.14153236817392, 7.442971530188783,
    ),
    (
        -0.0006802995733503803, 0.01876837790289664, -0.2002561813734156, 1.02299296671922,
        -2.895696483903638, 4.810060584300675, -4.672147440794683, 2.458043105903461,
        -0.5411227621436812,
    ),
    (4.075376675622027e-06, -8.76305857347111e-06, 6.515031360099368e-06, -1.51578483698721e-06),
    (-2.788074354782409e-08, 1.345612883493354e-08),
)
# fmt: on
WATER_20C = A[0]  # kg/m3, on this formula's own scale
ETHANOL_20C = float(polynomial(A, np.asarray(1.0)))  # kg/m3
SPREAD_OF_WATER = 0.01  # kg/m3: published densities of pure water at one temperature differ by nearly this much


def _density(p: Floats, dt: Floats) -> Floats:
    if dt.ndim == 0:
        return polynomial(_at_one_temperature(float(dt)), p)
    by_power = [p * polynomial(row, p) + b for row, b in zip((*C, (0.0,)), B, strict=True)]
    total = np.zeros(np.broadcast(p, dt).shape)
    for coefficient in reversed(by_power):
        total = (total + coefficient) * dt
    return total + polynomial(A, p)


def _at_one_temperature(dt: float) -> tuple[float, ...]:
    """Collapse the double sum to one polynomial in the mass fraction."""
    total = np.array(A)
    total[0] += sum(b * dt ** (i + 1) for i, b in enumerate(B))
    for i, row in enumerate(C):
        total[1 : len(row) + 1] += np.array(row) * dt ** (i + 1)
    return tuple(total.tolist())


def _density_slope(p: Floats, dt: Floats) -> Floats:
    total = np.zeros(np.broadcast(p, dt).shape)
    for row in reversed(C):
        total = (total + polynomial(derivative((0.0, *row)), p)) * dt
    return total + polynomial(derivative(A), p)


def ethanol_water_density(mass_fraction: ArrayLike, celsius: ArrayLike = 20.0) -> Floats:
    """Density of a mixture of ethanol and water.

    Parameters
    ----------
    mass_fraction : array, any shape
        [kg ethanol per kg], 0 to 1
    celsius : array, broadcast with it
        [°C], -20 to 40

    Returns
    -------
    array, broadcast shape [kg/m3], true density (in vacuum)

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    OIML R 22, International alcoholometric tables (1975); the same formula stands in the Annex to Council
    Directive 76/766/EEC. Temperatures are on IPTS-68, which is within 0.01 °C of today's scale here.

    Examples
    --------
    >>> round(float(ethanol_water_density(0.5, 20.0)), 2)
    913.77

    """
    p = within("ethanol mass fraction", mass_fraction, 0.0, 1.0)
    t = within("temperature", celsius, -20.0, 40.0, "°C")
    return _density(p, t - 20.0)


def abv_from_mass_fraction(mass_fraction: ArrayLike) -> Floats:
    """Strength by volume at 20 °C from strength by mass, for ethanol and water alone.

    Parameters
    ----------
    mass_fraction : array, any shape
        [kg ethanol per kg], 0 to 1

    Returns
    -------
    array, same shape [% vol at 20 °C]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    OIML R 22 (1975): q = p rho(p, 20 °C) / rho(1, 20 °C).

    Examples
    --------
    >>> round(float(abv_from_mass_fraction(0.333)), 1)
    40.0

    """
    p = within("ethanol mass fraction", mass_fraction, 0.0, 1.0)
    return 100.0 * p * polynomial(A, p) / ETHANOL_20C


def mass_fraction_from_abv(abv: ArrayLike) -> Floats:
    """Strength by mass from strength by volume at 20 °C, for ethanol and water alone.

    Parameters
    ----------
    abv : array, any shape
        [% vol at 20 °C], 0 to 100

    Returns
    -------
    array, same shape [kg ethanol per kg]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    The inverse of `abv_from_mass_fraction` (OIML R 22, 1975), to the precision of its own arithmetic (1e-12).

    Examples
    --------
    >>> round(float(mass_fraction_from_abv(20.0)), 4)
    0.1621

    """
    return MASS_FRACTION_OF_ABV(within("strength", abv, 0.0, 100.0, "% vol"))


def _kept_at_20c() -> tuple[Curve, Curve]:
    """Tabulate mass fraction and SG 20/20 against % vol, by Newton's method on p rho(p)."""
    kg_m3 = (0.0, *A)  # p rho(p): kg ethanol per m3 of mixture
    wanted = np.linspace(0.0, ETHANOL_20C, CELLS + 1)
    p = wanted / (WATER_20C - (WATER_20C / ETHANOL_20C - 1.0) * wanted)  # as if volumes added
    for _ in range(8):
        p = p - (polynomial(kg_m3, p) - wanted) / polynomial(derivative(kg_m3), p)
    slope = ETHANOL_20C / 100.0 / polynomial(derivative(kg_m3), p)
    sg, sg_slope = polynomial(A, p) / WATER_20C, slope * polynomial(derivative(A), p) / WATER_20C
    return Curve(0.0, 100.0, p, slope), Curve(0.0, 100.0, sg, sg_slope)


MASS_FRACTION_OF_ABV, SG_OF_ABV = _kept_at_20c()


def abv_at_basis(mass_fraction: ArrayLike, basis_celsius: ArrayLike) -> Floats:
    """Strength by volume at another temperature than 20 °C: 15.56 °C (60 °F, US proof halved) or 15 °C.

    Parameters
    ----------
    mass_fraction : array, any shape
        [kg ethanol per kg], 0 to 1
    basis_celsius : array, broadcast with it
        [°C], -20 to 40

    Returns
    -------
    array, broadcast shape [% vol at the basis temperature]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    OIML R 22 (1975); 27 CFR 30.11 for US proof = 2 x % vol at 60 °F.

    Examples
    --------
    >>> round(float(abv_at_basis(0.1627, 15.56)), 1)
    20.0

    """
    p = within("ethanol mass fraction", mass_fraction, 0.0, 1.0)
    dt = within("basis temperature", basis_celsius, -20.0, 40.0, "°C") - 20.0
    return 100.0 * p * _density(p, dt) / _density(np.ones_like(p), dt)


def mass_fraction_at_basis(abv: ArrayLike, basis_celsius: ArrayLike) -> Floats:
    """Strength by mass from strength by volume at another temperature than 20 °C.

    Parameters
    ----------
    abv : array, any shape
        [% vol at the basis temperature], 0 to 100
    basis_celsius : array, broadcast with it
        [°C], -20 to 40

    Returns
    -------
    array, broadcast shape [kg ethanol per kg]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    The inverse of `abv_at_basis` (OIML R 22, 1975), by Newton's method.

    Examples
    --------
    >>> round(float(mass_fraction_at_basis(20.0, 15.56)), 4)
    0.1627

    """
    strength = within("strength", abv, 0.0, 100.0, "% vol")
    dt = within("basis temperature", basis_celsius, -20.0, 40.0, "°C") - 20.0
    wanted = strength / 100.0 * _density(np.ones_like(strength), dt)
    p = MASS_FRACTION_OF_ABV(strength) + 0.0 * dt
    for _ in range(8):
        rho = _density(p, dt)
        p = p - (p * rho - wanted) / (rho + p * _density_slope(p, dt))
    return np.clip(p, 0.0, 1.0)


def abv_from_density(kg_m3: ArrayLike, celsius: ArrayLike = 20.0) -> Floats:
    """Strength at 20 °C of ethanol and water from its density at any temperature.

    Parameters
    ----------
    kg_m3 : array, any shape
        [kg/m3], 770 to 1000
    celsius : array, broadcast with it
        [°C], -20 to 40

    Returns
    -------
    array, broadcast shape [% vol at 20 °C]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above, or the density lies above that of water or below that of
        ethanol at that temperature (by more than 0.01 kg/m3; nearer than that it counts as pure).

    Source
    ------
    OIML R 22 (1975), inverted.

    Examples
    --------
    >>> round(float(abv_from_density(913.77, 20.0)), 1)
    57.9

    """
    t = within("temperature", celsius, -20.0, 40.0, "°C")
    rho = within("density", kg_m3, 770.0, 1000.0, "kg/m3")
    return abv_from_mass_fraction(_mass_fraction_from_density(rho, t))


def _mass_fraction_from_density(rho: Floats, t: Floats) -> Floats:
    """Newton's method kept between two bounds that close in on the answer."""
    rho, dt = np.broadcast_arrays(rho, t - 20.0)
    low, high = np.zeros(rho.shape), np.ones(rho.shape)
    lightest, heaviest = _density(high, dt), _density(low, dt)
    strange = (rho < lightest - SPREAD_OF_WATER) | (rho > heaviest + SPREAD_OF_WATER)
    if strange.any():
        given, least, most = (float(x[strange].flat[0]) for x in (rho, lightest, heaviest))
        raise OutsideFormula("density of ethanol and water", given, least, most, "kg/m3 at that temperature")
    rho = np.clip(rho, lightest, heaviest)
    p = (heaviest - rho) / (heaviest - lightest)
    for _ in range(60):
        excess = _density(p, dt) - rho
        low, high = np.where(excess > 0, p, low), np.where(excess > 0, high, p)
        newton = p - excess / _density_slope(p, dt)
        following = np.where((newton >= low) & (newton <= high), newton, (low + high) / 2)
        moved = np.abs(following - p)
        p = following
        if not (moved > 1e-15).any():
            break
    return p

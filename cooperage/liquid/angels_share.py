"""The angels' share: water and ethanol lost through the wood, driven by vapour pressure.

Mass lost per second = permeability x area / stave x (pressure over the mead - pressure in the room). One number, the
permeability, is fitted per barrel or group from what topping shows; the rest is physics. Ethanol passes oak less
readily than water; how much less is poorly known (`SELECTIVITY`); so is the humidity at which strength stays
constant.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from cooperage.errors import OutOfRange
from cooperage.liquid._ranges import Floats, within
from cooperage.liquid._tabarie import ETHANOL_G_L, checked_liquid, settled_litres
from cooperage.liquid.ethanol import WATER_20C
from cooperage.liquid.sucrose import SG_OF_EXTRACT
from cooperage.liquid.vapour import M_ETHANOL, M_WATER, partial_pressures, water_vapour_pressure

SECONDS_PER_DAY = 86_400.0
# kg/(m s Pa). Instrumented 225 L cellar barrels lost 20 mL a day, 7.3 L a year, once the wood had settled (an
# in-situ study of volume, mass and pressure, from memory). `fitted_permeability` makes 6.6e-12 to 6.8e-12 of that, with
# 1.93 m2 of 27 mm staves, 13.5 % vol, 15 °C and 70 % humidity, which are our assumptions. Fit your own.
PERMEABILITY = 6.8e-12
PERMEABILITY_SPREAD = 0.35 * PERMEABILITY  # a factor of two either way, taken as 95 %: ln 2 / 1.96
# mol ethanol per mol water at equal pressure difference. Cellar lore puts the humidity at which strength stays constant
# between 65 and 80 %; for wine that takes 0.02 to 0.04 (common practice, no source).
SELECTIVITY = 0.03
SELECTIVITY_SPREAD = 0.01 / 3.0**0.5  # anything between those is as likely
STEP_DAYS = 30.0  # composition hardly changes in a month


class RunsDry(OutOfRange):
    """More than half the barrel would be gone; it is never left so long, and the model does not reach so far."""

    def __init__(self, share_left: float) -> None:
        self.share_left = share_left
        super().__init__(
            f"only {100 * share_left:.0f} % of the litres would be left; calculate for fewer days between toppings"
        )


class Evaporated(NamedTuple):
    """What is left, and what went."""

    litres: Floats
    """Left [L]."""
    abv: Floats
    """Of what is left [% vol]."""
    extract_g_l: Floats
    """Of what is left [g/L]."""
    lost_litres: Floats
    """Fall of the level [L]."""
    lost_water_kg: Floats
    """[kg]."""
    lost_ethanol_kg: Floats
    """[kg]."""


def evaporation(
    litres: ArrayLike,
    abv: ArrayLike,
    extract_g_l: ArrayLike,
    days: ArrayLike,
    celsius: ArrayLike,
    humidity: ArrayLike,
    area_m2: ArrayLike,
    stave_mm: ArrayLike = 27.0,
    permeability: ArrayLike = PERMEABILITY,
    selectivity: ArrayLike = SELECTIVITY,
) -> Evaporated:
    """Loss from a barrel left alone, and how strength and sweetness drift.

    Parameters
    ----------
    litres : array, any shape
        [L at 20 °C], 0.1 or more
    abv : array, broadcast with it
        [% vol], 0 to 70
    extract_g_l : array, broadcast with it
        [g/L], 0 to 600
    days : array, broadcast with it
        [days], 0 to 3650
    celsius : array, broadcast with it
        [°C of mead and room], 0 to 40
    humidity : array, broadcast with it
        [% relative humidity], 0 to 100
    area_m2 : array, broadcast with it
        [m2 of wood, see `barrel_area_m2`], 0 to 100
    stave_mm : array, broadcast with it
        [mm], 5 to 100
    permeability : array, broadcast with it
        [kg/(m s Pa), water through this wood], 0 to 1e-09
    selectivity : array, broadcast with it
        [mol ethanol per mol water at equal pressure difference], 0 to 1

    Returns
    -------
    Evaporated of arrays, broadcast shape: litres [L], abv [% vol], extract_g_l [g/L], lost_litres [L],
    lost_water_kg [kg], lost_ethanol_kg [kg]

    Raises
    ------
    OutsideFormula, NoSuchLiquid
        A figure lies outside the range above, or there is no such liquid.
    RunsDry
        More than half would be lost.

    Source
    ------
    Fick's law through the stave with `partial_pressures`; no water is taken up from damp air. Default permeability and
    selectivity as given in this module: expect a factor of two either way until fitted (`fitted_permeability`).
    The share of the day's loss that the wood itself soaks up in a new barrel is not in it.

    Examples
    --------
    >>> year = evaporation(225.0, 13.5, 60.0, 365.0, 15.0, 70.0, area_m2=1.93)
    >>> bool(5.0 < year.lost_litres < 9.0)  # 20 mL a day is 7.3 L
    True

    """
    within("strength", abv, 0.0, 70.0, "% vol")
    within("extract", extract_g_l, 0.0, 600.0, "g/L")
    volume = within("litres", litres, 0.1, unit="L")
    time = within("days", days, 0.0, 3650.0, "days")
    wood = _wood(area_m2, stave_mm, permeability)
    bias = within("selectivity", selectivity, 0.0, 1.0)
    damp = within("humidity", humidity, 0.0, 100.0, "%") / 100.0
    steps = max(1, int(np.ceil(np.nan_to_num(time).max(initial=0.0) / STEP_DAYS)))
    exposure = wood * SECONDS_PER_DAY * time / steps  # g per Pa
    at_first = now = _poured(volume, abv, extract_g_l)
    for _ in range(steps):
        halfway = _left(now, now, exposure / 2.0, celsius, damp, bias)
        now = _left(now, halfway, exposure, celsius, damp, bias)
        _refuse_dry(now.litres / volume)
    return Evaporated(
        now.litres,
        now.ethanol / now.litres / ETHANOL_G_L,
        now.sugar / now.litres,
        volume - now.litres,
        (at_first.water - now.water) / 1000.0,
        (at_first.ethanol - now.ethanol) / 1000.0,
    )


class _Contents(NamedTuple):
    """What is in the barrel [g], and the room it takes [L]."""

    water: Floats
    ethanol: Floats
    sugar: Floats
    litres: Floats


def _poured(litres: Floats, abv: ArrayLike, extract_g_l: ArrayLike) -> _Contents:
    strength, extract, sg = checked_liquid(abv, extract_g_l)
    ethanol = ETHANOL_G_L * strength
    return _Contents(litres * (WATER_20C * sg - ethanol - extract), litres * ethanol, litres * extract, litres)


def _left(
    start: _Contents, driving: _Contents, exposure: Floats, celsius: ArrayLike, damp: Floats, bias: Floats
) -> _Contents:
    """Lose water and ethanol at the pace that the driving contents set; each as a share, so neither passes zero."""
    over = partial_pressures(driving.ethanol / driving.litres / ETHANOL_G_L, driving.sugar / driving.litres, celsius)
    dry = np.maximum(over.water - damp * water_vapour_pressure(celsius), 0.0)  # nothing is taken up from damp air
    water = start.water * np.exp(-exposure * dry / driving.water)
    escaping = exposure * bias * (M_ETHANOL / M_WATER) * over.ethanol
    ethanol = start.ethanol * np.exp(-escaping / np.where(driving.ethanol == 0.0, 1.0, driving.ethanol))
    mass = (water + ethanol + start.sugar) / WATER_20C
    litres = settled_litres(mass, ethanol / ETHANOL_G_L, start.sugar, start.litres)
    return _Contents(water, ethanol, start.sugar, litres)


def _wood(area_m2: ArrayLike, stave_mm: ArrayLike, permeability: ArrayLike) -> Floats:
    """Return what the wood lets through [g/(s Pa)]."""
    area = within("area", area_m2, 0.0, 100.0, "m2")
    thickness = within("stave thickness", stave_mm, 5.0, 100.0, "mm") / 1000.0
    return within("permeability", permeability, 0.0, 1e-9, "kg/(m s Pa)") * 1000.0 * area / thickness


def _refuse_dry(share_left: Floats) -> None:
    if (share_left < 0.5).any():
        raise RunsDry(float(np.nanmin(share_left)))


def fitted_permeability(
    lost_litres: ArrayLike,
    litres: ArrayLike,
    abv: ArrayLike,
    extract_g_l: ArrayLike,
    days: ArrayLike,
    celsius: ArrayLike,
    humidity: ArrayLike,
    area_m2: ArrayLike,
    stave_mm: ArrayLike = 27.0,
    selectivity: ArrayLike = SELECTIVITY,
) -> Floats:
    """Permeability that explains the loss a barrel showed; for a group, give the group's means.

    Parameters
    ----------
    lost_litres : array, any shape
        [L], 0 or more
    litres : array, broadcast with it
        [L at 20 °C], 0.1 or more
    abv : array, broadcast with it
        [% vol], 0 to 70
    extract_g_l : array, broadcast with it
        [g/L], 0 to 600
    days : array, broadcast with it
        [days], 0 to 3650
    celsius : array, broadcast with it
        [°C of mead and room], 0 to 40
    humidity : array, broadcast with it
        [% relative humidity], 0 to 100
    area_m2 : array, broadcast with it
        [m2 of wood], 0 to 100
    stave_mm : array, broadcast with it
        [mm], 5 to 100
    selectivity : array, broadcast with it
        [mol ethanol per mol water at equal pressure difference], 0 to 1

    Returns
    -------
    array, broadcast shape [kg/(m s Pa)]; NaN where the room could not have drawn anything out

    Raises
    ------
    OutsideFormula, NoSuchLiquid
        A figure lies outside the range above, or there is no such liquid.
    RunsDry
        The loss is more than half the barrel.

    Source
    ------
    `evaporation` turned round: loss is very nearly proportional to permeability, so proportion is applied four times.

    Examples
    --------
    >>> fitted = fitted_permeability(7.3, 225.0, 13.5, 60.0, 365.0, 15.0, 70.0, area_m2=1.93)
    >>> again = evaporation(225.0, 13.5, 60.0, 365.0, 15.0, 70.0, 1.93, permeability=fitted)
    >>> round(float(again.lost_litres), 3)
    7.3

    """
    lost = within("lost litres", lost_litres, 0.0, unit="L")
    _refuse_dry(1.0 - lost / within("litres", litres, 0.1, unit="L"))
    setting = (litres, abv, extract_g_l, days, celsius, humidity, area_m2, stave_mm)
    guess = np.asarray(1e-15)  # small enough that no barrel runs dry in trying
    for _ in range(4):
        shown = evaporation(*setting, permeability=guess, selectivity=selectivity).lost_litres
        with np.errstate(divide="ignore", invalid="ignore"):
            guess = np.where(shown > 0.0, guess * lost / shown, np.nan)
    return guess[()]


def balance_humidity(
    abv: ArrayLike, extract_g_l: ArrayLike, celsius: ArrayLike, selectivity: ArrayLike = SELECTIVITY
) -> Floats:
    """Relative humidity at which strength stays constant; drier air raises it, damper air lowers it.

    Parameters
    ----------
    abv : array, any shape
        [% vol], 0.5 to 70
    extract_g_l : array, broadcast with it
        [g/L], 0 to 600
    celsius : array, broadcast with it
        [°C of mead and room], 0 to 40
    selectivity : array, broadcast with it
        [mol ethanol per mol water at equal pressure difference], 0 to 1

    Returns
    -------
    array, broadcast shape [% relative humidity]; below zero where strength falls in any air

    Raises
    ------
    OutsideFormula, NoSuchLiquid
        A figure lies outside the range above, or there is no such liquid.

    Source
    ------
    The model of `evaporation`: strength stays constant when ethanol leaves in proportion to volume. The answer hangs on
    the selectivity, which is poorly known; accounts of wine cellars differ from 65 to 80 %.

    Examples
    --------
    >>> bool(65.0 < balance_humidity(13.5, 0.0, 15.0) < 80.0)
    True

    """
    within("strength", abv, 0.5, 70.0, "% vol")
    within("extract", extract_g_l, 0.0, 600.0, "g/L")
    bias = within("selectivity", selectivity, 0.0, 1.0)
    over = partial_pressures(abv, extract_g_l, celsius)
    water_per_ethanol = _water_leaving_with_ethanol(abv, extract_g_l)
    water_drive = water_per_ethanol * bias * (M_ETHANOL / M_WATER) * over.ethanol
    return 100.0 * (over.water - water_drive) / water_vapour_pressure(celsius)


def _water_leaving_with_ethanol(abv: ArrayLike, extract_g_l: ArrayLike) -> Floats:
    """Return the g of water that must leave with each g of ethanol for strength to stand.

    With strength q fixed and extract x growing, mass lost per litre lost is rho - x d(rho)/dx, of which ethanol is q.
    """
    strength, extract, sg = checked_liquid(abv, extract_g_l)
    thickening = SG_OF_EXTRACT.with_slope(extract)[1]
    return WATER_20C * (sg - extract * thickening) / (ETHANOL_G_L * strength) - 1.0

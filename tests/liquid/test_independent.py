"""Against an independent library of physical properties (chemicals)."""

from collections.abc import Callable

import numpy as np
from chemicals import dippr, iapws, vapor_pressure, volume
from numpy.typing import NDArray

from cooperage.liquid import (
    ethanol_vapour_pressure,
    ethanol_water_density,
    water_density,
    water_vapour_pressure,
)

ETHANOL, ETHANOL_G_MOL = "64-17-5", 46.06844


WATER_DENSITY: Callable[[float, float], float] = iapws.iapws95_rho
WATER_SATURATION: Callable[[float], float] = iapws.iapws95_Psat
LIQUID_DENSITY: Callable[..., float] = dippr.EQ105


def _iapws_density(celsius: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.array([WATER_DENSITY(t + 273.15, 101_325.0) for t in celsius])


def test_water_of_the_sugar_formula(agrees: Callable[..., None]) -> None:
    """IAPWS-95 at 1 atm from 0 to 80 °C; they differ by dissolved air and scale, under 0.01 kg/m3."""
    celsius = np.linspace(0.0, 80.0, 41)
    agrees(water_density(celsius), _iapws_density(celsius), 0.02)


def test_water_of_the_alcohol_formula(agrees: Callable[..., None]) -> None:
    """IAPWS-95 at 1 atm from 0 to 40 °C; OIML R 22 is of 1975 and within 0.02 kg/m3."""
    celsius = np.linspace(0.0, 40.0, 41)
    agrees(ethanol_water_density(0.0, celsius), _iapws_density(celsius), 0.02)


def test_pure_ethanol(agrees: Callable[..., None]) -> None:
    """Perry's 8th edition fit, itself good to about 1 %."""
    celsius = np.linspace(0.0, 40.0, 9)
    row = volume.rho_data_Perry_8E_105_l.loc[ETHANOL]
    theirs = [LIQUID_DENSITY(t + 273.15, *row[["C1", "C2", "C3", "C4"]]) * ETHANOL_G_MOL / 1000 for t in celsius]
    agrees(ethanol_water_density(1.0, celsius) / np.array(theirs), 1.0, 0.01)


def test_water_vapour_pressure(agrees: Callable[..., None]) -> None:
    """IAPWS-95 saturation from 0.01 to 100 °C: 0.1 %."""
    celsius = np.linspace(0.01, 100.0, 50)
    theirs = np.array([WATER_SATURATION(t + 273.15) for t in celsius])
    agrees(water_vapour_pressure(celsius) / theirs, 1.0, 0.001)


def test_ethanol_vapour_pressure(agrees: Callable[..., None]) -> None:
    """Antoine's equation by Poling, 5 to 90 °C: 1.5 %, as handbooks differ among themselves."""
    celsius = np.linspace(5.0, 90.0, 30)
    row = vapor_pressure.Psat_data_AntoinePoling.loc[ETHANOL]
    a, b, c = (float(figure) for figure in row[["A", "B", "C"]].to_numpy())
    theirs = [vapor_pressure.Antoine(t + 273.15, a, b, c) for t in celsius]
    agrees(ethanol_vapour_pressure(celsius) / np.array(theirs), 1.0, 0.015)

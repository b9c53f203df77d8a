"""What sugar makes of a closed bottle when yeast ferments it: CO2 and pressure. Plain floats."""

from math import exp, log

CO2_PER_SUGAR = 0.4886
"""Grams of CO2 from a gram of hexose: two of 44.01 from one of 180.16, all of it fermented (stoichiometry)."""
IN_WINE = 0.853
"""What wine dissolves of what water does: about 1.4 g/L at 20 °C and 1 bar (extension note FS-56-W)."""
_WEISS = (-58.0931, 90.5069, 22.2940)
_AIR_BAR, _ATM_BAR, _KELVIN = 1.0, 1.01325, 273.15
_G_PER_MOL, _LITRE_OF_GAS_G = 44.01, 1.977


def co2_from_sugar(sugar_g_l: float) -> float:
    """Return the CO2 [g/L] from sugar [g/L] that ferments to the end."""
    return CO2_PER_SUGAR * sugar_g_l


def co2_dissolved(celsius: float) -> float:
    """Return the CO2 [g/L] that wine holds at 1 bar of it, from 0 to 40 °C.

    Water: R. F. Weiss, Marine Chemistry 2, 1974, 203-215, fresh water; from memory. Within 10 % for wine.
    """
    kelvin = celsius + _KELVIN
    first, second, third = _WEISS
    mol_l_atm = exp(first + second * 100 / kelvin + third * log(kelvin / 100))
    return mol_l_atm * _G_PER_MOL / _ATM_BAR * IN_WINE


def bottle_bar(co2_g_l: float, celsius: float = 20.0) -> float:
    """Return the pressure [bar, absolute] of dissolved CO2 [g/L] in a closed bottle; headspace is left out."""
    return co2_g_l / co2_dissolved(celsius)


def bottle_gauge_bar(co2_g_l: float, celsius: float = 20.0) -> float:
    """Return the pressure [bar] above that of the air; none below it."""
    return max(0.0, bottle_bar(co2_g_l, celsius) - _AIR_BAR)


def co2_volumes(co2_g_l: float) -> float:
    """Return CO2 [g/L] as volumes of gas at 0 °C and 1 atm in a volume of liquid."""
    return co2_g_l / _LITRE_OF_GAS_G

"""How much room a mead takes at another temperature than 20 °C."""

import numpy as np
from numpy.typing import ArrayLike

from cooperage.liquid._ranges import Floats
from cooperage.liquid.ethanol import ethanol_water_density, mass_fraction_from_abv
from cooperage.liquid.sucrose import brix_from_sugar_g_l, sucrose_density, water_density


def volume_against_20c(abv: ArrayLike, sugar_g_l: ArrayLike, celsius: ArrayLike) -> Floats:
    """Return the volume at a temperature [°C] of what has a volume of 1 at 20 °C.

    Strength in % vol and sugar in g/L, both at 20 °C; all broadcast. Densities of ethanol and water by OIML R 22, of
    sugar by ICUMSA for sucrose, put together by the rule of Tabarié at each temperature, which is approximate where
    there is sugar. Raises OutsideFormula.
    """
    return np.asarray(_density(abv, sugar_g_l, 20.0) / _density(abv, sugar_g_l, celsius))[()]


def _density(abv: ArrayLike, sugar_g_l: ArrayLike, celsius: ArrayLike) -> Floats:
    alcohol = ethanol_water_density(mass_fraction_from_abv(abv), celsius)
    sugar = np.asarray(brix_from_sugar_g_l(sugar_g_l)) / 100
    return np.asarray(alcohol + sucrose_density(sugar, celsius) - water_density(celsius))

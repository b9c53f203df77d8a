"""What leaves a barrel as vapour, and what that makes of the mead: the one place where losses meet the room's air.

The mead that leaves is water and ethanol in the proportion that `liquid.evaporation` gives for the air, with a
permeability that explains the loss; so strength drifts, and sugar and acids stay behind.
"""

import numpy as np
from numpy.typing import ArrayLike

from cooperage.liquid import Evaporated, evaporation, fitted_permeability
from cooperage.liquid.angels_share import PERMEABILITY, SELECTIVITY

_MOST_PERMEABLE = 2 * PERMEABILITY  # the usual doubt about wood is a factor of two either way
_LONGEST_DAYS = 3650.0


def evaporated(
    lost_ml: ArrayLike,
    litres: ArrayLike,
    abv: ArrayLike,
    sugar_g_l: ArrayLike,
    days: float,
    celsius: ArrayLike,
    humidity: ArrayLike,
    area_m2: ArrayLike,
    selectivity: ArrayLike = SELECTIVITY,
) -> Evaporated:
    """Return what is left of barrels that lost so much as vapour in some days; arguments are broadcast.

    Wood lets only so much vapour through: in air too damp to draw out what was lost, the rest is taken to have seeped
    out as mead, which changes neither strength nor sugar. Units and errors are those of `liquid.evaporation`.
    """
    setting = (litres, abv, sugar_g_l, min(days, _LONGEST_DAYS), celsius, humidity, area_m2)
    wood = fitted_permeability(np.asarray(lost_ml) / 1000, *setting, selectivity=selectivity)
    wood = np.minimum(np.nan_to_num(wood, nan=_MOST_PERMEABLE), _MOST_PERMEABLE)
    return evaporation(*setting, permeability=wood, selectivity=selectivity)

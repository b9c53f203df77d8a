"""Tabarié's rule, shared by density and mixing: d = d(alcohol) + d(extract) - 1 (OIV-MA-AS2-03B)."""

import numpy as np
from numpy.typing import ArrayLike

from cooperage.errors import OutOfRange
from cooperage.liquid._curves import in_blocks
from cooperage.liquid._ranges import Floats, within
from cooperage.liquid.ethanol import ETHANOL_20C, SG_OF_ABV, WATER_20C
from cooperage.liquid.sucrose import LEAST_G_L, MOST_G_L, SG_OF_EXTRACT

ETHANOL_G_L = ETHANOL_20C / 100.0  # g ethanol per litre of liquid and % vol


class NoSuchLiquid(OutOfRange):
    """Strength and extract together leave no room for water."""

    def __init__(self, abv: float, extract_g_l: float) -> None:
        self.abv, self.extract_g_l = abv, extract_g_l
        super().__init__(f"no liquid holds {abv:g} % vol and {extract_g_l:g} g/L extract; check both figures")


def checked_liquid(abv: ArrayLike, extract_g_l: ArrayLike) -> tuple[Floats, Floats, Floats]:
    """Return strength [% vol], extract [g/L] and SG 20/20, or raise if no liquid is like that."""
    strength = within("strength", abv, 0.0, 100.0, "% vol")
    extract = within("extract", extract_g_l, LEAST_G_L, MOST_G_L, "g/L")
    sg = SG_OF_ABV(strength) + SG_OF_EXTRACT(extract) - 1.0
    dry = WATER_20C * sg - ETHANOL_G_L * strength - extract < -1e-6
    if dry.any():
        raise NoSuchLiquid(*(float(x[dry].flat[0]) for x in np.broadcast_arrays(strength, extract)))
    return strength, extract, sg


def settled_litres(mass: Floats, ethanol: Floats, sugar: Floats, poured: Floats) -> Floats:
    """Find the litres whose density agrees with their mass.

    `mass` is in litres of water, `ethanol` in litres x % vol, `sugar` in g, and `poured` is a first guess in litres.
    """
    return in_blocks(_settle, *np.broadcast_arrays(mass, ethanol, sugar, poured))


def _settle(mass: Floats, ethanol: Floats, sugar: Floats, poured: Floats) -> Floats:
    """Newton's method: litres times SG, with strength and extract thinning as the litres grow, rises with the litres.

    What was poured is within 4 % of the answer, and each step squares that: after one below 1e-6 nothing is left.
    """
    litres = poured
    with np.errstate(invalid="ignore", divide="ignore"):
        for _ in range(12):
            strength, extract = ethanol / litres, sugar / litres
            light, thinning = SG_OF_ABV.with_slope(strength)
            heavy, thickening = SG_OF_EXTRACT.with_slope(extract)
            sg = light + heavy - 1.0
            step = (litres * sg - mass) / (sg - strength * thinning - extract * thickening)
            litres = litres - step
            if not (np.abs(step) > 1e-6 * poured).any():
                break
    return np.where(poured == 0.0, 0.0, litres)[()]

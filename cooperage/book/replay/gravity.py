"""The gravity that follows from strength and sugar."""

from functools import lru_cache

from cooperage import liquid
from cooperage.errors import OutOfRange


@lru_cache(maxsize=4096)
def gravity_of(abv: float | None, sugar_g_l: float | None) -> float | None:
    """Return the gravity [SG 20/20] of mead of a strength [% vol] and sugar [g/L].

    None where either is unknown, or where no such liquid can be. Remembered, since few figures change between looks.
    """
    if abv is None or sugar_g_l is None:
        return None
    try:
        return float(liquid.density_of(abv, sugar_g_l)) / float(liquid.ethanol_water_density(0.0, 20.0))
    except OutOfRange:
        return None

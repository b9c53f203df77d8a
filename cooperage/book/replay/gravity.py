"""The gravity that follows from strength and sugar, calculated once for each that is met."""

from collections.abc import Iterable

from cooperage import liquid
from cooperage.errors import OutOfRange

_MOST = 20_000
_known: dict[tuple[float, float], float | None] = {}


def gravity_of(abv: float | None, sugar_g_l: float | None) -> float | None:
    """Return the gravity [SG 20/20] of mead of a strength [% vol] and sugar [g/L].

    None where either is unknown, or where no such liquid can be. Remembered, since few figures change between looks.
    """
    if abv is None or sugar_g_l is None:
        return None
    mead = abv, sugar_g_l
    if mead not in _known:
        if len(_known) >= _MOST:
            _known.clear()
        _known[mead] = _calculated(*mead)
    return _known[mead]


def _calculated(abv: float, sugar_g_l: float) -> float | None:
    try:
        return float(liquid.density_of(abv, sugar_g_l)) / float(liquid.ethanol_water_density(0.0, 20.0))
    except OutOfRange:
        return None


def gravities_known() -> list[tuple[float, float, float | None]]:
    """Return strength, sugar and gravity of what was met so far, to be kept."""
    return [(*mead, gravity) for mead, gravity in _known.items()]


def remember_gravities(kept: Iterable[tuple[float, float, float | None]]) -> None:
    """Take in what was kept: looking at a cellar again then calculates none."""
    _known.update(((abv, sugar), gravity) for abv, sugar, gravity in kept)

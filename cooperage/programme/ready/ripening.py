"""How each thing that is tasted goes on in wood, before the cellar's own panels have shown it: one declaration each.

All are shares of the scale, 0 at its lowest score and 1 at its highest, so that a declaration fits every scale. No
series of panel scores of honey wine in barrels was found: apart from the shape of what oak gives (liquid/wood.py) all
of it is common practice, no source, and wide.
"""

from dataclasses import dataclass

from cooperage.liquid.wood import MarkerGroup
from cooperage.tasting.flights.scales import OVERALL


@dataclass(frozen=True, slots=True)
class Ripening:
    """How one attribute goes on: a level at filling, and a gain that is nearly all there after a few `days`.

    `group` is the compounds of oak it goes by: then its gain is that of a new 225 L barrel in the long run, and falls
    with every fill; else it is a gain in a year, the same in old wood. `days` are time constants to choose from, the
    middle one the most usual. `doubt` of each is one standard deviation. `of_lot` are those between lots, of level and
    gain, `of_kind` that of gain between woods, toasts and new or used wood, and for each e-fold of size. `bends` is one
    of how a gain turns within a year. `level_varies`, `gain_varies` are between barrels alike, `wander` of what else
    happens in a year, `error` of one taster, `of_flight` of all tasters on one day.
    """

    level: float = 0.45
    level_doubt: float = 0.3
    gain: float = 0.0
    gain_doubt: float = 0.12
    group: MarkerGroup | None = None
    days: tuple[float, ...] = (250.0, 700.0, 2000.0)
    of_lot: tuple[float, float] = (0.12, 0.08)
    of_kind: float = 0.04
    bends: float = 0.0
    level_varies: float = 0.05
    gain_varies: float = 0.06
    wander: float = 0.04
    error: float = 0.09
    of_flight: float = 0.02

    @property
    def is_of_wood(self) -> bool:
        """Return True if it comes out of the wood."""
        return self.group is not None


def _of_oak(group: MarkerGroup, *days: float) -> Ripening:
    return Ripening(
        level=0.12,
        level_doubt=0.12,
        gain=0.6,
        gain_doubt=0.3,
        group=group,
        days=days,
        of_lot=(0.06, 0.1),
        of_kind=0.15,
        level_varies=0.04,
        gain_varies=0.15,
        wander=0.04,
    )


_RIPENINGS = {
    OVERALL: Ripening(level=0.55, level_doubt=0.15, gain=0.06, bends=0.08),
    "oak": _of_oak("vanillin", 60.0, 120.0, 240.0),
    "wood": _of_oak("vanillin", 60.0, 120.0, 240.0),
    "vanilla": _of_oak("vanillin", 45.0, 90.0, 180.0),
    "coconut": _of_oak("lactone", 90.0, 180.0, 360.0),
    "toast": _of_oak("toast", 10.0, 21.0, 60.0),
    "smoke": _of_oak("toast", 10.0, 21.0, 60.0),
    "tannin": _of_oak("tannin", 60.0, 120.0, 360.0),
    "honey": Ripening(level=0.6, level_doubt=0.2, gain=-0.04),
    "fruit": Ripening(level=0.5, level_doubt=0.2, gain=-0.04),
}
_ANY = Ripening()


def ripening_of(attribute: str) -> Ripening:
    """Return how an attribute goes on: as declared for it, or as anything that is tasted."""
    return _RIPENINGS.get(attribute, _ANY)

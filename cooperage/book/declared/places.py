"""Outside places: where liquid comes from and goes to beyond the vessels.

Each is declared once, here. With them every move has two ends, so the litres of all places sum to zero.
"""

from dataclasses import dataclass
from enum import StrEnum

from cooperage.book.declared.spelling import folded, spellings_of


class Outside(StrEnum):
    """The outside places; the value is the place's id in the book."""

    RECEIVED = "received"
    EVAPORATED = "evaporated"
    SOAKED = "soaked"
    LEES = "lees"
    SAMPLE = "sample"
    SPILLED = "spilled"
    LEAK = "leak"
    BOTTLED = "bottled"
    POURED_AWAY = "poured away"
    GAUGING = "gauging difference"
    CONTRACTION = "contraction"


@dataclass(frozen=True, slots=True)
class OutsidePlace:
    """What an outside place means for the losses and for the liquid that goes there."""

    place: Outside
    label: str
    is_loss: bool
    closes_gaps: bool = False


OUTSIDE: dict[Outside, OutsidePlace] = {
    declared.place: declared
    for declared in (
        OutsidePlace(Outside.RECEIVED, "received", is_loss=False),
        OutsidePlace(Outside.EVAPORATED, "evaporated (angels' share)", is_loss=True, closes_gaps=True),
        OutsidePlace(Outside.SOAKED, "soaked into new wood", is_loss=True, closes_gaps=True),
        OutsidePlace(Outside.LEES, "lees", is_loss=True, closes_gaps=True),
        OutsidePlace(Outside.SAMPLE, "samples", is_loss=True),
        OutsidePlace(Outside.SPILLED, "spilled or lost on the line", is_loss=True, closes_gaps=True),
        OutsidePlace(Outside.LEAK, "leak", is_loss=True, closes_gaps=True),
        OutsidePlace(Outside.BOTTLED, "bottled", is_loss=False),
        OutsidePlace(Outside.POURED_AWAY, "poured away", is_loss=True),
        OutsidePlace(Outside.GAUGING, "gauging difference", is_loss=True, closes_gaps=True),
        OutsidePlace(Outside.CONTRACTION, "contraction on mixing", is_loss=True),
    )
}

OUTSIDE_IDS: frozenset[str] = frozenset(place.value for place in Outside)
"""The ids that are no vessel's."""

AWAY_SPELLINGS = spellings_of({Outside.POURED_AWAY.value: ("dumped",)})
"""Each spelling of the outside place to which a vessel may be racked; no tag may be one of them."""


def canonical_destination(text: str) -> str:
    """Return where a rack goes: "poured away" by its own name, a tag as it is."""
    return AWAY_SPELLINGS.get(folded(text), text)


class BottlePlace(StrEnum):
    """The outside places of bottles; any other place of theirs is a named store of the cellar, "" the unnamed one."""

    FILLED = "filled"
    SOLD = "sold"
    IN_BOND = "in bond elsewhere"
    TASTED = "tasted"
    GIVEN = "given away"
    BROKEN = "broken"
    POURED_BACK = "poured back"
    COUNT = "count"


BOTTLE_PLACES: frozenset[str] = frozenset(place.value for place in BottlePlace)
"""The outside places of bottles, which no store may be called."""

REMOVALS: tuple[str, ...] = tuple(
    place.value
    for place in (BottlePlace.SOLD, BottlePlace.IN_BOND, BottlePlace.TASTED, BottlePlace.GIVEN, BottlePlace.BROKEN)
)
"""Where bottles go that are taken out of stock; what is taken back comes from there."""

_REMOVAL_SPELLINGS = spellings_of(
    {
        BottlePlace.SOLD.value: ("sell", "sale"),
        BottlePlace.IN_BOND.value: ("in bond", "bond", "shipped in bond"),
        BottlePlace.TASTED.value: ("taste", "opened", "open"),
        BottlePlace.GIVEN.value: ("given", "gift", "give", "donated"),
        BottlePlace.BROKEN.value: ("broke", "breakage"),
    }
)


def canonical_removal(text: str) -> str:
    """Return where bottles went by its own name: "opened" is tasted; anything else as it is."""
    return _REMOVAL_SPELLINGS.get(folded(text), text)


EVAPORATION_PLACES: tuple[Outside, ...] = (Outside.EVAPORATED, Outside.SOAKED, Outside.LEAK, Outside.GAUGING)
"""The outside places for losses that were not seen when they happened."""

GAP_CAUSES: tuple[str, ...] = tuple(place.value for place, outside in OUTSIDE.items() if outside.closes_gaps)
"""Names a gauge may give for the litres that are missing."""

SOAK_DAYS = 28
"""New wood soaks up mead in its first weeks (common practice, no source): what is missing then has soaked in."""

"""The lines of a period, each declared once: the part it stands in, and whether it adds or takes away.

They follow the order that returns have (27 CFR 24.300 and the published report of operations); which line of your
return takes which of them is your authority's to decide.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from cooperage.book.bottles import BottlePlace
from cooperage.book.declared.places import OUTSIDE, Outside
from cooperage.book.declared.substances import SUBSTANCES

BULK, BOTTLED = "bulk", "bottled"
PARTS = (BULK, BOTTLED)

OPENING, CLOSING, ROUNDING = "opening", "closing", "rounding"


@dataclass(frozen=True, slots=True)
class PeriodLine:
    """One line of one part; `sign` is 1 for what adds, -1 for what takes away."""

    part: str
    name: str
    sign: int
    is_loss: bool = False


A_MEASUREMENT = "a measurement"
WHY_CLASS = ("blending", "sweetening", "adding spirit", "adding water", A_MEASUREMENT, "drift of strength")
"""Why mead comes to be of another class of strength. Drift: evaporation and contraction change it in its vessel."""
NEW_LINES = "new class lines"
"""The rules themselves changed at the beginning of a period."""


def into_class(why: str) -> str:
    """Return the line of what came from another class."""
    return f"by {why}, from another class"


def out_of_class(why: str) -> str:
    """Return the line of what went to another class."""
    return f"by {why}, to another class"


GAIN = "gain"
POURED_BACK = "poured back from bottles"
BOTTLED_LINE = "bottled"
PRODUCED, RECEIVED = "produced", "received"


def _bulk() -> list[PeriodLine]:
    reasons = (*WHY_CLASS, NEW_LINES)
    lossy = [place for place, outside in OUTSIDE.items() if outside.is_loss and place is not Outside.SAMPLE]
    adding = [PRODUCED, RECEIVED, *(f"{name} added" for name, each in SUBSTANCES.items() if each.ml_per_unit)]
    return [
        *(PeriodLine(BULK, name, 1) for name in (*adding, *map(into_class, reasons), POURED_BACK, GAIN)),
        PeriodLine(BULK, BOTTLED_LINE, -1),
        *(PeriodLine(BULK, out_of_class(why), -1) for why in reasons),
        PeriodLine(BULK, OUTSIDE[Outside.SAMPLE].label, -1),
        *(PeriodLine(BULK, OUTSIDE[place].label, -1, is_loss=True) for place in lossy),
    ]


TO_STORE: Mapping[BottlePlace, str] = MappingProxyType(
    {
        BottlePlace.FILLED: BOTTLED_LINE,
        BottlePlace.SOLD: "taken back",
        BottlePlace.COUNT: "found by count",
    }
)
"""What came into a store of bottles, by where it came from; anything else "came back"."""
FROM_STORE: Mapping[BottlePlace, str] = MappingProxyType({BottlePlace.COUNT: "missing by count"})
"""What left a store, by where it went; anything else has its place's own name."""
BROKEN = frozenset({BottlePlace.BROKEN, BottlePlace.COUNT})


def from_store(place: BottlePlace) -> str:
    """Return the line of bottles that left for a place."""
    return FROM_STORE.get(place, place.value)


def to_store(place: BottlePlace) -> str:
    """Return the line of bottles that came from a place."""
    return TO_STORE.get(place, f"back: {place.value}")


def _bottled() -> list[PeriodLine]:
    return [
        *(PeriodLine(BOTTLED, to_store(place), 1) for place in BottlePlace),
        PeriodLine(BOTTLED, into_class(NEW_LINES), 1),
        *(
            PeriodLine(BOTTLED, from_store(place), -1, is_loss=place in BROKEN)
            for place in BottlePlace
            if place is not BottlePlace.FILLED
        ),
        PeriodLine(BOTTLED, out_of_class(NEW_LINES), -1),
    ]


LINES: Mapping[tuple[str, str], PeriodLine] = MappingProxyType(
    {(line.part, line.name): line for line in (*_bulk(), *_bottled())}
)
"""Every line by part and name, in the order they are printed."""

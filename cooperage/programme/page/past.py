"""What a vessel has shown so far: entries, readings with their doubt, what was lost between visits, scores, tests."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from cooperage.book import Book, Standing
from cooperage.book.declared.places import Outside
from cooperage.book.declared.substances import SUBSTANCES
from cooperage.book.log import Entry, entries

if TYPE_CHECKING:
    from cooperage.tasting.difference.vessels import VesselDifference
    from cooperage.tasting.vessels import VesselScore

_WENT = frozenset({Outside.EVAPORATED.value, Outside.SOAKED.value, Outside.LEAK.value, Outside.GAUGING.value})
"""Where what a topping or a dip finds missing has gone."""


@dataclass(frozen=True, slots=True)
class Measured:
    """A reading: when, the value in its property's unit, and one standard uncertainty of it."""

    at: datetime
    value: float
    doubt: float


@dataclass(frozen=True, slots=True)
class Raised:
    """By how much a hand raised a figure, in its property's unit, as far as the volume then is known."""

    at: datetime
    by: float


@dataclass(frozen=True, slots=True)
class Lost:
    """What a visit found to be missing [ml], and the visit before: `since` is None where there was none."""

    at: datetime
    since: datetime | None
    ml: int


@dataclass(frozen=True, slots=True)
class Past:
    """A vessel's past: entries newest first, struck ones too; all else oldest first, of standing entries alone."""

    tag: str
    entries: Sequence[Entry]
    measured: Mapping[str, Sequence[Measured]]
    raised: Mapping[str, Sequence[Raised]]
    lost: Sequence[Lost]
    scores: "Sequence[VesselScore]"
    differences: "Sequence[VesselDifference]" = ()

    def this_fill(self, standing: Standing, name: str) -> Sequence[Measured]:
        """Return the readings of a property since this fill began; none where nothing is in it."""
        return _since(self.measured.get(name, ()), standing)

    def raised_in_fill(self, standing: Standing, name: str) -> Sequence[Raised]:
        """Return what hands added to a property since this fill began."""
        began = standing.state.filled_at or 0.0
        return [each for each in self.raised.get(name, ()) if each.at.timestamp() >= began]


def _since(found: Sequence[Measured], standing: Standing) -> Sequence[Measured]:
    began = standing.state.filled_at
    if began is None or not standing.ml:
        return ()
    return [each for each in found if each.at.timestamp() >= began]


def past_of(book: Book, standing: Standing) -> Past:
    """Read a vessel's past from the book: one look at its own entries, and one at the flights."""
    from cooperage.tasting.difference.vessels import vessel_differences
    from cooperage.tasting.vessels import vessel_scores  # NumPy comes with it

    tag = standing.tag
    with book.reading() as connection:
        found = entries(connection, vessel_id=standing.vessel.id)
    found_there = _gathered(tag, [entry for entry in found if not entry.struck_by and not entry.strikes])
    return Past(tag, found[::-1], *found_there, vessel_scores(book, tag), vessel_differences(book, tag))


_Gathered = tuple[Mapping[str, list[Measured]], Mapping[str, list[Raised]], list[Lost]]


def _gathered(tag: str, standing: Iterable[Entry]) -> _Gathered:
    measured: dict[str, list[Measured]] = defaultdict(list)
    raised: dict[str, list[Raised]] = defaultdict(list)
    lost: list[Lost] = []
    ml, seen = 0, None
    for entry in standing:
        come, gone, missing = _flows(entry, tag)
        if missing:
            lost.append(Lost(entry.happened_at, seen, missing))
        if missing or (come and not ml):
            seen = entry.happened_at
        for name, by in _rises(entry, ml):
            raised[name].append(Raised(entry.happened_at, by))
        ml += come - gone
        for read in entry.readings:
            if read.vessel == tag:
                measured[read.property].append(Measured(entry.happened_at, read.value, read.uncertainty))
    return measured, raised, lost


def _flows(entry: Entry, tag: str) -> tuple[int, int, int]:
    """Return what an entry brought in, what it took out, and how much of that had been missing [ml]."""
    come = sum(move.ml for move in entry.moves if move.destination == tag)
    gone = sum(move.ml for move in entry.moves if move.source == tag)
    missing = sum(move.ml for move in entry.moves if move.source == tag and move.destination in _WENT)
    found = sum(move.ml for move in entry.moves if move.destination == tag and move.source in _WENT)
    return come, gone, missing - found


def _rises(entry: Entry, ml: int) -> Iterable[tuple[str, float]]:
    """Yield by how much an addition raised which properties; nothing where what it was added to is not known."""
    if entry.kind == "addition" and ml > 0:
        substance = SUBSTANCES.get(str(entry.said.get("substance")))
        for name, by in () if substance is None else substance.raises:
            yield name, by * float(entry.said["amount"]) / (ml / 1000)

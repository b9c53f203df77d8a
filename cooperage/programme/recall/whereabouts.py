"""Where the bottles of a bottling are: in which store, with whom and by which papers, broken or tasted."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass, field

from cooperage.book.bottles import MAY_OWE, BottleMove
from cooperage.book.declared.places import BOTTLE_PLACES, BottlePlace

_Key = tuple[str, str]


@dataclass(frozen=True, slots=True)
class BottlesWith:
    """How many bottles are in a store or an outside place, with whom there, and by which papers; both may be blank.

    Negative are bottles that came back from a place without a name, or under another: whoever has fewer is not known.
    `marked` of them were moved by the entries that are meant: where bottles of one bottling lie together, they are in
    proportion, since one is like another.
    """

    place: str
    to: str
    documents: tuple[str, ...]
    bottles: int
    marked: float = 0.0

    @property
    def is_away(self) -> bool:
        """Return True if a customer, a friend or another cellar has them."""
        return self.place in (BottlePlace.SOLD, BottlePlace.IN_BOND, BottlePlace.GIVEN)

    @property
    def marked_share(self) -> float:
        """Return how much of them is marked, from 0 to 1."""
        return min(1.0, self.marked / self.bottles) if self.bottles > 0 else 0.0


@dataclass(slots=True)
class _Held:
    bottles: int = 0
    marked: float = 0.0
    papers: dict[str, None] = field(default_factory=dict)


def whereabouts(moves: Iterable[BottleMove], meant: Collection[str] = ()) -> list[BottlesWith]:
    """Sum the moves of one bottling's bottles by place and by whom; what was poured back is in bottles no more.

    Bottles that the entries `meant` (ids) moved are marked. The largest come first: those with others, then those in
    stores, then what is broken, tasted or missing.
    """
    held = _followed(moves, meant)
    found = [
        BottlesWith(place, to, tuple(each.papers), each.bottles, each.marked)
        for (place, to), each in held.items()
        if each.bottles and place != BottlePlace.POURED_BACK and (each.bottles > 0 or place not in MAY_OWE)
    ]
    return sorted(found, key=lambda each: (not each.is_away, each.place in BOTTLE_PLACES, -each.bottles, each.to))


def shares_poured_back(moves: Iterable[BottleMove], meant: Collection[str]) -> dict[str, float]:
    """Return which part [1] of the bottles of each pouring back was meant, by the pouring's entry."""
    poured: dict[str, float] = {}
    _followed(moves, meant, poured)
    return poured


def _followed(
    moves: Iterable[BottleMove], meant: Collection[str], poured: dict[str, float] | None = None
) -> dict[_Key, _Held]:
    """Follow bottles from place to place; `poured` takes the marked part of each pouring back."""
    held: dict[_Key, _Held] = {}
    for move in moves:
        keys = _key(move.source, move), _key(move.destination, move)
        source, destination = (held.setdefault(key, _Held()) for key in keys)
        part = source.marked * min(1.0, move.bottles / source.bottles) if source.bottles > 0 else 0.0
        if poured is not None and part and move.destination == BottlePlace.POURED_BACK:
            poured[move.entry_id] = min(1.0, part / move.bottles)
        source.bottles -= move.bottles
        source.marked -= part
        destination.bottles += move.bottles
        destination.marked += move.bottles if move.entry_id in meant else part
        if move.document and move.destination in BOTTLE_PLACES:
            destination.papers[move.document] = None
    return held


def _key(place: str, move: BottleMove) -> _Key:
    """Return a place with the person who has bottles there; a store has no other."""
    return place, move.to if place in BOTTLE_PLACES else ""

"""Where the bottles of a bottling are: in which store, with whom and by which papers, broken or tasted."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from cooperage.book.bottles import MAY_OWE, BottleMove
from cooperage.book.declared.places import BOTTLE_PLACES, BottlePlace


@dataclass(frozen=True, slots=True)
class BottlesWith:
    """How many bottles are in a store or an outside place, with whom there, and by which papers; both may be blank.

    Negative are bottles that came back from a place without a name, or under another: whoever has fewer is not known.
    """

    place: str
    to: str
    documents: tuple[str, ...]
    bottles: int

    @property
    def is_away(self) -> bool:
        """Return True if a customer, a friend or another cellar has them."""
        return self.place in (BottlePlace.SOLD, BottlePlace.IN_BOND, BottlePlace.GIVEN)


def whereabouts(moves: Iterable[BottleMove]) -> list[BottlesWith]:
    """Sum the moves of one bottling's bottles by place and by whom; what was poured back is in bottles no more.

    The largest come first: those with others, then those in stores, then what is broken, tasted or missing.
    """
    held: Counter[tuple[str, str]] = Counter()
    papers: dict[tuple[str, str], dict[str, None]] = {}
    for move in moves:
        source, destination = _key(move.source, move), _key(move.destination, move)
        held[source] -= move.bottles
        held[destination] += move.bottles
        if move.document and move.destination in BOTTLE_PLACES:
            papers.setdefault(destination, {})[move.document] = None
    found = [
        BottlesWith(place, to, tuple(papers.get((place, to), ())), bottles)
        for (place, to), bottles in held.items()
        if bottles and place != BottlePlace.POURED_BACK and (bottles > 0 or place not in MAY_OWE)
    ]
    return sorted(found, key=lambda each: (not each.is_away, each.place in BOTTLE_PLACES, -each.bottles, each.to))


def _key(place: str, move: BottleMove) -> tuple[str, str]:
    """Return a place with the person who has bottles there; a store has no other."""
    return place, move.to if place in BOTTLE_PLACES else ""

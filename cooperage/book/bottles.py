"""Bottles as stock: where the bottles of every bottling are, and how they got there.

Bottles are conserved as litres are: whole bottles of one bottling go from one place to another, and those of all places
sum to zero. A bottling brings its bottles from *filled* into the store that is not named.
"""

from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Select, select

from cooperage.book.declared.places import BOTTLE_PLACES
from cooperage.book.declared.places import BottlePlace as BottlePlace
from cooperage.book.errors import NoSuchBottling
from cooperage.book.replay.events import STANDS
from cooperage.book.store.tables import BOTTLE_MOVE, BOTTLING, ENTRY

NOT_NAMED = ""
"""The store where bottles are until they are put in one with a name."""


MAY_OWE = frozenset((BottlePlace.FILLED.value, BottlePlace.COUNT.value))
"""The places that more bottles can come from than went there."""


@dataclass(frozen=True, slots=True)
class BottleMove:
    """Whole bottles of one bottling that went from one place to another.

    A place is a named store of the cellar, "" for the one that is not named, or a `BottlePlace`. `to` is who got them
    or gave them back, `document` the number of the paper that went with them; both may be blank.
    """

    entry_id: str
    at: datetime
    bottling_id: str
    code: str
    bottle_ml: int
    bottles: int
    source: str
    destination: str
    to: str
    hand: str
    document: str = ""


@dataclass(frozen=True, slots=True)
class BottleStock:
    """How many bottles of a bottling are in a place: in a store, or in an outside place that they went to."""

    bottling_id: str
    code: str
    bottle_ml: int
    place: str
    bottles: int

    @property
    def is_in_store(self) -> bool:
        """True where they are still in the cellar's own hands."""
        return self.place not in BOTTLE_PLACES

    @property
    def ml(self) -> int:
        """What the bottles hold together [ml]."""
        return self.bottles * self.bottle_ml


def bottle_moves(connection: Connection, *, until: datetime | None = None) -> list[BottleMove]:
    """List the standing moves of bottles in book order, up to a moment included; a bottling is one, from *filled*."""
    moves = [*_fillings(connection, until), *_moved(connection, until)]
    return sorted(moves, key=lambda move: (move.at, move.entry_id))


def moves_of_bottling(connection: Connection, bottling_id: str) -> list[BottleMove]:
    """List the standing moves of the bottles of one bottling, given by its entry's id, in book order."""
    return moves_of_bottlings(connection, [bottling_id]).get(bottling_id, [])


def moves_of_bottlings(connection: Connection, bottling_ids: Collection[str]) -> dict[str, list[BottleMove]]:
    """Return the standing moves of the bottles of some bottlings, each in book order, by the ids of their entries."""
    of_them = BOTTLING.c.entry_id.in_(bottling_ids)
    moves = [*_fillings(connection, None, of_them), *_moved(connection, None, of_them)]
    found: dict[str, list[BottleMove]] = {}
    for move in sorted(moves, key=lambda move: (move.at, move.entry_id)):
        found.setdefault(move.bottling_id, []).append(move)
    return found


_BOTTLED = (BOTTLING.c.entry_id, BOTTLING.c.code, BOTTLING.c.bottle_ml)


def _fillings(connection: Connection, until: datetime | None, *more: Any) -> Iterator[BottleMove]:  # noqa: ANN401 - SQL
    query: Select[Any] = select(*_BOTTLED, BOTTLING.c.bottles, ENTRY.c.happened_at, ENTRY.c.hand)
    query = _standing(query.join(ENTRY, ENTRY.c.id == BOTTLING.c.entry_id), until).where(*more)
    for entry_id, code, bottle_ml, bottles, at, hand in connection.execute(query):
        yield BottleMove(
            entry_id, at, entry_id, code, bottle_ml, bottles, BottlePlace.FILLED.value, NOT_NAMED, "", hand
        )


def _moved(connection: Connection, until: datetime | None, *more: Any) -> Iterator[BottleMove]:  # noqa: ANN401 - SQL
    moved = (BOTTLE_MOVE.c.bottles, BOTTLE_MOVE.c.source, BOTTLE_MOVE.c.destination, BOTTLE_MOVE.c.party)
    query = select(*_BOTTLED, *moved, BOTTLE_MOVE.c.document, ENTRY.c.id, ENTRY.c.happened_at, ENTRY.c.hand)
    query = query.join(BOTTLING, BOTTLING.c.entry_id == BOTTLE_MOVE.c.bottling_id)
    query = query.join(ENTRY, ENTRY.c.id == BOTTLE_MOVE.c.entry_id)
    for (
        bottling_id,
        code,
        bottle_ml,
        bottles,
        source,
        destination,
        party,
        document,
        entry_id,
        at,
        hand,
    ) in connection.execute(_standing(query, until).where(*more)):
        yield BottleMove(
            entry_id, at, bottling_id, code, bottle_ml, bottles, source, destination, party, hand, document
        )


def _standing(query: Select[Any], until: datetime | None) -> Select[Any]:
    return query.where(STANDS) if until is None else query.where(STANDS, ENTRY.c.happened_at <= until)


def bottle_stock(connection: Connection, *, until: datetime | None = None) -> list[BottleStock]:
    """List how many bottles of every bottling are where, up to a moment included, the oldest bottling first.

    The stores come by name, the one that is not named first, then the outside places; a place without bottles is left
    out. What is *filled* is negative, and so is the *count* of bottles that were found beyond the book's: the bottles
    of all places of a bottling sum to zero.
    """
    moves = bottle_moves(connection, until=until)
    held: dict[str, Counter[str]] = {}
    for move in moves:
        places = held.setdefault(move.bottling_id, Counter())
        places[move.source] -= move.bottles
        places[move.destination] += move.bottles
    first = {move.bottling_id: move for move in reversed(moves)}
    return [
        BottleStock(bottling_id, first[bottling_id].code, first[bottling_id].bottle_ml, place, places[place])
        for bottling_id, places in held.items()
        for place in sorted(places, key=lambda place: (place in BOTTLE_PLACES, place))
        if places[place]
    ]


@dataclass(frozen=True, slots=True)
class BottleHolding:
    """How many bottles of a bottling are in a place, and of those that left who has them ("" where none was named)."""

    code: str
    bottle_ml: int
    place: str
    holder: str
    bottles: int

    @property
    def is_in_store(self) -> bool:
        """True where they are still in the cellar's own hands."""
        return self.place not in BOTTLE_PLACES


def bottle_holdings(connection: Connection, *, until: datetime | None = None) -> list[BottleHolding]:
    """List the bottles that are somewhere, by bottling, place and holder, the oldest bottling first, stores first.

    What was taken back without a name is taken off those without a name, and stands as fewer than none where there were
    not as many: whose they were is not known. The bottles of a place sum to those of `bottle_stock`.
    """
    moves = bottle_moves(connection, until=until)
    held: dict[tuple[str, str, str], int] = Counter()
    first = {move.bottling_id: (nth, move) for nth, move in reversed(list(enumerate(moves)))}
    for move in moves:
        held[move.bottling_id, move.source, move.to if move.source in BOTTLE_PLACES else ""] -= move.bottles
        held[move.bottling_id, move.destination, move.to if move.destination in BOTTLE_PLACES else ""] += move.bottles
    order = sorted(held, key=lambda key: (first[key[0]][0], key[1] in BOTTLE_PLACES, key[1], key[2]))
    return [
        BottleHolding(first[key[0]][1].code, first[key[0]][1].bottle_ml, key[1], key[2], held[key])
        for key in order
        if (held[key] and key[1] not in MAY_OWE) or (key[1] == BottlePlace.COUNT.value and held[key] > 0)
    ]


def stock_of(stock: Sequence[BottleStock], code: str) -> list[BottleStock]:
    """Return the stock of one bottling by its code, in either case; raises NoSuchBottling."""
    found = [each for each in stock if each.code.casefold() == code.strip().casefold()]
    if not found:
        raise NoSuchBottling(code, dict.fromkeys(each.code for each in stock))
    return found


def where_words(stock: Sequence[BottleStock]) -> str:
    """Return where the bottles of one bottling are: "948 in Loft, 432 not stowed, 52 sold"."""
    return ", ".join(
        f"{each.bottles} {'in ' if each.is_in_store and each.place else ''}{place_words(each.place)}"
        for each in stock
        if each.bottles > 0
    )


_WORDS = {BottlePlace.COUNT.value: "missing at a count"}


def place_words(place: str) -> str:
    """Return a place of bottles as people read it: the store that is not named has words too."""
    return _WORDS.get(place, place) or "not stowed"

"""Bottles as stock: where the bottles of every bottling are. A bottling brings them from *filled* into a store."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from sqlalchemy import Connection, select

from cooperage.book.replay.events import STANDS
from cooperage.book.store.tables import BOTTLING, ENTRY


class BottlePlace(StrEnum):
    """The outside places of bottles; any other place of theirs is a store of the cellar, "" the one without a name."""

    FILLED = "filled"
    SOLD = "sold"
    IN_BOND = "in bond elsewhere"
    TASTED = "tasted"
    GIVEN = "given away"
    BROKEN = "broken"
    POURED_BACK = "poured back"
    COUNT = "count"


@dataclass(frozen=True, slots=True)
class BottleMove:
    """Whole bottles of one bottling that went from one place to another; `to` is who got them."""

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


@dataclass(frozen=True, slots=True)
class BottleStock:
    """How many bottles of a bottling are in a place."""

    bottling_id: str
    code: str
    bottle_ml: int
    place: str
    bottles: int


def bottle_moves(connection: Connection, *, until: datetime | None = None) -> list[BottleMove]:
    """List the standing moves of bottles in book order, up to a moment included."""
    query = select(BOTTLING, ENTRY.c.happened_at, ENTRY.c.hand).join(ENTRY, ENTRY.c.id == BOTTLING.c.entry_id)
    query = query.where(STANDS) if until is None else query.where(STANDS, ENTRY.c.happened_at <= until)
    return [
        BottleMove(
            *(row.entry_id, row.happened_at, row.entry_id, row.code, row.bottle_ml, row.bottles),
            *(BottlePlace.FILLED.value, "", "", row.hand),
        )
        for row in connection.execute(query.order_by(ENTRY.c.happened_at, ENTRY.c.id))
    ]


def bottle_stock(connection: Connection, *, until: datetime | None = None) -> list[BottleStock]:
    """List how many bottles of every bottling are where, up to a moment included, the oldest bottling first."""
    moves = bottle_moves(connection, until=until)
    return [BottleStock(each.bottling_id, each.code, each.bottle_ml, each.destination, each.bottles) for each in moves]

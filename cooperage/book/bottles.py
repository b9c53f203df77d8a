"""Bottles, read side (for now those that were filled)."""
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from sqlalchemy import Connection, select

from cooperage.book.replay.events import STANDS
from cooperage.book.store.tables import BOTTLING, ENTRY


class BottlePlace(StrEnum):
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
    bottling_id: str
    code: str
    bottle_ml: int
    place: str
    bottles: int


def bottle_moves(connection: Connection, *, until: datetime | None = None) -> list[BottleMove]:
    q = select(BOTTLING, ENTRY.c.happened_at, ENTRY.c.hand).join(ENTRY, ENTRY.c.id == BOTTLING.c.entry_id).where(STANDS)
    if until is not None:
        q = q.where(ENTRY.c.happened_at <= until)
    return [
        BottleMove(r.entry_id, r.happened_at, r.entry_id, r.code, r.bottle_ml, r.bottles, "filled", "", "", r.hand)
        for r in connection.execute(q.order_by(ENTRY.c.happened_at, ENTRY.c.id))
    ]

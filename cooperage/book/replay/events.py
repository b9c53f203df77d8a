"""The entries that stand, in the order they happened: what is replayed and the trace follows.

A struck entry and its strike cancel each other at the moment of the struck one, so both are passed over.
"""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime
from itertools import groupby
from typing import Any, NamedTuple

from sqlalchemy import Connection, Select, Table, and_, case, null, or_, select

from cooperage.book.declared.acts import KINDS
from cooperage.book.declared.places import OUTSIDE_IDS
from cooperage.book.replay.state import seconds
from cooperage.book.store.tables import ENTRY, MOVE, READING


class Move(NamedTuple):
    """A volume [ml] from one place id to another; what is received names its lot id or its substance."""

    source: str
    destination: str
    ml: int
    lot: str | None = None
    substance: str | None = None


class Observed(NamedTuple):
    """A value of a property on a vessel, one standard uncertainty, and how it was got."""

    vessel: str
    property: str
    value: float
    uncertainty: float
    method: str = ""


@dataclass(slots=True)
class Event:
    """One standing entry with its moves and readings; `at` in seconds since 1970."""

    id: str
    kind: str
    at: float
    vessel: str | None
    said: dict[str, Any] | None
    moves: list[Move] = field(default_factory=list)
    readings: list[Observed] = field(default_factory=list)


def vessels_in(moves: Iterable[Move]) -> set[str]:
    """Return the ids of the vessels that moves name."""
    return {end for move in moves for end in (move.source, move.destination) if end not in OUTSIDE_IDS}


MOVED = ("source_id", "destination_id", "ml", "lot_id", "substance")
KINDS_WITH_FIELDS = tuple(kind for kind, act in KINDS.items() if act.replays_fields)
"""Kinds whose fields matter to the replay, beyond their moves and readings."""

_struck = select(ENTRY.c.strikes_id).where(ENTRY.c.strikes_id.is_not(None))
STANDS = and_(ENTRY.c.kind != "strike", ENTRY.c.id.not_in(_struck))
"""True of an entry that is neither struck nor a strike."""


_OF_LEVELS = or_(
    ENTRY.c.kind.in_((*KINDS_WITH_FIELDS, "gauge")),
    ENTRY.c.id.in_(select(MOVE.c.entry_id)),
    ENTRY.c.id.in_(select(READING.c.entry_id).where(READING.c.property == "headspace_mm")),
)


def events(
    connection: Connection,
    *,
    since: datetime | None = None,
    until: datetime | None = None,
    before: tuple[datetime, str] | None = None,
    after: tuple[datetime, str] | None = None,
    touching: Collection[str] | None = None,
    of_levels: bool = False,
) -> Iterator[Event]:
    """Yield standing entries in order of (happened_at, id).

    `since` is the first moment and `until` the last one included; `before` and `after` are the (happened_at, id) that
    bound it, themselves left out; `touching` keeps only entries whose subject or moves name one of these vessels,
    `of_levels` leaves out those that show neither where mead went nor how much there is: most readings, the air.
    """
    chosen = STANDS
    if since is not None:
        chosen = and_(chosen, ENTRY.c.happened_at >= since)
    if until is not None:
        chosen = and_(chosen, ENTRY.c.happened_at <= until)
    if before is not None:
        at, entry_id = before
        same = and_(ENTRY.c.happened_at == at, ENTRY.c.id < entry_id)
        chosen = and_(chosen, or_(ENTRY.c.happened_at < at, same))
    if after is not None:
        at, entry_id = after
        same = and_(ENTRY.c.happened_at == at, ENTRY.c.id > entry_id)
        chosen = and_(chosen, or_(ENTRY.c.happened_at > at, same))
    if touching is not None:
        named = select(MOVE.c.entry_id).where(or_(MOVE.c.source_id.in_(touching), MOVE.c.destination_id.in_(touching)))
        chosen = and_(chosen, or_(ENTRY.c.vessel_id.in_(touching), ENTRY.c.id.in_(named)))
    if of_levels:
        chosen = and_(chosen, _OF_LEVELS)
    return _merged(connection, chosen)


def _merged(connection: Connection, chosen: Any) -> Iterator[Event]:  # noqa: ANN401 - an SQL expression
    words = case((ENTRY.c.kind.in_(KINDS_WITH_FIELDS), ENTRY.c.said), else_=null())
    entries = connection.execute(
        _in_order(select(ENTRY.c.id, ENTRY.c.kind, ENTRY.c.happened_at, ENTRY.c.vessel_id, words).where(chosen))
    )
    moves = _groups(connection, MOVE, MOVED, Move, chosen)
    reads = _groups(connection, READING, ("vessel_id", "property", "value", "uncertainty", "method"), Observed, chosen)
    moved, read = next(moves, None), next(reads, None)
    for entry_id, kind, happened_at, vessel, values in entries:
        event = Event(entry_id, kind, seconds(happened_at), vessel, values)
        if moved is not None and moved[0] == entry_id:
            event.moves, moved = moved[1], next(moves, None)
        if read is not None and read[0] == entry_id:
            event.readings, read = read[1], next(reads, None)
        yield event


def _groups(
    connection: Connection,
    table: Table,
    columns: tuple[str, ...],
    make: type[Any],
    chosen: Any,  # noqa: ANN401 - an SQL expression
) -> Iterator[tuple[str, list[Any]]]:
    picked = [table.c[column] for column in columns]
    rows = connection.execute(
        _in_order(select(table.c.entry_id, *picked).join(ENTRY, ENTRY.c.id == table.c.entry_id).where(chosen)).order_by(
            table.c.seq
        )
    )
    for entry_id, group in groupby(rows, key=lambda row: row[0]):
        yield entry_id, [make(*row[1:]) for row in group]


def _in_order(query: Select[Any]) -> Select[Any]:
    return query.order_by(ENTRY.c.happened_at, ENTRY.c.id)

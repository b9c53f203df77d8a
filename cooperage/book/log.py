"""The book as one reads it: entries in order, newest first or one vessel's own, struck ones marked."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from sqlalchemy import CompoundSelect, Connection, and_, func, select, union

from cooperage.book.declared.places import OUTSIDE_IDS, Outside
from cooperage.book.replay.events import MOVED, STANDS, Move, Observed
from cooperage.book.store.tables import ENTRY, LOT, MOVE, READING, TOGETHER, VESSEL

_CHUNK = 500  # ids asked for at once: every driver accepts as many


@dataclass(slots=True)
class Entry:
    """One entry as written; `moves` name places by tag or outside name, and lots by code.

    `struck_by` is the strike's id, if struck; of a strike, `strikes_kind` is the kind of what it strikes. Entries
    written as one act on several vessels have one mark, `together`.
    """

    id: str
    kind: str
    happened_at: datetime
    written_at: datetime
    hand: str
    note: str
    vessel: str | None
    said: dict[str, Any]
    strikes: str | None
    struck_by: str | None
    moves: list[Move] = field(default_factory=list)
    readings: list[Observed] = field(default_factory=list)
    strikes_kind: str = ""
    together: str | None = None


def entries(
    connection: Connection,
    *,
    vessel_id: str | None = None,
    kind: str | None = None,
    since: datetime | None = None,
    until: datetime | None = None,
    newest: int | None = None,
    ids: Collection[str] | None = None,
    standing: bool = False,
    in_written_order: bool = False,
) -> list[Entry]:
    """List entries, newest first when `newest` limits them, else oldest first; only `ids`, or `standing`, if asked."""
    strike = ENTRY.alias("strike")
    struck = ENTRY.alias("struck")
    columns = (VESSEL.c.tag, strike.c.id.label("struck_by"), struck.c.kind.label("strikes_kind"), TOGETHER.c.act_id)
    query = select(ENTRY, *columns)
    query = query.outerjoin(VESSEL, VESSEL.c.id == ENTRY.c.vessel_id)
    query = query.outerjoin(strike, strike.c.strikes_id == ENTRY.c.id)
    query = query.outerjoin(struck, struck.c.id == ENTRY.c.strikes_id)
    query = query.outerjoin(TOGETHER, TOGETHER.c.entry_id == ENTRY.c.id)
    if ids is not None:
        query = query.where(ENTRY.c.id.in_(ids))
    for condition in [*_conditions(vessel_id, kind, since, until), *([STANDS] if standing else [])]:
        query = query.where(condition)
    order = (ENTRY.c.written_at, ENTRY.c.id) if in_written_order else (ENTRY.c.happened_at, ENTRY.c.id)
    if newest is not None:
        query = query.order_by(*(column.desc() for column in order)).limit(newest)
    else:
        query = query.order_by(*order)
    found = [_entry(row) for row in connection.execute(query)]
    _attach(connection, found)
    return found


def hands_in(connection: Connection) -> list[str]:
    """List who has written in the book, who wrote last first."""
    last = func.max(ENTRY.c.written_at)
    return list(
        connection.scalars(select(ENTRY.c.hand).where(ENTRY.c.hand != "").group_by(ENTRY.c.hand).order_by(last.desc()))
    )


def written_together(connection: Connection, entry_id: str) -> list[str]:
    """List the ids of the standing entries that were written as one act with an entry, newest first."""
    marks = select(TOGETHER.c.act_id).where(TOGETHER.c.entry_id == entry_id).scalar_subquery()
    mates = select(ENTRY.c.id).join(TOGETHER, TOGETHER.c.entry_id == ENTRY.c.id).where(TOGETHER.c.act_id == marks)
    return list(
        connection.execute(mates.where(STANDS).order_by(ENTRY.c.written_at.desc(), ENTRY.c.id.desc())).scalars()
    )


def _entry(row: Any) -> Entry:  # noqa: ANN401 - a row of the query above
    return Entry(
        row.id,
        row.kind,
        row.happened_at,
        row.written_at,
        row.hand,
        row.note,
        row.tag,
        row.said,
        row.strikes_id,
        row.struck_by,
        strikes_kind=row.strikes_kind or "",
        together=row.act_id,
    )


def _conditions(vessel_id: str | None, kind: str | None, since: datetime | None, until: datetime | None) -> list[Any]:
    conditions: list[Any] = []
    if vessel_id is not None:
        conditions.append(ENTRY.c.id.in_(_naming(vessel_id)))
    if kind is not None:
        conditions.append(ENTRY.c.kind == kind)
    if since is not None:
        conditions.append(ENTRY.c.happened_at >= since)
    if until is not None:
        conditions.append(ENTRY.c.happened_at <= until)
    return conditions


def _naming(vessel_id: str) -> CompoundSelect[str]:
    """Select the ids of entries that name a vessel: each part has its index, where an OR may end in a scan."""
    return union(
        select(ENTRY.c.id).where(ENTRY.c.vessel_id == vessel_id),
        select(MOVE.c.entry_id).where(MOVE.c.source_id == vessel_id),
        select(MOVE.c.entry_id).where(MOVE.c.destination_id == vessel_id),
    )


def _attach(connection: Connection, found: Sequence[Entry]) -> None:
    """Give entries their moves and readings, in chunks that every driver accepts."""
    by_id = {entry.id: entry for entry in found}
    ids, tags = list(by_id), {place.value: place.value for place in Outside}
    for start in range(0, len(ids), _CHUNK):
        _attach_chunk(connection, by_id, ids[start : start + _CHUNK], tags)


def _attach_chunk(connection: Connection, by_id: dict[str, Entry], chunk: list[str], tags: dict[str, str]) -> None:
    """Give the entries of a chunk theirs; `tags` are the vessels known so far, and grows."""
    moved = connection.execute(
        select(MOVE.c.entry_id, *(MOVE.c[name] for name in MOVED))
        .where(MOVE.c.entry_id.in_(chunk))
        .order_by(MOVE.c.entry_id, MOVE.c.seq)
    ).all()
    read = connection.execute(
        select(READING).where(READING.c.entry_id.in_(chunk)).order_by(READING.c.entry_id, READING.c.seq)
    ).all()
    named = {str(place) for row in moved for place in row[1:3]} | {row.vessel_id for row in read}
    tags |= _tags(connection, named - tags.keys())
    lots = _lot_codes(connection, {row.lot_id for row in moved if row.lot_id is not None})
    for row in moved:
        by_id[row[0]].moves.append(Move(tags[str(row[1])], tags[str(row[2])], row[3], lots.get(row[4]), row[5]))
    for row in read:
        observed = Observed(tags[row.vessel_id], row.property, row.value, row.uncertainty, row.method)
        by_id[row.entry_id].readings.append(observed)


def _tags(connection: Connection, among: Collection[str] | None = None) -> dict[str, str]:
    query = select(VESSEL.c.id, VESSEL.c.tag)
    if among is not None:
        query = query.where(VESSEL.c.id.in_(among))
    return {row.id: row.tag for row in connection.execute(query)}


def _lot_codes(connection: Connection, among: Collection[str]) -> dict[str, str]:
    if not among:
        return {}
    return {row.id: row.code for row in connection.execute(select(LOT.c.id, LOT.c.code).where(LOT.c.id.in_(among)))}


def losses(
    connection: Connection, *, since: datetime | None = None, until: datetime | None = None
) -> list[tuple[datetime, str, str, int]]:
    """List standing moves between vessels and outside places as (when, tag, outside place, ml lost).

    What came back from an outside place counts as a negative loss.
    """
    tags = _tags(connection)
    query = (
        select(ENTRY.c.happened_at, MOVE.c.source_id, MOVE.c.destination_id, MOVE.c.ml)
        .join(ENTRY, ENTRY.c.id == MOVE.c.entry_id)
        .where(and_(STANDS, *_conditions(None, None, since, until)))
        .order_by(ENTRY.c.happened_at, ENTRY.c.id, MOVE.c.seq)
    )
    rows = []
    for at, source, destination, ml in connection.execute(query):
        if destination not in tags:
            rows.append((at, tags[source], destination, ml))
        elif source not in tags:
            rows.append((at, tags[destination], source, -ml))
    return rows


Flows = dict[tuple[str, str | None], int]
"""What came into the vessels [ml] by (outside place, substance added if it was one); what went out is negative."""


def flows(connection: Connection, until: datetime | None = None) -> Flows:
    """Sum all standing moves with outside places from the book's beginning up to a moment, included.

    Moves between vessels change no sum, so the sum of all flows is what the vessels hold then.
    """
    summed: Flows = {}
    for place, sign in ((MOVE.c.source_id, 1), (MOVE.c.destination_id, -1)):
        query = (
            select(place, MOVE.c.substance, func.sum(MOVE.c.ml))
            .join(ENTRY, ENTRY.c.id == MOVE.c.entry_id)
            .where(and_(STANDS, place.in_(OUTSIDE_IDS), *_conditions(None, None, None, until)))
            .group_by(place, MOVE.c.substance)
        )
        for name, substance, ml in connection.execute(query):
            summed[name, substance] = summed.get((name, substance), 0) + sign * int(ml)
    return summed

"""Where marked liquid begins: by lot, vessel, entry, hand and span of days, each narrowing the others."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import ColumnElement, Connection, or_, select

from cooperage.book.declared.acts import KINDS
from cooperage.book.declared.places import OUTSIDE_IDS
from cooperage.book.store.tables import BOTTLE_MOVE, ENTRY, MOVE
from cooperage.book.tracing.histories import NOT_STRUCK, Histories, Key, Passage, VesselHistory, passages_in
from cooperage.book.tracing.onward import Begins
from cooperage.book.tracing.subject import Subject, in_chunks

_BOTTLES_ONLY = tuple(kind for kind, act in KINDS.items() if act.stays_closed)
"""Kinds that open no vessel: those of them that move bottles move no mead."""


@dataclass(frozen=True, slots=True)
class Narrowed:
    """By whose hand, and from when until when, both ends included; blank or None is any."""

    hand: str = ""
    since: datetime | None = None
    until: datetime | None = None

    @property
    def conditions(self) -> list[ColumnElement[bool]]:
        """What holds of the entries that are meant."""
        meant: list[ColumnElement[bool]] = []
        if self.hand:
            meant.append(ENTRY.c.hand == self.hand)
        if self.since is not None:
            meant.append(ENTRY.c.happened_at >= self.since)
        if self.until is not None:
            meant.append(ENTRY.c.happened_at <= self.until)
        return meant


def begins(connection: Connection, histories: Histories, subject: Subject | None, meant: Narrowed) -> list[Begins]:
    """Return where what is asked about begins.

    A lot begins where it was received; a vessel with what it held when the span began and all that came in during it;
    an entry with the liquid it moved into vessels or bottles or, where it moved none but opened a vessel, with what
    that held. Barrel work on an empty one marks its next fill. With a hand, a vessel's entries by that hand are meant;
    without a code, all entries of the hand and the span.
    """
    if subject is not None and subject.kind == "lot":
        return [_moved(each) for each in passages_in(connection, MOVE.c.lot_id == subject.id, *meant.conditions)]
    if subject is not None and subject.is_vessel and not meant.hand:
        return _held_by(histories.of(subject.id), meant)
    return _of_entries(connection, histories, _entries_meant(subject, meant))


def _moved(passage: Passage) -> Begins:
    return Begins(passage.key, passage.destination, passage)


def _held_by(history: VesselHistory, meant: Narrowed) -> list[Begins]:
    found = []
    if meant.since is not None:
        found.append(Begins((meant.since, "", 0), history.vessel))
    for passage in history.passages:
        is_in = passage.destination == history.vessel and not passage.is_found
        starts_unknown = passage.destination == history.vessel and passage.is_found and not history.ml_at(passage.key)
        if (is_in or starts_unknown) and _is_within(passage.at, meant):
            found.append(_moved(passage))
    return found


def _is_within(at: datetime, meant: Narrowed) -> bool:
    return (meant.since is None or at >= meant.since) and (meant.until is None or at <= meant.until)


def _entries_meant(subject: Subject | None, meant: Narrowed) -> list[ColumnElement[bool]]:
    conditions = [NOT_STRUCK, *meant.conditions]
    if subject is None:
        return conditions
    if subject.is_vessel:
        ends = or_(MOVE.c.source_id == subject.id, MOVE.c.destination_id == subject.id)
        named = select(MOVE.c.entry_id).where(ends)
        return [*conditions, or_(ENTRY.c.vessel_id == subject.id, ENTRY.c.id.in_(named))]
    ids = [subject.id] if subject.kind == "entry" else [each.entry for each in subject.filled]
    return [*conditions, ENTRY.c.id.in_(ids)]


def _of_entries(connection: Connection, histories: Histories, meant: Iterable[ColumnElement[bool]]) -> list[Begins]:
    columns = (ENTRY.c.id, ENTRY.c.happened_at, ENTRY.c.kind, ENTRY.c.vessel_id)
    rows = connection.execute(select(*columns).where(*meant)).all()
    moved = [
        passage
        for ids in in_chunks(row.id for row in rows)
        for passage in passages_in(connection, MOVE.c.entry_id.in_(ids))
        if passage.destination not in OUTSIDE_IDS
        if not passage.is_found
    ]
    found = [_moved(passage) for passage in moved]
    moving = {passage.entry for passage in moved}
    for row in rows:
        if row.vessel_id is not None and row.id not in moving:
            found += _touched(histories.of(row.vessel_id), (row.happened_at, row.id, -1), row.kind)
    return found


def _touched(history: VesselHistory, key: Key, kind: str) -> list[Begins]:
    """Return what an entry touched that moved nothing: what the vessel held, or what barrel work left for a fill."""
    if KINDS[kind].stays_closed:
        return []
    if history.ml_at(key):
        return [Begins(key, history.vessel)]
    if kind != "treat":
        return []
    found: list[Begins] = []
    for index in range(history.first_from(key), len(history.passages)):
        passage = history.passages[index]
        if found and not history.before[index]:
            break
        if passage.destination == history.vessel:
            found.append(_moved(passage))
    return found


def bottles_moved(connection: Connection, subject: Subject | None, meant: Narrowed) -> dict[str, set[str]]:
    """Return the entries that are meant and moved bottles but no mead, by the entry of the bottling.

    An entry by itself; of a hand or a span all of them, or those of one bottling. All of a bottling, or a vessel, is
    not about whoever moved bottles.
    """
    if subject is not None and (subject.is_vessel or subject.kind == "lot"):
        return {}
    conditions = [NOT_STRUCK, *meant.conditions, ENTRY.c.kind.in_(_BOTTLES_ONLY)]
    if subject is not None and subject.kind == "entry":
        conditions.append(ENTRY.c.id == subject.id)
    elif subject is not None:
        if not meant.conditions:
            return {}
        conditions.append(BOTTLE_MOVE.c.bottling_id.in_([each.entry for each in subject.filled]))
    query = select(BOTTLE_MOVE.c.bottling_id, BOTTLE_MOVE.c.entry_id).join(ENTRY, ENTRY.c.id == BOTTLE_MOVE.c.entry_id)
    found: dict[str, set[str]] = {}
    for bottling, entry in connection.execute(query.where(*conditions)):
        found.setdefault(bottling, set()).add(entry)
    return found

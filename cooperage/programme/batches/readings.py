"""What was read and added while a lot fermented: in the vessels it was received into, and those it was racked to whole.

Only what a lot's own moves reach is read, so that it costs what it finds.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection, func, select

from cooperage.book.declared.substances import TREATMENTS
from cooperage.book.log import Entry, entries
from cooperage.book.replay.events import STANDS
from cooperage.book.store.registry import Lot
from cooperage.book.store.tables import ENTRY, MOVE, VESSEL
from cooperage.programme.batches.gravities import Took

FERMENTS_DAYS = 200
"""Readings later than so many days after a lot came are not of its fermentation (common practice, no source)."""
_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class GravityRead:
    """A gravity of a fermentation: when, where, SG 20/20, its uncertainty, and the warmth read with it [°C]."""

    at: datetime
    vessel: str
    sg: float
    uncertainty: float
    celsius: float | None


@dataclass(frozen=True, slots=True)
class Dosed:
    """Something added to the fermenting lot: when, where, the substance and how much of it, by whom."""

    at: datetime
    vessel: str
    substance: str
    amount: float
    hand: str


@dataclass(frozen=True, slots=True)
class Fermented:
    """The fermentation of a lot as the book has it: when it began, its gravities and what was added, oldest first."""

    began: datetime | None
    gravities: tuple[GravityRead, ...] = ()
    given: tuple[Dosed, ...] = ()
    received_ml: int = 0
    treated: tuple[tuple[datetime, str, str, str], ...] = ()

    def took(self) -> list[Took]:
        """Return the gravities by days since it began."""
        if self.began is None:
            return []
        return [Took((each.at - self.began) / _DAY, each.sg, each.uncertainty or 0.0007) for each in self.gravities]


def fermentation_of(connection: Connection, lot: Lot) -> Fermented:
    """Read the fermentation of a lot; empty where nothing of it was received yet."""
    received = _received(connection, lot)
    if not received:
        return Fermented(lot.pitched_on)
    began = min(lot.pitched_on or received[0][0], received[0][0])
    last = lot.finished_on or began + timedelta(days=FERMENTS_DAYS)
    found: list[Entry] = []
    for vessel_id, (since, until) in _spans(connection, lot, received, last).items():
        end = min(last, until) if until is not None else last
        found += entries(connection, vessel_id=vessel_id, since=since, until=end, standing=True)
    found = sorted({each.id: each for each in found}.values(), key=lambda each: (each.happened_at, each.id))
    return Fermented(
        began, tuple(_gravities(found)), tuple(_given(found)), sum(ml for _, _, ml in received), tuple(_treated(found))
    )


def _received(connection: Connection, lot: Lot) -> list[tuple[datetime, str, int]]:
    query = select(ENTRY.c.happened_at, MOVE.c.destination_id, MOVE.c.ml).join(ENTRY, ENTRY.c.id == MOVE.c.entry_id)
    query = query.where(STANDS, ENTRY.c.kind == "receive", MOVE.c.lot_id == lot.id).order_by(ENTRY.c.happened_at)
    return [(row[0], row[1], row[2]) for row in connection.execute(query)]


_Spans = dict[str, tuple[datetime, datetime | None]]


def _spans(connection: Connection, lot: Lot, received: list[tuple[datetime, str, int]], last: datetime) -> _Spans:
    """Return from when until when each vessel held the lot alone, as far as its own moves show."""
    spans: _Spans = {}
    vessels = set(connection.scalars(select(VESSEL.c.id)))
    waiting = [(at, vessel) for at, vessel, _ in received if _held(connection, vessel, at) == 0]
    while waiting:
        since, vessel = waiting.pop(0)
        if vessel in spans:
            continue
        moves = _moves(connection, vessel, since, last)
        foreign = (
            at
            for at, source, destination, lot_id in moves
            if destination == vessel and source not in spans and at > since and lot_id != lot.id
        )
        until = next(foreign, None)
        spans[vessel] = since, until
        for at, _, destination, _ in moves:
            is_own = destination in vessels and destination != vessel and (until is None or at < until)
            if is_own and _held(connection, destination, at) == 0:
                waiting.append((at, destination))
    return spans


def _moves(
    connection: Connection, vessel: str, since: datetime, last: datetime
) -> list[tuple[datetime, str, str, str | None]]:
    columns = (ENTRY.c.happened_at, MOVE.c.source_id, MOVE.c.destination_id, MOVE.c.lot_id)
    query = select(*columns).join(ENTRY, ENTRY.c.id == MOVE.c.entry_id)
    touching = (MOVE.c.source_id == vessel) | (MOVE.c.destination_id == vessel)
    query = query.where(STANDS, touching, MOVE.c.substance.is_(None))
    query = query.where(ENTRY.c.happened_at >= since, ENTRY.c.happened_at <= last).order_by(ENTRY.c.happened_at)
    return [(row[0], row[1], row[2], row[3]) for row in connection.execute(query)]


def _held(connection: Connection, vessel: str, at: datetime) -> int:
    """Return what a vessel held just before a moment [ml]."""
    total = 0
    for place, sign in ((MOVE.c.destination_id, 1), (MOVE.c.source_id, -1)):
        query = select(func.sum(MOVE.c.ml)).join(ENTRY, ENTRY.c.id == MOVE.c.entry_id)
        found = connection.scalar(query.where(STANDS, place == vessel, ENTRY.c.happened_at < at))
        total += sign * int(found or 0)
    return total


def _gravities(found: list[Entry]) -> list[GravityRead]:
    warm = [(entry.happened_at, each) for entry in found for each in entry.readings if each.property == "temperature_c"]
    gravities = []
    for entry in found:
        for each in entry.readings:
            if each.property == "sg":
                at = entry.happened_at
                near = [
                    (abs(when - at), read.value)
                    for when, read in warm
                    if read.vessel == each.vessel and abs(when - at) < _DAY / 2
                ]
                celsius = min(near)[1] if near else None
                gravities.append(GravityRead(at, each.vessel, each.value, each.uncertainty, celsius))
    return gravities


def _given(found: list[Entry]) -> list[Dosed]:
    return [
        Dosed(
            entry.happened_at,
            entry.vessel or "",
            str(entry.said["substance"]),
            float(entry.said["amount"]),
            entry.hand,
        )
        for entry in found
        if entry.kind == "addition"
    ]


_CLEARS = frozenset(treatment.name for treatment in TREATMENTS.values() if treatment.clears)


def _treated(found: list[Entry]) -> list[tuple[datetime, str, str, str]]:
    return [
        (entry.happened_at, entry.vessel or "", str(entry.said["treatment"]), entry.hand)
        for entry in found
        if entry.kind == "treat" and entry.said.get("treatment") in _CLEARS
    ]

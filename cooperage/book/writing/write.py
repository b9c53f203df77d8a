"""The one writer: plans an act, checks everything, and only then writes its rows and the cache beside them.

A `Writing` lives inside one transaction and may take many acts; whatever is refused raises, and whoever opened the
transaction rolls it back, so nothing is half-written.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from functools import cached_property, partial
from typing import Any

from sqlalchemy import Connection, Row, Table, delete, insert, select

from cooperage.book.declared import acts
from cooperage.book.declared.checked import check_fields, with_canonical_names
from cooperage.book.declared.fields import Holds
from cooperage.book.errors import AlreadyStruck, AlreadyThere, InTheFuture, NothingToStrike
from cooperage.book.facts import facts_of
from cooperage.book.replay.cache import StateCache
from cooperage.book.replay.events import MOVED, STANDS, Event, Move, vessels_in
from cooperage.book.replay.state import VesselState, seconds
from cooperage.book.store.found_entry import entry_by_id
from cooperage.book.store.identity import IdMaker
from cooperage.book.store.registry import Lot, Registry, Upkeep, Vessel
from cooperage.book.store.tables import BOTTLE_MOVE, BOTTLING, ENTRY, MOVE, OPEN_ENTRY, READING, TOGETHER
from cooperage.book.writing.bottles import Bottles, BottlesCarried, BottleStep, BottlesThen, Moment
from cooperage.book.writing.checks import (
    HasStates,
    check_bottles,
    check_bottles_without,
    check_later,
    check_not_retired,
    check_volumes,
)
from cooperage.book.writing.doubts import BandOf
from cooperage.book.writing.draft import Draft
from cooperage.book.writing.plans import plan

# Built once: making a statement costs more than running it.
_INSERT = {table: insert(table) for table in (ENTRY, MOVE, READING, BOTTLING, BOTTLE_MOVE, TOGETHER)}
_CLOSE_ENTRIES = delete(OPEN_ENTRY)


@dataclass(frozen=True, slots=True)
class Written:
    """What was written: the entry's id, its act with the time filled in, and its moves by place id."""

    id: str
    at: datetime
    act: acts.Act
    moves: tuple[Move, ...]


class _View:
    """The cellar at the moment of an act, for the plans."""

    def __init__(
        self,
        connection: Connection,
        registry: Registry,
        states: HasStates,
        at: datetime,
        band_of: BandOf | None,
        bottles: Callable[[], BottlesThen],
    ) -> None:
        self.at, self.band_of, self._bottles_then = at, band_of, bottles
        self.vessel = registry.vessel
        self.by_id = registry.by_id
        self.lot = registry.lot
        self._connection = connection
        self._registry = registry
        self._states = states

    @property
    def lots(self) -> Mapping[str, Lot]:
        return self._registry.lots

    @cached_property
    def bottles(self) -> BottlesThen:
        return self._bottles_then()

    @cached_property
    def class_lines(self) -> Sequence[float]:
        return facts_of(self._connection).class_lines

    def state(self, vessel: Vessel) -> VesselState:
        return self._states.state_of(vessel.id)

    def rooms(self) -> list[str]:
        vessels = self._registry.load()
        stood = {vessel.position[0] for vessel in vessels}
        stand = {position[0] for vessel in vessels if (position := self.state(vessel).position) is not None}
        return sorted(room for room in stood | stand if room)


class Writing:
    """Acts written one after the other in one transaction, at the moment `now`."""

    def __init__(self, connection: Connection, now: datetime, make_id: IdMaker) -> None:
        self.connection = connection
        self.now = now
        self._make_id = make_id
        self._topped_from: set[str] = set()

    def write(
        self,
        act: acts.Act,
        *,
        entry_id: str = "",
        written_at: datetime | None = None,
        band_of: BandOf | None = None,
    ) -> Written:
        """Check an act and write it; raise the rule that it breaks.

        An import hands over the `entry_id` and `written_at` that an exported entry had. Who can calculate in which band
        a reading is expected hands over `band_of`, which is asked only for a reading that looks odd.
        """
        check_fields(act)
        act = with_canonical_names(act)
        written_at = written_at or self.now
        at = act.at or written_at
        if max(at, written_at) > self.now or at > written_at:
            raise InTheFuture(max(at, written_at), min(written_at, self.now))
        entry_id = entry_id or self.new_id()
        if isinstance(act, acts.Strike):
            return self._strike(act, entry_id, written_at)
        is_late = self._is_late(act, at, entry_id)
        states = self._states.just_before(at, entry_id) if is_late else self._states
        draft = plan(act, _View(self.connection, self.registry, states, at, band_of, partial(self._then, at, entry_id)))
        self._check(draft, states, (at, entry_id), is_late=is_late)
        act = draft.act or act
        event = Event(entry_id, act.kind, seconds(at), draft.subject, words_of(act), draft.moves, draft.readings)
        self._insert_entry(act, event, at, written_at)
        self._insert_rows(draft, entry_id)
        if draft.carried is not None and draft.carried.bottles:
            self._bottles.write(draft.carried.bottling_id, _step(draft.carried, (at, entry_id)))
        if is_late:
            self._states.apply_late(event, at)
        else:
            self._states.apply(event)
        return Written(entry_id, at, act, tuple(draft.moves))

    @cached_property
    def registry(self) -> Registry:
        """The vessels and lots, once one is asked for."""
        return Registry(self.connection)

    @cached_property
    def _states(self) -> StateCache:
        """The states, once an act is about some: a score of a flight is about none."""
        return StateCache(self.connection, self.registry, self.now)

    @cached_property
    def _bottles(self) -> Bottles:
        """The bottles, once an act is about some."""
        return Bottles(self.connection)

    def _then(self, at: datetime, entry_id: str) -> BottlesThen:
        return BottlesThen(self._bottles, (at, entry_id))

    def mark_together(self, entry_ids: Iterable[str], act_id: str = "") -> None:
        """Give entries that are written in this transaction the mark of one act; by default the first one's id."""
        rows = [{"entry_id": entry_id} for entry_id in entry_ids]
        if rows:
            mark = act_id or rows[0]["entry_id"]
            self.connection.execute(_INSERT[TOGETHER], [{**row, "act_id": mark} for row in rows])

    def finish(self) -> None:
        """Save the states that changed beside the entries that changed them; nothing joins these entries any more.

        Raises NoSuchVessel for a vessel that another is to be topped from.
        """
        for tag in sorted(self._topped_from):
            self.registry.vessel(tag)
        if "_states" in vars(self):
            self._states.save()
        self.connection.execute(_CLOSE_ENTRIES)

    def add_vessel(self, vessel: Vessel) -> Vessel:
        """Register a vessel, with a new id when it has none."""
        added = self.registry.add_vessel(replace(vessel, id=vessel.id or self.new_id()))
        self._states.begin(added)
        return self._remember(added)

    def add_lot(self, lot: Lot) -> Lot:
        """Register a lot, with a new id when it has none."""
        return self.registry.add_lot(replace(lot, id=lot.id or self.new_id()))

    def set_upkeep(self, tag: str, upkeep: Upkeep) -> Vessel:
        """Change a vessel's intervals and limits."""
        return self._remember(self.registry.set_upkeep(self.registry.vessel(tag), upkeep))

    def _remember(self, vessel: Vessel) -> Vessel:
        """Remember the vessel it is topped from: an import may register that vessel later."""
        if vessel.upkeep.top_from is not None:
            self._topped_from.add(vessel.upkeep.top_from)
        return vessel

    def state_of(self, vessel_id: str) -> VesselState:
        """Return a vessel's state as it is now, with what was written in this transaction."""
        return self._states.state_of(vessel_id)

    def new_id(self) -> str:
        """Make a new id."""
        return self._make_id(self.now)

    def _is_late(self, act: acts.Act, at: datetime, entry_id: str) -> bool:
        if self._states.shares_past(at):  # late or not: the replay for late entries is right for all
            return True
        moment = (seconds(at), entry_id)
        states = (self._states.state_of(self.registry.vessel(tag).id) for tag in tags_in(act))
        return any((state.touched_at or 0.0, state.touched_id) > moment for state in states)

    def _check(self, draft: Draft, states: HasStates, moment: tuple[datetime, str], *, is_late: bool) -> None:
        about = set() if draft.subject is None else {draft.subject}
        check_not_retired(about | set(vessels_in(draft.moves)), self.registry, states)
        held = check_volumes(draft.moves, self.registry, states)
        if draft.bottling is not None:
            self._check_code_is_new(draft.bottling[0])
        if draft.carried is not None and draft.carried.bottles:
            check_bottles(self.connection, self._bottles, draft.carried.bottling_id, _step(draft.carried, moment))
        if is_late:
            for vessel_id in about:
                held.setdefault(vessel_id, states.state_of(vessel_id).ml)
            check_later(self.connection, self.registry, held, moment, draft.retires)

    def _check_code_is_new(self, code: str) -> None:
        standing = select(BOTTLING.c.code).join(ENTRY, ENTRY.c.id == BOTTLING.c.entry_id).where(STANDS)
        if self.connection.execute(standing.where(BOTTLING.c.code == code)).first() is not None:
            raise AlreadyThere("bottling", code)

    def _strike(self, act: acts.Strike, entry_id: str, written_at: datetime) -> Written:
        struck = self._entry_to_strike(act.entry)
        moves = self._moves_of(struck.id)
        before = self._states.just_before(struck.happened_at, struck.id)
        held = {vessel_id: before.state_of(vessel_id).ml for vessel_id in vessels_in(moves)}
        check_later(self.connection, self.registry, held, (struck.happened_at, struck.id))
        check_bottles_without(self.connection, self._bottles, (struck.happened_at, struck.id))
        act = replace(act, entry=struck.id)
        at = struck.happened_at
        event = Event(entry_id, act.kind, seconds(at), struck.vessel_id, words_of(act))
        self._insert_entry(act, event, at, written_at, strikes_id=struck.id)
        reverse = [move._replace(source=move.destination, destination=move.source) for move in reversed(moves)]
        self._insert_moves(reverse, entry_id)
        self._states.is_changed_since(at)
        return Written(entry_id, at, act, tuple(reverse))

    def find_entry(self, wanted: str) -> Row[Any]:
        """Find an entry by its id, the beginning of that, or "last"; raises NoSuchEntry, NothingToStrike."""
        if wanted.strip().lower() == "last":
            newest = select(ENTRY).where(STANDS).order_by(ENTRY.c.written_at.desc(), ENTRY.c.id.desc())
            row = self.connection.execute(newest.limit(1)).first()
            if row is None:
                raise NothingToStrike
            return row
        return entry_by_id(self.connection, wanted)

    def _entry_to_strike(self, wanted: str) -> Row[Any]:
        row = self.find_entry(wanted)
        is_struck = self.connection.execute(select(ENTRY.c.id).where(ENTRY.c.strikes_id == row.id)).first()
        if row.kind == "strike" or is_struck is not None:
            raise AlreadyStruck(row.id, is_strike=row.kind == "strike")
        return row

    def _moves_of(self, entry_id: str) -> list[Move]:
        columns = [MOVE.c[name] for name in MOVED]
        rows = self.connection.execute(select(*columns).where(MOVE.c.entry_id == entry_id).order_by(MOVE.c.seq))
        return [Move(*row) for row in rows]

    def _insert_entry(
        self, act: acts.Act, event: Event, at: datetime, written_at: datetime, *, strikes_id: str | None = None
    ) -> None:
        row = {"id": event.id, "kind": act.kind, "happened_at": at, "written_at": written_at, "hand": act.hand}
        row |= {"note": act.note, "vessel_id": event.vessel, "said": event.said, "strikes_id": strikes_id}
        self.connection.execute(_INSERT[ENTRY], row)

    def _insert_rows(self, draft: Draft, entry_id: str) -> None:
        self._insert_moves(draft.moves, entry_id)
        if draft.readings:
            columns = ("vessel_id", "property", "value", "uncertainty", "method")
            self._insert_each(READING, columns, draft.readings, entry_id)
        if draft.bottling is not None:
            code, bottles, bottle_ml = draft.bottling
            row = {"entry_id": entry_id, "code": code, "bottles": bottles, "bottle_ml": bottle_ml}
            self.connection.execute(_INSERT[BOTTLING], row)
        if draft.carried is not None and draft.carried.bottles:
            self.connection.execute(_INSERT[BOTTLE_MOVE], {"entry_id": entry_id} | draft.carried._asdict())

    def _insert_moves(self, moves: Sequence[Move], entry_id: str) -> None:
        if moves:
            self._insert_each(MOVE, MOVED, moves, entry_id)

    def _insert_each(
        self,
        table: Table,
        columns: tuple[str, ...],
        values: Iterable[tuple[Any, ...]],
        entry_id: str,
    ) -> None:
        rows = [
            {"entry_id": entry_id, "seq": seq} | dict(zip(columns, value, strict=True))
            for seq, value in enumerate(values)
        ]
        self.connection.execute(_INSERT[table], rows)


def _step(carried: BottlesCarried, moment: Moment) -> BottleStep:
    return BottleStep(*moment, carried.source, carried.destination, carried.bottles, carried.party)


def words_of(act: acts.Act) -> dict[str, Any]:
    """Return an act's fields by name, as the book keeps them."""
    own = {declared.name for declared, _ in acts.faces(type(act))}
    return {name: value for name, value in asdict(act).items() if name in own}


def tags_in(act: acts.Act) -> list[str]:
    """List the tags that an act names, in whichever field."""
    tags: list[str] = []
    for declared, face in acts.faces(type(act)):
        value = getattr(act, declared.name)
        if face.holds is Holds.TAG or (face.holds is Holds.PLACE and value != acts.POURED_AWAY):
            tags.append(value)
        elif face.holds is Holds.DRAWS and declared.name == "draws":
            tags += [tag for tag, _ in value]
    return tags

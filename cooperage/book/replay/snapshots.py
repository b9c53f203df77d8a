"""Snapshots: all states as they stood at the turn of some months, so that looking back need not begin at nothing.

Like the cache they can be dropped at any moment. A snapshot holds every entry that happened before its moment; one
that is written late, or struck, removes the snapshots after it. They are made in passing when states are rebuilt,
so that the common act never pays for them.
"""

from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime, timedelta
from functools import partial

from sqlalchemy import Connection, delete, insert, select

from cooperage.book.replay.contents import Contents
from cooperage.book.replay.events import STANDS, Event, events
from cooperage.book.replay.replay import Replay
from cooperage.book.replay.state import VesselState, from_text, seconds, to_text
from cooperage.book.store.registry import Registry
from cooperage.book.store.tables import BOTTLING, ENTRY, SNAPSHOT

MONTHS_BACK = (1, 2, 3, 6, 12, 24, 48)
"""At the beginning of which months before the present one a snapshot is kept: what is corrected is mostly recent."""

_GRACE = timedelta(days=1)  # clocks of several laptops differ: no snapshot stands where one of them may still write

StatesById = dict[str, VesselState]
_INSERT = insert(SNAPSHOT)
_NEWEST = select(SNAPSHOT.c.at).order_by(SNAPSHOT.c.at.desc()).limit(1)
_NEVER = datetime.min.replace(tzinfo=UTC)


def replayed(
    connection: Connection,
    registry: Registry,
    *,
    until: datetime | None = None,
    before: tuple[datetime, str] | None = None,
    outside: dict[str, Contents] | None = None,
) -> StatesById:
    """Calculate every vessel from nothing, up to a moment (included) or to just before an entry."""
    states = _from_nothing(registry)
    Replay(states.__getitem__, registry.lot_by_id, outside).run(events(connection, until=until, before=before))
    return states


def replay_to(
    connection: Connection,
    registry: Registry,
    *,
    until: datetime | None = None,
    before: tuple[datetime, str] | None = None,
) -> StatesById:
    """Calculate what `replayed` does, to the letter, from the snapshot that is nearest before the moment."""
    moment = until or (before[0] if before else None)
    began, states = _nearest(connection, registry, moment)
    replay = replayed_on(connection, registry, states.__getitem__)
    replay.run(events(connection, since=began, until=until, before=before))
    return states


def replayed_on(connection: Connection, registry: Registry, state_of: Callable[[str], VesselState]) -> Replay:
    """Return a replay that goes on from states of the past, and asks the book for what was bottled before them."""
    return Replay(state_of, registry.lot_by_id, bottled_as=partial(_bottled_as, connection, registry))


def _bottled_as(connection: Connection, registry: Registry, code: str) -> Contents:
    """Return what a standing bottling was made of, from the snapshot that is nearest before it."""
    standing = select(ENTRY.c.happened_at, ENTRY.c.id).join(BOTTLING, BOTTLING.c.entry_id == ENTRY.c.id).where(STANDS)
    at, entry_id = connection.execute(standing.where(BOTTLING.c.code == code)).one()
    began, states = _nearest(connection, registry, at)
    replay = replayed_on(connection, registry, states.__getitem__)
    for event in events(connection, since=began, until=at):
        replay.apply(event)
        if event.id == entry_id:
            break
    return replay.bottled[code]


def replay_through(connection: Connection, registry: Registry, moments: Sequence[datetime]) -> Iterator[StatesById]:
    """Yield what `replay_to` gives for each of several moments, in order of time; the states go on to the next one."""
    if not moments:
        return
    began, states = _nearest(connection, registry, moments[0])
    replay = replayed_on(connection, registry, states.__getitem__)
    coming = events(connection, since=began, until=moments[-1])
    event = next(coming, None)
    for moment in moments:
        while event is not None and event.at <= seconds(moment):
            replay.apply(event)
            event = next(coming, None)
        yield states


def rebuilt(connection: Connection, registry: Registry, since: datetime, now: datetime) -> StatesById:
    """Calculate the present states after the past has changed from `since` on, and keep snapshots in passing."""
    forget(connection, since)
    began, states = _nearest(connection, registry, None)
    wanted = turns_of_months(now - _GRACE)
    connection.execute(delete(SNAPSHOT).where(SNAPSHOT.c.at.not_in(wanted)))
    missing = [turn for turn in wanted if began is None or turn > began]
    replay = replayed_on(connection, registry, states.__getitem__)
    for event in _with_turns(events(connection, since=began), missing):
        if isinstance(event, datetime):
            _keep(connection, event, states)
        else:
            replay.apply(event)
    return states


def forget(connection: Connection, since: datetime) -> None:
    """Drop every snapshot that would have to include what happened at `since`."""
    connection.execute(delete(SNAPSHOT).where(SNAPSHOT.c.at > since))


def newest_snapshot(connection: Connection) -> datetime:
    """Return the moment of the newest snapshot; the beginning of time where there is none."""
    return connection.execute(_NEWEST).scalar() or _NEVER


def turns_of_months(now: datetime) -> list[datetime]:
    """List the moments at which snapshots are kept, oldest first; the last is not after now."""
    turns = (turn_of_month(now, months) for months in sorted((0, *MONTHS_BACK), reverse=True))
    return [turn for turn in turns if turn.year > 1970]


def turn_of_month(now: datetime, months_back: int = 0) -> datetime:
    """Return the beginning of this month, or of one so many before it."""
    year, month = divmod(now.year * 12 + now.month - 1 - months_back, 12)
    return datetime(year, month + 1, 1, tzinfo=now.tzinfo)


def snapshots_kept(connection: Connection) -> Iterator[tuple[datetime, str, str]]:
    """Return (moment, vessel id, state) of every snapshot, by moment."""
    query = select(SNAPSHOT.c.at, SNAPSHOT.c.vessel_id, SNAPSHOT.c.state)
    rows = connection.execute(query.order_by(SNAPSHOT.c.at, SNAPSHOT.c.vessel_id))
    return ((row[0], row[1], row[2]) for row in rows)


def _from_nothing(registry: Registry) -> StatesById:
    return {vessel.id: VesselState(vessel.barrel_ml) for vessel in registry.load()}


def _nearest(connection: Connection, registry: Registry, moment: datetime | None) -> tuple[datetime | None, StatesById]:
    """Return the last snapshot not after the moment, or nothing at all; vessels registered since are empty in it."""
    states = _from_nothing(registry)
    at = connection.execute(_NEWEST if moment is None else _NEWEST.where(SNAPSHOT.c.at <= moment)).scalar()
    if at is None:
        return None, states
    rows = select(SNAPSHOT.c.vessel_id, SNAPSHOT.c.state).where(SNAPSHOT.c.at == at)
    for vessel_id, text in connection.execute(rows):
        state = from_text(text, states[vessel_id].barrel_ml)
        if state is None:  # another version of the code wrote it
            return None, _from_nothing(registry)
        states[vessel_id] = state
    return at, states


def _with_turns(passing: Iterator[Event], turns: Sequence[datetime]) -> Iterator[Event | datetime]:
    """Yield events, and each turn of a month before the first event at or after it."""
    ahead = list(turns)
    for event in passing:
        while ahead and event.at >= seconds(ahead[0]):
            yield ahead.pop(0)
        yield event


def _keep(connection: Connection, at: datetime, states: StatesById) -> None:
    connection.execute(delete(SNAPSHOT).where(SNAPSHOT.c.at == at))
    rows = [{"at": at, "vessel_id": key, "state": to_text(state)} for key, state in states.items() if state.entries]
    if rows:
        connection.execute(_INSERT, rows)

"""Calculated states kept beside the entries for speed: dropped at any moment, rebuilt identically."""

from datetime import UTC, datetime

from sqlalchemy import Connection, bindparam, select, text

from cooperage.book.replay.events import Event
from cooperage.book.replay.snapshots import forget, newest_snapshot, rebuilt, replay_to, replayed_on, turn_of_month
from cooperage.book.replay.state import VesselState, from_text, seconds, to_text
from cooperage.book.store.registry import Registry, Vessel
from cooperage.book.store.tables import ENTRY, STATE

# Built once: making a statement costs more than running it.
_KEPT = select(STATE.c.state).where(STATE.c.vessel_id == bindparam("vessel_id"))
_KEEP = text(
    "INSERT INTO reckoned (vessel_id, state) VALUES (:vessel_id, :state) "
    "ON CONFLICT (vessel_id) DO UPDATE SET state = excluded.state"
)


_NEVER = datetime.max.replace(tzinfo=UTC)


class States:
    """The states of all vessels at one moment, by vessel id."""

    def __init__(self, states: dict[str, VesselState]) -> None:
        self._states = states

    def state_of(self, vessel_id: str) -> VesselState:
        """Return a vessel's state."""
        return self._states[vessel_id]


class StateCache(States):
    """The latest states inside a writing transaction: loaded when asked for, saved when they have changed.

    After a late entry or a strike the latest states are stale: they are recalculated once, when they are next needed.
    Meanwhile late entries of one moment, as a sheet or a count brings them, share one view of the past.
    """

    def __init__(self, connection: Connection, registry: Registry, now: datetime) -> None:
        super().__init__({})
        self._now = now
        self._turned = seconds(turn_of_month(now))
        self._newest_snapshot: datetime | None = None  # None while not asked for
        self._connection = connection
        self._registry = registry
        self._changed: set[str] = set()
        self._stale_since: datetime | None = None
        self._past: tuple[tuple[datetime, str], States] | None = None

    def shares_past(self, happened_at: datetime) -> bool:
        """Return True if the latest states are stale, and a view of the past at just this moment is there."""
        return self._stale_since is not None and self._past is not None and self._past[0][0] == happened_at

    def state_of(self, vessel_id: str) -> VesselState:
        """Return a vessel's latest state; a gap in the cache rebuilds all of it."""
        if self._stale_since is not None:
            self._rebuild(self._stale_since)
        if vessel_id not in self._states:
            kept = self._connection.execute(_KEPT, {"vessel_id": vessel_id}).scalar()
            barrel_ml = self._registry.by_id(vessel_id).barrel_ml
            state = None if kept is None else from_text(kept, barrel_ml)
            if state is None:
                self._rebuild(_NEVER)
            else:
                self._states[vessel_id] = state
        return self._states[vessel_id]

    def begin(self, vessel: Vessel) -> None:
        """Start the state of a vessel that was just registered."""
        self._states[vessel.id] = VesselState(vessel.barrel_ml)
        self._changed.add(vessel.id)
        self._past = None

    def apply(self, event: Event) -> None:
        """Apply an entry that is later than all that its vessels have seen, though perhaps not than a snapshot."""
        if event.at < self._turned:
            self._forget(datetime.fromtimestamp(event.at, UTC))
        self._past = None
        replayed_on(self._connection, self._registry, self._to_change).apply(event)

    def _to_change(self, vessel_id: str) -> VesselState:
        self._changed.add(vessel_id)
        return self.state_of(vessel_id)

    def apply_late(self, event: Event, happened_at: datetime) -> None:
        """Take in an entry that is older than what its vessels have seen."""
        past = self._past
        self.is_changed_since(happened_at)
        if past is not None and past[0] <= (happened_at, event.id):
            replayed_on(self._connection, self._registry, past[1].state_of).apply(event)
            self._past = (happened_at, event.id), past[1]

    def is_changed_since(self, happened_at: datetime) -> None:
        """Mark the states stale from a moment on, because the past has changed."""
        self._forget(happened_at)
        self._stale_since = min(self._stale_since or happened_at, happened_at)
        self._past = None

    def _forget(self, since: datetime) -> None:
        """Drop the snapshots that lack what happened at `since`; an import mostly finds none, so look first."""
        if self._newest_snapshot is None:
            self._newest_snapshot = newest_snapshot(self._connection)
        if since < self._newest_snapshot:
            forget(self._connection, since)
            self._newest_snapshot = None

    def just_before(self, happened_at: datetime, entry_id: str) -> States:
        """Return all states as they stood just before an entry of that time and id."""
        moment = (happened_at, entry_id)
        if self._past is None or not self._leads_to(self._past[0], moment):
            self._past = moment, States(replay_to(self._connection, self._registry, before=moment))
        return self._past[1]

    def _leads_to(self, past: tuple[datetime, str], moment: tuple[datetime, str]) -> bool:
        """Return True if nothing happened between two entries of one moment."""
        (at, last_id), entry_id = past, moment[1]
        if at != moment[0] or last_id >= entry_id:
            return False
        between = select(ENTRY.c.id).where(ENTRY.c.happened_at == at, ENTRY.c.id > last_id, ENTRY.c.id < entry_id)
        return self._connection.execute(between.limit(1)).first() is None

    def _rebuild(self, since: datetime) -> None:
        self._states = rebuilt(self._connection, self._registry, since, self._now)
        self._changed = set(self._states)
        self._stale_since = self._newest_snapshot = None

    def save(self) -> None:
        """Write the changed states into the cache."""
        if self._stale_since is not None:
            self._rebuild(self._stale_since)
        if not self._changed:
            return
        rows = [
            {"vessel_id": vessel_id, "state": to_text(self._states[vessel_id])} for vessel_id in sorted(self._changed)
        ]
        self._connection.execute(_KEEP, rows)
        self._changed.clear()

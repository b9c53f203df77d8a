"""The latest states as they were read before, so that reading the cellar again costs only what has changed."""

from sqlalchemy import Connection, select

from cooperage.book.replay.snapshots import replay_to
from cooperage.book.replay.state import VesselState, from_text
from cooperage.book.store.registry import Registry
from cooperage.book.store.tables import STATE

_KEPT = select(STATE.c.vessel_id, STATE.c.state)


class LatestStates:
    """Every vessel's latest state, read from the cache; a state whose text is as it was is not made again.

    What is handed out is shared between readings, and never changed. Threads may read at once.
    """

    def __init__(self) -> None:
        self._read: dict[str, tuple[str, VesselState]] = {}

    def read(self, connection: Connection, registry: Registry) -> dict[str, VesselState]:
        """Return the states by vessel id, recalculated where the cache is not whole."""
        is_barrel = {vessel.id: vessel.is_barrel for vessel in registry.load()}
        before, now = self._read, dict[str, tuple[str, VesselState]]()
        for vessel_id, text in connection.execute(_KEPT):
            known = before.get(vessel_id)
            if known is not None and known[0] == text:
                now[vessel_id] = known
                continue
            state = from_text(text, is_barrel=is_barrel[vessel_id])
            if state is None:  # another version of the code wrote it
                return replay_to(connection, registry)
            now[vessel_id] = text, state
        if now.keys() != is_barrel.keys():
            return replay_to(connection, registry)
        self._read = now
        return {vessel_id: state for vessel_id, (_, state) in now.items()}

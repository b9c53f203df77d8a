"""The latest states as they were read before, so that reading the cellar again costs only what has changed."""

from hashlib import blake2b

from sqlalchemy import Connection, func, select

from cooperage.book.replay.state import VesselState, from_text
from cooperage.book.store.registry import Registry
from cooperage.book.store.tables import CELLAR, ENTRY, FLIGHT, PRICE, STATE

_KEPT = select(STATE.c.vessel_id, STATE.c.state)
_FACTS = select(CELLAR.c.key, CELLAR.c.value).order_by(CELLAR.c.key)
_REVEALED = select(func.count(FLIGHT.c.revealed_at)).scalar_subquery()  # a flight that is revealed stands, too
_PRICED = (select(each).scalar_subquery() for each in (func.count(PRICE.c.id), func.max(PRICE.c.id)))
_WRITTEN = select(
    func.count(), func.max(ENTRY.c.id), _REVEALED, *_PRICED
)  # entries stay: as many up to the same are the same


class LatestStates:
    """Every vessel's latest state, read from the cache; a state whose text is as it was is not made again.

    What is handed out is shared between readings, and never changed. Threads may read at once.
    """

    def __init__(self) -> None:
        self._read: dict[str, tuple[str, VesselState]] = {}

    def read(self, connection: Connection, registry: Registry) -> tuple[dict[str, VesselState], str]:
        """Return the states by vessel id and a mark of all that is in the book.

        Where the cache is not whole the states are recalculated, and there is no mark.
        """
        barrel_ml = {vessel.id: vessel.barrel_ml for vessel in registry.load()}
        before, now = self._read, dict[str, tuple[str, VesselState]]()
        for vessel_id, text in connection.execute(_KEPT):
            known = before.get(vessel_id)
            if known is not None and known[0] == text:
                now[vessel_id] = known
                continue
            state = from_text(text, barrel_ml[vessel_id])
            if state is None:  # another version of the code wrote it
                return _recalculated(connection, registry), ""
            now[vessel_id] = text, state
        if now.keys() != barrel_ml.keys():
            return _recalculated(connection, registry), ""
        self._read = now
        return {vessel_id: state for vessel_id, (_, state) in now.items()}, _mark(connection, registry, now)


def _recalculated(connection: Connection, registry: Registry) -> dict[str, VesselState]:
    from cooperage.book.replay.snapshots import replay_to  # loads every kind of entry; seldom needed

    return replay_to(connection, registry)


def _mark(connection: Connection, registry: Registry, read: dict[str, tuple[str, VesselState]]) -> str:
    """Return a digest of the states and of all that they and what is learned follow from."""
    mark = blake2b(mark_of_book(connection, registry).encode(), digest_size=16)
    for vessel in registry.load():
        mark.update(f"{read[vessel.id][0]}\n".encode())
    return mark.hexdigest()


def mark_of_book(connection: Connection, registry: Registry) -> str:
    """Return a digest of who is in the cellar, its facts, and which entries and prices are written; it reads no state.

    It is for what follows from the entries alone, which are the same as long as it is.
    """
    mark = blake2b(digest_size=16)
    for vessel in registry.load():
        mark.update(f"{vessel}\n".encode())
    facts = connection.execute(_FACTS).all()
    mark.update(f"{registry.lots}\n{facts}\n{connection.execute(_WRITTEN).one()}".encode())
    return mark.hexdigest()

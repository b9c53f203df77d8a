"""The names of what a trace found by id: vessels, lots, bottlings by their entries; anything else is its own name."""

from sqlalchemy import Connection, select

from cooperage.book.declared.places import OUTSIDE_IDS
from cooperage.book.store.registry import Lot, Registry, Vessel
from cooperage.book.store.tables import BOTTLING, LOT, VESSEL
from cooperage.book.tracing.subject import Filled, bottlings_by_entry


class Names:
    """Looks up what is asked for, and nothing else, and remembers it."""

    def __init__(self, connection: Connection, registry: Registry) -> None:
        self._connection, self._registry = connection, registry
        self._known: dict[str, str] = {place: place for place in OUTSIDE_IDS}
        self._filled: dict[str, Filled] = {}

    def of(self, place: str) -> str:
        """Return the tag, the code, or the name of what bears none."""
        if place not in self._known:
            self._known[place] = self._looked_up(place)
        return self._known[place]

    def _looked_up(self, place: str) -> str:
        for table, name in ((VESSEL, VESSEL.c.tag), (LOT, LOT.c.code)):
            found = self._connection.execute(select(name).where(table.c.id == place)).scalar()
            if found is not None:
                return str(found)
        code = self._connection.execute(select(BOTTLING.c.code).where(BOTTLING.c.entry_id == place)).scalar()
        return place if code is None else str(code)

    def lot(self, lot_id: str) -> Lot:
        """Return a lot by its id."""
        return self._registry.lot_by_id(lot_id)

    def is_lot(self, place: str) -> bool:
        """Return True if an id is a lot's."""
        return place in self._registry.lots

    def vessel(self, vessel_id: str) -> Vessel:
        """Return a vessel by its id."""
        return self._registry.by_id(vessel_id)

    def filled(self, entry: str) -> Filled:
        """Return the bottling of an entry."""
        if entry not in self._filled:
            self._filled |= bottlings_by_entry(self._connection, [entry])
        return self._filled[entry]

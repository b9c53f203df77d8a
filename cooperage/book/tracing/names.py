"""The names of what a trace found by id: vessels, lots, bottlings by their entries; anything else is its own name."""

from collections.abc import Iterable

from sqlalchemy import Connection, select

from cooperage.book.declared.places import OUTSIDE_IDS
from cooperage.book.store.registry import Lot, Registry, Vessel
from cooperage.book.store.tables import BOTTLING, LOT, VESSEL
from cooperage.book.tracing.subject import Filled, bottlings_by_entry, in_chunks

_NAMED = (
    ("vessel", VESSEL.c.id, VESSEL.c.tag),
    ("lot", LOT.c.id, LOT.c.code),
    ("bottling", BOTTLING.c.entry_id, BOTTLING.c.code),
)


class Names:
    """Looks up what is asked for, and nothing else, and remembers it; `learn` looks up many at once."""

    def __init__(self, connection: Connection, registry: Registry) -> None:
        self._connection, self._registry = connection, registry
        self._known: dict[str, tuple[str, str]] = {place: ("outside", place) for place in OUTSIDE_IDS}
        self._filled: dict[str, Filled] = {}

    def learn(self, places: Iterable[str]) -> None:
        """Look up the names of places, many in one question."""
        left = set(places) - self._known.keys()
        for kind, by, name in _NAMED:
            for some in in_chunks(sorted(left)):
                for place, named in self._connection.execute(select(by, name).where(by.in_(some))):
                    self._known[place] = kind, str(named)
            left -= self._known.keys()
        self._known |= {place: ("outside", place) for place in left}

    def _of(self, place: str) -> tuple[str, str]:
        if place not in self._known:
            self.learn([place])
        return self._known[place]

    def of(self, place: str) -> str:
        """Return the tag, the code, or the name of what bears none."""
        return self._of(place)[1]

    def kind(self, place: str) -> str:
        """Return what a place is: "vessel", "lot", "bottling", or "outside" for what is none of them."""
        return self._of(place)[0]

    def lot(self, lot_id: str) -> Lot:
        """Return a lot by its id."""
        return self._registry.lot_by_id(lot_id)

    def is_lot(self, place: str) -> bool:
        """Return True if an id is a lot's."""
        return self.kind(place) == "lot"

    def vessel(self, vessel_id: str) -> Vessel:
        """Return a vessel by its id."""
        return self._registry.by_id(vessel_id)

    def filled(self, entry: str) -> Filled:
        """Return the bottling of an entry."""
        if entry not in self._filled:
            self.learn_bottlings([entry])
        return self._filled[entry]

    def learn_bottlings(self, entries: Iterable[str]) -> None:
        """Look up bottlings by their entries, many in one question."""
        self._filled |= bottlings_by_entry(self._connection, (each for each in entries if each not in self._filled))

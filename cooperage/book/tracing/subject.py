"""What a code turns out to be: a bottling, a lot, a vessel or an entry."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import Connection, select

from cooperage.book.errors import NoSuchEntry, NoSuchVessel, NothingToTrace, StruckNotTraced
from cooperage.book.store.found_entry import entry_by_id
from cooperage.book.store.registry import Registry
from cooperage.book.store.tables import BOTTLING, ENTRY, LOT, VESSEL
from cooperage.book.tracing.histories import NOT_STRUCK

ENTRY_LETTERS = 8
"""So many letters of an entry's id are taken for one; what is shorter is a code that is not in the book."""


class Filled(NamedTuple):
    """A standing bottling: its entry, its bottles of `bottle_ml` each, when and by whose hand."""

    entry: str
    code: str
    bottles: int
    bottle_ml: int
    at: datetime
    hand: str


@dataclass(frozen=True, slots=True)
class Subject:
    """What is traced: its kind ("bottling", "lot", "entry" or a vessel's), its code, and its id.

    A bottling has all that were filled under its code, and no id of its own.
    """

    kind: str
    code: str
    id: str = ""
    filled: tuple[Filled, ...] = ()

    @property
    def name(self) -> str:
        """What it is, with its code: "barrel B-001"."""
        return f"{self.kind} {self.code}"

    @property
    def is_vessel(self) -> bool:
        """Return True if it is a vessel of any kind."""
        return self.kind not in ("bottling", "lot", "entry")


_BOTTLINGS = (
    select(ENTRY.c.id, BOTTLING.c.code, BOTTLING.c.bottles, BOTTLING.c.bottle_ml, ENTRY.c.happened_at, ENTRY.c.hand)
    .join(ENTRY, ENTRY.c.id == BOTTLING.c.entry_id)
    .where(NOT_STRUCK)
    .order_by(ENTRY.c.happened_at, ENTRY.c.id)
)


def bottlings(connection: Connection, code: str | None = None) -> list[Filled]:
    """List the standing bottlings, or those of a code, oldest first."""
    query = _BOTTLINGS if code is None else _BOTTLINGS.where(BOTTLING.c.code == code)
    return [Filled(*row) for row in connection.execute(query)]


def bottlings_by_entry(connection: Connection, entries: Iterable[str]) -> dict[str, Filled]:
    """Return standing bottlings by the ids of their entries."""
    return {
        row[0]: Filled(*row)
        for some in in_chunks(entries)
        for row in connection.execute(_BOTTLINGS.where(ENTRY.c.id.in_(some)))
    }


def in_chunks(names: Iterable[str], size: int = 500) -> Iterable[list[str]]:
    """Yield names in lists that every driver accepts at once."""
    listed = list(names)
    return (listed[start : start + size] for start in range(0, len(listed), size))


def subject_of(connection: Connection, registry: Registry, code: str) -> Subject:
    """Find what bears a code, an entry by its id; raises NothingToTrace, NoSuchEntry, StruckNotTraced.

    As it is written it is found by an index; in other capitals by all codes there are.
    """
    wanted = code.strip()
    found = _bottling(connection, wanted) or _lot(connection, wanted) or _vessel(registry, wanted)
    if found is not None:
        return found
    for column, of in ((BOTTLING.c.code, _bottling), (LOT.c.code, _lot)):
        for known in connection.scalars(select(column).distinct()):
            if known.upper() == wanted.upper() and (found := of(connection, known)) is not None:
                return found
    return _entry(connection, wanted)


def _bottling(connection: Connection, code: str) -> Subject | None:
    found = bottlings(connection, code)
    return Subject("bottling", code, filled=tuple(found)) if found else None


def _lot(connection: Connection, code: str) -> Subject | None:
    row = connection.execute(select(LOT.c.id, LOT.c.code).where(LOT.c.code == code)).first()
    return None if row is None else Subject("lot", row.code, row.id)


def _vessel(registry: Registry, code: str) -> Subject | None:
    try:
        vessel = registry.vessel(code)
    except NoSuchVessel:
        return None
    return Subject(vessel.kind, vessel.tag, vessel.id)


def _entry(connection: Connection, wanted: str) -> Subject:
    try:
        if len(wanted) < ENTRY_LETTERS:
            raise NoSuchEntry(wanted)
        row = entry_by_id(connection, wanted)
    except NoSuchEntry as error:
        if error.is_shared:
            raise
        raise NothingToTrace(wanted, _known(connection)) from error
    struck = connection.execute(select(ENTRY.c.id).where(ENTRY.c.strikes_id == row.id)).first()
    if row.kind == "strike" or struck is not None:
        raise StruckNotTraced(row.id)
    return Subject("entry", row.id, row.id)


def _known(connection: Connection) -> list[str]:
    columns: Any = (BOTTLING.c.code, LOT.c.code, VESSEL.c.tag)
    return [str(name) for column in columns for name in connection.scalars(select(column).distinct())]

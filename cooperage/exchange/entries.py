"""Rows of `entries.csv` and the acts they are, both ways, by the acts' own declarations."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from cooperage.book import KINDS, Act
from cooperage.book.log import Entry
from cooperage.exchange.tables.cells import Clock, resolved, show_cell
from cooperage.exchange.tables.columns import EVERY_ACT, columns_of
from cooperage.exchange.tables.sheets import Row

_COMMON = frozenset(column.name for column in EVERY_ACT)
_OF_ACT = ("at", "hand", "note", "sure")
_OWN = {name: columns_of(kind) for name, kind in KINDS.items()}
_NOT_OWN = {name: _COMMON | {column.name for column in own} for name, own in _OWN.items()}


@dataclass(frozen=True, slots=True)
class ReadEntry:
    """A row read: its act, and the id, time of writing and mark of one act if the file gives them."""

    row: Row
    act: Act
    id: str | None
    written_at: datetime | None
    together: str | None = None


def read_entry(row: Row, clock: Clock) -> ReadEntry:
    """Read one row. Raises BadCell."""
    common = row.values(EVERY_ACT, clock)
    kind = common["kind"]
    if strange := row.cells.keys() - _NOT_OWN[kind]:
        column = min(strange)
        raise row.bad(f"a {kind} has no such column; clear the cell", column)
    own = row.values(_OWN[kind], clock)
    if "written" in common and common["written"] < common["at"]:
        raise row.bad("nothing is written before it has happened; correct one of the two", "written")
    act = KINDS[kind](**{name: common[name] for name in _OF_ACT if name in common}, **own)
    return ReadEntry(row, act, common.get("id"), common.get("written"), common.get("together"))


def show_entry(entry: Entry) -> dict[str, str]:
    """Return an entry's cells by column name. Whatever was asked back has been answered, so `sure` is yes."""
    common: dict[str, Any] = {"at": entry.happened_at, "kind": entry.kind, "hand": entry.hand, "note": entry.note}
    common |= {"sure": True, "id": entry.id, "written": entry.written_at, "together": entry.together}
    cells = {column.name: show_cell(column, common[column.fills]) for column in EVERY_ACT}
    return cells | _own_cells(entry.kind, entry.said)


def _own_cells(kind: str, values: Mapping[str, Any]) -> dict[str, str]:
    words = dict(values)
    return {column.name: show_cell(resolved(column, words), words.get(column.fills)) for column in _OWN[kind]}

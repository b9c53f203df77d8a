"""An entry by its id, or by the beginning of that, which is what is shown of it."""

from typing import Any

from sqlalchemy import Connection, Row, select

from cooperage.book.errors import NoSuchEntry
from cooperage.book.store.tables import ENTRY
from cooperage.plaintext import can_be_kept

_SHOWN = 4
"""So many of the entries that share the beginning of an id are named."""


def entry_by_id(connection: Connection, wanted: str) -> Row[Any]:
    """Find an entry by its id or the beginning of it; raises NoSuchEntry for none, and for more than one."""
    asked = wanted.strip().lower()
    if not asked or not can_be_kept(asked):
        raise NoSuchEntry(wanted)
    rows = connection.execute(select(ENTRY).where(ENTRY.c.id == asked)).all()
    if not rows:
        begins = select(ENTRY).where(ENTRY.c.id.startswith(asked, autoescape=True)).limit(_SHOWN)
        rows = connection.execute(begins).all()
    if len(rows) != 1:
        raise NoSuchEntry(wanted, [row.id for row in rows])
    return rows[0]

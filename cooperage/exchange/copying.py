"""A copy of the whole cellar, row for row, into a new one on any backend."""

from collections.abc import Iterator

from sqlalchemy import Connection, Table, delete, func, insert, select, update

from cooperage.book import Book
from cooperage.book.laws import check
from cooperage.book.store.engine import filling
from cooperage.book.store.naming import cellar_name, cellar_url
from cooperage.book.store.tables import ENTRY, FLIGHT, METADATA, OPEN_ENTRY, PERIOD, PLACE
from cooperage.exchange.errors import InTheWay, NotCopied

CHUNK = 1000
"""Rows handed to the database at once."""


def copy_book(book: Book, place: str) -> dict[str, int]:
    """Copy a cellar into a new or empty one at a path or URL, then hold it against the laws; count rows by table.

    All of it is copied or nothing is changed there, tables included. Raises InTheWay for a cellar that is not empty,
    NotCopied, CellarUnusable, NotWritten.
    """
    url = cellar_url(place)
    with book.reading() as source, filling(url) as target:
        _refuse_unless_empty(target, cellar_name(url))
        tables = sorted(
            METADATA.sorted_tables, key=lambda table: table is PERIOD
        )  # nothing joins a period once it is there
        counts = {table.name: _copy(table, source, target) for table in tables}
        _reveal(source, target)
        target.execute(delete(OPEN_ENTRY))  # nothing joins the entries any more
        _prove(source, target, cellar_name(url))
    return counts


def _refuse_unless_empty(connection: Connection, name: str) -> None:
    for table in METADATA.sorted_tables:
        places = select(table).where(PLACE.c.kind == "vessel") if table.name == "place" else select(table)
        if connection.execute(places.limit(1)).first() is not None:
            raise InTheWay(f"{name} is not empty (it has rows of {table.name}); copy to a new place")


def _copy(table: Table, source: Connection, target: Connection) -> int:
    there = target.execute(select(func.count()).select_from(table)).scalar_one()  # the outside places
    for rows in _chunks(table, source):
        target.execute(insert(table), rows)
        there += len(rows)
    return int(there)


def _chunks(table: Table, source: Connection) -> Iterator[list[dict[str, object]]]:
    query = select(table)
    if table.name == "place":
        query = query.where(PLACE.c.kind == "vessel")
    if table.name == "entry":  # a strike comes after what it strikes
        query = query.order_by(ENTRY.c.strikes_id.is_not(None), ENTRY.c.written_at, ENTRY.c.id)
    later = {"revealed_at": None} if table.name == "flight" else {}  # nothing joins a flight that is revealed
    for rows in source.execute(query).mappings().partitions(CHUNK):
        yield [{**row, **later} for row in rows]


def _reveal(source: Connection, target: Connection) -> None:
    """Reveal the flights that were revealed, now that their scores are there."""
    revealed = select(FLIGHT.c.id, FLIGHT.c.revealed_at).where(FLIGHT.c.revealed_at.is_not(None))
    for flight_id, revealed_at in source.execute(revealed):
        target.execute(update(FLIGHT).where(FLIGHT.c.id == flight_id).values(revealed_at=revealed_at))


def _prove(source: Connection, target: Connection, name: str) -> None:
    """Count the rows on both sides, and hold the copy against every law of the book, before it counts as one."""
    for table in METADATA.sorted_tables:
        here, there = (side.execute(select(func.count()).select_from(table)).scalar_one() for side in (source, target))
        if here != there:
            raise NotCopied(f"{there} rows of {table.name} in {name}, {here} were to be copied; do it again")
    broken = [line for finding in check(target) for line in finding.broken]
    if broken:
        raise NotCopied(f"the copy at {name} breaks a law of the book: {broken[0]}; check the original")

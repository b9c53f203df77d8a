"""The demo cellar: built from its files, known again when it is there, and put aside with what was written in it."""

import sqlite3
import uuid
from collections import Counter
from collections.abc import Mapping
from contextlib import closing
from datetime import datetime
from pathlib import Path

from sqlalchemy import select

from cooperage.book import Book, utc_now
from cooperage.book.errors import CellarUnusable
from cooperage.book.store.tables import ENTRY
from cooperage.errors import Refused
from cooperage.exchange.batches.rows import STATED
from cooperage.exchange.exporting import all_rows
from cooperage.exchange.first_import import import_into
from cooperage.exchange.importing import Imported, shift_to_yesterday
from cooperage.exchange.tables.cells import Clock, show_cell
from cooperage.exchange.tables.columns import FILES, Column, Plain
from cooperage.exchange.tables.sheets import Row, Sheet, read_sheets
from cooperage.exchange.vessels_and_lots import read_lot, read_vessel, show_lot, show_vessel
from cooperage.outfile import new_file
from cooperage.resources import demo_folder
from cooperage.tasting.flights.vocabulary import shipped


class NotTheDemo(Refused):
    """A cellar in the place where the demo was looked for, and another."""

    def __init__(self, path: Path) -> None:
        self.path = path
        super().__init__(f"{path} is there already, and is not the demo; give another path")


def build_demo(place: Path, *, fixed_dates: bool = False) -> Imported:
    """Build the demo where nothing has begun yet; it ends yesterday, or with `fixed_dates` when its files do."""
    shift = 0 if fixed_dates else shift_to_yesterday(demo_folder(), utc_now())
    return import_into(str(place), demo_folder(), shift_days=shift)


def is_demo(place: Path) -> bool:
    """Return True if the cellar there began as the demo: it has the demo's first entry. Raises CellarUnusable."""
    book = Book.open(str(place))
    try:
        with book.reading() as connection:
            first = connection.execute(select(ENTRY.c.id).where(ENTRY.c.id == _entry_ids()[0]))
            return first.first() is not None
    finally:
        book.close()


def rebuild_demo(place: Path, *, fixed_dates: bool = False) -> tuple[Imported, Path | None]:
    """Build the demo again in the place of an old one; return also the name under which the old one is kept, if it is.

    It is kept when anything was written in it, or that is unknown. At every moment the old demo or the new one
    is there, whole. Raises CellarUnusable where another program has the old one open, and then changes nothing.
    """
    kept = _dated(place) if _is_of_use(place) else None
    fresh = place.with_name(f".{place.name}.{uuid.uuid4().hex[:8]}.part")
    try:
        done = build_demo(fresh, fixed_dates=fixed_dates)
        _fold(place)
        if kept is not None:
            with new_file(kept) as beside:
                beside.write_bytes(place.read_bytes())
        _move_log(place, kept)
        fresh.replace(place)
    finally:
        fresh.unlink(missing_ok=True)
    return done, kept


def _dated(place: Path) -> Path:
    """Return a name beside the place that holds the moment, in letters that every file system takes."""
    return place.with_name(f"{place.stem}-{datetime.now():%Y-%m-%d-%H%M%S}{place.suffix}")


def _fold(place: Path) -> None:
    """Bring a cellar and its log together in the one file, which succeeds only where no one else has it open."""
    try:
        with closing(sqlite3.connect(place, timeout=1)) as connection:
            connection.execute("PRAGMA journal_mode=DELETE")
    except sqlite3.DatabaseError as error:
        if "locked" in str(error):
            raise CellarUnusable(f"{place} is open in another window or program; close it there first") from error


def _move_log(place: Path, kept: Path | None) -> None:
    """Take away the log of a file that could not be folded: SQLite would read it into whatever stands there next."""
    for end in ("-wal", "-shm"):
        log = place.with_name(place.name + end)
        if kept is not None and log.exists():
            log.replace(kept.with_name(kept.name + end))
        log.unlink(missing_ok=True)


def _is_of_use(place: Path) -> bool:
    """Return True if anything was written in a demo since it was built, or whether that cannot be known."""
    try:
        if Book.counts_as_new(str(place)):
            return False
        book = Book.open(str(place))
    except CellarUnusable:
        return True
    try:
        with book.reading() as connection:
            there = all_rows(connection)
            ids = {cells["id"] for cells in there.pop("entries")}
            there["vocabulary"] = [cells for cells in there["vocabulary"] if not _is_shipped_term(cells)]
            counted = {name: Counter(_bare(name, cells) for cells in found) for name, found in there.items()}
            rows = {name: found for name, found in counted.items() if found}
    finally:
        book.close()
    return ids != set(_entry_ids()) or rows != _shipped()


def _is_shipped_term(cells: Mapping[str, str]) -> bool:
    """Return True for a term that stands in the book because flights used it, as it comes with the program."""
    found = {(term.kind, term.name, term.scale) for term in shipped()}
    return (cells["kind"], cells["name"], cells["scale"]) in found and not cells["retired"]


def _entry_ids() -> list[str]:
    return [row.cells["id"] for row in _sheets()["entries"].rows]


def _shipped() -> dict[str, Counter[tuple[str, ...]]]:
    clock = Clock(utc_now())
    return {
        name: Counter(_bare(name, _normal(name, row, clock)) for row in sheet.rows)
        for name, sheet in _sheets().items()
        if name != "entries"
    }


def _sheets() -> dict[str, Sheet]:
    return {sheet.name: sheet for sheet in read_sheets(demo_folder())}


def _normal(name: str, row: Row, clock: Clock) -> Mapping[str, str]:
    """Return the cells of a row as an export shows them."""
    if name == "vessels":
        return show_vessel(read_vessel(row, clock))
    if name == "lots":
        return show_lot(read_lot(row, clock))
    values = row.values(FILES[name], clock)
    return {column.name: show_cell(column, values.get(column.fills)) for column in FILES[name]}


def _bare(name: str, cells: Mapping[str, str]) -> tuple[str, ...]:
    """Return a row's cells without what differs from one building to the next: ids, days, calculated targets.

    `sure` is left out too: an export answers what a file may leave to be asked.
    """
    return tuple(
        _describe_cell(column, cells.get(column.name, ""))
        for column in FILES[name]
        if column.holds is not Plain.ID
        and column.fills != "sure"
        and not (name == "batches" and column.fills in STATED)
    )


def _describe_cell(column: Column, text: str) -> str:
    return "a date" if column.holds in (Plain.WHEN, Plain.DAY) and text else text

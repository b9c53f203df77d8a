"""A backup put in the place of the cellar: looked at first, and at every moment the old cellar or the new one is whole.

A cellar that is in order is written over through SQLite, under its write lock, so that a program which has it open goes
on in the restored one. What is damaged is set aside under another name, as it is.
"""

import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing, contextmanager, suppress
from pathlib import Path
from tempfile import TemporaryDirectory

from sqlalchemy import Connection
from sqlalchemy.exc import DBAPIError

from cooperage.book.errors import CellarUnusable
from cooperage.book.laws import check
from cooperage.book.safety.backup import keep_copy, raw
from cooperage.book.safety.set_aside import free_name, set_aside
from cooperage.book.store.engine import SCHEMA, existing_view, knows, migrate, on_connection, schema_in
from cooperage.book.store.integrity import damage_in
from cooperage.book.store.naming import kind_of_file
from cooperage.book.store.sqlite_file import (
    BUSY_S,
    WAL,
    OnlyReads,
    connect,
    connect_reading,
    copy_whole,
    mark_journal,
    new_database,
)

Report = Callable[[str], None]
_BUSY = (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)


def restore(backup: Path, place: Path, report: Report) -> None:
    """Check a backup and put it in the place of the cellar, keeping what was there.

    `report` is called with each line when it has become true: where the old cellar is kept comes before any change.
    Raises CellarUnusable: one line, and the cellar is as it was.
    """
    place = place.resolve()
    if place.exists() and backup.exists() and place.samefile(backup):
        raise CellarUnusable(f"{backup} is the cellar itself; name a backup of it")
    with _verified(backup) as source:
        if not _is_whole(place):
            _exchange(source, place, report, "damaged")
        elif not _write_over(source, place, report):
            _exchange(source, place, report, "before-restore")
    report(f"{backup} is now the cellar at {place}")


@contextmanager
def _verified(backup: Path) -> Iterator[sqlite3.Connection]:
    """Yield a connection on a backup that is whole and keeps the laws, at this code's schema; it stays as it is."""
    kind = kind_of_file(backup)
    if kind != "file":
        found = f"there is no backup at {backup}" if kind == "nothing" else f"{backup} is {kind}, not a backup"
        raise CellarUnusable(f"{found}; name the file that `cooperage backup` made")
    with ExitStack() as stack:
        try:
            opened = stack.enter_context(closing(connect_reading(backup)))
            connection = stack.enter_context(_up_to_date(opened, backup))
        except (sqlite3.Error, DBAPIError) as error:
            raise CellarUnusable(f"{backup} is not a cellar, or is damaged; name another backup") from error
        broken = [line for finding in check(connection) for line in finding.broken]
        if broken:
            raise CellarUnusable(f"{backup} breaks the laws of the book ({broken[0]}); it was not restored")
        yield raw(connection)


@contextmanager
def _up_to_date(opened: sqlite3.Connection, backup: Path) -> Iterator[Connection]:
    """Yield one view of the backup; of an older version's, a copy in memory that is brought up to date."""
    with existing_view(opened) as connection:
        if damage := damage_in(connection):
            raise CellarUnusable(f"{backup} is damaged ({damage[0]}); it was not restored; name another backup")
        found = schema_in(connection)
        if not found or not knows(found):
            why = "is not a cellar" if not found else f"was written by a newer cooperage ('{found}'); update first"
            raise CellarUnusable(f"{backup} {why}; it was not restored")
        if found == SCHEMA:
            yield connection
            return
    with closing(sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)) as memory:
        opened.backup(memory)
        migrate(on_connection(memory))
        with existing_view(memory) as connection:
            yield connection


def _is_whole(place: Path) -> bool:
    """Return True if there is a cellar that SQLite finds in order; raise CellarUnusable for what is no cellar."""
    kind = kind_of_file(place)
    if kind not in ("file", "nothing"):
        raise CellarUnusable(f"{place} is {kind}, not a cellar; name a file with --cellar")
    if kind == "nothing" or place.stat().st_size == 0:
        return False
    try:
        with closing(connect_reading(place)) as opened, existing_view(opened) as connection:
            if damage_in(connection):
                return False
            if schema_in(connection) is None:
                raise CellarUnusable(f"{place} is another program's database, not a cellar; name a file with --cellar")
    except (sqlite3.DatabaseError, DBAPIError) as error:
        if "locked" in str(error):
            raise _busy(place) from error
        return False
    return True


def _busy(place: Path) -> CellarUnusable:
    return CellarUnusable(f"{place} is being written by someone else; nothing was changed; do it again in a moment")


class _KeepFirst:
    """Called between steps of the copy: it makes the kept copy while the write lock is held, before anything counts.

    No one can write between the kept copy and the new cellar, so each entry that was acknowledged is in one of them.
    """

    def __init__(self, place: Path, report: Report) -> None:
        self._place, self._report = place, report
        self._is_kept = False
        self._until = time.monotonic() + BUSY_S

    def __call__(self, status: int, _remaining: int, _pages: int) -> None:
        if status in _BUSY:
            if time.monotonic() > self._until:
                raise _busy(self._place)
        elif not self._is_kept:
            kept = free_name(self._place, "before-restore")
            with closing(connect(self._place)) as old:
                keep_copy(old, kept, whole=False)
            self._report(f"what was there is kept as {kept}")
            self._is_kept = True


def _write_over(source: sqlite3.Connection, place: Path, report: Report) -> bool:
    """Copy the backup into the live file in one transaction; whoever has it open reads the new one from then on.

    False, and nothing is changed, where the disk cannot keep a write-ahead log, so that no one could read meanwhile.
    """
    try:
        with closing(connect(place)) as live:
            if isinstance(live, OnlyReads):
                raise CellarUnusable(f"{place} can only be read; check who may write the file and its folder")
            if live.execute("PRAGMA journal_mode=WAL").fetchone()[0] != "wal":
                return False
            size = live.execute("PRAGMA page_size").fetchone()[0]
            _in_pages_of(source, size).backup(live, pages=1, progress=_KeepFirst(place, report))
    except sqlite3.Error as error:
        if "locked" in str(error):
            raise _busy(place) from error
        raise CellarUnusable(
            f"{place} cannot be written ({error}); it is as it was, or restored as a whole: look which it is, free "
            "some room, and do it again"
        ) from error
    return True


def _in_pages_of(source: sqlite3.Connection, size: int) -> sqlite3.Connection:
    """Return the same database in pages of another size [bytes], since a live file keeps its own."""
    if source.execute("PRAGMA page_size").fetchone()[0] == size:
        return source
    memory = sqlite3.connect(":memory:")
    with TemporaryDirectory() as folder:
        copied = Path(folder, "copy.db")
        copy_whole(source, copied)
        with closing(sqlite3.connect(copied, isolation_level=None)) as copy:
            copy.execute(f"PRAGMA page_size={size}")
            copy.execute("VACUUM")
            copy.backup(memory)
    return memory


def _exchange(source: sqlite3.Connection, place: Path, report: Report, why: str) -> None:
    """Put the backup where nothing is, or where what was there is set aside, once all of it is written beside."""
    fresh = free_name(place, "restoring")
    try:
        with new_database(fresh) as half_done:
            copy_whole(source, half_done)
            mark_journal(half_done, WAL)
        set_aside(place, report, why)
        with new_database(place) as half_done:
            fresh.replace(half_done)
    except sqlite3.Error as error:
        raise CellarUnusable(f"{place} cannot be written ({error}); what was there is as it was") from error
    finally:
        with suppress(OSError):
            fresh.unlink(missing_ok=True)

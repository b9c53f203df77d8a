"""Backups of a cellar that is one file: taken while it is in use, checked before they take its place."""

import sqlite3
from contextlib import closing
from pathlib import Path

from cooperage.book.book import Book
from cooperage.book.errors import CellarUnusable


def back_up(book: Book, to: Path) -> Path:
    """Copy a cellar file to a new file with SQLite's online backup; returns the path.

    Raises CellarUnusable when the cellar is on a server (its own tools back it up) or the file is there already.
    """
    if "://" in book.name:
        raise CellarUnusable(f"{book.name} is on a server; back it up there, or use `cooperage copy --to FILE`")
    if to.exists():
        raise CellarUnusable(f"{to} is there already; give another path")
    try:
        with closing(sqlite3.connect(book.name)) as here, closing(sqlite3.connect(to)) as there:
            here.backup(there)
    except sqlite3.Error as error:
        to.unlink(missing_ok=True)
        raise CellarUnusable(f"{to} cannot be written: {error}") from error
    return to


def restore(backup: Path, place: Path) -> list[str]:
    """Check a backup and put it in the place of the cellar, keeping what was there; returns what was done."""
    book = Book.open(str(backup))
    broken = [line for finding in book.check() for line in finding.broken]
    book.close()
    if broken:
        raise CellarUnusable(f"{backup} breaks the laws of the book ({broken[0]}); it was not restored")
    told = []
    if place.exists():
        kept = _free_name(place)
        back_up(Book.open(str(place)), kept)
        told.append(f"what was there is kept as {kept}")
    fresh = place.with_name(place.name + ".restoring")
    fresh.unlink(missing_ok=True)
    place.parent.mkdir(parents=True, exist_ok=True)
    with closing(sqlite3.connect(backup)) as here, closing(sqlite3.connect(fresh)) as there:
        here.backup(there)
    for leftover in ("-wal", "-shm"):
        place.with_name(place.name + leftover).unlink(missing_ok=True)
    fresh.replace(place)
    return [*told, f"{backup} is now the cellar at {place}"]


def _free_name(place: Path) -> Path:
    number = 1
    while (name := place.with_name(f"{place.name}.before-restore-{number}")).exists():
        number += 1
    return name

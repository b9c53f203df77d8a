"""Backups of a cellar that is one file: taken while it is in use, whole, and in need of nothing beside them."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from sqlalchemy import Connection

from cooperage.book.book import Book
from cooperage.book.errors import CellarUnusable
from cooperage.book.laws import the_guards_stand
from cooperage.book.store.engine import existing_view
from cooperage.book.store.integrity import damage_in
from cooperage.book.store.naming import kind_of_file
from cooperage.book.store.sqlite_file import connect_reading, copy_whole, new_database


def back_up(book: Book, to: Path) -> Path:
    """Copy a cellar file to a new file with SQLite's online backup; returns the path.

    Raises CellarUnusable when the cellar is on a server, the file is there already, or the cellar is damaged;
    NotWritten when there is no room. Then nothing is left at `to`.
    """
    if book.file is None:
        raise CellarUnusable(
            f"{book.name} is on a server; back it up with the server's own tools, or use `cooperage copy --to FILE`"
        )
    if kind_of_file(to) != "nothing":
        raise CellarUnusable(f"{to} is there already; give another path")
    with book.reading() as connection:
        keep_copy(raw(connection), to, whole=True)
    return to


def keep_copy(source: sqlite3.Connection, to: Path, *, whole: bool) -> None:
    """Copy what a connection sees to a new file; `whole` refuses what is damaged."""
    with new_database(to) as half_done:
        with _errors_explained(to):
            copy_whole(source, half_done)
        if whole:
            _refuse_damaged(half_done)


def raw(connection: Connection) -> sqlite3.Connection:
    """Return the driver's own connection under one of ours to a file."""
    driver = connection.connection.dbapi_connection
    if not isinstance(driver, sqlite3.Connection):
        raise TypeError("only a cellar that is a file is copied page by page")
    return driver


def _refuse_damaged(copied: Path) -> None:
    """Look at the copy itself, which is what a person will rely on."""
    with closing(connect_reading(copied)) as connection, existing_view(connection) as copy:
        if damage := damage_in(copy):
            raise CellarUnusable(
                f"the cellar is damaged ({damage[0]}), so no backup was made; keep the backups you have, and put the "
                "last good one in its place with `cooperage restore BACKUP --force`"
            )
        _, missing = the_guards_stand(copy)
        if missing:
            raise CellarUnusable(f"no backup was made: {missing[0]}")


@contextmanager
def _errors_explained(to: Path) -> Iterator[None]:
    try:
        yield
    except sqlite3.Error as error:
        raise CellarUnusable(f"{to} cannot be written ({error}); nothing of it is left behind") from error

"""The import into a cellar that may not be there yet: made beside its place, and put there when it is whole."""

import errno
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from cooperage.book import Book
from cooperage.book.errors import CellarUnusable
from cooperage.book.store.naming import cellar_url, file_of
from cooperage.book.store.sqlite_file import WAL, companion_file, new_database
from cooperage.exchange.importing import Imported, import_folder
from cooperage.outfile import NotReplaced, ThereAlready


def import_into(place: str, path: str | Path, *, dry_run: bool = False, shift_days: int = 0) -> Imported:
    """Import into the cellar at a path or URL, which is made where nothing has begun yet.

    A new file takes its place only with all of the import in it, so whatever stops the program leaves no cellar or a
    whole one. Where another import was quicker, the import goes into the cellar that is there now. Raises what
    `import_folder` and `new_file` do, and CellarUnusable.
    """
    if dry_run and Book.counts_as_new(place):
        with TemporaryDirectory() as scratch:
            return _import(Book.create(str(Path(scratch) / "dry-run.db")), path, dry_run=True, shift_days=shift_days)
    file = file_of(cellar_url(place))
    if file is not None and not file.exists():
        try:
            return _build(file, path, shift_days)
        except (ThereAlready, NotReplaced):
            pass  # made by another meanwhile, and theirs to keep
    book = Book.create(place) if Book.counts_as_new(place) else Book.open(place)
    return _import(book, path, dry_run=dry_run, shift_days=shift_days)


def _import(book: Book, path: str | Path, *, dry_run: bool = False, shift_days: int = 0) -> Imported:
    try:
        return import_folder(book, path, dry_run=dry_run, shift_days=shift_days)
    finally:
        book.close()


def _build(place: Path, path: str | Path, shift_days: int) -> Imported:
    with new_database(place) as half_done, _called(half_done, place):
        done = _import(Book.create(str(half_done)), path, shift_days=shift_days)
        _refuse_a_log(half_done)
    return done


def _refuse_a_log(half_done: Path) -> None:
    """See that all of it stands in the one file: SQLite folds its log into it when it is closed."""
    log = companion_file(half_done, WAL)
    if log.exists() and log.stat().st_size:
        raise OSError(errno.ENOSPC, "the log could not be folded in")


@contextmanager
def _called(half_done: Path, place: Path) -> Iterator[None]:
    """Name the cellar in errors by the place it is meant for."""
    try:
        yield
    except CellarUnusable as error:
        raise CellarUnusable(str(error).replace(str(half_done), str(place))) from error

"""The export: the whole book as the files that an import reads back to the same book."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from csv import writer
from os import fsync
from pathlib import Path

from sqlalchemy import Connection

from cooperage.book import Book
from cooperage.book.log import entries
from cooperage.book.registry import Registry
from cooperage.exchange.columns import FILES
from cooperage.exchange.entries import show_entry
from cooperage.exchange.errors import FileUnusable, InTheWay
from cooperage.exchange.facts import show_facts
from cooperage.exchange.registered import show_lot, show_vessel
from cooperage.exchange.tastings import show_flights, show_scores

Table = list[list[str]]


def export_folder(book: Book, path: str | Path, *, force: bool = False) -> dict[str, int]:
    """Write the book as a folder of CSV files, or as a workbook when the path ends in .xlsx; count rows by file.

    Entries stand in the order they were written, strikes included, each with its id and times to the microsecond.
    Files that are there are left alone unless `force`. Raises InTheWay, FileUnusable.
    """
    target = Path(path)
    with book.reading() as connection:
        tables = {name: list(_table(name, cells)) for name, cells in _everything(connection).items()}
    try:
        if target.suffix.lower() == ".xlsx":
            _write_workbook(target, tables, force=force)
        else:
            _write_folder(target, tables, force=force)
    except OSError as error:
        raise FileUnusable(f"{target} cannot be written ({error.strerror}); check the path") from error
    return {name: len(rows) - 1 for name, rows in tables.items()}


def _everything(connection: Connection) -> dict[str, Iterable[Mapping[str, str]]]:
    registry = Registry(connection)
    return {
        "vessels": (show_vessel(vessel) for vessel in registry.load()),
        "lots": (show_lot(lot) for lot in registry.lots.values()),
        "entries": (show_entry(entry) for entry in entries(connection, in_written_order=True)),
        "flights": show_flights(connection),
        "scores": show_scores(connection),
        "facts": show_facts(connection),
    }


def _table(name: str, rows: Iterable[Mapping[str, str]]) -> Iterator[list[str]]:
    header = [column.name for column in FILES[name]]
    yield header
    for cells in rows:
        yield [cells.get(column, "") for column in header]


def _refuse_overwriting(paths: Iterable[Path], *, force: bool) -> None:
    there = [path for path in paths if path.exists()]
    if there and not force:
        raise InTheWay(f"{there[0]} is there already; name another place, or export again with force")


def _write_folder(folder: Path, tables: Mapping[str, Table], *, force: bool) -> None:
    """Write every file beside its place first, and only then move them all there."""
    files = {folder / f"{name}.csv": rows for name, rows in tables.items()}
    _refuse_overwriting(files, force=force)
    folder.mkdir(parents=True, exist_ok=True)
    half_done = {path: path.with_name(f"{path.name}.new") for path in files}
    try:
        for path, rows in files.items():
            _write_csv(half_done[path], rows)
        for path, new in half_done.items():
            new.replace(path)
    finally:
        for new in half_done.values():
            new.unlink(missing_ok=True)


def _write_csv(path: Path, rows: Sequence[Sequence[str]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer(file, lineterminator="\r\n").writerows(rows)
        file.flush()
        fsync(file.fileno())


def _write_workbook(path: Path, tables: Mapping[str, Table], *, force: bool) -> None:
    from cooperage.exchange.workbook import write_workbook  # brings openpyxl, so only when it is needed

    _refuse_overwriting([path], force=force)
    path.parent.mkdir(parents=True, exist_ok=True)
    new = path.with_name(f"{path.name}.new")
    try:
        write_workbook(new, tables)
        new.replace(path)
    finally:
        new.unlink(missing_ok=True)

"""The export: the whole book as the files that an import reads back to the same book."""

from collections.abc import Iterable, Iterator, Mapping
from csv import writer
from pathlib import Path

from sqlalchemy import Connection

from cooperage.book import Book
from cooperage.book.log import entries
from cooperage.book.store.registry import Registry
from cooperage.exchange.barrel_trials import show_barrel_trials
from cooperage.exchange.batches.rows import show_batches, show_honeys
from cooperage.exchange.bottlings.risks import show_risks_passed
from cooperage.exchange.bottlings.runs import show_run_closings, show_run_lines, show_runs
from cooperage.exchange.entries import show_entry
from cooperage.exchange.facts import show_facts, show_prices
from cooperage.exchange.filed.periods import show_filed_entries, show_periods
from cooperage.exchange.orders import show_orders
from cooperage.exchange.readiness import show_definitions
from cooperage.exchange.rules.own import show_own_rules
from cooperage.exchange.tables.columns import FILES
from cooperage.exchange.tables.formulas import marked
from cooperage.exchange.tastings.difference_sets import show_departures, show_sets
from cooperage.exchange.tastings.flights_and_scores import show_flights, show_scores
from cooperage.exchange.tastings.servings_and_peeks import show_peeks, show_servings
from cooperage.exchange.tastings.terms import show_terms
from cooperage.exchange.trials import show_trials
from cooperage.exchange.vessels_and_lots import show_lot, show_vessel
from cooperage.outfile import new_file, new_files

Table = list[list[str]]


def export_folder(book: Book, path: str | Path, *, force: bool = False) -> dict[str, int]:
    """Write the book as a folder of CSV files, or as a workbook when the path ends in .xlsx; count rows by file.

    Entries stand in the order they were written, strikes included, each with its id and times to the microsecond. What
    would reveal a flight that is still blind is sealed (see sealing.py), and an import opens it.
    All files are written or none; those that are there are left alone unless `force`. Raises what `outfile` does, and
    FileUnusable for what a workbook cannot hold.
    """
    target = Path(path)
    with book.reading() as connection:
        tables = {name: list(_table(name, cells)) for name, cells in all_rows(connection).items()}
    write = _write_workbook if is_workbook(target) else _write_folder
    write(target, tables, force=force)
    return {name: len(rows) - 1 for name, rows in tables.items()}


def all_rows(connection: Connection) -> dict[str, Iterable[Mapping[str, str]]]:
    """Return the whole book: every file's rows of cells by column name."""
    registry = Registry(connection)
    return {
        "vessels": (show_vessel(vessel) for vessel in registry.load()),
        "lots": (show_lot(lot) for lot in registry.lots.values()),
        "entries": (show_entry(entry) for entry in entries(connection, in_written_order=True)),
        "vocabulary": show_terms(connection),
        "flights": show_flights(connection),
        "scores": show_scores(connection),
        "servings": show_servings(connection),
        "peeks": show_peeks(connection),
        "sets": show_sets(connection),
        "departures": show_departures(connection),
        "facts": show_facts(connection),
        "orders": show_orders(connection),
        "ready": show_definitions(connection),
        "trials": show_trials(connection),
        "barrel_trials": show_barrel_trials(connection),
        "prices": show_prices(connection),
        "periods": show_periods(connection),
        "filed_entries": show_filed_entries(connection),
        "rules": show_own_rules(connection),
        "risks_passed": show_risks_passed(connection),
        "honeys": show_honeys(connection),
        "batches": show_batches(connection),
        "runs": show_runs(connection),
        "run_lines": show_run_lines(connection),
        "run_closings": show_run_closings(connection),
    }


def _table(name: str, rows: Iterable[Mapping[str, str]]) -> Iterator[list[str]]:
    header = [column.name for column in FILES[name]]
    yield header
    for cells in rows:
        yield [marked(cells.get(column, "")) for column in header]


def is_workbook(path: Path) -> bool:
    """Return True if a path names a workbook; any other names a folder of CSV files."""
    return path.suffix.lower() == ".xlsx"


def _write_folder(folder: Path, tables: Mapping[str, Table], *, force: bool) -> None:
    with new_files(folder, [f"{name}.csv" for name in tables], force=force) as half_done:
        for name, rows in tables.items():
            with (half_done / f"{name}.csv").open("w", encoding="utf-8", newline="") as file:
                writer(file, lineterminator="\r\n").writerows(rows)


def _write_workbook(path: Path, tables: Mapping[str, Table], *, force: bool) -> None:
    from cooperage.exchange.tables.workbook import workbook_of  # brings openpyxl, so only when it is needed

    with new_file(path, force=force) as half_done:
        half_done.write_bytes(workbook_of(tables))

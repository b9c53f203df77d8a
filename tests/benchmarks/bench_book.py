"""Budgets of the book, as ratios in one run: `python tests/benchmarks/bench_book.py [--barrels N --moves M]`.

- one topping written, checks and cache included, against one bare SQLite transaction of the same rows, same pragmas;
- reckoning a whole book from nothing, against one plain pass that reads the same rows;
- an entry typed two days late into it, once snapshots are there (it passes its month twice), against reckoning from
  nothing; rebuilding all with the snapshots made in passing is told beside it;
- importing the demo, against one bare transaction of the rows it makes (a guard of ours);
- opening a large cellar, against opening the demo;
- `cooperage --version`, against an interpreter that only imports click.
"""

import argparse
import itertools
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path

from sqlalchemy import delete, func, insert, select

from cooperage.book import Barrel, Book, Lot, Vessel
from cooperage.book.declared import acts
from cooperage.book.replay.snapshots import replayed
from cooperage.book.store.registry import Registry
from cooperage.book.store.tables import ENTRY, METADATA, MOVE, STATE
from cooperage.exchange import import_folder, shift_to_yesterday
from cooperage.resources import demo_folder

START = datetime(2024, 1, 1, tzinfo=UTC)


def timed(work: Callable[[], object], times: int) -> float:
    """Return the median seconds of some runs."""
    taken = []
    for _ in range(times):
        began = time.perf_counter()
        work()
        taken.append(time.perf_counter() - began)
    return statistics.median(taken)


def topping(folder: Path) -> None:
    """One topping against the bare rows of one topping."""
    book = Book.create(str(folder / "topping.db"))
    with book.writing() as session:
        session.add_vessel(Vessel("", "T", "tank", 10**9, "measured"))
        session.add_vessel(Vessel("", "B", "barrel", 225_000, "measured", barrel=Barrel(fills_before=1)))
        session.add_lot(Lot("", "L", "L", abv=13.0, final_sg=1.01))
        session.write(acts.Receive(lot="L", vessel="T", volume=10**9))
        session.write(acts.Fill(vessel="B", source="T"))
    book.write(acts.Top(vessel="B", volume=2, source="T"))
    ours = timed(lambda: book.write(acts.Top(vessel="B", volume=2, source="T")), 300)
    bare = _bare_topping(book, folder / "bare.db")
    print(
        f"topping          {ours * 1e3:8.2f} ms  bare rows {bare * 1e3:8.2f} ms  ratio {ours / bare:5.2f}  (budget 5)"
    )


def _bare(path: Path) -> sqlite3.Connection:
    """Open a cellar with sqlite3 alone, under the same pragmas."""
    bare = sqlite3.connect(path, isolation_level=None)
    for pragma in ("journal_mode=WAL", "foreign_keys=ON", "synchronous=FULL", "recursive_triggers=ON"):
        bare.execute(f"PRAGMA {pragma}")
    return bare


def _bare_topping(book: Book, path: Path) -> float:
    """Write the rows of one topping, and the two cached states, with sqlite3 alone."""
    book.close()
    path.write_bytes(Path(book.name).read_bytes())
    bare = _bare(path)
    entry = list(bare.execute("SELECT * FROM entry ORDER BY id DESC LIMIT 1").fetchone())
    moves = [list(row) for row in bare.execute("SELECT * FROM move WHERE entry_id = ?", (entry[0],))]
    states = bare.execute("SELECT * FROM reckoned").fetchall()
    number = itertools.count()

    def write() -> None:
        entry[0] = f"z{next(number):06}"
        bare.execute("BEGIN IMMEDIATE")
        bare.execute(f"INSERT INTO entry VALUES ({','.join('?' * len(entry))})", entry)
        for move in moves:
            move[0] = entry[0]
            bare.execute(f"INSERT INTO move VALUES ({','.join('?' * len(move))})", move)
        for state in states:
            bare.execute("DELETE FROM reckoned WHERE vessel_id = ?", state[:1])
            bare.execute("INSERT INTO reckoned VALUES (?, ?)", state)
        bare.execute("COMMIT")

    return timed(write, 300)


def importing(folder: Path) -> Book:
    """Import the demo, against writing the rows it makes, one by one in one transaction, with sqlite3 alone."""
    number = itertools.count()

    def make() -> Book:
        return Book.create(str(folder / f"demo{next(number)}.db"))

    def fill(book: Book) -> float:
        shift = shift_to_yesterday(demo_folder(), book.now())
        return timed(lambda: import_folder(book, demo_folder(), shift_days=shift), 1)

    books = [make() for _ in range(3)]
    ours = statistics.median(fill(book) for book in books)
    bare = statistics.median(_bare_rows(books[0], make()) for _ in books)
    told("importing the demo", ours, "bare rows", bare, 30)
    return books[0]


def _bare_rows(full: Book, empty: Book) -> float:
    """Write into an empty cellar all that a full one holds and it does not."""
    empty.close()
    bare, source = _bare(Path(empty.name)), _bare(Path(full.name))
    tables = [table.name for table in METADATA.sorted_tables]
    rows = [(name, source.execute(f"SELECT * FROM {name} ORDER BY rowid").fetchall()) for name in tables]

    def write() -> None:
        bare.execute("BEGIN IMMEDIATE")
        for name, values in rows:
            for value in values:
                bare.execute(f"INSERT OR IGNORE INTO {name} VALUES ({','.join('?' * len(value))})", value)
        bare.execute("COMMIT")

    return timed(write, 1)


def large_book(path: Path, barrels: int, moves: int) -> Book:
    """Make a book of many barrels topped round after round, straight into the tables."""
    book = Book.create(str(path))
    with book.writing() as session:
        tank = session.add_vessel(Vessel("", "T", "tank", 10**12, "measured")).id
        lot = session.add_lot(Lot("", "L", "L", abv=13.0, final_sg=1.01)).id
        ids = [
            session.add_vessel(Vessel("", f"B-{n:05}", "barrel", 225_000, barrel=Barrel(fills_before=1))).id
            for n in range(barrels)
        ]
        connection = session.connection
        entries: list[dict[str, object]] = []
        rows: list[dict[str, object]] = []

        def entry(kind: str, vessel: str, at: datetime, ends: list[tuple[str, str, int]]) -> None:
            entry_id = f"{len(entries):012d}" if not flushed else f"{flushed[0] + len(entries):012d}"
            entries.append(
                {"id": entry_id, "kind": kind, "happened_at": at, "written_at": at, "hand": "", "note": ""}
                | {"vessel_id": vessel, "said": {"not_full": False}, "strikes_id": None}
            )
            rows.extend(
                {"entry_id": entry_id, "seq": seq, "source_id": s, "destination_id": d, "ml": ml}
                | {"lot_id": lot if s == "received" else None, "substance": None}
                for seq, (s, d, ml) in enumerate(ends)
            )

        flushed: list[int] = []
        total = 0

        def flush() -> None:
            nonlocal total
            connection.execute(insert(ENTRY), entries)
            connection.execute(insert(MOVE), rows)
            flushed[:] = [(flushed[0] if flushed else 0) + len(entries)]
            total += len(rows)
            entries.clear()
            rows.clear()

        entry("receive", tank, START, [("received", tank, 10**11)])
        for number, barrel in enumerate(ids):
            entry("fill", barrel, START + timedelta(seconds=number + 1), [(tank, barrel, 225_000)])
        flush()
        for turn in itertools.count(1):
            if total >= moves:
                break
            at = START + timedelta(days=14 * turn)
            for number, barrel in enumerate(ids):
                ends = [(barrel, "evaporated", 500), (tank, barrel, 500)]
                entry("top", barrel, at + timedelta(seconds=number), ends)
            flush()
        connection.execute(delete(STATE))
    return book


def reckoning(folder: Path, barrels: int, moves: int) -> Book:
    """All states from nothing, against one pass over the same rows."""
    book = large_book(folder / "large.db", barrels, moves)
    columns = (ENTRY.c.id, ENTRY.c.kind, ENTRY.c.happened_at, MOVE.c.source_id, MOVE.c.destination_id, MOVE.c.ml)
    query = select(*columns).join(MOVE, MOVE.c.entry_id == ENTRY.c.id).order_by(ENTRY.c.happened_at, ENTRY.c.id)
    with book.reading() as connection:
        plain = timed(lambda: sum(row.ml for row in connection.execute(query)), 1)
        ours = timed(lambda: replayed(connection, Registry(connection)), 1)
    told(f"reckoning {moves} moves", ours, "plain pass", plain, 10)
    return book


def late(large: Book) -> None:
    """An entry two days late in a large book, against reckoning all of it from nothing."""
    with large.reading() as connection:
        newest = connection.execute(select(func.max(ENTRY.c.happened_at))).scalar_one()
    book = Book.open(large.name, lambda: newest + timedelta(days=3))

    def write() -> None:
        book.write(acts.Sample(vessel="B-00001", volume=1, at=newest - timedelta(days=2)))

    def rebuild() -> None:
        with book.writing() as session:
            session._states.is_changed_since(newest)

    first, again = timed(rebuild, 1), timed(write, 5)
    with book.reading() as connection:
        nothing = timed(lambda: replayed(connection, Registry(connection)), 1)
    told("all with snapshots", first, "nothing", nothing, 3)
    told("a late entry", again, "nothing", nothing, 0.5)


def _open_and_close(place: str) -> None:
    Book.open(place).close()


def opening(demo: Book, large: Book) -> None:
    """Opening a large cellar against opening the demo: the check that it is one, and the first connection."""
    with large.writing() as session:
        session._states.is_changed_since(START)
    both = {}
    for name, book in (("demo", demo), ("large", large)):
        both[name] = timed(partial(_open_and_close, book.name), 30)
    told("opening", both["large"], "demo", both["demo"], 2)


def told(what: str, ours: float, against: str, theirs: float, budget: float) -> None:
    """Print one budget: seconds, the seconds it is held against, and the ratio."""
    ratio = ours / theirs
    print(
        f"{what:<24}{ours * 1e3:10.2f} ms   {against:<10}{theirs * 1e3:10.2f} ms   ratio {ratio:5.2f} (budget {budget})"
    )


def version() -> None:
    """Start-up of `--version` against an interpreter that imports click."""
    ours = [sys.executable, "-c", "from cooperage.cli import main; main(['--version'])"]
    bare = [sys.executable, "-c", "import click"]
    seconds = [timed(partial(subprocess.run, words, capture_output=True, check=True), 15) for words in (ours, bare)]
    told("--version", seconds[0], "click", seconds[1], 2)


def main() -> None:
    """Run them all."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--barrels", type=int, default=10_000)
    parser.add_argument("--moves", type=int, default=1_000_000)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        version()
        topping(Path(folder))
        demo = importing(Path(folder))
        large = reckoning(Path(folder), asked.barrels, asked.moves)
        late(large)
        opening(demo, large)


if __name__ == "__main__":
    main()

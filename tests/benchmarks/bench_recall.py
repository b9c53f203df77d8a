"""What a recall costs in a large book: `python -m tests.benchmarks.bench_recall [--barrels N --moves M]`.

A cellar of 10,000 barrels and a million moves, and one of a hundredth of that, are written straight through the store.
Barrels stand in groups of 25: each group has its own lot, tank and keg, is filled, topped round after round, and ten of
its barrels are blended and bottled. So every group has the same history in both books, and

- a small recall (a group's lot, barrel, bottling, hand of a week) in the large book is held against the same in the
  small book: what it costs must be what it finds, not the book;
- the same recall is held against an indexed SELECT of the same rows: all moves of the vessels that it reaches;
- all bottlings are traced, each for itself, against one plain pass that reads every move of the book.
"""

import argparse
import statistics
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path

from sqlalchemy import Connection, delete, insert, select

from cooperage.book import Barrel, Book, Lot, Vessel
from cooperage.book.store.registry import Registry
from cooperage.book.store.tables import BOTTLING, ENTRY, MOVE, OPEN_ENTRY, STATE
from cooperage.book.trace import all_bottlings
from cooperage.book.tracing.histories import NOT_STRUCK
from cooperage.programme.recall.asked import BACK, FORWARD, RecallQuestion, recall
from cooperage.units import Span

START = datetime(2020, 1, 6, 8, tzinfo=UTC)
GROUP, DRAWN = 25, 10
DAY = timedelta(days=1)


class Rows:
    """Entries and moves gathered and written in bulk."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._entries: list[dict[str, object]] = []
        self._moves: list[dict[str, object]] = []
        self._bottlings: list[dict[str, object]] = []
        self.moves = self._number = 0

    def entry(
        self,
        kind: str,
        vessel: str,
        at: datetime,
        ends: list[tuple[str, str, int]],
        lot: str = "",
    ) -> str:
        """Add an entry with its moves."""
        self._number += 1
        entry = f"{self._number:012d}"
        self._entries.append(
            {"id": entry, "kind": kind, "happened_at": at, "written_at": at, "hand": f"hand {self._number % 7}"}
            | {"note": "", "vessel_id": vessel, "said": {"not_full": False}, "strikes_id": None}
        )
        for seq, (source, destination, ml) in enumerate(ends):
            self._moves.append(
                {"entry_id": entry, "seq": seq, "source_id": source, "destination_id": destination, "ml": ml}
                | {"lot_id": lot or None, "substance": None}
            )
        self.moves += len(ends)
        if len(self._moves) > 50_000:
            self.flush()
        return entry

    def bottling(self, entry: str, code: str) -> None:
        """Add the bottles of an entry."""
        self._bottlings.append({"entry_id": entry, "code": code, "bottles": 1000, "bottle_ml": 750})

    def flush(self) -> None:
        """Write what was gathered."""
        self._connection.execute(insert(ENTRY), self._entries)
        self._connection.execute(insert(MOVE), self._moves)
        if self._bottlings:
            self._connection.execute(insert(BOTTLING), self._bottlings)
        self._connection.execute(delete(OPEN_ENTRY))
        self._entries, self._moves, self._bottlings = [], [], []


def made(path: Path, barrels: int, turns: int) -> tuple[Book, int]:
    """Make a book of groups of barrels, topped in so many turns; return it and its moves."""
    book = Book.create(str(path))
    with book.writing() as session:
        rows = Rows(session.connection)
        groups = []
        for group in range(barrels // GROUP):
            tank = session.add_vessel(Vessel("", f"T-{group}", "tank", 10**8, "measured")).id
            keg = session.add_vessel(Vessel("", f"K-{group}", "keg", 10**8, "measured")).id
            lot = session.add_lot(Lot("", f"L-{group}", "Lot", honey=f"honey {group % 9}", abv=13.0, final_sg=1.01)).id
            ids = [
                session.add_vessel(Vessel("", f"B-{group}-{n}", "barrel", 225_000, barrel=Barrel(wood="oak"))).id
                for n in range(GROUP)
            ]
            groups.append((tank, keg, lot, ids))
        for number, (tank, keg, lot, ids) in enumerate(groups):
            at = START + timedelta(seconds=number)
            rows.entry("receive", tank, at, [("received", tank, 9_000_000)], lot)
            rows.entry("rack", tank, at + DAY, [(tank, keg, 2_000_000)])
            for place, barrel in enumerate(ids):
                rows.entry("fill", barrel, at + 2 * DAY + timedelta(hours=place), [(tank, barrel, 225_000)])
        for turn in range(turns):
            for number, (_, keg, _, ids) in enumerate(groups):
                at = START + (7 + 14 * turn) * DAY + timedelta(seconds=number)
                for place, barrel in enumerate(ids):
                    ends = [(barrel, "evaporated", 500), (keg, barrel, 500)]
                    rows.entry("top", barrel, at + timedelta(minutes=place), ends)
        for number, (tank, _, _, ids) in enumerate(groups):
            at = START + (14 + 14 * turns) * DAY + timedelta(seconds=number)
            rows.entry("rack", tank, at, [(tank, "poured away", 9_000_000 - 2_000_000 - GROUP * 225_000)])
            rows.entry("blend", tank, at + DAY, [(barrel, tank, 80_000) for barrel in ids[:DRAWN]])
            entry = rows.entry("bottle", tank, at + 2 * DAY, [(tank, "bottled", 750_000)])
            rows.bottling(entry, f"RUN-{number}")
        rows.flush()
        session.connection.execute(delete(STATE))
    with book.writing() as session:
        session.connection.exec_driver_sql("ANALYZE")
    return book, rows.moves


def timed(work: Callable[[], object], times: int = 25) -> float:
    """Return the median seconds of the processor in some runs: others may use it between."""
    taken = []
    for _ in range(times):
        began = time.process_time()
        work()
        taken.append(time.process_time() - began)
    return statistics.median(taken)


def _selected(book: Book, tags: list[str]) -> int:
    """Read all moves of some vessels by their indexes."""
    columns = (ENTRY.c.happened_at, ENTRY.c.hand, MOVE)
    rows = 0
    with book.reading() as connection:
        ids = [Registry(connection).vessel(tag).id for tag in tags]
        for vessel in ids:
            for end in (MOVE.c.source_id, MOVE.c.destination_id):
                query = select(*columns).join(ENTRY, ENTRY.c.id == MOVE.c.entry_id).where(end == vessel, NOT_STRUCK)
                rows += len(connection.execute(query).all())
    return rows


def questions(group: int, turns: int) -> dict[str, RecallQuestion]:
    """Return small recalls of one group."""
    week = Span(START + (7 + 14 * (turns - 2)) * DAY, START + (14 + 14 * (turns - 2)) * DAY)
    return {
        "barrel forward": RecallQuestion(f"B-{group}-1", direction=FORWARD),
        "barrel, one week": RecallQuestion(f"B-{group}-1", span=week, direction=FORWARD),
        "lot forward": RecallQuestion(f"L-{group}"),
        "bottling back": RecallQuestion(f"RUN-{group}", direction=BACK),
        "barrel back": RecallQuestion(f"B-{group}-1", direction=BACK),
    }


def main() -> None:
    """Make both books and compare."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--barrels", type=int, default=10_000)
    parser.add_argument("--moves", type=int, default=1_000_000)
    asked = parser.parse_args()
    turns = asked.moves // asked.barrels // 2
    with tempfile.TemporaryDirectory() as folder:
        began = time.perf_counter()
        large, moves = made(Path(folder) / "large.db", asked.barrels, turns)
        small, fewer = made(Path(folder) / "small.db", asked.barrels // 100, turns)
        print(
            f"{asked.barrels} barrels, {moves} moves; {fewer} in the small book ({time.perf_counter() - began:.0f} s)"
        )
        group = asked.barrels // GROUP // 2
        for name, question in questions(group, turns).items():
            here = questions(1, turns)[name]
            found = recall(large, question)
            tags = [row.place for row in found.of("vessel", "passed")]
            ours, before = timed(partial(recall, large, question)), timed(partial(recall, small, here))
            rows, plain = _selected(large, tags), timed(partial(_selected, large, tags))
            print(
                f"{name:<18}{ours * 1e3:9.1f} ms   {len(found.rows):4} places   small book {before * 1e3:9.1f} ms "
                f"ratio {ours / before:5.2f} (budget 2)   SELECT of {rows:6} rows {plain * 1e3:8.1f} ms "
                f"ratio {ours / plain:5.2f}"
            )
        hand = RecallQuestion(hand="hand 3", span=questions(group, turns)["barrel, one week"].span)
        week, places = timed(lambda: recall(large, hand), 3), len(recall(large, hand).rows)
        print(f"a hand's week     {week * 1e3:9.1f} ms   {places} places, {week / places * 1e3:.2f} ms each")
        with large.reading() as connection:
            query = select(ENTRY.c.id, MOVE).join(MOVE, MOVE.c.entry_id == ENTRY.c.id)
            query = query.order_by(ENTRY.c.happened_at, ENTRY.c.id, MOVE.c.seq)
            one_pass = timed(lambda: sum(row.ml for row in connection.execute(query)), 1)
            each = timed(lambda: all_bottlings(connection), 1)
        print(f"all bottlings      {each:9.1f} s    one plain pass {one_pass:6.1f} s   ratio {each / one_pass:5.2f}")
        for book in (large, small):
            book.close()


if __name__ == "__main__":
    main()

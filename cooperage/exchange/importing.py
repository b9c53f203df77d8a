"""The import: a folder, a file or a workbook goes into the book as a whole, or not at all."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from importlib import import_module
from pathlib import Path
from typing import TypeVar

from sqlalchemy import select

from cooperage.book import Book, Lot, Vessel, Writing
from cooperage.book.store.tables import ENTRY
from cooperage.errors import AskedBack, CooperageError
from cooperage.exchange.entries import ReadEntry, read_entry
from cooperage.exchange.errors import FileUnusable, Placed, Problems
from cooperage.exchange.facts import add_fact
from cooperage.exchange.tables.cells import Clock
from cooperage.exchange.tables.columns import WHEN
from cooperage.exchange.tables.sheets import Row, Sheet, gather_sheets, read_sheets
from cooperage.exchange.vessels_and_lots import is_new, known_by_name, read_lot, read_vessel

Progress = Callable[[int, int], None]
"""Called with how many rows are done, of how many."""


@dataclass(slots=True)
class Imported:
    """What an import did: rows written and rows passed over by file, and what the person should know."""

    counts: dict[str, int] = field(default_factory=dict)
    passed_over: dict[str, int] = field(default_factory=dict)
    is_dry_run: bool = False

    @property
    def words(self) -> str:
        """How many rows of each file go in."""
        return ", ".join(f"{count} {name}" for name, count in self.counts.items() if count) or "nothing new"

    @property
    def notes(self) -> list[str]:
        """Lines for the person."""
        text = [
            f"passed over, in the book already: {count} of {name}" for name, count in self.passed_over.items() if count
        ]
        return [*text, "this was a dry run: everything fits, and nothing was written"] if self.is_dry_run else text


class _DryRun(Exception):
    """Leaves a transaction without writing it."""


def import_folder(
    book: Book,
    path: str | Path,
    *,
    dry_run: bool = False,
    shift_days: int = 0,
    progress: Progress | None = None,
) -> Imported:
    """Import a folder of CSV files, one CSV file or a workbook in one transaction.

    Rows without a time of writing are written in order of `when`, others in the order they were written. Rows that are
    in the book already are passed over. `shift_days` is added to every date; a `dry_run` checks everything and writes
    nothing. All problems of all files are found before any is raised: FileUnusable, BadHeader, BadCell, RefusedRow,
    each of which names file, line and column in one line; of several, ManyProblems.
    """
    problems = Problems()
    sheets = {sheet.name: sheet for sheet in gather_sheets(Path(path), problems)}
    done = Imported(is_dry_run=dry_run)
    try:
        with book.writing() as session:
            clock = Clock(session.now, timedelta(days=shift_days))
            _Import(session, clock, done, progress, problems).run(sheets)
            problems.raise_found()
            if dry_run:
                raise _DryRun
    except _DryRun:
        pass
    return done


def shift_to_yesterday(path: str | Path, now: datetime) -> int:
    """Return the whole days by which a folder's entries must be shifted for the last of them to be yesterday."""
    sheet = next((sheet for sheet in read_sheets(Path(path)) if sheet.name == "entries"), None)
    if sheet is None or not sheet.rows:
        raise FileUnusable(f"{path} holds no entries; name another folder")
    last: datetime = max(row.values(WHEN, Clock(now))["at"] for row in sheet.rows)
    return (now.date() - last.date()).days - 1


_TASTING = ("vocabulary", "flights", "scores", "servings", "peeks", "sets", "departures")
_KEPT = {
    "orders": ("orders", "Orders"),
    "ready": ("readiness", "Definitions"),
    "trials": ("trials", "Trials"),
    "barrel_trials": ("barrel_trials", "BarrelTrials"),
    "prices": ("facts", "Prices"),
    "rules": ("rules.own", "OwnRules"),
    "risks_passed": ("bottlings.risks", "PassedRisks"),
    "runs": ("bottlings.runs", "Runs"),
    "run_lines": ("bottlings.runs", "RunLines"),
    "run_closings": ("bottlings.runs", "RunClosings"),
}
"""The module and the class that take the rows of a file, in the order in which they are taken."""
_NAMING = ("vessel", "from", "to", "lot", "id", "entry")


def _names_in(row: Row) -> set[str]:
    """Return what a row of entries names: vessels, lots, entries."""
    drawn = (part.rpartition("=")[0] for part in row.cells.get("draws", "").split(";"))
    return {name.strip().upper() for name in (*(row.cells.get(each, "") for each in _NAMING), *drawn)} - {""}


@contextmanager
def _at(row: Row, column: str | None = None) -> Iterator[None]:
    """Give an error of the book the place of the row it came from."""
    try:
        yield
    except Placed:
        raise
    except CooperageError as error:
        raise row.placed(error, column) from error


Value = TypeVar("Value", Vessel, Lot)


def _in_order(entries: Sequence[ReadEntry], now: datetime) -> list[ReadEntry]:
    """Sort entries as they were written; those without that time are written now, in the order they happened.

    Each of these is written a microsecond after the one before, so that the book keeps their order.
    """
    dated = sorted((each for each in entries if each.written_at), key=lambda each: (each.written_at, each.id or ""))
    undated = sorted((each for each in entries if not each.written_at), key=lambda each: each.act.at or now)
    times = [now - timedelta(microseconds=left) for left in reversed(range(len(undated)))]
    return dated + [
        replace(entry, written_at=max(time, entry.act.at or now)) for entry, time in zip(undated, times, strict=True)
    ]


class _Import:
    """One import inside one writing transaction."""

    def __init__(
        self, session: Writing, clock: Clock, done: Imported, progress: Progress | None, problems: Problems
    ) -> None:
        self._session, self._clock, self._done, self._progress = session, clock, done, progress
        self._problems, self._doubtful = problems, set[str]()
        self._rows_done = self._rows_in_all = 0

    def run(self, sheets: dict[str, Sheet]) -> None:
        self._rows_in_all = sum(len(sheet.rows) for sheet in sheets.values())
        self._done.counts = dict.fromkeys(sheets, 0)
        self._done.passed_over = dict.fromkeys(sheets, 0)
        if "vessels" in sheets:
            there = known_by_name(self._session.registry.load())
            registered = self._register(sheets["vessels"], read_vessel, there, self._session.add_vessel)
            self._check_top_from(registered)
        if "lots" in sheets:
            known = known_by_name(self._session.registry.lots.values())
            self._register(sheets["lots"], read_lot, known, self._session.add_lot)
        self._is_blind = bool(self._problems.found)  # what is not there may be what could not be read
        if "entries" in sheets:
            self._write(sheets["entries"])
        if not sheets.keys().isdisjoint(_TASTING):
            self._taste(sheets)
        if "facts" in sheets:
            self._take_facts(sheets["facts"])
        for name in (each for each in _KEPT if each in sheets):
            self._take_kept(sheets[name])
        self._take_periods(sheets.get("periods"), sheets.get("filed_entries"))
        self._take_batches(sheets)

    def _register(
        self,
        sheet: Sheet,
        read: Callable[[Row, Clock], Value],
        known: dict[str, Value],
        add: Callable[[Value], Value],
    ) -> list[Row]:
        """Register what is new; return the rows with which nothing is wrong."""
        well = []
        for row in sheet.rows:
            with self._problems.noting(), _at(row):
                value = read(row, self._clock)
                wanted = is_new(value, known)
                if wanted:
                    known.update(known_by_name([add(value)]))
                self._count(sheet.name, is_written=wanted)
                well.append(row)
        return well

    def _take_facts(self, sheet: Sheet) -> None:
        for row in sheet.rows:
            with self._problems.noting(), _at(row):
                self._count(sheet.name, is_written=add_fact(self._session.connection, row, self._clock))

    def _take_kept(self, sheet: Sheet) -> None:
        """Write what the programme keeps beside the book; each kind is loaded only when it is needed."""
        module, kind = _KEPT[sheet.name]
        rows = getattr(import_module(f"cooperage.exchange.{module}"), kind)(self._session, self._clock)
        for row in sheet.rows:
            with self._problems.noting(), _at(row):
                self._count(sheet.name, is_written=rows.add(row))

    def _take_periods(self, sheet: Sheet | None, counted: Sheet | None) -> None:
        if sheet is None:
            return
        from cooperage.exchange.filed.periods import FiledPeriods  # only when it is needed

        periods = FiledPeriods(self._session, self._clock)
        for row in () if counted is None else counted.rows:
            with self._problems.noting(), _at(row):
                self._count("filed_entries", is_written=not periods.has(periods.note_entry(row)))
        for row in sheet.rows if not self._problems.found else ():
            with self._problems.noting(), _at(row):
                self._count(sheet.name, is_written=periods.add(row))

    def _take_batches(self, sheets: dict[str, Sheet]) -> None:
        if sheets.keys().isdisjoint(("honeys", "batches")):
            return
        from cooperage.exchange.batches.rows import Batches  # only when it is needed

        batches = Batches(self._session, self._clock)
        for name, add in (("honeys", batches.add_honey), ("batches", batches.add_batch)):
            for row in sheets[name].rows if name in sheets else ():
                with self._problems.noting(), _at(row):
                    self._count(name, is_written=add(row))

    def _check_top_from(self, rows: Sequence[Row]) -> None:
        """Check that every keg is there; where a row could not be read, that may be the keg's."""
        for row in rows if not self._problems.found else ():
            if "top_from" in row.cells:
                with self._problems.noting(), _at(row, "top_from"):
                    self._session.registry.vessel(row.cells["top_from"])

    def _write(self, sheet: Sheet) -> None:
        there = set(self._session.connection.execute(select(ENTRY.c.id)).scalars())
        for entry in self._entries(sheet.rows):
            is_there = entry.id in there
            if not is_there:
                try:
                    self._write_entry(entry)
                except Placed as error:
                    self._note_refused(entry, error)
            self._count(sheet.name, is_written=not is_there)

    def _write_entry(self, entry: ReadEntry, *, sure: bool = False) -> None:
        act = replace(entry.act, sure=True) if sure else entry.act
        with _at(entry.row):
            written = self._session.write(act, entry_id=entry.id or "", written_at=entry.written_at)
            if entry.together is not None:
                self._session.mark_together([written.id], entry.together)

    def _note_refused(self, entry: ReadEntry, error: Placed) -> None:
        """Note what the book refuses, and look on as if a question were answered with yes.

        What is refused only because of an entry that was refused before is not noted: it may be right.
        """
        if self._is_blind or not self._doubtful.isdisjoint(_names_in(entry.row)):
            self._doubtful.update(_names_in(entry.row))
            return
        self._problems.note(error)
        if isinstance(error, AskedBack):
            with suppress(CooperageError):
                self._write_entry(entry, sure=True)
                return
        self._doubtful.update(_names_in(entry.row))

    def _entries(self, rows: Iterable[Row]) -> list[ReadEntry]:
        """Read all rows before the first is written, and sort them as they are to be written."""
        read, lines = [], dict[str, int]()
        for row in rows:
            entry = self._read_entry(row, lines)
            if entry is None:
                self._doubtful.update(_names_in(row))
            else:
                read.append(entry)
        return _in_order(read, self._session.now)

    def _read_entry(self, row: Row, lines: dict[str, int]) -> ReadEntry | None:
        """Return the entry of a row; None where it is noted why it is none."""
        with self._problems.noting():
            entry = read_entry(row, self._clock)
            if entry.id is not None and (first := lines.setdefault(entry.id, row.line)) != row.line:
                raise row.bad(f"stands there already in line {first}; give each entry its own", "id")
            return entry
        return None

    def _taste(self, sheets: dict[str, Sheet]) -> None:
        from cooperage.exchange.tastings.all_rows import row_writers  # only when it is needed

        writers, finish = row_writers(self._session, self._clock)
        for name, write in writers.items():
            for row in sheets[name].rows if name in sheets else ():
                try:
                    with _at(row):
                        self._count(name, is_written=write(row))
                except Placed as error:
                    self._note_tasting(name, row, error)
        finish()

    def _note_tasting(self, name: str, row: Row, error: Placed) -> None:
        """Note what is wrong with a flight or a score; not, that the flight of a score is not there for that reason."""
        code = f"flight {row.cells.get('code' if name == 'flights' else 'flight', '')}".upper()
        if name in ("flights", "vocabulary"):
            self._doubtful.add(code)
        if name in ("flights", "vocabulary") or (not self._is_blind and code not in self._doubtful):
            self._problems.note(error)

    def _count(self, name: str, *, is_written: bool) -> None:
        counts = self._done.counts if is_written else self._done.passed_over
        counts[name] += 1
        self._rows_done += 1
        if self._progress is not None:
            self._progress(self._rows_done, self._rows_in_all)

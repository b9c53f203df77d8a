"""A flight's scores as a table: blank for the tasters, and filled in back into the book, all of it or nothing."""

import csv
from collections.abc import Iterator, Sequence
from io import StringIO
from pathlib import Path

from cooperage.book import Book, Writing
from cooperage.book.declared.verdicts import verdict_in
from cooperage.errors import BadInput, CooperageError
from cooperage.exchange.errors import BadHeader, FileUnusable, Problems
from cooperage.exchange.tables.formulas import marked, unmarked
from cooperage.exchange.tables.sheets import RawRow, Row, read_csv
from cooperage.tasting.flights.errors import NotInThisFlight
from cooperage.tasting.flights.leaving import check_stays_away
from cooperage.tasting.flights.line import TypedScore, asked_of, scale_of
from cooperage.tasting.flights.scales import OVERALL, check_on_scale
from cooperage.tasting.flights.scoring import write_score
from cooperage.tasting.flights.shape import Flight, Score
from cooperage.tasting.flights.sheet import AFTER_FIGURES, OF_A_ROW, sheet_columns, sheet_rows
from cooperage.tasting.flights.stored import find_flight
from cooperage.tasting.in_line import LEFT_OUT
from cooperage.units import Quantity, read

_NEEDED = ("taster", "glass")


def sheet_table(poured: Flight, tasters: Sequence[str]) -> str:
    """Return the sheets of tasters as one CSV table, blank where they write."""
    text = StringIO()
    rows = [row for taster in tasters for row in sheet_rows(poured, taster)]
    csv.writer(text, lineterminator="\n").writerows(
        [[marked(cell) for cell in row] for row in (sheet_columns(poured), *rows)]
    )
    return text.getvalue()


def take_scores(book: Book, flight_code: str, path: Path, *, sure: bool = False) -> dict[str, int]:
    """Write the scores of a CSV table beside what is there; return how many glasses were scored by each taster.

    Columns are those of `sheet_table`; a row that gives nothing is passed over, and a dash leaves a figure out. All
    problems are found before any is raised: FileUnusable, BadHeader, BadCell, RefusedRow, ManyProblems. Then
    NotAmongTheTasters and BackAfterLeaving, unless `sure`.
    """
    rows = read_csv(path)
    if not rows:
        raise FileUnusable(f"{path.name} is empty; its first line must name the columns")
    counts: dict[str, int] = {}
    problems = Problems()
    with book.writing() as session:
        before, poured = (find_flight(session.connection, flight_code) for _ in range(2))
        header = _header(path.name, rows[0], poured)
        seen: dict[tuple[str, str], int] = {}
        for row in _rows(path.name, header, rows[1:], problems):
            with problems.noting():
                taster = _take(session, poured, row, seen)
                if taster:
                    counts[taster] = counts.get(taster, 0) + 1
        problems.raise_found()
        before.check_tasters(counts, sure=sure)
        if not sure:
            check_stays_away(before.code, before.departed, counts)
    return counts


def _header(file: str, first: RawRow, poured: Flight) -> list[str]:
    """Return the name of each column as the flight has it; a nameless one is ''. Raises BadHeader."""
    header = []
    for cell in first[1]:
        name = unmarked(cell.strip())
        try:
            header.append(_column(name, poured))
        except NotInThisFlight:
            known = ", ".join(sheet_columns(poured))
            raise BadHeader(file, f"there is no column '{name}' for {poured.code}; its columns are {known}") from None
    if twice := next((name for name in header if name and header.count(name) > 1), ""):
        raise BadHeader(file, f"the column '{twice}' stands there twice; keep one")
    if missing := [name for name in _NEEDED if name not in header]:
        raise BadHeader(file, f"the column '{missing[0]}' is missing; it is needed")
    return header


def _column(name: str, poured: Flight) -> str:
    plain = name.casefold()
    if not plain or plain in (*OF_A_ROW, *AFTER_FIGURES, OVERALL):
        return plain
    return OVERALL if plain == "score" else poured.attribute(name).name


def _rows(file: str, header: Sequence[str], rows: Sequence[RawRow], problems: Problems) -> Iterator[Row]:
    for line, cells in rows:
        if len(cells) > len(header):
            problems.note(Row(file, line, {}).bad(f"has {len(cells)} cells; its header has {len(header)}"))
            continue
        named = zip(header, cells, strict=False)
        yield Row(file, line, {name: unmarked(text.strip()) for name, text in named if name and text.strip()})


def _take(session: Writing, poured: Flight, row: Row, seen: dict[tuple[str, str], int]) -> str:
    """Write the score of a row; return its taster, or '' for one that gives nothing. Raises BadCell, RefusedRow."""
    typed = _typed(row, poured)
    if not (typed.figures or typed.words or typed.verdict):
        return ""
    for name in _NEEDED:
        if name not in row.cells:
            raise row.bad("is blank; it is needed here", name)
    if row.cells.get("flight", poured.code).casefold() != poured.code.casefold():
        raise row.bad(f"is not {poured.code}, whose scores these are to be; give each flight its own file", "flight")
    try:
        glass = poured.glass(row.cells["glass"]).code
    except BadInput as error:
        raise row.placed(error, "glass") from error
    taster = poured.taster_named(row.cells["taster"])
    if (first := seen.setdefault((glass, taster), row.line)) != row.line:
        raise row.bad(f"{taster} scored glass {glass} in line {first} already; keep one of the two", "glass")
    try:
        there = poured.scores.get((glass, taster), Score(None))
        write_score(session, poured, glass, taster, typed.added_to(there))
    except CooperageError as error:
        raise row.placed(error) from error
    return taster


def _typed(row: Row, poured: Flight) -> TypedScore:
    figures: dict[str, float | None] = {}
    for name in asked_of(poured):
        if name in row.cells:
            figures[name] = _figure(row, poured, name)
    try:
        verdict = verdict_in(row.cells["verdict"]) if "verdict" in row.cells else None
    except BadInput as error:
        raise row.placed(error, "verdict") from error
    return TypedScore(figures, row.cells.get("words", ""), verdict)


def _figure(row: Row, poured: Flight, name: str) -> float | None:
    if row.cells[name] == LEFT_OUT:
        return None
    try:
        value = float(read(Quantity.NUMBER, row.cells[name]))
        check_on_scale(value, scale_of(poured, name))
    except BadInput as error:
        raise row.placed(error, name) from error
    return value

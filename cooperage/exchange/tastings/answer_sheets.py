"""The answers of a difference test as a table: blank for the tasters, and filled in back into the book, all or none."""

import csv
from collections.abc import Sequence
from io import StringIO
from pathlib import Path

from cooperage.book import Book
from cooperage.errors import CooperageError
from cooperage.exchange.errors import BadHeader, FileUnusable, Problems
from cooperage.exchange.tables.formulas import marked, unmarked
from cooperage.exchange.tables.sheets import RawRow, Row, read_csv
from cooperage.tasting.difference.answering import parse_answers, write_answers
from cooperage.tasting.difference.shape import DifferenceFlight
from cooperage.tasting.difference.sheet import COLUMNS, answer_rows
from cooperage.tasting.difference.stored import find_difference
from cooperage.tasting.flights.errors import AlreadyRevealed
from cooperage.tasting.flights.leaving import check_stays_away

_NEEDED = ("taster", "answer")


def answer_table(poured: DifferenceFlight, tasters: Sequence[str]) -> str:
    """Return the sheets of tasters as one CSV table, blank where they answer."""
    text = StringIO()
    rows = [row for taster in tasters for row in answer_rows(poured, taster)]
    csv.writer(text, lineterminator="\n").writerows([[marked(cell) for cell in row] for row in (COLUMNS, *rows)])
    return text.getvalue()


def take_answers(book: Book, flight_code: str, path: Path, *, sure: bool = False) -> dict[str, int]:
    """Write the answers of a CSV table; return how many sets were answered by each taster.

    Columns are those of `answer_table`. A row without an answer is refused: the choice is forced, and whoever did not
    taste has no row. All problems are found before any is raised: FileUnusable, BadHeader, BadCell, RefusedRow,
    ManyProblems. Then BackAfterLeaving, unless `sure`.
    """
    rows = read_csv(path)
    if not rows:
        raise FileUnusable(f"{path.name} is empty; its first line must name the columns")
    header = _header(path.name, rows[0])
    counts: dict[str, int] = {}
    problems = Problems()
    with book.writing() as session:
        poured = find_difference(session.connection, flight_code)
        if not poured.is_blind:
            raise AlreadyRevealed(poured.code)
        departed = dict(poured.departed)
        seen: dict[str, int] = {}
        for line, cells in rows[1:]:
            with problems.noting():
                row = Row(path.name, line, _cells(header, cells))
                name, named = _answers(poured, row, seen)
                counts[name] = counts.get(name, 0) + len(write_answers(session, poured, name, named))
        problems.raise_found()
        if not sure:
            check_stays_away(poured.code, departed, counts)
    return counts


def _header(file: str, first: RawRow) -> list[str]:
    """Return the name of each column; raises BadHeader."""
    header = [unmarked(cell.strip()).casefold() for cell in first[1]]
    if unknown := next((name for name in header if name and name not in COLUMNS), ""):
        raise BadHeader(file, f"there is no column '{unknown}'; the columns are {', '.join(COLUMNS)}")
    if twice := next((name for name in header if name and header.count(name) > 1), ""):
        raise BadHeader(file, f"the column '{twice}' stands there twice; keep one")
    if missing := next((name for name in _NEEDED if name not in header), ""):
        raise BadHeader(file, f"the column '{missing}' is missing; it is needed")
    return header


def _cells(header: Sequence[str], cells: Sequence[str]) -> dict[str, str]:
    named = zip(header, cells, strict=False)
    return {name: unmarked(text.strip()) for name, text in named if name and text.strip()}


def _answers(poured: DifferenceFlight, row: Row, seen: dict[str, int]) -> tuple[str, dict[int, list[str]]]:
    """Return the taster of a row and the codes named, by round; raises BadCell, RefusedRow."""
    if "taster" not in row.cells:
        raise row.bad("is blank; it is needed here", "taster")
    if row.cells.get("flight", poured.code).casefold() != poured.code.casefold():
        raise row.bad(f"is not {poured.code}, whose answers these are to be; give each flight its own file", "flight")
    name = poured.taster_named(row.cells["taster"])
    line = _line(poured, name, row)
    try:
        named = parse_answers(line, poured, name)
    except CooperageError as error:
        raise row.placed(error, "answer") from error
    for at in named:
        if (first := seen.setdefault(f"{name}\n{at}", row.line)) != row.line:
            raise row.bad(f"{name} answered set {at} in line {first} already; keep one of the two", "answer")
    return name, {at: list(codes) for at, codes in named.items()}


def _line(poured: DifferenceFlight, name: str, row: Row) -> str:
    """Return the answer of a row, which must be of its own set where the row names one; raises BadCell."""
    line, glasses = row.cells.get("answer", ""), row.cells.get("glasses", "")
    own = next((each for each in poured.sets if each.taster == name and each.codes == glasses.split()), None)
    if glasses and own is None:
        raise row.bad(f"is no set of {name}; leave the column as it was printed", "glasses")
    if own is not None and not set(line.split()) <= set(own.codes) | {"-", ""}:
        raise row.bad(f"names no glass of {glasses}", "answer")
    if own is not None and not line:
        raise row.bad(
            f"is blank; {name} must name one of {glasses}, by a guess if need be, or leave the line out", "answer"
        )
    return line

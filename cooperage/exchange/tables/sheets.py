"""Tables of text as they stand in files: read from CSV or from a workbook, checked row by row against the columns.

Nothing here knows what a cell means; a cell keeps its file, line and column so that an error can name them.
"""

import csv
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from io import StringIO
from pathlib import Path
from typing import Any

from cooperage.book.store.naming import kind_of_file
from cooperage.errors import BadInput, CooperageError, choose_from
from cooperage.exchange.errors import BadCell, BadHeader, FileUnusable, Placed, Problems, placed
from cooperage.exchange.tables.cells import Clock, read_cell, resolved, with_unit
from cooperage.exchange.tables.columns import FILES, Column, Plain, required_columns
from cooperage.exchange.tables.formulas import unmarked
from cooperage.infile import read_at_most

RawRow = tuple[int, list[str]]
DELIMITERS = ",;\t"
MOST = 128_000_000
"""The most bytes of a CSV file: some million entries."""
LONGEST = 1_000_000
"""The most letters of a line, and of a cell."""


@dataclass(frozen=True, slots=True)
class Row:
    """One row: where it stands, and its cells that are not blank by column name."""

    file: str
    line: int
    cells: dict[str, str]

    def bad(self, why: str, column: str | None = None) -> BadCell:
        """Return the error of this row, or of one of its cells."""
        return BadCell(self.file, self.line, column, BadInput(why))

    def placed(self, cause: CooperageError, column: str | None = None) -> Placed:
        """Give an error this row's place."""
        return placed(self.file, self.line, cause, column)

    def values(self, columns: Iterable[Column], clock: Clock) -> dict[str, Any]:
        """Read the cells of these columns by the fields they fill; blank ones are left out. Raises BadCell."""
        given: dict[str, Any] = {}
        for column in columns:
            text = self.cells.get(column.name)
            if text is None:
                if column.required:
                    raise self.bad("is blank; it is needed here", column.name)
                continue
            try:
                typed = with_unit(column, text, self.cells)
                given[column.fills] = read_cell(resolved(column, given), typed, clock)
            except BadInput as error:
                raise self.placed(error, column.name) from error
        return given


@dataclass(frozen=True, slots=True)
class Sheet:
    """One table of the format: its place for messages, which of `FILES` it is, its columns and rows."""

    file: str
    name: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]


def read_sheets(path: Path) -> list[Sheet]:
    """Read a folder of CSV files, one CSV file or a workbook, in the order of `FILES`.

    Raises FileUnusable, BadHeader, BadCell, ManyProblems.
    """
    problems = Problems()
    found = gather_sheets(path, problems)
    problems.raise_found()
    return found


def gather_sheets(path: Path, problems: Problems) -> list[Sheet]:
    """Read what can be read, as `read_sheets` does, and note what is wrong with files, headers and rows.

    Raises FileUnusable where there is nothing to read.
    """
    if path.is_dir():
        found = [(file, name) for name in FILES if (file := path / f"{name}.csv").is_file()]
        if not found:
            raise FileUnusable(f"{path} holds none of {', '.join(f'{name}.csv' for name in FILES)}; name the folder")
        read = [_noted(problems, partial(_read_file, file, name, problems)) for file, name in found]
        return [sheet for sheet in read if sheet is not None]
    if not path.is_file():
        if (kind := kind_of_file(path)) != "nothing":
            raise FileUnusable(f"{path} is {kind}; name a folder of CSV files, a CSV file or a workbook")
        raise FileUnusable(f"there is no file or folder {path}; check the path")
    if path.suffix.lower() == ".xlsx":
        from cooperage.exchange.tables.workbook import read_workbook  # brings openpyxl, so only when it is needed

        tables = read_workbook(path, tuple(FILES))
        made = (partial(_sheet, f"{path.name}, sheet {name},", name, rows, problems) for name, rows in tables.items())
        return [sheet for make in made if (sheet := _noted(problems, make)) is not None]
    rows = read_csv(path)
    name = path.stem.lower() if path.stem.lower() in FILES else _recognised(path.name, rows)
    return [_sheet(path.name, name, rows, problems)]


def _noted(problems: Problems, make: Callable[[], Sheet]) -> Sheet | None:
    """Return a sheet, or note why there is none."""
    with problems.noting():
        return make()
    return None


def _read_file(file: Path, name: str, problems: Problems) -> Sheet:
    return _sheet(file.name, name, read_csv(file), problems)


def read_csv(path: Path) -> list[RawRow]:
    """Read the rows of a CSV file that are not blank, each with the line it begins on.

    Cells may be separated by comma, semicolon or tab, whichever the header has most of. Raises FileUnusable, BadCell.
    """
    text = _decoded(path)
    _refuse_endless_lines(path.name, text)
    header = text.partition("\n")[0]
    delimiter = max(DELIMITERS, key=header.count)
    lines = csv.reader(StringIO(text, newline=""), delimiter=delimiter, strict=True)
    rows: list[RawRow] = []
    begins = 1
    csv.field_size_limit(LONGEST)  # a blend's plan may be longer than the library's own limit
    try:
        for cells in lines:
            if any(cell.strip() for cell in cells):
                rows.append((begins, cells))
            begins = lines.line_num + 1
    except csv.Error as error:
        raise BadCell(path.name, begins, None, BadInput(f"{error}; check its quotation marks")) from error
    return rows


def _refuse_endless_lines(file: str, text: str) -> None:
    for number, line in enumerate(StringIO(text), 1):
        if len(line) > LONGEST:
            raise FileUnusable(f"{file} line {number} is longer than {LONGEST:,} letters; is it the right file?")


def _decoded(path: Path) -> str:
    try:
        raw = read_at_most(path, MOST)
    except OSError as error:
        raise FileUnusable(f"{path} cannot be read ({error.strerror}); check who may read it") from error
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise FileUnusable(f"{path.name} line {line}: this is not UTF-8 text; save the file as CSV UTF-8") from error
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        raise FileUnusable(f"{path.name} line {line}: this is not plain text; save the file as CSV UTF-8")
    return text


def _key(name: str) -> str:
    return name.strip().casefold().replace("-", "_").replace(" ", "_")


def _recognised(file: str, rows: Sequence[RawRow]) -> str:
    """Return which of the files this is, by its header."""
    header = {_key(cell) for cell in rows[0][1]} - {""} if rows else set()
    for name, columns in FILES.items():
        known = {_key(column.name) for column in columns}
        if header <= known and {_key(needed) for needed in required_columns(name)} <= header:
            return name
    needs = "; ".join(f"{name}: {', '.join(required_columns(name))}" for name in FILES)
    raise BadHeader(file, f"no file of a cellar has these columns; give it those of one ({needs})")


def _sheet(file: str, name: str, rows: Sequence[RawRow], problems: Problems) -> Sheet:
    if not rows:
        raise FileUnusable(f"{file.rstrip(',')} is empty; its first line must name the columns")
    header = _header(file, name, rows[0][1])
    raw_texts = {column.name for column in FILES[name] if column.holds is Plain.WORDS}
    read = tuple(_rows(file, header, rows[1:], raw_texts, problems))
    return Sheet(file, name, tuple(filter(None, header)), read)


def _header(file: str, name: str, cells: Sequence[str]) -> list[str]:
    """Return the columns' declared names in the order of the file; a nameless column is ''."""
    known = {_key(column.name): column.name for column in FILES[name]}
    header: list[str] = []
    for cell in cells:
        if _key(cell) not in known and _key(cell):
            hint = choose_from(cell, known.values())
            raise BadHeader(file, f"there is no column '{cell.strip()}' in {name}{hint}")
        column = known.get(_key(cell), "")
        if column and column in header:
            raise BadHeader(file, f"the column '{column}' stands there twice; keep one")
        header.append(column)
    for needed in required_columns(name):
        if needed not in header:
            raise BadHeader(file, f"the column '{needed}' is missing; {name} need {', '.join(required_columns(name))}")
    return header


def _rows(
    file: str, header: list[str], rows: Sequence[RawRow], raw_texts: set[str], problems: Problems
) -> Iterator[Row]:
    for line, cells in rows:
        with problems.noting():
            if len(cells) != len(header):
                hint = "put cells with commas in them in quotation marks, and close every quotation mark"
                row = Row(file, line, {})
                raise row.bad(f"has {len(cells)} cells where the header has {len(header)}; {hint}")
            yield Row(file, line, dict(_filled(file, line, header, cells, raw_texts)))


def _filled(
    file: str, line: int, header: list[str], cells: list[str], raw_texts: set[str]
) -> Iterator[tuple[str, str]]:
    for place, (column, cell) in enumerate(zip(header, cells, strict=True), 1):
        text = unmarked(cell.replace("\r\n", "\n") if column in raw_texts else cell.strip())
        if text and not column:
            raise Row(file, line, {}).bad(f"cell {place} ('{text}') stands under no column name; name the column")
        if text:
            yield column, text

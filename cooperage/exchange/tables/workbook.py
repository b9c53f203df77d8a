"""Workbooks: the same tables as sheets of an .xlsx file."""

import re
import warnings
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import closing
from datetime import datetime, time
from io import BytesIO
from pathlib import Path
from typing import Any
from zipfile import ZipFile

from openpyxl import Workbook, load_workbook
from openpyxl.utils import get_column_letter
from openpyxl.utils.exceptions import IllegalCharacterError

from cooperage.exchange.errors import FileUnusable
from cooperage.infile import read_at_most

ROWS, COLUMNS = 100_000, 200
"""The most rows and columns of a sheet that are read; what lies beyond is no list of a cellar."""
_FILE, _UNPACKED, _CELLS = 64_000_000, 256_000_000, 20_000_000
_LAST_ROW = 1_048_576  # of a sheet, by ECMA-376 as spreadsheets keep it
_LETTERS = 32_767  # the most a cell can hold, likewise
_CHANGED = re.compile(r"\r|x005F_|_x[0-9A-Fa-f]{4}_")
"""Text that a workbook does not give back: XML's carriage return, and what ECMA-376 (ST_Xstring) reads as an escape."""

RawRows = list[tuple[int, list[str]]]


def read_workbook(path: Path, names: Sequence[str]) -> dict[str, RawRows]:
    """Read the sheets that bear one of these names, as rows of text with their numbers. Raises FileUnusable, TooLong.

    Rows and columns are capped, and a sheet is read row by row: one cell in its far corner costs nothing.
    """
    raw = read_at_most(path, _FILE)
    try:
        _refuse_a_bomb(raw, path.name)
        with warnings.catch_warnings(action="ignore"), closing(_opened(raw)) as book:
            sheets = {sheet.title.strip().lower(): sheet for sheet in book.worksheets}
            found = {name: _rows(sheets[name], f"{path.name}, sheet {name}") for name in names if name in sheets}
    except FileUnusable:
        raise
    except Exception as error:  # a broken workbook makes openpyxl raise whatever it meets
        raise FileUnusable(f"{path.name} is no workbook that can be read; save it as .xlsx or CSV UTF-8") from error
    if not found:
        raise FileUnusable(f"{path.name} has no sheet named {', '.join(names)}; name its sheets so")
    return found


def _opened(raw: bytes) -> Any:  # noqa: ANN401 - openpyxl's stubs know one kind of workbook only
    return load_workbook(BytesIO(raw), read_only=True, data_only=True)


def _refuse_a_bomb(raw: bytes, name: str) -> None:
    """Ask the archive's directory for the size of its parts: `zipfile` gives no more of a part than that."""
    with ZipFile(BytesIO(raw)) as archive:
        if sum(part.file_size for part in archive.infolist()) > _UNPACKED:
            raise FileUnusable(f"{name} unpacks to more than {_UNPACKED / 1e6:g} MB; save its sheets as CSV UTF-8")


def _rows(sheet: Any, where: str) -> RawRows:  # noqa: ANN401 - see _opened
    rows = list(_within_caps(sheet, where))
    width = max((len(cells) for _, cells in rows), default=0)
    return [(number, cells + [""] * (width - len(cells))) for number, cells in rows]


def _within_caps(sheet: Any, where: str) -> Iterator[tuple[int, list[str]]]:  # noqa: ANN401 - see _opened
    """Yield the rows that are not blank, each without the blank cells at its end."""
    sheet.reset_dimensions()  # the size that the file gives of itself is not to be relied on
    cells_seen = 0
    for number, row in enumerate(sheet.iter_rows(values_only=True), 1):
        cells = [_text(cell) for cell in row]
        while cells and not cells[-1].strip():
            cells.pop()
        cells_seen += len(row)
        if (cells and number > ROWS) or len(cells) > COLUMNS or number > _LAST_ROW or cells_seen > _CELLS:
            corner = f"{get_column_letter(len(cells) or len(row) or 1)}{number}"
            raise FileUnusable(
                f"{where}: cell {corner} lies beyond the {ROWS:,} rows and {COLUMNS} columns that are read; "
                "clear what stands out there, or save the table as CSV UTF-8"
            )
        if cells:
            yield number, cells


def _text(cell: object) -> str:
    """Return a cell as a person would type it; a midnight is a day without a time."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, datetime):
        return cell.date().isoformat() if cell.time() == time() else cell.isoformat(" ")
    return str(cell).removesuffix(".0") if isinstance(cell, float) else str(cell)


def workbook_of(tables: Mapping[str, Iterable[Sequence[str]]]) -> bytes:
    """Return tables of text as the sheets of a workbook. Raises FileUnusable for text that a workbook cannot hold."""
    book, out = Workbook(), BytesIO()
    book.remove(book["Sheet"])
    for name, rows in tables.items():
        sheet = book.create_sheet(name)
        for number, row in enumerate(rows, 1):
            if number > ROWS:
                raise FileUnusable(f"{name} are more than the {ROWS:,} rows of a workbook; export a folder instead")
            for place, text in enumerate(row, 1):
                _put(sheet, number, place, text)
    book.save(out)
    return out.getvalue()


def _put(sheet: Any, number: int, place: int, text: str) -> None:  # noqa: ANN401 - any of openpyxl's sheets
    """Put text in a cell as text, so that nothing is taken for a formula."""
    if not text:
        return
    try:
        if len(text) > _LETTERS or _CHANGED.search(text):
            raise IllegalCharacterError
        cell = sheet.cell(number, place, text)
    except IllegalCharacterError:
        where = f"sheet {sheet.title}, line {number}"
        raise FileUnusable(f"a workbook cannot hold {text[:20]!r} ({where}); export a folder instead") from None
    cell.data_type = "s"

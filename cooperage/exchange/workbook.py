"""Workbooks: the same tables as sheets of an .xlsx file."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, time
from pathlib import Path
from typing import Any
from zipfile import BadZipFile

from openpyxl import Workbook, load_workbook
from openpyxl.utils.exceptions import IllegalCharacterError, InvalidFileException

from cooperage.exchange.errors import FileUnusable


def read_workbook(path: Path, names: Sequence[str]) -> dict[str, list[tuple[int, list[str]]]]:
    """Read the sheets that bear one of these names, as rows of text with their numbers. Raises FileUnusable."""
    try:
        book = load_workbook(path, data_only=True)
    except (BadZipFile, InvalidFileException, KeyError, ValueError, OSError) as error:
        raise FileUnusable(f"{path.name} is no workbook that can be read; save it as .xlsx or CSV UTF-8") from error
    sheets = {title.strip().lower(): book[title] for title in book.sheetnames}
    found = {name: _rows(sheets[name].iter_rows(values_only=True)) for name in names if name in sheets}
    if not found:
        raise FileUnusable(f"{path.name} has no sheet named {', '.join(names)}; name its sheets so")
    return found


def _rows(rows: Iterable[tuple[Any, ...]]) -> list[tuple[int, list[str]]]:
    texts = ((number, [_text(cell) for cell in row]) for number, row in enumerate(rows, 1))
    return [(number, cells) for number, cells in texts if any(cell.strip() for cell in cells)]


def _text(cell: object) -> str:
    """Return a cell as a person would type it; a midnight is a day without a time."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, datetime):
        return cell.date().isoformat() if cell.time() == time() else cell.isoformat(" ")
    return str(cell).removesuffix(".0") if isinstance(cell, float) else str(cell)


def write_workbook(path: Path, tables: Mapping[str, Iterable[Sequence[str]]]) -> None:
    """Write tables of text as sheets. Raises FileUnusable for text that a workbook cannot hold."""
    book = Workbook()
    book.remove(book["Sheet"])
    for name, rows in tables.items():
        sheet = book.create_sheet(name)
        for number, row in enumerate(rows, 1):
            for place, text in enumerate(row, 1):
                _put(sheet, number, place, text)
    book.save(path)


def _put(sheet: Any, number: int, place: int, text: str) -> None:  # noqa: ANN401 - any of openpyxl's sheets
    """Put text in a cell as text, so that nothing is taken for a formula."""
    if not text:
        return
    try:
        cell = sheet.cell(number, place, text)
    except IllegalCharacterError:
        where = f"sheet {sheet.title}, line {number}"
        raise FileUnusable(f"a workbook cannot hold {text[:20]!r} ({where}); export a folder instead") from None
    cell.data_type = "s"

"""Definitions of ready go out and come back as they were, and a bad row is refused with its place."""

from collections.abc import Callable
from pathlib import Path

import pytest

from cooperage.book import Book
from cooperage.errors import CooperageError
from cooperage.exchange import export_folder, import_folder
from cooperage.exchange.copying import copy_book
from cooperage.programme.ready.definitions import Definition, define, definitions_in, withdraw


def written(book: Book) -> list[Definition]:
    with book.reading() as connection:
        return definitions_in(connection)


@pytest.fixture
def defined(fresh_sqlite: Callable[[], Book]) -> Book:
    """A book with three definitions: the cellar's, one of a lot, and that withdrawn."""
    book = fresh_sqlite()
    define(book, "overall at least 14 of 20; va at most 0.7; age at least 6", chance=0.6, hand="Maren")
    define(book, "oak 4.12345678 to 6; gravity at most 5 brix", lot="heather", risk=0.05, hand="Iko")
    withdraw(book, lot="HEATHER", hand="Iko")
    return book


def test_they_come_back_as_they_were(defined: Book, fresh_sqlite: Callable[[], Book], tmp_path: Path) -> None:
    """As a folder, as a workbook and as a copy; a second time nothing is new."""
    assert [each.lot for each in written(defined)] == [None, "HEATHER", "HEATHER"]
    for path in (tmp_path / "out", tmp_path / "out.xlsx"):
        export_folder(defined, path)
        other = fresh_sqlite()
        assert import_folder(other, path).counts["ready"] == 3
        assert written(other) == written(defined)
        assert import_folder(other, path).counts["ready"] == 0
    copy_book(defined, str(tmp_path / "copy.db"))
    other = Book.open(str(tmp_path / "copy.db"))
    assert written(other) == written(defined)


@pytest.mark.parametrize(
    "row", ["NONE,overall at least 14,50", ",overall perhaps,50", ",overall at least 14,0", ",overall at least 14,x"]
)
def test_a_bad_row_is_refused(fresh_sqlite: Callable[[], Book], tmp_path: Path, row: str) -> None:
    """The file and the line are named, and nothing is written."""
    (tmp_path / "ready.csv").write_text(f"lot,limits,chance\n{row}\n")
    book = fresh_sqlite()
    with pytest.raises(CooperageError, match=r"ready\.csv"):
        import_folder(book, tmp_path)
    assert not written(book)

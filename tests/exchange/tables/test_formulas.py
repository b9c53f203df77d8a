"""Text that a spreadsheet would run is marked on its way out, and comes back as it was."""

import csv
import re
import shutil
from collections.abc import Callable
from io import StringIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook

from cooperage.book import Book, Lot, Vessel
from cooperage.book.declared import acts
from cooperage.cli import main
from cooperage.exchange import export_folder, import_folder
from cooperage.exchange.errors import FileUnusable
from cooperage.exchange.tables.formulas import marked, unmarked
from cooperage.plaintext import visible

if TYPE_CHECKING:
    from tests.conftest import Clock


LIVE = "=+-@\t\r\n＝＋－＠"
TEXTS = st.text(st.sampled_from([*LIVE, "'", "a", "1", " ", ".", ",", '"', "é", ";"]), max_size=8) | st.text()


@given(text=TEXTS)
def test_any_text_comes_back_from_its_marked_form(text: Any) -> None:
    """Those that begin with the mark itself among them."""
    assert unmarked(marked(text)) == text


@given(text=TEXTS)
def test_nothing_marked_begins_with_what_a_spreadsheet_runs(text: Any) -> None:
    """But a plain number, whose sign is its own."""
    safe = marked(text)
    assert not safe.startswith(tuple(LIVE)) or re.fullmatch(r"[+-]\d+([.,]\d+)?", safe, re.ASCII)


@pytest.mark.parametrize("number", ["-5", "+4.25", "-0,5"])
def test_a_number_is_left_a_number(number: str) -> None:
    """A mark would make text of it."""
    assert marked(number) == number


def test_a_hand_s_own_apostrophe_stays(small: Book, folder: Callable[..., Path]) -> None:
    """A note typed in a file of one's own that begins with an apostrophe and no sign is no mark."""
    rows = "when,kind,vessel,volume,note\n2026-02-01,sample,T-1,100 ml,'tis sweet\n"
    import_folder(small, folder(entries=rows))
    with small.reading() as connection:
        assert connection.exec_driver_sql("SELECT note FROM entry ORDER BY id DESC").scalars().first() == "'tis sweet"


NOTES = ["=cmd|' /C calc'!A0", "@SUM(A1)", "+49 30 1", "-2+3", "\nline", "'=marked", "''-twice", "'tis", "＝A1", "-5"]


@pytest.fixture
def lively_words(small: Book) -> Any:
    """A cellar whose tags, lots and notes begin with what a spreadsheet runs."""
    with small.writing() as session:
        session.add_vessel(Vessel("", "+T-9", "tank", 50_000, position=("@room", "-r", 1, 1), note="=1+1"))
        session.add_lot(Lot("", "-LIME", "=Lime()"))
    for note in NOTES:
        small.write(acts.Sample(vessel="T-1", volume=100, note=note, hand="@Ada"))
    small.write(acts.Receive(lot="-LIME", vessel="+T-9", volume=1000))
    return small


def test_every_cell_of_an_export_is_harmless_and_comes_back(
    lively_words: Any, fresh: Callable[[], Book], contents: Callable[[Book], dict[str, Any]], tmp_path: Path
) -> None:
    """In a folder and in a workbook alike: no text cell is live, and the import gives the same book."""
    export_folder(lively_words, tmp_path / "out")
    export_folder(lively_words, tmp_path / "out.xlsx")
    cells = [cell for file in (tmp_path / "out").iterdir() for row in csv.reader(file.open(newline="")) for cell in row]
    book = load_workbook(tmp_path / "out.xlsx")
    cells += [str(cell.value) for sheet in book for row in sheet for cell in row if cell.value is not None]
    assert [cell for cell in cells if cell.startswith(tuple(LIVE)) and cell != "-5"] == []
    for form in ("out", "out.xlsx"):
        again = fresh()
        import_folder(again, tmp_path / form)
        assert contents(again) == contents(lively_words)


def test_a_report_for_a_spreadsheet_is_harmless(lively_words: Any) -> None:
    """`report book --csv` tells the same notes, marked."""
    done = CliRunner().invoke(main, ["--cellar", lively_words.name, "report", "book", "--csv"])
    cells = [cell for row in csv.reader(StringIO(done.stdout)) for cell in row]
    assert done.exit_code == 0
    assert any(cell.startswith("'") for cell in cells)
    assert [cell for cell in cells if cell.startswith(tuple(LIVE)) and cell != "-5"] == []


@pytest.mark.slow
@settings(max_examples=20)
@given(notes=st.lists(TEXTS.filter(lambda text: visible(text, lines=True) == text), min_size=1, max_size=6))
def test_any_note_comes_back_from_a_file(
    notes: list[Any],
    empty_cellar: Path,
    tmp_path_factory: pytest.TempPathFactory,
    contents: Callable[[Book], dict[str, Any]],
    clock: "Clock",
) -> None:
    """Whatever can be written, a folder gives back; a workbook gives it back or says that it cannot hold it."""
    place = tmp_path_factory.mktemp("notes")
    books = []
    for name in ("first.db", "folder.db", "sheet.db"):
        shutil.copy(empty_cellar, place / name)
        books.append(Book.open(str(place / name), clock))
    first, from_folder, from_sheet = books
    with first.writing() as session:
        session.add_vessel(Vessel("", "T-1", "tank", 50_000))
        session.add_lot(Lot("", "HE", "Heather"))
        session.write(acts.Receive(lot="HE", vessel="T-1", volume=40_000))
        for note in notes:
            session.write(acts.Sample(vessel="T-1", volume=1, note=note))
    export_folder(first, place / "out")
    import_folder(from_folder, place / "out")
    assert contents(from_folder) == contents(first)
    try:
        export_folder(first, place / "out.xlsx")
    except FileUnusable:
        pass
    else:
        import_folder(from_sheet, place / "out.xlsx")
        assert contents(from_sheet) == contents(first)
    for book in books:
        book.close()
    shutil.rmtree(place)

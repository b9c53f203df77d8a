"""Files that are far larger than they look are refused in one line, before they are read."""

import zipfile
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook, load_workbook
from openpyxl.worksheet.worksheet import Worksheet

from cooperage.book import Book
from cooperage.errors import BadInput
from cooperage.exchange import import_folder
from cooperage.exchange.errors import FileUnusable
from cooperage.exchange.tables import workbook as workbooks

ROWS = [("when", "kind", "vessel", "volume", "note"), ("2026-02-01", "sample", "T-1", "100 ml", "first")]


@pytest.fixture
def workbook(tmp_path: Path) -> Any:
    """Write a workbook whose sheet of entries also holds cells at the corners named."""

    def make(**corners: Any) -> Any:
        book = Workbook()
        sheet = book.active
        assert isinstance(sheet, Worksheet)
        sheet.title = "entries"
        for row in ROWS:
            sheet.append(row)
        for corner, text in corners.items():
            sheet[corner] = text
        book.save(tmp_path / "book.xlsx")
        return tmp_path / "book.xlsx"

    return make


def refusal(book: Book, path: Any) -> Any:
    with pytest.raises(BadInput) as caught:
        import_folder(book, path)
    assert "\n" not in str(caught.value)
    return str(caught.value)


@pytest.mark.parametrize("corner", ["XFD1048576", "A1048576", "XFD2", "GT3"])
def test_a_cell_in_a_far_corner_is_named(small: Book, workbook: Any, corner: str) -> None:
    """Whether far down, far out or both."""
    line = refusal(small, workbook(**{corner: "x"}))
    assert line.startswith(f"book.xlsx, sheet entries: cell {corner} lies beyond the 100,000 rows and 200 columns")


def test_far_cells_that_hold_nothing_are_no_matter(small: Book, workbook: Any) -> None:
    """A spreadsheet keeps cells that were only coloured, or cleared."""
    assert import_folder(small, workbook(Z9=" ", GT3=" ", A200=None, XFD1048576="")).counts["entries"] == 1


def test_what_the_file_says_of_its_own_size_is_not_relied_on(small: Book, workbook: Any, tmp_path: Path) -> None:
    """A dimension of a million rows over two is read as two; one of two over a far cell does not hide it."""
    for message, corners in (("A1:XFD1048576", {}), ("A1:E2", {"A150000": "x"})):
        path = workbook(**corners)
        with zipfile.ZipFile(path) as archive:
            parts = {name: archive.read(name) for name in archive.namelist()}
        sheet = parts["xl/worksheets/sheet1.xml"].decode()
        before, _, after = sheet.partition('<dimension ref="')
        parts["xl/worksheets/sheet1.xml"] = f'{before}<dimension ref="{message}{after[after.index(chr(34)) :]}'.encode()
        with zipfile.ZipFile(path, "w") as archive:
            for name, content in parts.items():
                archive.writestr(name, content)
        if corners:
            assert "cell A150000 lies beyond" in refusal(small, path)
        else:
            assert import_folder(small, path).counts["entries"] == 1


@pytest.mark.slow
def test_a_workbook_that_swells_is_not_unpacked(small: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A few hundred kilobytes of zip that are 300 MB of spaces."""
    out = BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive, archive.open("xl/sharedStrings.xml", "w") as part:
        for _ in range(300):
            part.write(b" " * 1_000_000)
    (tmp_path / "bomb.xlsx").write_bytes(out.getvalue())
    monkeypatch.setattr(workbooks, "load_workbook", lambda *_args, **_options: pytest.fail("it was unpacked"))
    assert refusal(small, tmp_path / "bomb.xlsx").startswith("bomb.xlsx unpacks to more than 256 MB")


@pytest.mark.parametrize("part", ["[Content_Types].xml", "xl/workbook.xml", "xl/worksheets/sheet1.xml"])
@pytest.mark.parametrize("content", [b"", b"<", b"<a/>", b"\xff\xfe", b"<a>" * 5000])
def test_a_broken_part_of_a_workbook_is_one_line(small: Book, workbook: Any, part: str, content: bytes) -> None:
    """Whatever openpyxl makes of it."""
    path = workbook()
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    with zipfile.ZipFile(path, "w") as archive:
        for name, there in parts.items():
            archive.writestr(name, content if name == part else there)
    assert "book.xlsx" in refusal(small, path)


def test_a_workbook_of_more_rows_than_are_read_is_not_written(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing goes out that would not come back."""
    monkeypatch.setattr(workbooks, "ROWS", 3)
    assert load_workbook(BytesIO(workbooks.workbook_of({"lots": [["code"], ["A"], ["B"]]})))["lots"].max_row == 3
    with pytest.raises(FileUnusable, match="lots are more than the 3 rows of a workbook; export a folder instead"):
        workbooks.workbook_of({"lots": [["code"], ["A"], ["B"], ["C"]]})


@pytest.mark.parametrize("text", ["x" * 32_768, "a\rb", "_x000D_", "x005F_"])
def test_a_workbook_is_not_given_what_it_would_not_give_back(text: str) -> None:
    """Longer than a cell, or read as an escape."""
    with pytest.raises(FileUnusable, match="a workbook cannot hold"):
        workbooks.workbook_of({"lots": [["note"], [text]]})


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ("when,kind,note\n2026-02-01,sample," + "x" * 1_100_000 + "\n", "entries.csv line 2 is longer than 1,000,000"),
        ("when,kind" + "," * 1_100_000 + "\n", "entries.csv line 1 is longer than 1,000,000 letters"),
        (
            'when,kind,note\n2026-02-01,sample,"' + ("x" * 900_000 + "\n") * 2 + '"\n',
            "entries.csv line 2: field larger",
        ),
    ],
)
def test_a_line_without_end_is_told(small: Book, folder: Callable[..., Path], content: str, says: str) -> None:
    """As long as no book ever wrote one."""
    assert refusal(small, folder(entries=content)).startswith(says)


def test_a_file_beyond_all_measure_is_not_read(small: Book, tmp_path: Path) -> None:
    """One that takes no room on the disk, and would take all of the memory."""
    for name in ("entries.csv", "book.xlsx"):
        with (tmp_path / name).open("wb") as file:
            file.truncate(50_000_000_000)
        assert "is longer than" in refusal(small, tmp_path / name)


def test_a_note_as_long_as_a_plan_comes_back(
    small: Book, fresh: Callable[[], Book], contents: Callable[[Book], dict[str, Any]], tmp_path: Path
) -> None:
    """What the book takes, its files give back: 200,000 letters are more than the csv library reads unasked."""
    from cooperage.book.declared import acts
    from cooperage.exchange import export_folder

    small.write(acts.Sample(vessel="T-1", volume=100, note="long " * 40_000))
    export_folder(small, tmp_path / "out")
    again = fresh()
    import_folder(again, tmp_path / "out")
    assert contents(again) == contents(small)

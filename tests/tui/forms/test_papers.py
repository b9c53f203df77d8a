"""Reports and labels are read and saved on screen as the commands do it; nothing is replaced unasked."""

import csv
from pathlib import Path
from typing import Any

import pytest

from cooperage.book import Book
from cooperage.exchange.reports.labels import qr_svg
from cooperage.exchange.reports.printed import report_text
from cooperage.exchange.reports.reports import REPORTS
from cooperage.tui.forms.papers import Paper, PaperLines, SaveForm, SpanForm
from cooperage.tui.shared.bars import StatusLine
from cooperage.tui.shared.dialogs import Pick
from cooperage.units import ALWAYS, DEFAULT


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder one stands in, with nothing in it."""
    here = tmp_path / "papers"
    here.mkdir()
    monkeypatch.chdir(here)
    return here


def shown(pilot: Any) -> str:
    paper = pilot.app.screen.query_one(PaperLines)
    return "\n".join(paper.line(y, 200).plain for y in range(paper.line_count))


def said(pilot: Any) -> str:
    return str(pilot.app.screen.query_one(StatusLine).render())


async def test_a_report_is_chosen_read_and_saved(opened: Any, press: Any, book: Book, folder: Path) -> None:
    """As the command prints it; by its ending it is saved as text or as CSV, and replaced only by a yes."""
    async with opened(page="book") as pilot:
        await press(pilot, "h", "bott", "enter")
        assert isinstance(pilot.app.screen, SpanForm)
        await press(pilot, "escape", "h", "stock", "enter", "enter")
        assert isinstance(pilot.app.screen, Paper)
        text = report_text(book, REPORTS["stock"](book, ALWAYS, DEFAULT), DEFAULT)
        assert shown(pilot) == text.rstrip("\n")
        await press(pilot, "h")
        name = pilot.app.screen.texts["path"]
        await press(pilot, "enter")
        assert said(pilot) == f"Saved: {folder / name}"
        assert (folder / name).read_text(encoding="utf-8") == text
        (folder / name).write_text("mine")
        await press(pilot, "h", "enter", "-")
        assert isinstance(pilot.app.screen, SaveForm)
        assert (folder / name).read_text() == "mine"
        await press(pilot, "enter", "+")
        assert (folder / name).read_text(encoding="utf-8") == text
        await press(pilot, "h", "stock.csv", "enter")
    rows = list(csv.DictReader((folder / "stock.csv").open(encoding="utf-8")))
    assert [row["vessel"] for row in rows if row["vessel"].startswith("T")] == ["T-01"]
    assert all(row["held_l"] for row in rows)


@pytest.mark.parametrize(
    ("typed", "why"), [("stock.docx", "choose from .txt, .html, .csv"), ("none/stock.txt", "there is no folder")]
)
async def test_a_file_that_cannot_be_is_refused_and_stays_typed(opened: Any, press: Any, typed: Any, why: Any) -> None:
    """The line says what to do."""
    async with opened(page="book") as pilot:
        await press(pilot, "h", "bottlings", "enter", "enter", "h", typed, "enter")
        assert isinstance(pilot.app.screen, SaveForm)
        assert why in said(pilot)
        assert pilot.app.screen.texts["path"] == typed


async def test_a_cellar_is_never_replaced(opened: Any, press: Any, book: Book, folder: Path) -> None:
    """Not even by a yes."""
    (folder / "cellar.txt").write_bytes(Path(book.name).read_bytes())
    async with opened(page="book") as pilot:
        await press(pilot, "h", "bottlings", "enter", "enter", "h", "cellar.txt", "enter")
        assert "is a cellar and is never replaced" in said(pilot)


async def test_days_that_cannot_be_go_to_their_field(opened: Any, press: Any) -> None:
    """Each end by itself; and the span is announced before Enter."""
    async with opened(page="book") as pilot:
        await press(pilot, "h", "losses", "enter", "last month", "tab", "never", "enter")
        form = pilot.app.screen
        assert form.rows["until"].is_focused
        form.rows["until"].set_text("")
        await press(pilot)
        assert "2026-09-01 to 2026-09-30" in str(form.query_one("#announced").render())
        await press(pilot, "enter")
        assert isinstance(pilot.app.screen, Paper)


async def test_the_list_of_reports_fits_a_small_screen(opened: Any, press: Any) -> None:
    """Its right edge and its keys are on the screen, at 60 columns too."""
    async with opened(size=(60, 20), page="book") as pilot:
        await press(pilot, "h")
        screen = pilot.app.screen
        assert isinstance(screen, Pick)
        assert screen.region.contains_region(screen.query_one(".box").region)
        assert screen.region.contains_region(screen.query_one("KeyBar").region)


async def test_a_wide_report_is_read_sideways(opened: Any, press: Any) -> None:
    """To its end and back, at 60 columns."""
    async with opened(size=(60, 20), page="book") as pilot:
        await press(pilot, "h", "stock", "enter", "enter")
        paper = pilot.app.screen.query_one(PaperLines)
        width = paper.scrollable_content_region.width
        head = next(y for y in range(paper.line_count) if paper.line(y, width).plain.startswith("room"))
        assert not paper.line(head, width).plain.endswith("counted")
        await press(pilot, *["right"] * 9)
        assert paper.line(head, width).plain.rstrip().endswith("counted")
        await press(pilot, *["left"] * 9)
        assert paper.line(head, width).plain.startswith("room")


@pytest.mark.parametrize(("page", "name"), [("barrel", "B-001"), ("lots", "M-26")])
async def test_a_label_is_shown_and_saved_as_the_command_does(
    opened: Any, press: Any, folder: Path, page: Any, name: Any
) -> None:
    """The card with its code on screen, the code alone as a picture in the file."""
    async with opened(page="rounds") as pilot:
        pilot.app.desk.tag = "B-001"
        await pilot.app.switch_mode(page)
        await press(pilot, "h")
        assert shown(pilot).startswith(name)
        await press(pilot, "h", "enter")
    assert (folder / f"{name}.svg").read_bytes() == qr_svg(name)


async def test_a_sentence_on_a_paper_is_wrapped_and_a_row_of_a_table_is_not(opened: Any, press: Any) -> None:
    """What is not known of a cost is a long sentence; at 60 columns it is read to its end without going sideways."""
    sentence, row = (
        f"Not known: {'the price of barrel B-029 (500.0 L); ' * 3}all.",
        f"  in  {'1970.27 EUR  B-005  ' * 4}",
    )
    async with opened(size=(60, 20), page="book") as pilot:
        pilot.app.push_screen(Paper("Cost", f"{sentence}\n{row}\n", "cost.txt", {}))
        await press(pilot)
        paper = pilot.app.screen.query_one(PaperLines)
        width = paper.scrollable_content_region.width
        lines = [paper.line(y, width).plain for y in range(paper.line_count)]
    assert " ".join(lines[:-1]) == sentence
    assert row.startswith(lines[-1])
    assert len(lines[-1]) == width

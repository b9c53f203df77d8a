"""Lab results and counts pasted: matched as one types, written together, nothing lost by a refusal."""

import threading
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import timedelta
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from textual import events
from textual.pilot import Pilot
from textual.widgets import Input

from cooperage.book import Book
from cooperage.book.errors import CellarUnusable
from cooperage.book.log import Entry, entries
from cooperage.tui.forms.count import CountDialog
from cooperage.tui.forms.lab_slip import SlipDialog
from cooperage.tui.shared.dialogs import Confirm

TOPPED = 35  # days ago, see conftest.py


def seen(pilot: Pilot[Any]) -> str:
    return pilot.app.export_screenshot().replace("&#160;", " ")


async def paste(pilot: Any, text: str) -> None:
    pilot.app.post_message(events.Paste(text))
    await pilot.pause()
    await pilot.pause()


@pytest.mark.slow
async def test_a_pasted_slip_is_matched_and_written(opened: Any, press: Any, book: Book) -> None:
    """Values stand beside what the book has; Ctrl+S writes them all, signed, and the screen says so."""
    async with opened(page="book") as pilot:
        await press(pilot, "r")
        await paste(pilot, "B-001\tfree 24\tpH 3.41\nb2 va 0.5\n")
        assert "3 readings of 2 vessels" in seen(pilot)
        assert "was 32.0 mg/L (measured 2 days ago)" in seen(pilot)
        await press(pilot, "ctrl+s")
        assert "Written: 3 readings of 2 vessels" in seen(pilot)
    standing = book.cellar()["B-001"]
    assert (standing.value("free_so2_mg_l"), standing.value("ph")) == (24, 3.41)
    with book.reading() as connection:
        assert {entry.hand for entry in entries(connection, newest=3, in_written_order=True)} == {"Ada"}


@pytest.mark.slow
async def test_a_line_not_understood_is_named_and_nothing_is_lost(
    opened: Any, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """The line and the reason stand on top; nothing is written, the text stays and can be put right."""
    before = newest()[0].id
    async with opened(page="book") as pilot:
        await press(pilot, "r")
        await paste(pilot, "B-001 pH 3.41\nB-001 brett 300")
        assert "line 2 NOT UNDERSTOOD: 'brett 300'" in seen(pilot).replace("&#x27;", "'")
        await press(pilot, "ctrl+s")
        assert isinstance(pilot.app.screen, SlipDialog)
        assert pilot.app.screen.text == "B-001 pH 3.41\nB-001 brett 300"
        assert newest()[0].id == before
        await press(pilot, *["backspace"] * len("B-001 brett 300"), "ctrl+s")
        assert not isinstance(pilot.app.screen, SlipDialog)
    assert newest()[0].kind == "reading"


@pytest.mark.slow
async def test_an_unusual_value_is_asked_back(
    opened: Any, press: Any, book: Book, newest: Callable[..., list[Entry]]
) -> None:
    """No leaves all as it was, with the text; yes writes."""
    before = newest()[0].id
    async with opened(page="book") as pilot:
        await press(pilot, "r")
        await paste(pilot, "B-001 pH 4.4")
        assert "UNUSUAL" in seen(pilot)
        await press(pilot, "ctrl+s")
        question = pilot.app.screen
        assert isinstance(question, Confirm)
        await press(pilot, "-")
        assert (pilot.app.screen.text, newest()[0].id) == ("B-001 pH 4.4", before)
        await press(pilot, "ctrl+s", "+")
    assert book.cellar()["B-001"].value("ph") == 4.4


@pytest.mark.slow
async def test_when_is_heard_and_escape_leaves(opened: Any, press: Any, newest: Callable[..., list[Entry]]) -> None:
    """A time that makes no sense is told; Escape writes nothing."""
    before = newest()[0].id
    async with opened(page="book") as pilot:
        await press(pilot, "r")
        await paste(pilot, "B-001 pH 3.4")
        await press(pilot, "tab", "s", "o", "o", "n")
        assert "is not a date or time" in seen(pilot)
        await press(pilot, "escape")
        assert not isinstance(pilot.app.screen, SlipDialog)
    assert newest()[0].id == before


@pytest.fixture
def counting(opened: Any, press: Any) -> Any:
    """Open the count dialog on the losses screen with a text pasted into it."""

    @asynccontextmanager
    async def run(text: str) -> AsyncIterator[Any]:
        async with opened(page="losses") as pilot:
            await press(pilot, "c")
            await paste(pilot, text)
            await press(pilot)
            yield pilot

    return run


@pytest.mark.slow
async def test_a_count_is_compared_and_written_after_a_question(
    counting: Any, press: Any, book: Book, newest: Callable[..., list[Entry]]
) -> None:
    """0.8 L missing of 225 is within 3 %; the gauge names the cause chosen, and the screen says what was written."""
    async with counting("tag,volume\nB-001,224.2\nB-002,225") as pilot:
        result = seen(pilot)
        assert "0.8 L missing in 2 vessels" in result
        assert "within the year's allowance of 13.5 L" in unescape(result)
        assert "B-003    NOT COUNTED" in result
        await press(pilot, "tab", "tab", "enter", "end", "enter", "ctrl+s")
        assert isinstance(pilot.app.screen, Confirm)
        assert "Write 1 gauge" in seen(pilot)
        await press(pilot, "+")
        assert "Written: 1 gauge" in seen(pilot)
    (gauge,) = newest()
    assert (gauge.kind, gauge.vessel, gauge.hand, gauge.said["cause"]) == ("gauge", "B-001", "Ada", "leak")
    assert book.cellar()["B-001"].ml == 224_200


@pytest.mark.slow
async def test_no_and_a_refusal_keep_the_count(counting: Any, press: Any, newest: Callable[..., list[Entry]]) -> None:
    """No leaves all as it was; more than the vessel holds is refused, and the text can be put right."""
    before = newest()[0].id
    async with counting("B-001 224.2\nB-002 226") as pilot:
        await press(pilot, "ctrl+s", "-", "ctrl+s", "+")
        assert isinstance(pilot.app.screen, CountDialog)
        assert "Refused: B-002 has room for 225.0 L" in seen(pilot)
        assert pilot.app.screen.text == "B-001 224.2\nB-002 226"
    assert newest()[0].id == before


@pytest.mark.slow
async def test_a_count_with_a_line_not_understood_is_not_written(
    counting: Any, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """The line is named, and nothing is even asked."""
    before = newest()[0].id
    async with counting("B-001 224.2\nB-099 3") as pilot:
        await press(pilot, "ctrl+s")
        assert isinstance(pilot.app.screen, CountDialog)
        assert "line 2 was not understood" in seen(pilot)
    assert newest()[0].id == before


@pytest.mark.slow
async def test_an_odd_difference_is_asked_back(counting: Any, press: Any, newest: Callable[..., list[Entry]]) -> None:
    """22.42 for 224.2: marked, and asked back before it is written."""
    before = newest()[0].id
    async with counting("B-001 22.42") as pilot:
        assert "CHECK" in seen(pilot)
        await press(pilot, "ctrl+s", "+")
        assert isinstance(pilot.app.screen, Confirm)
        assert "B-001 holds 225.0 L in the book and 22.4 L was" in seen(pilot)
        await press(pilot, "-")
        assert newest()[0].id == before
        await press(pilot, "ctrl+s", "+", "+")
    assert newest()[0].kind == "gauge"


@pytest.mark.slow
async def test_a_count_of_an_earlier_day_is_held_against_that_day(
    counting: Any, press: Any, book: Book, newest: Callable[..., list[Entry]]
) -> None:
    """Before the toppings the tank held what they took since."""
    day = book.now() - timedelta(days=TOPPED + 5)
    held = book.cellar(day)["T-01"].litres
    async with counting(f"T-01 {held - 1}") as pilot:
        await press(pilot, "tab", *"40 days ago")
        assert "1.0 L missing in 1 vessel" in seen(pilot)
        await press(pilot, "ctrl+s", "+")
        assert "Written: 1 gauge" in seen(pilot)
    assert newest()[0].happened_at.date() == day.date()


@pytest.mark.slow
async def test_a_file_is_read_by_its_path(counting: Any, press: Any, tmp_path: Path) -> None:
    """The text is nothing but a path: the file is compared; a file that is no text is told."""
    (tmp_path / "count.csv").write_text("B-001;224,2")
    (tmp_path / "raw.csv").write_bytes(b"\xff")
    (tmp_path / "long.csv").write_bytes(b" " * 6_000_000)
    async with counting(str(tmp_path / "long.csv")) as pilot:
        assert "long.csv is too long" in seen(pilot)
    async with counting(str(tmp_path / "count.csv")) as pilot:
        assert "0.8 L missing in 1 vessel" in seen(pilot)
    async with counting(str(tmp_path / "raw.csv")) as pilot:
        assert "not UTF-8 text" in seen(pilot)
        await press(pilot, "ctrl+s")
        assert isinstance(pilot.app.screen, CountDialog)


@pytest.mark.slow
async def test_the_dialog_may_be_left_while_an_earlier_day_is_reckoned(
    counting: Any, press: Any, book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its answer comes too late, and nobody minds; a cellar that cannot be read is told in the dialog."""
    let_go, cellar = threading.Event(), book.cellar

    def slowly(at: Any = None) -> Any:
        if at is not None:
            let_go.wait(10)
        return cellar(at)

    async with counting("B-001 224.2") as pilot:
        monkeypatch.setattr(book, "cellar", slowly)
        pilot.app.screen.query_one("#when", Input).value = "40 days ago"
        await pilot.pause()
        assert "Calculating the cellar as it stood then" in seen(pilot)
        await pilot.press("escape")
        let_go.set()
        await press(pilot)
        assert not isinstance(pilot.app.screen, CountDialog)


@pytest.mark.slow
async def test_a_cellar_that_cannot_be_read_is_told(
    counting: Any, press: Any, book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In the dialog, with what was typed still there."""

    def broken(_at: Any = None) -> None:
        raise CellarUnusable("the cellar does not answer")

    async with counting("B-001 224.2") as pilot:
        monkeypatch.setattr(book, "cellar", broken)
        pilot.app.screen.query_one("#when", Input).value = "40 days ago"
        await press(pilot)
        assert "the cellar does not answer" in seen(pilot)
        assert pilot.app.screen.text == "B-001 224.2"


@pytest.mark.slow
async def test_a_count_that_agrees_writes_nothing(
    counting: Any, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """The book says so, without a question."""
    before = newest()[0].id
    async with counting("B-001 225") as pilot:
        await press(pilot, "ctrl+s")
        assert "The book agrees with the count" in seen(pilot)
    assert newest()[0].id == before

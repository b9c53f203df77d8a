"""The screen of periods: the next one is closed after a question, what came later is listed, a correction is filed."""

from datetime import timedelta
from typing import Any

from textual.widgets import Static, TextArea

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.exchange.reports.printed import save_contents
from cooperage.programme.periods.closing import close_period
from cooperage.programme.periods.period import read_period
from cooperage.programme.periods.rounding import RETURN_UNITS
from cooperage.programme.periods.stored import filed_periods
from cooperage.tui.forms.papers import Paper
from cooperage.tui.shared.bars import KeyBar, StatusLine
from cooperage.tui.shared.wrapped import Wrapped


def shown(pilot: Any) -> str:
    return str(pilot.app.screen.query_one(Wrapped).plain)


async def until(pilot: Any, words: str) -> str:
    for _ in range(200):
        if words in shown(pilot):
            break
        await pilot.pause(0.02)
    assert words in shown(pilot)
    return shown(pilot)


async def test_a_period_is_closed_after_a_question(opened: Any, press: Any, book: Book) -> None:
    async with opened(page="periods") as pilot:
        text = await until(pilot, "as it would be filed now")
        assert "A preparation aid, not a return: check with your authority." in text
        assert "bulk" in text
        await press(pilot, "ctrl+s", "-")
        assert filed_periods(book) == []
        await press(pilot, "ctrl+s", "+")
        await until(pilot, "so far; it is not over")
        [filed] = filed_periods(book)
        assert filed.hand == "Ada"


async def test_what_came_later_is_listed_and_corrected(opened: Any, press: Any, book: Book, clock: Any) -> None:
    span = read_period("last month", book.now())
    close_period(book, span, RETURN_UNITS["L"], hand="Ada", sure=True)
    assert span.end is not None
    book.write(acts.Sample(vessel="B-001", volume=200, at=span.end - timedelta(hours=1), sure=True))
    async with opened(page="periods") as pilot:
        await press(pilot, "down")
        await until(pilot, "1 entry came later for it, 0 carried into the next")
        await press(pilot, "v")
        text = await until(pilot, "samples +0.2 L")
        assert "happened" in text
        await press(pilot, "v", "e", "+")
        await until(pilot, "filed")
        for _ in range(200):
            if len(filed_periods(book)) == 2:
                break
            await pilot.pause(0.02)
        assert [each.corrects for each in filed_periods(book)] == [None, filed_periods(book)[0].code]


async def test_why_a_period_is_not_closed_or_corrected_is_answered(opened: Any, press: Any, book: Book) -> None:
    """An open month, a filed one, a correction of nothing: each key answers, and is on the bar of a narrow screen."""
    span = read_period("last month", book.now())
    close_period(book, span, RETURN_UNITS["L"], hand="Ada", sure=True)
    async with opened(page="periods", size=(80, 24)) as pilot:
        await until(pilot, "so far; it is not over")
        bar = str(pilot.app.screen.query_one(KeyBar).content)
        assert all(words in bar for words in ("Ctrl+S close", "v later", "e correct"))
        await press(pilot, "ctrl+s")
        assert "is not over before" in message(pilot)
        await press(pilot, "e")
        assert "not filed yet" in message(pilot)
        await press(pilot, "down")
        await until(pilot, "filed")
        await press(pilot, "ctrl+s")
        assert "is filed and stays as it is" in message(pilot)
        await press(pilot, "e")
        for _ in range(200):
            if "nothing changed since" in message(pilot):
                break
            await pilot.pause(0.02)
        assert "nothing changed since" in message(pilot)
    assert len(filed_periods(book)) == 1


async def test_a_count_is_held_against_the_book_and_filed(opened: Any, press: Any, book: Book) -> None:
    """Typed as the period ended: by class beside the book; what is not understood files nothing."""
    async with opened(page="periods") as pilot:
        await until(pilot, "as it would be filed now")
        await press(pilot, "c")
        dialog = pilot.app.screen
        dialog.query_one(TextArea).text = "B-001 221 L\nB-002 222.5\nnone of these"
        for _ in range(200):
            if "2 vessels and 0 bottlings counted" in str(dialog.query_one("#meant", Static).content):
                break
            await pilot.pause(0.02)
        await press(pilot, "ctrl+s")
        assert pilot.app.screen is dialog
        assert filed_periods(book) == []
        dialog.query_one(TextArea).text = "B-001 221 L\nB-002 222.5"
        await press(pilot, "ctrl+s", "+")
        for _ in range(200):
            if filed_periods(book):
                break
            await pilot.pause(0.02)
    [filed] = filed_periods(book)
    assert filed.counted == {"vessels": {"B-001": 221_000, "B-002": 222_500}, "bottles": {}}


async def test_it_is_printed_as_a_page(opened: Any, press: Any, tmp_path: Any) -> None:
    """As a page that says that it is no return, and how its figures are rounded."""
    async with opened(page="periods") as pilot:
        await until(pilot, "as it would be filed now")
        await press(pilot, "h")
        for _ in range(200):
            if isinstance(pilot.app.screen, Paper):
                break
            await pilot.pause(0.02)
        save_contents(tmp_path / "page.html", pilot.app.screen._contents)
    page = (tmp_path / "page.html").read_text()
    assert "A preparation aid, not a return: check with your authority." in page
    assert "difference of rounded running totals" in page


def message(pilot: Any) -> str:
    return str(pilot.app.screen.query_one(StatusLine).content)


async def test_a_note_stays_in_sight_at_sixty_columns(opened: Any, press: Any, book: Book) -> None:
    span = read_period("last month", book.now())
    close_period(book, span, RETURN_UNITS["L"], hand="Ada", note="sent on paper", sure=True)
    async with opened(page="periods", size=(60, 20)) as pilot:
        await until(pilot, "so far; it is not over")
        listed = pilot.app.screen.query_one("#periods")
        head = str(pilot.app.screen.query_one("#periods-head", Static).render())
        line = listed.line(1, 58).plain
    assert head.index("note") == line.index("sent on paper")
    assert max(len(head), len(line)) <= 58

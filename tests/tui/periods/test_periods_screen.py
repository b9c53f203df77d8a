"""The screen of periods: the next one is closed after a question, what came later is listed, a correction is filed."""

from datetime import timedelta
from typing import Any

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.programme.periods.closing import close_period
from cooperage.programme.periods.period import read_period
from cooperage.programme.periods.rounding import RETURN_UNITS
from cooperage.programme.periods.stored import filed_periods
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

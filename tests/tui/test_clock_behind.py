"""A computer whose clock is behind, on screen: told in one line, and what was typed stays."""

from collections.abc import Callable
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest

from cooperage.book import Book
from cooperage.book.log import Entry
from cooperage.tui.rounds.walk_line import WalkLine
from cooperage.tui.shared.bars import StatusLine

if TYPE_CHECKING:
    from tests.tui.conftest import Clock


@pytest.mark.slow
async def test_a_topping_is_refused_and_stays_until_the_clock_is_set(
    opened: Any, press: Any, book: Book, clock: "Clock", newest: Callable[..., list[Entry]]
) -> None:
    """The litres stay in the box; with the clock set right, Enter writes them."""
    before = newest()[0]
    async with opened() as pilot:
        clock.at = before.written_at - timedelta(hours=1)
        await press(pilot, "1.5", "enter")
        box = pilot.app.screen.query_one(WalkLine)
        assert box.value == "1.5"
        assert "this computer's clock shows" in str(pilot.app.screen.query_one(StatusLine).render())
        assert newest()[0].id == before.id
        clock.at = before.written_at
        await press(pilot, "enter")
        assert newest()[0].kind == "top"

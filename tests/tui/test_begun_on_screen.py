"""A cellar is begun on screen alone: each screen names what is missing and the keys that mend it."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from cooperage.book import Book
from cooperage.tui.shared.first_days import missing
from tests.tui.conftest import Clock


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    """A book in which nothing stands yet."""
    made = Book.create(str(tmp_path / "new.db"), now=Clock())
    yield made
    made.close()


async def test_from_an_empty_book_to_a_full_barrel(opened: Any, press: Any, book: Book) -> None:
    """By the keys that are named, in the order in which they are named."""
    named = []
    async with opened(page="today") as pilot:

        async def step(*keys: str) -> None:
            named.append(missing(pilot.app.desk.cellar))
            await press(pilot, *keys)

        await step("f4", "n", "tab", "enter", "tank", "enter")
        await press(pilot, "T-1", "enter", "1000 L", "enter")
        await step("n")
        pilot.app.screen.rows["kind"].set_text("barrel")
        await press(pilot, "B-1..B-3", "enter", "225 L", "enter")
        await step("f8", "n", "LIME-26", "enter")
        await step("T", "-", "1", "enter", "i", "LIME-26", "tab", "T-1", "tab", "900 L", "enter")
        await step("B", "-", "1", "enter", "f", "T-1", "enter")
        assert missing(pilot.app.desk.cellar) == ""
    assert [words.partition(";")[0] for words in named] == [
        "The cellar has no vessels yet",
        "The cellar has no barrel yet",
        "The cellar has no lot of mead yet",
        "Nothing is in the vessels",
        "No barrel holds mead",
    ]
    assert "F4 and then n" in named[0]
    cellar = book.cellar()
    assert (cellar["B-1"].ml, cellar["T-1"].ml, cellar["B-3"].ml) == (225_000, 675_000, 0)

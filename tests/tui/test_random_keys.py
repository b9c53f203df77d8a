"""A law over random keys on every screen: what is written was announced where it was written, and no list writes."""

import random
from collections.abc import Iterator
from contextlib import suppress
from typing import Any

import pytest
from textual.screen import ModalScreen
from textual.worker import WorkerCancelled

from cooperage.book import Book
from cooperage.book.log import entries
from cooperage.tui.app import PAGES
from cooperage.tui.keys import TABLE
from cooperage.tui.rounds.screen import RoundsScreen
from tests.examples import IN_CI

KEYS = 16 if IN_CI else 24
WRITING = ("rounds", "barrel")
"""Screens on which so many keys are sure to write something."""
_LEAVE = {"ctrl+q", "ctrl+o", "ctrl+p", "slash"}
"""Keys that leave, or open a list of names or a search, which have tests of their own."""
_ACTS = [key for row in TABLE.values() for key in row.key.split(",") if key not in _LEAVE]
_PHRASES = [
    ("escape", "s", "1", "enter", "plus"), ("escape", "t", "1", "enter", "plus"), ("escape", "d", "9", "enter", "plus"),
    ("escape", "l", "tab", "tab", "x", "enter", "plus"), ("1", "enter", "plus"), ("2", "ctrl+j", "minus"),
    ("ctrl+z", "plus"), ("ctrl+z", "minus"), ("escape", "w", "enter", "down", "enter", "enter", "plus"),
]  # fmt: skip
"""What a hand may mean by several keys; each key of them is held to the law."""


def picture(pilot: Any) -> str:
    """All that stands on the screen."""
    strips = pilot.app.screen._compositor.render_strips()
    return "\n".join("".join(segment.text for segment in strip) for strip in strips)


def wanted(rng: random.Random) -> Iterator[str]:
    """Yield keys, half of them as parts of phrases."""
    for _ in range(KEYS):
        yield from rng.choice(_PHRASES) if rng.random() < 0.2 else (rng.choice(_ACTS),)


def written_since(book: Book, before: str | None) -> list[Any]:
    with book.reading() as connection:
        newest = entries(connection, newest=5, in_written_order=True)
    return [entry for entry in newest if before is None or entry.id > before]


@pytest.mark.slow
@pytest.mark.usefixtures("blending")
@pytest.mark.parametrize("page", [page.name for page in PAGES])
async def test_what_random_keys_write_was_announced(opened: Any, book: Book, press: Any, page: str) -> None:
    """An entry comes from a form, a question or the rounds' line, where its vessel stood in sight before the key."""
    rng, began = random.Random(f"keys on {page}"), book.newest_id()
    async with opened(page=page) as pilot:
        for key in wanted(rng):
            before, stood, top = book.newest_id(), picture(pilot), pilot.app.screen
            with suppress(WorkerCancelled):
                await press(pilot, key)
            for entry in written_since(book, before):
                where = (page, key, type(top).__name__, entry.kind, entry.vessel)
                assert isinstance(top, ModalScreen | RoundsScreen), where
                assert entry.vessel is None or entry.vessel in stood, where
        assert pilot.app.is_running
    if page in WRITING:
        assert book.newest_id() != began, "nothing was written, so nothing was looked at"
    assert not [line for finding in book.check() for line in finding.broken]

"""Over random keys: nothing is written that the answer did not announce, and nothing that was typed is lost."""

import os
import random
import re
from typing import Any

import pytest

from cooperage.book import Book
from cooperage.book.log import entries
from cooperage.programme.walk.progress import open_walk
from cooperage.tui.rounds.screen import RoundsScreen
from cooperage.tui.shared.bars import StatusLine

TEXTS = (
    *("1.2", "0.4", "7.5", "; so2 30", "; weeping, vinegar", " full", "; taste clean", "; dip 30", " not full"),
    *("by Tove", " from K-01", "B-003", "B-777", "; hoop rusty", " weepin", "skip", "; add 5 g kmbs", "; yesterday"),
)
KEYS = ("enter", "enter", "enter", "+", "-", "*", "escape", "up", "down", "left", "right", "tab", "f4")


def words(screen: Any) -> str:
    """The answer in one line."""
    return " ".join(str(screen.query_one(StatusLine).render()).split())


def in_book(book: Book) -> tuple[list[str], dict[Any, str]]:
    """The ids of all entries, and what became of the walk's tasks."""
    with book.reading() as connection:
        ids = [entry.id for entry in entries(connection, in_written_order=True)]
    return ids, dict(open_walk(book).states)


def assert_announced(before: str, after: str, key: str, entries_written: int) -> None:
    """What is told as written stood in the answer before the key, act by act."""
    told = re.search(r"(?:Written \d\d:\d\d )?B-\d+ (.*?)(?: ✓|$| B-\d+: | \+ writes| - skips| Enter )", after)
    assert told is not None, after
    parts = told[1].strip().split(" · ")
    if key in "-*":
        assert f"{key} " in before
        assert entries_written == 0
        return
    assert all(part in before for part in parts), (before, after)
    assert entries_written <= len(parts), (before, after)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(3 if os.environ.get("CI") else 5))
async def test_what_is_written_was_announced_and_what_is_typed_is_kept(
    opened: Any, press: Any, book: Book, clock: Any, seed: int
) -> None:
    """Texts of the walk, wrong ones too, and every key that acts in the line."""
    from datetime import timedelta

    clock.at += timedelta(days=30 * seed)
    dice = random.Random(seed)
    async with opened() as pilot:
        for _ in range(70):
            screen = pilot.app.screen
            if not isinstance(screen, RoundsScreen):
                await press(pilot, "f3" if not pilot.app.screen.is_modal else "-")
                continue
            key = dice.choice(TEXTS) if dice.random() < 0.55 else dice.choice(KEYS)
            tag = screen.stop.tag if screen.stop else ""
            typed, answer, was = screen.line.value, words(screen), in_book(book)
            in_line = screen.line.has_focus
            await press(pilot, key)
            now = in_book(book)
            if now != was:
                assert key in ("enter", "+", "-", "*"), key
                assert_announced(answer, words(screen), key, len(now[0]) - len(was[0]))
                continue
            if not typed.strip() or not in_line:
                continue
            tag_used = key == "enter" and typed.strip() in book.cellar()
            kept = (screen.line.value, screen.drafts.of(tag).text, screen.drafts.cleared(tag))
            held = "from here on" in words(screen)
            mended = key == "+" and len(screen.line.value) >= len(typed)
            assert tag_used or held or mended or any(_has(text, typed) for text in kept), (key, typed, kept, tag)


def _has(text: str, typed: str) -> bool:
    """Whether what was typed is in a text, if need be with something typed into it."""
    at = iter(text)
    return all(letter in at for letter in typed)

"""The program killed in the middle of a walk: nothing the screen had acknowledged is lost, and the walk goes on."""

import os
import random
import re
import signal
import time
from pathlib import Path
from typing import Any

import pytest

from cooperage.book import Book
from cooperage.book.log import entries
from cooperage.programme.rounds.due import rounds
from cooperage.programme.walk.progress import open_walk
from tests.examples import IN_CI

KILLS = int(os.environ.get("COOPERAGE_KILLS", "2" if IN_CI else "3"))
"""How many random moments are tried; the ordinary run tries a few."""

_SAID = re.compile(r"Written \d\d:\d\d  ([A-Z]-\d+)  (top)")


def written_in(path: Any) -> list[tuple[str, str | None]]:
    """List kind and vessel of every entry in the order it was written."""
    book = Book.open(str(path))
    with book.reading() as connection:
        found = [(entry.kind, entry.vessel) for entry in entries(connection, in_written_order=True)]
    book.close()
    return found


@pytest.mark.slow
@pytest.mark.parametrize("attempt", range(KILLS))
def test_what_the_screen_acknowledged_is_in_the_book(demo: Path, run_in_terminal: Any, attempt: int) -> None:
    """A hand types litres and Enter; SIGKILL at a random moment; every act that was said to be written is there."""
    dice = random.Random(attempt)
    before = written_in(demo)
    terminal = run_in_terminal(demo)
    terminal.until("F3 rounds")
    terminal.type("f3")
    terminal.until("stops to do")
    acknowledged: set[tuple[str, str]] = set()
    ends = time.monotonic() + dice.uniform(0.05, 2.5)
    while time.monotonic() < ends:
        terminal.type(f"0.{dice.randint(5, 9)}", "enter")
        for _ in range(dice.randint(1, 6)):
            terminal._read(0.02)
            acknowledged |= {(kind, tag) for tag, kind in _SAID.findall(terminal.text)}
    os.kill(terminal.pid, signal.SIGKILL)

    new = written_in(demo)[len(before) :]
    print(f"killed: {len(acknowledged)} acts acknowledged, {len(new)} in the book")
    assert acknowledged <= set(new)
    book = Book.open(str(demo))
    assert [finding.broken for finding in book.check() if finding.broken] == []
    done = {stop for stop, state in open_walk(book).states.items() if state == "done"}
    book.close()

    again = run_in_terminal(demo)
    again.until("F3 rounds")
    again.type("f3")
    seen = again.until("stops to do")
    at_hand = re.search(r"^ (B-\d+) › ", seen, re.MULTILINE)
    assert at_hand is not None, seen
    book = Book.open(str(demo))
    due = {task.task.value for task in rounds(book.cellar()) if task.barrel == at_hand[1]}
    book.close()
    assert {task for task in due if (at_hand[1], task) not in done}, "the walk goes on at a vessel that is done"

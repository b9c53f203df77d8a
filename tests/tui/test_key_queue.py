"""Keys that come in a burst, as a scanner sends them, arrive in order and where they belong."""

from collections.abc import Callable
from typing import Any

import pytest
from textual.events import AppBlur, Key

from cooperage.book.log import Entry
from cooperage.tui.rounds.walk_line import WalkLine

_CHARACTERS = {"enter": "\r", "slash": "/", "full_stop": ".", "minus": "-"}
_KEY_OF = {"/": "slash", ".": "full_stop", "-": "minus", "\n": "enter"}


@pytest.fixture
def burst(press: Any) -> Any:
    """Put all keys of a text into the app's queue at once, and wait for their effects; a newline is Enter."""

    async def keys(pilot: Any, text: str) -> None:
        for character in text:
            key = _KEY_OF.get(character, character.lower() if character.isalpha() else character)
            pilot.app.post_message(Key(key, _CHARACTERS.get(key, character)))
        await press(pilot)

    return keys


async def test_three_toppings_in_one_burst_are_three_entries(
    opened: Any, newest: Callable[..., list[Entry]], burst: Any
) -> None:
    """Litres and Enter three times over, faster than the screen can draw: each goes to its own barrel."""
    async with opened() as pilot:
        await burst(pilot, "1.1\n1.2\n1.3\n")
        assert pilot.app.screen.query_one(WalkLine).value == ""
    written = [(e.vessel, sum(m.ml for m in e.moves if m.destination == e.vessel)) for e in reversed(newest(3))]
    assert written == [("B-001", 1100), ("B-002", 1200), ("B-003", 1300)]


async def test_a_scan_and_the_litres_after_it_belong_together(
    opened: Any, newest: Callable[..., list[Entry]], burst: Any
) -> None:
    """A scanned tag, Enter, litres, Enter: the litres go to the scanned barrel."""
    async with opened() as pilot:
        await burst(pilot, "B-007\n0.9\n")
    entry = newest()[0]
    assert (entry.kind, entry.vessel) == ("top", "B-007")


@pytest.mark.slow
async def test_a_scan_on_another_screen_opens_its_page(opened: Any, burst: Any) -> None:
    """On the racks a scanner's burst finds the barrel."""
    async with opened(page="racks") as pilot:
        await burst(pilot, "B-005\n")
        assert pilot.app.current_mode == "barrel"
        assert pilot.app.desk.tag == "B-005"


async def test_no_key_goes_astray_while_the_window_was_elsewhere(
    opened: Any, newest: Callable[..., list[Entry]], burst: Any, press: Any
) -> None:
    """A browser's page begins without the focus, and a terminal may forget to say that it came back."""
    async with opened() as pilot:
        pilot.app.post_message(AppBlur())
        await press(pilot)
        await burst(pilot, "1.4\n")
    entry = newest()[0]
    assert (entry.kind, entry.vessel) == ("top", "B-001")

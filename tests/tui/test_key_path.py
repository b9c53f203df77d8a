"""A key of the cursor acts at once, except where something on its usual way would hear it."""

from typing import Any

import pytest
from textual import events
from textual.screen import ModalScreen
from textual.widgets import OptionList

from cooperage.tui.key_path import moved_at_once
from cooperage.tui.shared.line_list import LineList


def key(name: str) -> events.Key:
    return events.Key(name, name if len(name) == 1 else None)


@pytest.mark.slow
async def test_a_list_is_moved_without_the_way_through_its_rooms(opened: Any, press: Any) -> None:
    """The pointer is one further when the call returns; letters are left to the usual way."""
    async with opened(page="book") as pilot:
        listed = pilot.app.screen.query_one("#entries", LineList)
        assert await moved_at_once(pilot.app, key("down"))
        assert listed.cursor == 1
        assert not await moved_at_once(pilot.app, key("v"))
        await press(pilot, "end", "home")
        assert listed.cursor == 0


@pytest.mark.slow
async def test_a_dialog_that_listens_to_keys_gets_them(opened: Any, press: Any) -> None:
    """A list in a dialog seeks what is typed, so its keys go the usual way, and move it all the same."""
    async with opened(page="losses") as pilot:
        pilot.app.screen.action_choose_rows()
        await press(pilot)
        assert isinstance(pilot.app.screen, ModalScreen)
        listed: Any = pilot.app.screen.query_one(OptionList)
        before = listed.highlighted
        assert not await moved_at_once(pilot.app, key("down"))
        await press(pilot, "down")
        assert listed.highlighted == before + 1


@pytest.mark.slow
async def test_within_a_box_the_cursor_goes_the_usual_way(opened: Any, press: Any) -> None:
    """Left and right are the text's; up and down lead from stop to stop with what is typed kept."""
    async with opened() as pilot:
        await press(pilot, "1", ".", "0")
        line = pilot.app.focused
        assert not await moved_at_once(pilot.app, key("left"))
        await press(pilot, "left")
        assert (line.value, line.cursor_position) == ("1.0", 2)
        await press(pilot, "down")
        assert line.value == ""
        await press(pilot, "up")
        assert (line.value, line.cursor_position) == ("1.0", 2)

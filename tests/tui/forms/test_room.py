"""A form says what a vessel holds and whether more fits, before anything is written."""

from typing import Any

from textual.widgets import OptionList

from cooperage.tui.shared.dialogs import Pick


def shown(pilot: Any, selector: str) -> str:
    return str(pilot.app.screen.query_one(selector).render())


async def test_too_little_room_is_said_while_it_is_typed(opened: Any, press: Any, newest: Any) -> None:
    """The words go when it fits again, and nothing was written meanwhile."""
    before = newest()[0].id
    async with opened(page="barrel") as pilot:
        await press(pilot, "k", "K-02", "tab", "20")
        assert "K-02 has room for 14 L; 20 L do not fit" in shown(pilot, "#caution")
        await press(pilot, "backspace", "backspace", "9")
        assert "do not fit" not in shown(pilot, "#caution")
    assert newest()[0].id == before


async def test_a_vessel_to_choose_stands_with_what_it_holds(opened: Any, press: Any) -> None:
    """How much of how much, and of what; letters go to the line that begins with them."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "k", "ctrl+l")
        assert isinstance(pilot.app.screen, Pick)
        await press(pilot, "K-02")
        options = pilot.app.screen.query_one(OptionList)
        assert options.highlighted is not None
        words = str(options.get_option_at_index(options.highlighted).prompt)
    assert words.split() == ["K-02", "keg", "6.0", "L", "of", "20.0", "L", "M-26"]

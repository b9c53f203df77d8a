"""Going places: back leads where one was, the palette over everything, who is at work, copying."""

from typing import Any

import pytest
from textual.css.query import NoMatches
from textual.pilot import Pilot
from textual.widgets import Input, OptionList

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.settings import Settings
from cooperage.tasting.flights import start_flight
from cooperage.tui.app import CooperageApp
from cooperage.tui.palette.providers import Palette
from cooperage.tui.racks.map import RackMap
from cooperage.tui.shared.bars import TopBar
from cooperage.tui.shared.dialogs import Pick

pytestmark = pytest.mark.slow


def shown(pilot: Pilot[Any], selector: Any) -> str:
    return str(pilot.app.screen.query_one(selector).render())


async def test_back_leads_where_one_was_cursor_and_all(opened: Any, press: Any) -> None:
    """From the racks to a page, on to the book, and back step by step; from the first there is nowhere to go."""
    async with opened(page="racks") as pilot:
        await press(pilot, "right", "down", "enter", "f9", "down", "down")
        assert pilot.app.current_mode == "book"
        await press(pilot, "escape")
        assert pilot.app.current_mode == "barrel"
        assert pilot.app.desk.tag == "B-003"
        await press(pilot, "escape")
        assert pilot.app.current_mode == "racks"
        assert pilot.app.screen.query_one(RackMap).current.tag == "B-003"
        await press(pilot, *["escape"] * 5)
        assert pilot.app.is_running


async def test_a_half_typed_filter_is_there_when_one_comes_back(opened: Any, press: Any) -> None:
    """What is typed in a box waits for the return."""
    async with opened(page="racks") as pilot:
        await press(pilot, "q", "whisk", "f9", "escape")
        assert pilot.app.current_mode == "racks"
        assert pilot.app.screen.query_one("#filter", Input).value == "whisk"


async def hits(pilot: Any) -> list[str]:
    """The lines the palette offers, when it has searched."""
    for _ in range(60):
        await pilot.pause(0.05)
        if pilot.app.screen.query_one(OptionList).option_count:
            break
    await pilot.pause(0.3)
    return [str(option.prompt) for option in pilot.app.screen.query_one(OptionList).options]


@pytest.mark.parametrize(
    ("typed", "kind", "name"),
    [("retire", "act", "retire"), ("losses", "place", "losses"), ("B-009", "vessel", "B-009"), ("lime", "lot", "M-26")]
    + [(words, "form", "define ready") for words in ("define ready", "when to pull", "ripe", "limits")],
)
async def test_the_palette_has_acts_places_and_things(
    opened: Any, press: Any, typed: str, kind: str, name: str
) -> None:
    """Each under its kind, acts and places with their keys."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "ctrl+p", typed)
        assert any(line.lstrip().startswith(kind) and name in line for line in await hits(pilot))


async def test_the_palette_has_a_page_before_what_bears_its_name(opened: Any, press: Any, book: Book) -> None:
    for code in ("F1", "F2"):
        start_flight(book, ["B-001"], code=code, name="trials of spring")
    async with opened(page="barrel") as pilot:
        await press(pilot, "ctrl+p", "trials")
        found = [line.split()[:2] for line in await hits(pilot)]
    assert found[0] == ["place", "trials:"]
    assert ["flight", "F1"] in found


async def test_the_search_has_things_and_notes_and_no_acts(opened: Any, press: Any, book: Book) -> None:
    """What was seen at a barrel leads to its page."""
    book.write(acts.Look(vessel="B-007", note="hoop rusty on the head side"))
    async with opened(page="racks") as pilot:
        await press(pilot, "/", "rusty")
        assert isinstance(pilot.app.screen, Palette)
        found = await hits(pilot)
        assert len(found) == 1
        assert "hoop rusty" in found[0]
        await press(pilot, "enter")
        await pilot.pause(0.2)
        assert pilot.app.desk.tag == "B-007"
        assert pilot.app.current_mode == "barrel"


async def test_an_act_of_the_palette_is_done_where_one_was(opened: Any, press: Any) -> None:
    """Like its key: the form opens for the vessel in hand."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "ctrl+p", "pull a sample")
        await hits(pilot)
        await press(pilot, "escape")
        await press(pilot, "ctrl+p", "upkeep")
        await hits(pilot)
        await press(pilot, "enter")
        await pilot.pause(0.3)
        await press(pilot)
        assert type(pilot.app.screen).__name__ == "UpkeepForm"


async def test_who_is_at_work_signs_what_is_written_from_then_on(opened: Any, press: Any, newest: Any) -> None:
    """A new name is typed; it stands at the end of the top bar, and in the book."""
    async with opened(page="barrel") as pilot:
        assert "Ada" in shown(pilot, TopBar)
        await press(pilot, "ctrl+o", "Tove", "enter")
        assert "Tove" in shown(pilot, TopBar)
        await press(pilot, "s", "50 ml", "enter")
    assert newest()[0].hand == "Tove"


async def test_a_known_hand_is_chosen_by_its_first_letter(book: Book, press: Any, newest: Any) -> None:
    """Who has written before is on the list."""
    book.write(acts.Look(vessel="B-007", note="dry", hand="Maren"))
    app = CooperageApp(book, Settings())
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot)
        if not isinstance(app.screen, Pick):  # a walk that begins has asked already
            await press(pilot, "ctrl+o")
        await press(pilot, "m", "enter")
        assert app.desk.hand == "Maren"
        assert "Maren" in shown(pilot, TopBar)


async def test_litres_and_tags_are_no_name(book: Book, press: Any, newest: Any) -> None:
    """What was typed or scanned too early for the rounds is not taken for whoever is at work."""
    app = CooperageApp(book, Settings())
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot)
        await press(pilot, "ctrl+o", "1.1", "enter", *["backspace"] * 3, "B-007", "enter")
        assert isinstance(app.screen, Pick)
        assert app.desk.hand == ""


async def test_the_row_under_the_cursor_is_copied(opened: Any, press: Any) -> None:
    """In full, also where the screen cuts it."""
    async with opened(page="book") as pilot:
        await press(pilot, "ctrl+c")
        assert "tasted from the thief" in pilot.app.clipboard
        assert "Copied" in shown(pilot, "#status")


async def test_letters_choose_in_a_list(opened: Any, press: Any) -> None:
    """What no line has is shown, and chooses nothing."""
    async with opened(page="losses") as pilot:
        await press(pilot, "q", "by room", "enter")
        assert "by room" in shown(pilot, "#losses-title")
        await press(pilot, "q", "xyz", "enter")
        assert "no line has “xyz”" in shown(pilot, "#typed")
        await press(pilot, "escape")
        assert "by room" in shown(pilot, "#losses-title")


async def test_a_page_that_was_being_made_ready_as_the_program_ended_is_no_fault(opened: Any) -> None:
    """Its widgets are not made any more, so what it does first finds none; before, that was told as a fault of ours."""
    async with opened(page="racks") as pilot:
        pilot.app._exit = True
        pilot.app._handle_exception(NoMatches("No nodes match '#losses'"))
        pilot.app._exit = False
    assert pilot.app.fault is None

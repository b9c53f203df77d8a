"""Shifting on the racks: lift, walk, set down; a place that is taken; a place that is typed; and back again."""

from collections.abc import Callable
from typing import Any

import pytest
from textual.pilot import Pilot

from cooperage.book import Book
from cooperage.book.log import Entry
from cooperage.tui.barrel.screen import BarrelScreen
from cooperage.tui.keys import TABLE
from cooperage.tui.racks.map import RackMap
from cooperage.tui.racks.shift_form import ShiftForm
from cooperage.tui.shared.bars import FindBox, KeyBar, StatusLine
from cooperage.tui.shared.dialogs import Confirm

SIZES = [(80, 24), (140, 40)]


def shown(pilot: Pilot[Any], selector: Any) -> str:
    return str(pilot.app.screen.query_one(selector).render())


def map_of(pilot: Pilot[Any]) -> RackMap:
    return pilot.app.screen.query_one(RackMap)


def tag_under_cursor(pilot: Pilot[Any]) -> str:
    current = map_of(pilot).current
    assert current is not None
    return current.tag


@pytest.mark.slow
@pytest.mark.parametrize("size", SIZES)
async def test_a_barrel_is_lifted_and_set_down_in_a_free_place(
    opened: Any, press: Any, book: Book, newest: Callable[..., list[Entry]], size: Any
) -> None:
    """One entry, signed; the cursor stays with the barrel, and Ctrl+Z puts it back."""
    async with opened(page="racks", size=size) as pilot:
        await press(pilot, "m")
        assert "B-002 stands at North · row 1 · bay 1 · tier 2" in shown(pilot, "#under-cursor")
        assert "Caution: B-002 holds 225.0 L, far too heavy for hands: use gear" in shown(pilot, "#under-cursor")
        await press(pilot, "up")
        assert "Enter moves B-002 to North · row 1 · bay 1 · tier 3" in shown(pilot, "#under-cursor")
        await press(pilot, "enter")
        assert shown(pilot, StatusLine) == "Written: move B-002: to North 1.1.3"
        assert tag_under_cursor(pilot) == "B-002"
        assert (newest()[0].kind, newest()[0].hand) == ("shift", "Ada")
        assert book.cellar()["B-002"].position == ("North", "1", 1, 3)
        await press(pilot, "ctrl+z", "+")
        assert book.cellar()["B-002"].position == ("North", "1", 1, 2)
        assert tag_under_cursor(pilot) == "B-002"


@pytest.mark.slow
@pytest.mark.parametrize("size", SIZES)
async def test_a_place_that_is_taken_is_asked_back(
    opened: Any, press: Any, book: Book, newest: Callable[..., list[Entry]], size: Any
) -> None:
    """No writes nothing and keeps the barrel in hand; yes shows both in one place."""
    before = newest()[0].id
    async with opened(page="racks", size=size) as pilot:
        await press(pilot, "m", "right", "enter")
        assert isinstance(pilot.app.screen, Confirm)
        assert "B-004 stands there by the book; B-002 would share" in shown(pilot, "#question")
        await press(pilot, "-")
        assert newest()[0].id == before
        assert "Enter moves B-002 to North · row 1 · bay 2 · tier 2; B-004 there" in shown(pilot, "#under-cursor")
        await press(pilot, "enter", "+")
        assert book.cellar()["B-002"].position == book.cellar()["B-004"].position


@pytest.mark.slow
async def test_several_are_set_down_in_the_order_they_were_lifted(opened: Any, press: Any, book: Book) -> None:
    """The upper one first, since the lower cannot be lifted under it."""
    async with opened(page="racks") as pilot:
        await press(pilot, "m", "down", "m")
        assert "then B-001" in shown(pilot, "#under-cursor")
        await press(pilot, "home", "enter")
        assert "Enter moves B-001" in shown(pilot, "#under-cursor")
        assert tag_under_cursor(pilot) == "B-002"
        await press(pilot, "right", "enter")
    positions = [book.cellar()[tag].position for tag in ("B-002", "B-001")]
    assert positions == [("North", "1", 1, 3), ("North", "1", 2, 3)]


@pytest.mark.slow
async def test_a_typed_place_may_be_a_new_room(opened: Any, press: Any, book: Book) -> None:
    """The form tells the caution, asks back like the racks do, and keeps what was typed when it is left."""
    async with opened(page="racks") as pilot:
        await press(pilot, "m", "e")
        assert isinstance(pilot.app.screen, ShiftForm)
        assert "Caution: B-002 holds" in shown(pilot, "#caution")
        await press(pilot, "Loft", "tab", "a", "tab", "1", "tab", "1", "enter")
        assert book.cellar()["B-002"].position == ("Loft", "a", 1, 1)
        assert tag_under_cursor(pilot) == "B-002"
        assert "Shift" not in shown(pilot, "#under-cursor")


@pytest.mark.slow
async def test_a_typed_place_that_is_taken_is_asked_back(opened: Any, press: Any, book: Book) -> None:
    """And what was typed stays in the form."""
    async with opened(page="racks") as pilot:
        await press(pilot, "m", "e", "tab", "tab", "2", "enter")
        assert "B-004 stands there" in shown(pilot, "#question")
        await press(pilot, "-")
        assert isinstance(pilot.app.screen, ShiftForm)
        assert pilot.app.screen.texts["bay"] == "2"
        await press(pilot, "escape")
        assert "B-002" in shown(pilot, "#under-cursor")
    assert book.cellar()["B-002"].position == ("North", "1", 1, 2)


@pytest.mark.slow
async def test_escape_puts_back_what_is_in_hand(opened: Any, press: Any, newest: Callable[..., list[Entry]]) -> None:
    """Nothing is written, and no free places are left on the racks; the filter that stood there holds again."""
    before = newest()[0].id
    async with opened(page="racks") as pilot:
        await press(pilot, "q", "b-00", "enter", "m")
        assert "set down here" in shown(pilot, KeyBar)
        assert shown(pilot, "#count").startswith("15 vessels")
        await press(pilot, "escape")
        assert shown(pilot, "#count").startswith("9 of 15 vessels")
        assert "barrel page" in shown(pilot, KeyBar)
    assert newest()[0].id == before


@pytest.mark.slow
async def test_escape_leaves_the_line_before_it_puts_back(opened: Any, press: Any) -> None:
    """One thing at a time; a filter stays too when only the line is left."""
    async with opened(page="racks") as pilot:
        await press(pilot, "m", "B-0", "escape")
        assert not pilot.app.screen.query_one(FindBox).value
        assert isinstance(pilot.app.focused, RackMap)
        assert "B-002" in shown(pilot, "#under-cursor")
        await press(pilot, "escape", "q", "whiskey", "enter", "B", "escape")
        assert shown(pilot, "#count").startswith("1 of 15 vessels")


@pytest.mark.slow
async def test_with_a_barrel_in_hand_a_scan_leads_to_a_place(opened: Any, press: Any) -> None:
    """The cursor goes there, and the racks stay up; put back where it was lifted, nothing is in hand any more."""
    async with opened(page="racks") as pilot:
        await press(pilot, "m", "B-009", "enter")
        assert pilot.app.current_mode == "racks"
        assert "Enter moves B-002 to South · row 1 · bay 1 · tier 1; B-009 there" in shown(pilot, "#under-cursor")
        await press(pilot, "B-002", "enter", "enter")
        assert "Shift" not in shown(pilot, "#under-cursor")
        await press(pilot, "enter")
        assert isinstance(pilot.app.screen, BarrelScreen)


@pytest.mark.slow
async def test_a_barrel_is_moved_in_eight_keys(opened: Any, press: Any, book: Book) -> None:
    """The place as it is chalked, in one box; it is named in full before it is written."""
    keys = ["m", *"9.1", "enter"]
    assert len(keys) <= 8
    async with opened(page="barrel") as pilot:
        await press(pilot, "B-002", "enter")
        room, row, *_ = book.cellar()["B-002"].position
        await press(pilot, *keys[:-1])
        assert f"to {room} · row {row} · bay 9 · tier 1" in shown(pilot, "#typed-place")
        await press(pilot, "enter")
    assert book.cellar()["B-002"].position == (room, row, 9, 1)


@pytest.mark.slow
async def test_a_barrel_under_another_is_not_lifted_unasked(opened: Any, press: Any, book: Book) -> None:
    """On its page as on the racks: who lies on it is named before anything is written."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "m", *"9.1", "enter")
        assert shown(pilot, "#question") == "B-002 lies on B-001. Is it lifted first?"
        await press(pilot, "-")
        assert book.cellar()["B-001"].position == ("North", "1", 1, 1)
        await press(pilot, "enter", "+")
    assert book.cellar()["B-001"].position == ("North", "1", 9, 1)


@pytest.mark.slow
async def test_what_is_no_place_is_refused_at_the_box(
    opened: Any, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """With how a place is typed; nothing is written."""
    before = newest()[0].id
    async with opened(page="barrel") as pilot:
        await press(pilot, "m", "1.2.3", "enter")
        assert isinstance(pilot.app.screen, ShiftForm)
        assert "such as B.2.1" in shown(pilot, "#typed-place")
    assert newest()[0].id == before


@pytest.mark.slow
async def test_what_enter_does_is_announced_alike_on_the_racks_and_in_the_form(opened: Any, press: Any) -> None:
    """For a free place, and for one that is taken; the sheet of keys says how each asks."""
    async with opened(page="racks", size=(140, 40)) as pilot:
        await press(pilot, "m", "up")
        on_racks = [shown(pilot, "#under-cursor")]
        await press(pilot, "down", "right")
        on_racks.append(shown(pilot, "#under-cursor"))
        await press(pilot, "escape", "left", "f5")
        in_form = []
        for place in ("1.3", "2.2"):
            await press(pilot, "m", *place)
            in_form.append(shown(pilot, "#typed-place"))
            await press(pilot, "escape")
        assert [words.partition("\nCaution")[0] for words in on_racks] == in_form
        assert in_form[1] == "Enter moves B-002 to North · row 1 · bay 2 · tier 2; B-004 there"
        assert "set down on the racks, its place typed elsewhere" in TABLE["move"].means

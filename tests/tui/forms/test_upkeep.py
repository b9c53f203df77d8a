"""The upkeep form: every interval and limit, the default in place of a blank, for one barrel or all like it."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any, cast

import pytest
from textual.pilot import Pilot

from cooperage.book import Book, Upkeep
from cooperage.tui.forms.upkeep_form import UpkeepForm
from cooperage.tui.shared.dialogs import Confirm
from cooperage.tui.shared.fields import FieldRow


@pytest.fixture
def form(opened: Any, press: Any, book: Book) -> Any:
    """Open the form of B-003, which is topped every 21 days and tasted as usual."""
    with book.writing() as session:
        session.set_upkeep("B-003", Upkeep(top_every_days=21))

    @asynccontextmanager
    async def run() -> AsyncIterator[Any]:
        async with opened() as pilot:
            pilot.app.screen.open_page("B-003")
            await press(pilot, "u")
            yield pilot

    return run


def own(book: Book, tag: Any = "B-003") -> Any:
    return book.cellar()[tag].vessel.upkeep


def row(pilot: Pilot[Any], name: Any) -> FieldRow:
    return cast(FieldRow, cast(Any, pilot.app.screen).rows[name])


@pytest.mark.slow
async def test_what_is_in_force_is_shown(form: Any) -> None:
    """The barrel's own value stands in its field, with the default beside it; a default stands in place of a blank."""
    async with form() as pilot:
        assert row(pilot, "every").text == "21"
        assert "blank for 28" in row(pilot, "every").hint
        assert (row(pilot, "taste-every").text, row(pilot, "taste-every").example) == (
            "", "42 (default)"
        )  # fmt: skip


@pytest.mark.slow
async def test_a_change_is_written_and_a_blank_goes_back_to_the_default(form: Any, press: Any, book: Book) -> None:
    """21 becomes blank, the tasting 60, and the screen says so; Enter writes from any field."""
    async with form() as pilot:
        await press(pilot, "backspace", "tab", "tab", "6", "0", "enter")
        assert not isinstance(pilot.app.screen, UpkeepForm)
        assert "Changed the upkeep of B-003" in pilot.app.export_screenshot().replace("&#160;", " ")
    assert own(book) == Upkeep(taste_every_days=60)


@pytest.mark.slow
async def test_what_is_not_understood_stays_and_is_named(form: Any, press: Any, book: Book) -> None:
    """The field is stood on with its reason, nothing is written, and Escape leaves all as it was."""
    async with form() as pilot:
        await press(pilot, "tab", "tab", "0", "enter")
        assert isinstance(pilot.app.screen, UpkeepForm)
        assert row(pilot, "taste-every").is_focused
        assert "lies between 1 and 730" in row(pilot, "taste-every").complaint
        await press(pilot, "escape")
    assert own(book) == Upkeep(top_every_days=21)


@pytest.mark.slow
async def test_a_keg_that_is_not_there_is_refused(form: Any, press: Any, book: Book) -> None:
    """What was typed stays."""
    async with form() as pilot:
        row(pilot, "from").take_focus()
        await press(pilot, *"K-77", "enter")
        assert "no vessel 'K-77'" in pilot.app.export_screenshot().replace("&#160;", " ").replace("&#x27;", "'")
        assert row(pilot, "from").text == "K-77"
    assert own(book) == Upkeep(top_every_days=21)


@pytest.mark.slow
async def test_only_what_was_changed_is_changed_for_the_others(form: Any, press: Any, book: Book) -> None:
    """All barrels of the room are tasted every 60 days; only B-003 is topped every 21. It is asked first."""
    async with form() as pilot:
        await press(pilot, "tab", "tab", "6", "0")
        row(pilot, "for").take_focus()
        await press(pilot, "enter", "down", "enter", "ctrl+s")
        assert isinstance(pilot.app.screen, Confirm)
        assert own(book) == Upkeep(top_every_days=21)
        await press(pilot, "+")
    assert own(book) == Upkeep(top_every_days=21, taste_every_days=60)
    assert own(book, "B-004") == Upkeep(taste_every_days=60)
    assert own(book, "B-010") == Upkeep()


@pytest.mark.slow
async def test_nothing_changed_is_said(form: Any, press: Any) -> None:
    """Enter on an untouched form writes nothing and stays."""
    async with form() as pilot:
        await press(pilot, "enter")
        assert "Nothing was changed" in pilot.app.export_screenshot().replace("&#160;", " ")


@pytest.mark.slow
async def test_the_policy_is_chosen_in_words(form: Any, press: Any, book: Book) -> None:
    """Topped only when it is opened anyway."""
    async with form() as pilot:
        row(pilot, "topping").take_focus()
        await press(pilot, "enter", "down", "down", "down", "enter", "ctrl+s")
    assert own(book).topping == "opened"

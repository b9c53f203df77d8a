"""A scanner types a tag and Enter faster than any hand: it lands or is refused where it was typed."""

from typing import Any, cast

import pytest
from textual.widgets import Input

from cooperage.book import Book, Vessel
from cooperage.tui.shared.act_form import ActForm
from cooperage.tui.shared.bars import FindBox, StatusLine
from cooperage.tui.shared.fields import FieldRow

pytestmark = [pytest.mark.scanned, pytest.mark.slow]


@pytest.fixture(autouse=True)
def _slow_machine(monkeypatch: pytest.MonkeyPatch) -> None:
    """The pilot takes longer between two keys than a scanner does."""
    monkeypatch.setattr("cooperage.tui.key_queue.SCAN_GAP_S", 2.0)


def field(pilot: Any, name: str) -> Any:
    return cast(FieldRow, cast(Any, pilot.app.screen).rows[name])


async def pause(monkeypatch: pytest.MonkeyPatch, pilot: Any) -> None:
    """Let the next key be a hand's."""
    pilot.app._typed._burst.last = float("-inf")
    pilot.app._typed._burst.letters = []


async def test_a_scan_goes_to_its_barrel_and_the_next_replaces_a_refused_one(opened: Any, press: Any) -> None:
    """Right, wrong, right in one burst: the wrong one is refused and gone, never part of the next."""
    async with opened(page="racks") as pilot:
        await press(pilot, "B-009", "enter", "B-777", "enter", "B-003", "enter")
        assert pilot.app.desk.tag == "B-003"
        assert pilot.app.screen.query_one(FindBox).value == ""


async def test_a_tag_in_small_letters_starts_no_act(opened: Any, press: Any, book: Book, newest: Any) -> None:
    """Where letters act, the burst waits for its end: k does not rack, and the vessel is found."""
    with book.writing() as w:
        w.add_vessel(Vessel(id="", tag="keg-77", kind="keg", capacity_ml=20_000))
    before = newest()[0].id
    async with opened(page="barrel") as pilot:
        await press(pilot, *"keg-77", "enter")
        assert pilot.app.desk.tag == "keg-77"
        assert not isinstance(pilot.app.screen, ActForm)
    assert newest()[0].id == before


async def test_carriage_return_and_line_feed_are_one_enter(opened: Any, press: Any) -> None:
    """The second does not act on the page that the scan has opened."""
    async with opened(page="racks") as pilot:
        await press(pilot, "B-009", "enter", "ctrl+j")
        assert pilot.app.current_mode == "barrel"
        assert pilot.app.desk.tag == "B-009"


async def test_a_scan_into_a_form_lands_in_a_tag_field_and_writes_nothing(opened: Any, press: Any, newest: Any) -> None:
    """The keg is scanned into its field; the Enter of the scanner goes on to the next field instead of writing."""
    before = newest()[0].id
    async with opened(page="barrel") as pilot:
        await press(pilot, "t")
        await pause(pytest.MonkeyPatch(), pilot)
        field(pilot, "volume").set_text("1.5")
        field(pilot, "from").set_text("")
        field(pilot, "from").take_focus()
        await press(pilot, "K-02", "enter")
        assert isinstance(pilot.app.screen, ActForm)
        assert (field(pilot, "from").text, field(pilot, "volume").text) == ("K-02", "1.5")
    assert newest()[0].id == before


async def test_a_scan_into_another_field_is_refused_there_and_what_stood_stays(
    opened: Any, press: Any, newest: Any
) -> None:
    """A tag is no volume: it is lifted out again."""
    before = newest()[0].id
    async with opened(page="barrel") as pilot:
        await press(pilot, "t")
        field(pilot, "volume").set_text("1.5")
        field(pilot, "volume").take_focus()
        box = pilot.app.focused
        assert isinstance(box, Input)
        box.cursor_position = 3
        await pause(pytest.MonkeyPatch(), pilot)
        await press(pilot, "B-003", "enter")
        assert field(pilot, "volume").text == "1.5"
        assert "B-003 was scanned" in field(pilot, "volume").complaint
    assert newest()[0].id == before


async def test_a_scan_in_the_palette_closes_it_and_goes_there(opened: Any, press: Any) -> None:
    """Whatever the palette has found by then."""
    async with opened(page="racks") as pilot:
        await press(pilot, "ctrl+p")
        await pause(pytest.MonkeyPatch(), pilot)
        await press(pilot, "B-009", "enter")
        assert pilot.app.desk.tag == "B-009"
        assert pilot.app.current_mode == "barrel"


async def test_words_typed_fast_are_no_scan(opened: Any, press: Any) -> None:
    """What does not look like a tag stays where it was typed."""
    async with opened(page="racks") as pilot:
        await press(pilot, "q", "whiskey", "enter")
        assert "1 of 15 vessels" in str(pilot.app.screen.query_one("#count").render())
        assert not str(pilot.app.screen.query_one(StatusLine).render()).strip()

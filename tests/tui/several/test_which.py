"""Figures dealt out in the form for several, and the form opened by name from any page, its vessels typed there."""

from typing import Any

import pytest

from cooperage.book import Book
from cooperage.tui.app import PAGES
from cooperage.tui.racks.map import RackMap
from cooperage.tui.several.asked import WhichForm, several_words
from cooperage.tui.several.form import SeveralForm
from cooperage.tui.several.lines import VesselLines
from cooperage.tui.shared.bars import StatusLine
from tests.tui.several.test_several import lines, shown, with_empty_barrels

pytestmark = pytest.mark.slow


@pytest.fixture
def book(book: Book) -> Book:
    """The small cellar with empty barrels."""
    return with_empty_barrels(book)


def written(newest: Any, count: int) -> dict[str, int]:
    return {entry.vessel: entry.moves[0].ml for entry in newest(count)}


async def test_two_marked_barrels_are_filled_with_two_figures(opened: Any, press: Any, newest: Any) -> None:
    """One field, "100 120": each line has its own litres, their sum is announced, and they are written."""
    async with opened(page="racks") as pilot:
        for tag in ("E-02", "E-01"):
            pilot.app.screen.query_one(RackMap).go_to(tag)
            await press(pilot, " ")
        await press(pilot, "f", "T-01", "tab", "100 120")
        assert [line.split()[:3] for line in lines(pilot)] == [["E-02", "100.0", "L"], ["E-01", "120.0", "L"]]
        assert "fill 2 barrels, 220.0 L from T-01" in shown(pilot, "#announced")
        await press(pilot, "enter")
    assert written(newest, 2) == {"E-02": 100_000, "E-01": 120_000}


async def test_another_number_of_figures_is_refused_at_their_field(opened: Any, press: Any, newest: Any) -> None:
    """In one line; what is typed stays, and nothing is written."""
    before = newest()[0].id
    async with opened(page="racks") as pilot:
        for tag in ("E-01", "E-02"):
            pilot.app.screen.query_one(RackMap).go_to(tag)
            await press(pilot, " ")
        await press(pilot, "f", "T-01", "tab", "100 120 90", "enter")
        form = pilot.app.screen
        assert isinstance(form, SeveralForm)
        assert form.rows["volume"].text == "100 120 90"
        assert form.rows["volume"].is_focused
        assert form.rows["volume"].complaint.startswith("has 3 figures for 2 vessels (E-01, E-02)")
        await press(pilot, "100 120", "enter")
    assert newest()[0].id != before
    assert written(newest, 2) == {"E-01": 100_000, "E-02": 120_000}


@pytest.mark.parametrize("page", [page.name for page in PAGES])
async def test_the_palette_opens_it_from_every_page(opened: Any, press: Any, page: Any, blending: Any) -> None:
    """With its vessels empty and in hand."""
    async with opened(page=page) as pilot:
        await pilot.app.run_action("several('fill')")
        await press(pilot)
        form = pilot.app.screen
        assert isinstance(form, WhichForm)
        assert form.rows["vessel"].is_focused
        assert form.rows["vessel"].text == ""
        await press(pilot, "escape")
        assert pilot.app.current_mode == page


def test_all_acts_on_several_can_be_opened_by_name() -> None:
    """Fill, top, rack and the others that have a key on the racks."""
    words = [words for words, _ in several_words()]
    assert words[:3] == ["top several", "fill several", "rack several"]
    assert "add several: add a substance" in words


async def test_it_is_found_by_its_words(opened: Any, press: Any) -> None:
    """Among everything."""
    async with opened(page="book") as pilot:
        await press(pilot, "ctrl+p", "fill several")
        await pilot.pause(0.3)
        await press(pilot, "enter")
        await pilot.pause(0.2)
        await press(pilot)
        assert isinstance(pilot.app.screen, WhichForm)


async def test_the_vessels_are_listed_as_they_are_typed(opened: Any, press: Any, newest: Any) -> None:
    """A series, each with what comes to it; one is left out, another has a figure of its own."""
    async with opened(page="today") as pilot:
        await pilot.app.run_action("several('fill')")
        await press(pilot, "E-01..E-03")
        assert pilot.app.screen.query_one(VesselLines).tags == ["E-01", "E-02", "E-03"]
        await press(pilot, "enter")
        assert pilot.app.screen.rows["from"].is_focused
        await press(pilot, "T-01")
        assert [line.split()[:2] for line in lines(pilot)] == [["E-01", "150.0"], ["E-02", "150.0"], ["E-03", "150.0"]]
        pilot.app.screen.set_focus(pilot.app.screen.query_one(VesselLines))
        await press(pilot, "90", "down", "-")
        assert "fill 2 barrels, 240.0 L from T-01" in shown(pilot, "#announced")
        await press(pilot, "enter")
        assert shown(pilot, StatusLine).startswith("Written: fill 2 barrels")
    assert written(newest, 2) == {"E-01": 90_000, "E-03": 150_000}


async def test_what_names_no_vessel_is_refused_at_its_field(opened: Any, press: Any, newest: Any) -> None:
    """In one line; then it is typed again."""
    before = newest()[0].id
    async with opened(page="today") as pilot:
        await pilot.app.run_action("several('look')")
        await press(pilot, "enter")
        assert pilot.app.screen.rows["vessel"].complaint == "vessels is needed"
        await press(pilot, "E-77", "enter")
        assert isinstance(pilot.app.screen, WhichForm)
        assert "E-77" in shown(pilot, StatusLine)
        assert lines(pilot) == []
    assert newest()[0].id == before


@pytest.mark.scanned
@pytest.mark.usefixtures("scanner")
async def test_each_scan_names_one_more(opened: Any, press: Any) -> None:
    """Tag after tag; one that is not in the book is refused there."""
    async with opened(page="today") as pilot:
        await pilot.app.run_action("several('look')")
        await press(pilot)
        await press(pilot, "E-01", "enter", "E-04", "enter")
        assert pilot.app.screen.rows["vessel"].text == "E-01, E-04"
        assert pilot.app.screen.query_one(VesselLines).tags == ["E-01", "E-04"]
        await press(pilot, "E-99", "enter")
        assert pilot.app.screen.rows["vessel"].text == "E-01, E-04"

"""Vessels and lots are registered on screen, and the screen stands at them."""

from typing import Any

import pytest

from cooperage.book import Book, Lot, Vessel
from cooperage.programme.upkeep.registering import register_lot, register_vessels
from cooperage.tui.forms.register_form import LotForm, VesselForm
from cooperage.tui.racks.map import RackMap
from cooperage.tui.shared.bars import FindBox, StatusLine, active_keys

B_099 = Vessel(id="", tag="B-099", kind="barrel", capacity_ml=110_000)


def said(pilot: Any) -> str:
    return str(pilot.app.screen.query_one(StatusLine).render())


def announced(pilot: Any) -> str:
    return str(pilot.app.screen.query_one("#announced").render())


async def test_a_new_barrel_is_registered_and_filled_in_few_keys(
    opened: Any, press: Any, book: Book, newest: Any
) -> None:
    """What is proposed is taken with Enter; then the racks stand at it, and Enter and f are all it needs."""
    keys = ("n", "enter", "enter", "f", "T-01", "enter")
    async with opened(page="racks") as pilot:
        await press(pilot, keys[0])
        assert announced(pilot) == "Enter registers B-013, 225.0 L, barrel, american oak"
        await press(pilot, keys[1])
        current = pilot.app.screen.query_one(RackMap).current
        assert current is not None
        assert current.tag == "B-013"
        assert said(pilot) == "Registered: B-013."
        await press(pilot, *keys[2:])
    assert len([key for key in keys if key != "T-01"]) <= 20
    assert (newest()[0].kind, newest()[0].vessel) == ("fill", "B-013")
    assert book.cellar()["B-013"].ml == 225_000


async def test_several_at_once_and_what_is_refused_stays_typed(opened: Any, press: Any, book: Book) -> None:
    """A row of tags with one that is taken is refused by name; corrected, all are registered."""
    async with opened(page="racks") as pilot:
        await press(pilot, "n", "B-011..B-015", "enter")
        assert "'B-011', 'B-012'" in said(pilot)
        form = pilot.app.screen
        assert isinstance(form, VesselForm)
        assert form.texts["tag"] == "B-011..B-015"
        form.rows["tag"].set_text("B-013..B-015")
        await press(pilot)
        assert announced(pilot).startswith("Enter registers 3 vessels, B-013 to B-015, 225.0 L each, 675.0 L in all")
        await press(pilot, "enter")
        assert said(pilot) == "Registered: B-013 to B-015."
    assert {"B-013", "B-014", "B-015"} <= {standing.tag for standing in book.cellar()}


async def test_another_kind_brings_its_own_proposals_and_no_wood(opened: Any, press: Any, book: Book) -> None:
    """A tank is proposed as the last tank was; what was typed stays, and wood is not asked."""
    async with opened(page="racks") as pilot:
        await press(pilot, "n")
        form = pilot.app.screen
        form.rows["kind"].set_text("tank")
        await press(pilot)
        assert form.texts["tag"] == "T-02"
        assert "wood" not in form.texts
        await press(pilot, "enter")
    assert book.cellar()["T-02"].vessel.capacity_ml == 5_000_000


async def test_an_odd_capacity_is_asked_back(opened: Any, press: Any, book: Book) -> None:
    """With minus the form is there as it was; with plus it is registered."""
    async with opened(page="racks") as pilot:
        await press(pilot, "n")
        pilot.app.screen.rows["capacity"].set_text("2250")
        await press(pilot, "enter", "-")
        assert isinstance(pilot.app.screen, VesselForm)
        assert "B-013" not in book.cellar()
        await press(pilot, "enter", "+")
    assert book.cellar()["B-013"].vessel.capacity_ml == 2_250_000


async def test_a_bad_field_is_shown_where_it_was_typed(opened: Any, press: Any) -> None:
    """The cursor goes there, and nothing is lost."""
    async with opened(page="racks") as pilot:
        await press(pilot, "n")
        form = pilot.app.screen
        form.rows["bay"].set_text("low")
        await press(pilot, "enter")
        assert form.rows["bay"].is_focused
        assert "low" in form.rows["bay"].complaint


async def test_a_tag_that_no_vessel_has_is_registered_from_the_line(opened: Any, press: Any, book: Book) -> None:
    """What was refused may be registered with plus; typed on, plus is a letter again."""
    async with opened(page="today") as pilot:
        await press(pilot, "B", "-", "7", "1", "enter")
        assert "+ registers it" in said(pilot)
        assert "register" in [each.binding.description for each in active_keys(pilot.app.screen)]
        await press(pilot, "+")
        form = pilot.app.screen
        assert isinstance(form, VesselForm)
        assert form.texts["tag"] == "B-71"
        await press(pilot, "escape", "B", "-", "7", "+")
        assert pilot.app.screen.query_one(FindBox).value == "B-7+"
    assert "B-71" not in book.cellar()


async def test_a_tag_that_is_searched_and_not_found_may_be_registered(opened: Any, press: Any) -> None:
    """As the only line where nothing else has it; a tag in the book is not offered, nor is a word."""
    async with opened(page="today") as pilot:
        for typed, is_offered in (("B-071", True), ("B-001", False), ("heather", False)):
            await press(pilot, "/", typed)
            await pilot.pause(0.3)
            lines = pilot.app.screen.query_one("CommandList").options
            assert any("register" in str(line.prompt) for line in lines) is is_offered, typed
            await press(pilot, "escape")
        await press(pilot, "/", "B-071")
        await pilot.pause(0.3)
        await press(pilot, "enter")
        assert pilot.app.screen.texts["tag"] == "B-071"


async def test_a_lot_is_registered_and_stood_at(opened: Any, press: Any, book: Book) -> None:
    """The list of lots has it under the cursor."""
    async with opened(page="lots") as pilot:
        await press(pilot, "n", "LIME-26", "tab", "Lime blossom 2026", "enter")
        assert said(pilot) == "Registered: LIME-26."
        await press(pilot)
        assert pilot.app.screen.current.lot.code == "LIME-26"
        await press(pilot, "n", "LIME-26", "enter")
        assert isinstance(pilot.app.screen, LotForm)
        assert "lot 'LIME-26' is in the book already" in said(pilot)
    assert book.cellar().lots["LIME-26"].name == "Lime blossom 2026"


async def test_what_another_program_registers_appears_by_itself(opened: Any, press: Any, book: Book) -> None:
    """The racks and the lots have it after the next look at the book, without a key."""
    other = Book.open(book.name, now=book.now)
    async with opened(page="racks") as pilot:
        other_tags = [(each.tag, each.capacity_ml) for each in register_vessels(other, [B_099])]
        pilot.app.desk.look_up()
        await press(pilot)
        assert pilot.app.screen.query_one(RackMap).go_to("B-099")
        register_lot(other, Lot(id="", code="LIME-26", name="Lime blossom 2026"))
        pilot.app.desk.look_up()
        await press(pilot, "f8")
        assert "LIME-26" in pilot.app.desk.cellar.lots
    other.close()
    assert other_tags == [("B-099", 110_000)]


@pytest.mark.parametrize("size", [(80, 24), (60, 20)])
async def test_the_form_shows_its_keys_and_what_enter_does_on_a_small_screen(
    opened: Any, press: Any, size: Any
) -> None:
    """The last row of the form is on the screen."""
    async with opened(size=size, page="racks") as pilot:
        await press(pilot, "n")
        screen = pilot.app.screen
        for selector in ("KeyBar", "#announced", "FieldList"):
            assert screen.region.contains_region(screen.query(selector).first().region), selector

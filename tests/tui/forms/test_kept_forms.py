"""The forms to move a vessel and for its upkeep are kept mounted: asked again, each is as a new one would be."""

from collections.abc import Callable
from typing import Any

import pytest

from cooperage.book import Book, Upkeep
from cooperage.tui.forms.upkeep_form import UpkeepForm, upkeep_form
from cooperage.tui.racks.shift_form import ShiftForm, shift_form
from cooperage.tui.shared.field_list import FieldList
from tests.examples import crossed

pytestmark = pytest.mark.slow
KEPT: dict[str, tuple[type[Any], Callable[..., Any]]] = {
    "move": (ShiftForm, shift_form),
    "upkeep": (UpkeepForm, upkeep_form),
}


def picture(pilot: Any) -> list[str]:
    return ["".join(part.text for part in strip) for strip in pilot.app.screen._compositor.render_strips()]


@pytest.fixture
def book(book: Book) -> Book:
    """A barrel with an interval of its own."""
    with book.writing() as session:
        session.set_upkeep("B-009", Upkeep(top_every_days=21))
    return book


@pytest.mark.parametrize(("name", "size"), crossed([*KEPT], [(80, 24), (60, 20), (140, 40)]))
async def test_asked_again_it_is_as_a_new_one(opened: Any, press: Any, name: str, size: tuple[int, int]) -> None:
    """Whatever was typed, refused and complained of for the vessel before; a barrel, a keg, a tank, an empty one."""
    made, kept = KEPT[name]
    tags = ("B-003", "K-01", "B-009", "T-01", "B-012", "B-003")
    async with opened(page="barrel", size=size) as pilot:
        app, new = pilot.app, {}
        for tag in tags:
            await app.push_screen(made(app.desk.cellar[tag]))
            await press(pilot)
            new[tag] = picture(pilot), app.screen.query_one(FieldList).here.field.name
            app.pop_screen()
            await press(pilot)
        forms = set()
        for tag in tags:
            form = kept(app, app.desk.cellar[tag])
            await app.push_screen(form)
            await press(pilot)
            assert (picture(pilot), form.query_one(FieldList).here.field.name) == new[tag], tag
            forms.add(form)
            await press(pilot, "Zz", "enter", "tab", "x", "enter")
            while app.screen is not app.screen_stack[0]:
                await press(pilot, "escape")
        assert len(forms) == 1


@pytest.mark.parametrize("name", KEPT)
async def test_one_in_use_is_left_alone(opened: Any, press: Any, name: str) -> None:
    """A form waiting on another page keeps what is typed in it."""
    made, kept = KEPT[name]
    async with opened(page="barrel") as pilot:
        app = pilot.app
        await app.push_screen(kept(app, app.desk.cellar["B-003"]))
        await press(pilot, "f4")
        assert kept(app, app.desk.cellar["B-009"]) is not kept(app, app.desk.cellar["B-009"])
        waiting = app._screen_stacks["barrel"][-1]
        assert isinstance(waiting, made)
        assert "B-003" in str(waiting.query_one("#about").render())


async def test_upkeep_is_written_for_the_vessel_it_asks_about(opened: Any, press: Any, book: Book) -> None:
    """Never for the one before."""
    async with opened(page="barrel") as pilot:
        pilot.app.screen.found("B-003")
        await press(pilot, "u", "escape")
        pilot.app.screen.found("B-009")
        await press(pilot, "u")
        assert pilot.app.screen.rows["every"].text == "21"
        await press(pilot, "14", "enter")
    cellar = book.cellar()
    assert cellar["B-009"].vessel.upkeep.top_every_days == 14
    assert cellar["B-003"].vessel.upkeep.top_every_days is None


async def test_they_are_made_ready_before_they_are_asked_for(opened: Any, press: Any) -> None:
    """Mounted while no key comes: to mount one takes longer than ten keys."""
    async with opened(page="today") as pilot:
        await pilot.app.prepare()
        await press(pilot)
        standing = pilot.app.desk.cellar["B-003"]
        for made, kept in KEPT.values():
            ready = kept(pilot.app, standing)
            assert isinstance(ready, made)
            assert ready.is_mounted

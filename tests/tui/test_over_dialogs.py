"""Function keys under a dialog: the guide and back, another place and back; what is typed and in hand stays.

And the key of the pages opens the vessel that is pointed at.
"""

from datetime import timedelta
from typing import Any

import pytest
from textual.widgets import Input, OptionList

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.tui.app import PAGES
from cooperage.tui.at_work import WhoIsAtWork
from cooperage.tui.barrel.screen import BarrelScreen
from cooperage.tui.guide.key_sheet import KeySheet
from cooperage.tui.guide.screen import TOPIC_OF, GuideScreen
from cooperage.tui.palette.providers import Palette
from cooperage.tui.racks.map import RackMap
from cooperage.tui.shared.act_form import ActForm
from cooperage.tui.shared.bars import StatusLine, TopBar
from cooperage.tui.shared.dialogs import Confirm, Pick, PickList
from tests.tui.test_scans import FORMS, forms, places, put

pytestmark = pytest.mark.slow
GOING = [page for page in PAGES if page.key]


def typed(dialog: Any) -> list[str]:
    """What stands in every box and row of a dialog."""
    return [box.value if row is None else row.typed for box, row in places(dialog)]


@pytest.mark.parametrize("name", FORMS)
async def test_every_dialog_waits_while_one_reads_or_goes_elsewhere(
    opened: Any, press: Any, name: str, tmp_path: Any, newest: Any
) -> None:
    """With half-typed text and the field in hand: F1 opens the guide, F2 leads to another place, Esc or F9 back.

    Who is at work may be asked over it, and so may everything by name.
    """
    before = newest()[0].id
    async with opened(page="book") as pilot:
        dialog = forms(pilot.app.desk, tmp_path)[name]
        pilot.app.push_screen(dialog)
        await press(pilot)
        box, row = next((box, row) for box, row in places(dialog) if row is None or row.kind == "text")
        put(dialog, box, row)
        await press(pilot, "12")
        stood, focused = typed(dialog), pilot.app.focused
        await press(pilot, "f1")
        assert isinstance(pilot.app.screen, GuideScreen)
        assert pilot.app.screen._topic == TOPIC_OF["book"]
        await press(pilot, "escape")
        assert pilot.app.screen is dialog
        for key, over in (("ctrl+o", WhoIsAtWork), ("ctrl+p", Palette)):
            await press(pilot, key)
            above: Any = pilot.app.screen
            assert isinstance(above, over)
            await press(pilot, "escape")
            assert (pilot.app.screen, typed(dialog), pilot.app.focused) == (dialog, stood, focused)
        for back in ("escape", "f9"):
            await press(pilot, "f2")
            assert (pilot.app.current_mode, len(pilot.app.screen_stack)) == ("today", 1)
            await press(pilot, back)
            assert pilot.app.screen is dialog
            assert typed(dialog) == stood
            assert pilot.app.focused is focused
        assert any("12" in text for text in stood)
    assert newest()[0].id == before


@pytest.mark.parametrize("page", GOING, ids=lambda page: page.name)
async def test_who_is_at_work_leads_to_every_place_and_back(
    opened: Any, press: Any, page: Any, blending: Any, book: Book
) -> None:
    """From the box that asks who is at work; closed or answered, one is where it was opened."""
    book.write(acts.Look(vessel="B-007", note="dry", hand="Maren"))
    start = "racks" if page.name != "racks" else "book"
    async with opened(page=start) as pilot:
        focused = pilot.app.focused
        await press(pilot, "ctrl+o", "m", page.key)
        assert pilot.app.current_mode == page.name
        assert len(pilot.app.screen_stack) == 1
        await press(pilot, next(each.key for each in PAGES if each.name == start))
        assert isinstance(pilot.app.screen, Pick)
        assert pilot.app.screen.query_one(PickList).letters == "m"
        await press(pilot, "enter")
        assert (pilot.app.current_mode, len(pilot.app.screen_stack)) == (start, 1)
        assert pilot.app.focused is focused
        assert "Maren" in str(pilot.app.screen.query_one(TopBar).render())


async def test_the_place_one_is_at_answers_how_to_get_there(opened: Any, press: Any) -> None:
    """In one line; the dialog stays."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "s", "50", "f5")
        assert isinstance(pilot.app.screen, ActForm)
        words = "This is open over barrel; Esc closes it."
        assert str(pilot.app.screen.query_one(StatusLine).render()) == words
        await press(pilot, "escape")
        assert isinstance(pilot.app.screen, BarrelScreen)


async def test_a_vessel_asked_for_while_a_dialog_waits_there_comes_up_behind_it(opened: Any, press: Any) -> None:
    """The dialog shows how it is closed; then the page is that of the vessel."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "s", "50", "f4", "B-009", "enter")
        form = pilot.app.screen
        assert isinstance(form, ActForm)
        assert form.rows["vessel"].text == "B-001"
        assert "Esc closes it" in str(form.query_one(StatusLine).render())
        await press(pilot, "escape")
        assert (pilot.app.current_mode, pilot.app.screen._shown_tag) == ("barrel", "B-009")


async def test_a_question_waits_too(opened: Any, press: Any) -> None:
    """Nothing is answered by going elsewhere."""
    async with opened(page="book") as pilot:
        answers: list[Any] = []
        pilot.app.push_screen(Confirm("Is it so?"), answers.append)
        await press(pilot, "f4", "f1", "escape", "f9")
        assert isinstance(pilot.app.screen, Confirm)
        assert answers == []
        await press(pilot, "+")
        assert answers == [True]


@pytest.mark.parametrize(("key", "leads_to"), [("f1", GuideScreen), ("f5", BarrelScreen)])
async def test_the_palette_closes(opened: Any, press: Any, key: str, leads_to: type[Any]) -> None:
    """It holds nothing that is worth a return."""
    async with opened(page="racks") as pilot:
        await press(pilot, "ctrl+p", "lime", key)
        await press(pilot)
        assert isinstance(pilot.app.screen, leads_to)
        await press(pilot, "escape")
        await press(pilot)
        assert (pilot.app.current_mode, len(pilot.app.screen_stack)) == ("racks", 1)
        assert not any(isinstance(screen, Palette) for stack in pilot.app._screen_stacks.values() for screen in stack)


async def test_another_hand_signs_the_form_that_is_open(opened: Any, press: Any, book: Book, newest: Any) -> None:
    """What was half typed stays; the form shows the new name, and what is written bears it."""
    book.write(acts.Look(vessel="B-007", note="dry", hand="Maren"))
    async with opened(page="barrel") as pilot:
        await press(pilot, "s", "0.05", "ctrl+o", "mar", "enter")
        form = pilot.app.screen
        assert isinstance(form, ActForm)
        assert (form.rows["hand"].text, "0.05" in form.texts.values()) == ("Maren", True)
        await press(pilot, "enter")
        await press(pilot)
    assert (newest()[0].kind, newest()[0].hand) == ("sample", "Maren")


async def test_a_name_typed_into_the_form_stands(opened: Any, press: Any, book: Book) -> None:
    """Who is at work now takes the place of who was, and of nothing that was typed."""
    book.write(acts.Look(vessel="B-007", note="dry", hand="Maren"))
    async with opened(page="barrel") as pilot:
        await press(pilot, "s")
        form = pilot.app.screen
        form.rows["hand"].set_text("Ivo")
        await press(pilot, "ctrl+o", "mar", "enter")
        assert form.rows["hand"].text == "Ivo"
        assert pilot.app.desk.hand == "Maren"


async def test_a_place_is_found_by_name_from_a_form(opened: Any, press: Any) -> None:
    """The form waits; another form is not offered over it, and its own acts are."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "s", "50", "ctrl+p")
        await press(pilot)
        form, palette = pilot.app.screen_stack[-2:]
        assert isinstance(palette, Palette)
        found = palette.query_one(OptionList)
        kinds = {str(found.get_option_at_index(at).prompt).split()[0] for at in range(found.option_count)}
        assert kinds == {"act", "place"}
        await press(pilot, "racks", "enter")
        await press(pilot)
        assert (pilot.app.current_mode, len(pilot.app.screen_stack)) == ("racks", 1)
        await press(pilot, "escape")
        assert pilot.app.screen is form
        assert "50" in form.texts.values()


async def test_the_keys_of_a_question_are_listed(opened: Any, press: Any) -> None:
    """With what leads away from it; nothing is answered. Esc leads back to it."""
    async with opened(page="book") as pilot:
        answers: list[Any] = []
        pilot.app.push_screen(Confirm("Is it so?"), answers.append)
        await press(pilot, "?")
        sheet = pilot.app.screen
        assert isinstance(sheet, KeySheet)
        assert {"+", "-"} <= {key for key, _, _ in sheet.parts["Here"]}
        assert {"F1", "F9", "?", "Ctrl+P", "Ctrl+O"} <= {key for key, _, _ in sheet.parts["Always"]}
        await press(pilot, "escape")
        assert isinstance(pilot.app.screen, Confirm)
        assert answers == []


async def test_a_question_mark_in_a_box_is_text(opened: Any, press: Any) -> None:
    """A note may ask something."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "s")
        form = pilot.app.screen
        form.rows["note"].take_focus()
        await press(pilot, "why?")
        assert pilot.app.screen is form
        assert form.rows["note"].text == "why?"


@pytest.mark.parametrize(("key", "leads_to"), [("ctrl+p", Palette), ("?", KeySheet)])
async def test_the_guide_is_left_for_what_another_key_opens(
    opened: Any, press: Any, key: str, leads_to: type[Any]
) -> None:
    """The guide holds nothing to come back to; who is at work is asked over it, and shown on its bar."""
    async with opened(page="racks") as pilot:
        await press(pilot, "f1", "ctrl+o", "n", "e", "w", "enter")
        assert "new" in str(pilot.app.screen.query_one(TopBar).render())
        assert isinstance(pilot.app.screen, GuideScreen)
        await press(pilot, key)
        await press(pilot)
        assert [type(screen) for screen in pilot.app.screen_stack[1:]] == [leads_to]


# --- the vessel that is pointed at ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "page",
    [
        page.name
        for page in PAGES
        if page.name not in ("barrel", "panel", "blend", "trials", "periods", "recall", "bottling", "bottles")
    ],
)
async def test_the_page_of_a_vessel_opens_for_the_one_pointed_at(
    opened: Any, press: Any, page: Any, book: Book, clock: Any
) -> None:
    """From each page, whatever was in hand before; Esc leads back to the same row."""
    book.write(acts.Reading(vessel="B-001", property="free_so2_mg_l", value=24.0, sure=True))
    clock.at += timedelta(days=50)
    book.write(acts.Reading(vessel="B-001", property="ph", value=3.42))
    book.write(acts.Look(vessel="B-002", smell="vinegar"))
    async with opened(page=page, size=(100, 40)) as pilot:
        screen = pilot.app.screen
        if page == "racks":
            screen.query_one(RackMap).go_to("B-005")
        pilot.app.desk.tag = "K-02"
        await press(pilot, "down" if page == "book" else "home" if page == "lots" else "end")
        wanted = screen.pointed
        assert wanted in pilot.app.desk.cellar
        await press(pilot, "f5")
        assert pilot.app.screen._shown_tag == wanted
        await press(pilot, "escape")
        assert pilot.app.current_mode == page
        assert screen.pointed == wanted


async def test_it_opens_the_one_in_hand_where_none_is_pointed_at(opened: Any, press: Any) -> None:
    """As from the blend."""
    async with opened(page="panel") as pilot:
        pilot.app.desk.tag = "K-02"
        await press(pilot, "f5")
        assert pilot.app.screen._shown_tag == "K-02"
        assert not pilot.app.screen.query(Input).filter("#line")

"""The fields of a form in one widget: what a hand sees and types, and that a form used again is as a new one."""

from itertools import pairwise
from typing import Any

import pytest
from textual.geometry import Region

from cooperage.book import Act
from cooperage.book.declared import acts
from cooperage.tui.shared.act_form import ActForm, form_for
from cooperage.tui.shared.field_list import FieldList
from cooperage.tui.shared.fields import LABEL, FieldRow


def picture(pilot: Any) -> list[str]:
    """The screen line by line."""
    strips = pilot.app.screen._compositor.render_strips()
    return ["".join(segment.text for segment in strip) for strip in strips]


def fields(pilot: Any) -> FieldList:
    found = pilot.app.screen.query_one(FieldList)
    assert isinstance(found, FieldList)
    return found


def line_of(pilot: Any, name: str) -> str:
    """What is drawn for a field, from its answer on."""
    shown, row = fields(pilot), fields(pilot).by_name[name]
    at = shown.content_region.y + shown._top(row) - shown.scroll_offset.y
    return picture(pilot)[at][shown.content_region.x + LABEL :]


@pytest.mark.slow
async def test_tab_and_the_arrows_go_from_field_to_field_and_round(opened: Any, press: Any) -> None:
    """Down from the last field is the first, Up from the first the last."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "s")
        names = list(fields(pilot).by_name)
        assert fields(pilot).here.field.name == "volume"
        seen = []
        for key in ("tab", "down", "tab", "down", "up", "shift+tab", "up"):
            await press(pilot, key)
            seen.append(fields(pilot).here.field.name)
    at = names.index("volume")
    steps = [at + 1, at + 2, at + 3, at + 4, at + 3, at + 2, at + 1]
    assert seen == [names[step % len(names)] for step in steps]


@pytest.mark.slow
async def test_what_is_typed_goes_into_the_field_in_hand_and_stays_there(opened: Any, press: Any) -> None:
    """Coming back selects it, so that the next letter takes its place."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "s", "1.5", "tab", "tab", "tab", "two words", "up", "up", "up")
        rows = fields(pilot).by_name
        assert (rows["volume"].text, rows["note"].text) == ("1.5", "two words")
        assert fields(pilot).selected_text == "1.5"
        assert line_of(pilot, "note").startswith("two words ")
        await press(pilot, "2")
        assert rows["volume"].text == "2"


@pytest.mark.slow
async def test_an_example_says_that_it_is_one(opened: Any, press: Any) -> None:
    """It goes with the first letter, and comes back with the last."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "s")
        assert line_of(pilot, "volume").startswith("e.g. ")
        await press(pilot, "7")
        assert line_of(pilot, "volume").startswith("7 ")
        await press(pilot, "backspace")
        assert line_of(pilot, "volume").startswith("e.g. ")


@pytest.mark.slow
@pytest.mark.parametrize("text", ["a note that is longer than its box can ever show at once", "日本酒" * 12])
async def test_the_end_of_a_long_answer_is_seen_where_it_is_typed(opened: Any, press: Any, text: str) -> None:
    """And its beginning after Home; the cursor is where the terminal is told that it is."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "s", "tab", "tab", "tab")
        fields(pilot).insert_text_at_cursor(text)
        await press(pilot)
        assert fields(pilot).here.text == text
        shown = fields(pilot).content_region
        assert shown.contains_point(fields(pilot).cursor_screen_offset)
        assert text[-4:] in line_of(pilot, "note")
        await press(pilot, "home")
        assert line_of(pilot, "note").startswith(text[:5])
        assert fields(pilot).cursor_screen_offset.x == shown.x + LABEL


@pytest.mark.slow
async def test_a_name_is_proposed_and_taken_with_the_right_arrow(opened: Any, press: Any) -> None:
    """The rest of the tag stands behind what is typed."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "t")
        fields(pilot).by_name["from"].take_focus()
        await press(pilot, "k-0")
        assert line_of(pilot, "from").startswith("k-01 ")
        await press(pilot, "right")
        assert fields(pilot).by_name["from"].text == "K-01"


@pytest.mark.slow
async def test_a_choice_opens_its_list_and_a_yes_is_turned(opened: Any, press: Any) -> None:
    """Space or a letter opens the one, Space turns the other; what it does not take is shown until it is answered."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "w", "x", "escape", "backspace")
        row = fields(pilot).here
        assert (row.kind, row.text) == ("choice", "")
        await press(pilot, " ", "ste", "enter")
        assert row.text == "steam"
        await press(pilot, "escape", "t")
        flag = next(row for row in fields(pilot).rows if row.kind == "flag")
        flag.take_focus()
        await press(pilot, "x", " ")
        assert (flag.text, flag.complaint) == ("yes", "")
        assert "[x] yes" in picture(pilot)[fields(pilot).content_region.y + fields(pilot)._top(flag)]
        await press(pilot, " ")
        assert flag.text == ""


@pytest.mark.slow
async def test_a_click_takes_a_field_in_hand_where_it_is_clicked(opened: Any, press: Any) -> None:
    """The cursor stands at the letter; a click on a choice opens its list."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "s", "tab", "tab", "tab", "seven words", "up", "up", "up")
        note = fields(pilot).by_name["note"]
        await pilot.click(FieldList, offset=(LABEL + 5, fields(pilot)._top(note)))
        await press(pilot)
        assert fields(pilot).here is note
        assert (fields(pilot).cursor_position, fields(pilot).selected_text) == (5, "")
        await press(pilot, "escape", "w")
        await pilot.click(FieldList, offset=(LABEL + 3, fields(pilot)._top(fields(pilot).here)))
        await press(pilot)
        assert type(pilot.app.screen).__name__ == "Pick"


@pytest.mark.slow
@pytest.mark.parametrize("size", [(80, 24), (60, 20)])
async def test_a_form_used_again_is_as_a_new_one(opened: Any, press: Any, size: Any) -> None:
    """Whatever was asked before, half typed, refused or complained of in it."""
    kinds: tuple[type[Act], ...] = (
        acts.Sample,
        acts.Top,
        acts.Reading,
        acts.Gauge,
        acts.Treat,
        acts.Addition,
        acts.Sample,
    )
    async with opened(page="barrel", size=size) as pilot:
        app, new = pilot.app, {}
        for kind in kinds:
            await app.push_screen(ActForm(kind, {"vessel": "B-003"}))
            await press(pilot)
            new[kind] = (picture(pilot), fields(pilot).here.field.name)
            app.pop_screen()
            await press(pilot)
        kept = form_for(app, kinds[0], {"vessel": "B-003"})
        await app.push_screen(kept)
        app.pop_screen()
        await press(pilot)
        for before, kind in pairwise(kinds):
            again = form_for(app, before, {"vessel": "B-001"})
            await app.push_screen(again)
            await press(pilot, "enter", "x", "tab", "y", "enter", "escape")
            while app.screen is not app.screen_stack[0]:
                await press(pilot, "escape")
            again = form_for(app, kind, {"vessel": "B-003"})
            await app.push_screen(again)
            await press(pilot)
            assert again is kept
            assert (picture(pilot), fields(pilot).here.field.name) == new[kind], kind
            app.pop_screen()
            await press(pilot)


@pytest.mark.slow
async def test_a_form_in_use_is_never_asked_for_something_else(opened: Any, press: Any) -> None:
    """A form over a form is a new one; and after another theme both are styled anew."""
    async with opened(page="barrel") as pilot:
        app = pilot.app
        await press(pilot, "s")
        first = app.screen
        assert form_for(app, acts.Top, {"vessel": "B-001"}) is not first
        await press(pilot, "escape", "t")
        assert app.screen is first
        await press(pilot, "escape")
        app.theme = "light"
        await press(pilot, "s")
        assert app.screen is not first
        assert app.screen.query_one(FieldList).rich_style.bgcolor is not None
        assert app.screen.query_one(FieldList).background_colors[1].is_transparent is False


@pytest.mark.slow
async def test_why_an_answer_was_not_understood_stands_under_it(opened: Any, press: Any) -> None:
    """In full, and what was typed is selected; it goes when the answer is understood."""
    async with opened(page="barrel", size=(60, 20)) as pilot:
        await press(pilot, "s", "a sip", "enter")
        row: FieldRow = fields(pilot).by_name["volume"]
        assert "is not a volume" in row.complaint
        shown = fields(pilot)
        at = shown.content_region.y + shown._top(row) + 1
        seen = " ".join(
            line[shown.content_region.x + LABEL : shown.content_region.right].strip()
            for line in picture(pilot)[at : at + row.height(shown._width) - 1]
        )
        assert seen.split() == row.complaint.split()
        assert shown.selected_text == "a sip"
        assert shown.region.contains_region(Region(shown.region.x, at, 1, 1))
        await press(pilot, "1", "enter")
        assert not row.complaint or row.complaint != "is not a volume"


@pytest.mark.slow
async def test_a_long_label_moves_every_answer_and_not_its_own(opened: Any, press: Any) -> None:
    """Answers stand under each other whatever the labels are."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "u")
        shown = fields(pilot)
        assert max(len(row.field.label) for row in shown.rows) > LABEL
        at, left = shown.content_region.y, shown.content_region.x
        labels = [line[left : left + shown.label] for line in picture(pilot)[at : at + len(shown.rows)]]
    assert [label.rstrip() for label in labels] == [row.field.label for row in shown.rows]
    assert all(label.endswith(" ") for label in labels)

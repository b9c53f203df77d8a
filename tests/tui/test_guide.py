"""The guide and the sheet of keys: opened where one is, read, left again."""

from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot
from textual.widgets import Markdown, OptionList

from cooperage.guide.pages import TOPICS, guide_page
from cooperage.tui.app import PAGES
from cooperage.tui.guide.key_sheet import ELSEWHERE, IN_LIST, MARKS, NOT_NOW, SIGNS, KeySheet
from cooperage.tui.guide.screen import TOPIC_OF, GuideScreen
from cooperage.tui.keys import TABLE, key_words
from tests.guide.test_pages import named_keys

pytestmark = pytest.mark.slow
SIZES = [(60, 20), (80, 24), (140, 40)]


def drawn(pilot: Pilot[Any]) -> list[str]:
    """The rows as they stand on the terminal."""
    return ["".join(part.text for part in strip).rstrip() for strip in pilot.app.screen._compositor.render_strips()]


def source(pilot: Pilot[Any]) -> str:
    return pilot.app.screen.query_one(Markdown).source


@pytest.mark.parametrize("page", [page.name for page in PAGES])
async def test_the_guide_opens_at_the_page_of_the_screen_its_keys_first(opened: Any, press: Any, page: str) -> None:
    """And Esc leads back where one was, with what had the focus."""
    async with opened(page=page) as pilot:
        focused = pilot.app.focused
        await press(pilot, "f1")
        assert source(pilot) == guide_page(TOPIC_OF[page]).text
        rows = drawn(pilot)
        assert f"Guide: {guide_page(TOPIC_OF[page]).title}" in rows[1]
        keys = pilot.app.screen._keys
        assert f"{keys[0][0]} {keys[0][1]}" in rows[2]
        await press(pilot, "escape")
        assert pilot.app.current_mode == page
        assert len(pilot.app.screen_stack) == 1
        assert pilot.app.focused is focused


async def test_pages_turn_and_are_chosen_and_links_lead_on(opened: Any, press: Any) -> None:
    """By the keys that go sideways, from the list of all, and by a link."""
    async with opened(page="rounds") as pilot:
        await press(pilot, "f1", "right")
        assert source(pilot) == guide_page("paper").text
        await press(pilot, "left", "left")
        assert source(pilot) == guide_page("morning").text
        await press(pilot, *["left"] * 3)
        assert source(pilot) == guide_page(TOPICS[0]).text
        await press(pilot, "/", "own units", "enter")
        assert source(pilot) == guide_page("units").text
        await press(pilot, "/", "typed something", "enter")
        assert source(pilot) == guide_page("trouble").text
        assert any("When I typed something wrong" in row for row in drawn(pilot))
        page = pilot.app.screen.query_one(Markdown)
        page.post_message(Markdown.LinkClicked(page, "sulphite.md"))
        await press(pilot)
        assert source(pilot) == guide_page("sulphite").text
        assert pilot.app.screen.viewer.scroll_offset.y == 0
        assert "Guide: Sulphite" in drawn(pilot)[1]


async def test_a_place_is_gone_to_from_the_guide_and_from_the_keys(opened: Any, press: Any) -> None:
    """Each leaves what lay over the screen."""
    async with opened(page="rounds") as pilot:
        for opener, place in (("f1", "book"), ("?", "racks")):
            await press(pilot, opener, key_words(TABLE[place].first).lower())
            assert (pilot.app.current_mode, len(pilot.app.screen_stack)) == (place, 1)


async def test_the_palette_finds_pages_and_their_sections(opened: Any, press: Any) -> None:
    """And opens them there."""
    async with opened(page="racks") as pilot:
        await press(pilot, "ctrl+p", "smells of vinegar")
        for _ in range(60):
            await pilot.pause(0.05)
            if pilot.app.screen.query_one(OptionList).option_count:
                break
        await pilot.pause(0.3)
        lines = [str(option.prompt) for option in pilot.app.screen.query_one(OptionList).options]
        assert any(line.lstrip().startswith("guide") and "When a barrel smells of vinegar" in line for line in lines)
        await press(pilot, "enter")
        assert isinstance(pilot.app.screen, GuideScreen)
        assert source(pilot) == guide_page("trouble").text
        assert any("When a barrel smells of vinegar" in row for row in drawn(pilot)[2:5])


async def test_the_sheet_has_a_line_of_its_own_for_letters_that_the_line_takes(opened: Any, press: Any) -> None:
    """On the rounds the line has the cursor; what is no act there at all stands elsewhere."""
    async with opened(page="rounds") as pilot:
        await press(pilot, "?")
        parts = {title: {key for key, _, _ in lines} for title, lines in pilot.app.screen.parts.items()}
        assert {"+", "-", "*", "/", "Enter", "Esc"} <= parts["Here"]
        assert {"t", "d", "r", "l", "j"} <= parts[IN_LIST]
        assert {"b", "p", "z"} <= parts[ELSEWHERE]
        assert NOT_NOW not in parts
        letters = {key_words(row.first) for row in TABLE.values() if len(row.first) == 1 and row.group == "act"}
        assert parts["Here"] | parts[IN_LIST] | parts[ELSEWHERE] >= letters
        await press(pilot, "f1")
        assert isinstance(pilot.app.screen, GuideScreen)
        await press(pilot, "escape")
        assert (pilot.app.current_mode, len(pilot.app.screen_stack)) == ("rounds", 1)


@pytest.mark.parametrize("page", [page.name for page in PAGES if page.name != "blend"])
@pytest.mark.parametrize("size", SIZES)
async def test_the_sheet_is_whole_at_every_size(opened: Any, press: Any, page: str, size: tuple[int, int]) -> None:
    """Every key, mark and sign stands on it, none cut; at 80 by 24 all of it is seen at once."""
    async with opened(page=page, size=size) as pilot:
        await press(pilot, "?")
        sheet = pilot.app.screen
        assert isinstance(sheet, KeySheet)
        seen = drawn(pilot)
        area = sheet.query_one("#key-sheet")
        if size[0] >= 80:
            assert area.max_scroll_y <= 2, "what is last may be the sentence on letters"
        while area.scroll_offset.y < area.max_scroll_y:
            area.scroll_page_down(animate=False)
            await press(pilot)
            seen += drawn(pilot)
        text = " ".join(" ".join(seen).split())
        assert "…" not in text
        for lines in sheet.parts.values():
            for key, word, _ in lines:
                assert f"{key} " in text
                assert size[0] >= 130 or f"{key} {word}" in text
        for mark, means in (*MARKS, *SIGNS):
            assert f"{mark} {means}" in text


@pytest.mark.parametrize("size", SIZES)
async def test_a_page_is_not_cut(opened: Any, press: Any, size: tuple[int, int]) -> None:
    """Its words fill the width there is; contents stand beside it where there is room."""
    async with opened(page="rounds", size=size) as pilot:
        await press(pilot, "f1")
        viewer = pilot.app.screen.viewer
        assert viewer.show_table_of_contents is (size[0] >= 110)
        assert viewer.max_scroll_x == 0
        await press(pilot, "v")
        assert viewer.show_table_of_contents is (size[0] < 110)


KEYS_OF_PAGES = {
    "morning": ("today", "racks", "barrel"),
    "walk": ("rounds",),
    "barrels": ("barrel", "racks"),
    "panel": ("panel",),
    "blend": ("blend",),
    "bottling": ("lots", "bottling", "bottles"),
    "book": ("book", "losses"),
}
"""The screens whose keys a page names."""


@pytest.mark.usefixtures("blending")
@pytest.mark.parametrize("topic", KEYS_OF_PAGES)
async def test_the_keys_a_page_names_are_bound_on_its_screens(opened: Any, press: Any, topic: str) -> None:
    """Somewhere on one of them: by the screen, a list or a box on it, or everywhere."""
    bound: set[str] = set()
    async with opened(page=KEYS_OF_PAGES[topic][0]) as pilot:
        for page in KEYS_OF_PAGES[topic]:
            if pilot.app.current_mode != page:
                await pilot.app.switch_mode(page)
            await press(pilot)
            for node in (pilot.app, pilot.app.screen, *pilot.app.screen.query("*")):
                bound |= set(node._bindings.key_to_bindings)
    assert named_keys(guide_page(topic).text) - {key_words(key) for key in bound} <= {"Ctrl+S"}


async def test_nothing_of_the_guide_is_loaded_before_it_is_wanted() -> None:
    """Neither the pages nor the parser of Markdown."""
    app = Path("cooperage/tui/app.py").read_text(encoding="utf-8").split("class CooperageApp")[0]
    assert "tui.guide" not in app
    assert "Markdown" not in app

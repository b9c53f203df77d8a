"""Marks, bars and lines in the oldest characters: nothing is lost, and no column moves."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from cooperage.programme.search.measures import MEASURES
from cooperage.tui.app import PAGES
from cooperage.tui.filters.ascii_marks import in_ascii
from cooperage.tui.shared.ink import DONE, DUE, HERE, OUT_OF_REACH, SKIPPED, TROUBLE

OURS = "▲○✓»↑›▁▂▃▄▅▆▇█▏▎▍▌▋▊▉▕░│─╌╭╮╰╯→←↓·×≤≥…–"


def sent(pilot: Any) -> list[str]:
    """What the terminal is sent of the screen, line by line."""
    return ["".join(segment.text for segment in strip) for strip in pilot.app.screen._compositor.render_strips()]


@given(st.text(alphabet=OURS + " Bé0.9-", max_size=40))
def test_every_column_stays_where_it_is(text: str) -> None:
    """As wide as before, ours gone, letters of any language kept."""
    shown = in_ascii(text)
    assert cell_len(shown) == cell_len(text)
    assert not set(shown) & set(OURS)
    assert shown.count("é") == text.count("é")


def test_no_two_states_have_the_same_mark() -> None:
    """Trouble, due, done, skipped, out of reach, and the pointer."""
    shown = [in_ascii(f"{mark} ") for mark in (TROUBLE, DUE, DONE, SKIPPED, OUT_OF_REACH, HERE)]
    assert shown == ["! ", "o ", "v ", ">>", "^ ", "> "]


@pytest.mark.slow
@pytest.mark.parametrize("page", [page.name for page in PAGES if page.name not in ("blend", "figures")])
async def test_no_screen_needs_more_than_the_oldest_characters(opened: Any, press: Any, page: str) -> None:
    """But for letters and units; every line is as wide as with our own marks."""
    async with opened(page=page) as pilot:
        usual = sent(pilot)
    async with opened(page=page, marks="ascii") as pilot:
        shown = sent(pilot)
        if page == "racks":
            for _ in MEASURES:
                await press(pilot, "v")
                shown += sent(pilot)
    assert [cell_len(line) for line in shown[: len(usual)]] == [cell_len(line) for line in usual]
    assert {each for line in shown for each in line if not each.isascii() and not each.isalpha()} <= set("±°%′")


async def test_an_arrow_is_not_taken_for_the_keys_that_trace(opened: Any, press: Any) -> None:
    """On the bar of a recall's tree stand both: the arrow unfolds, > traces on."""
    async with opened(page="lots", size=(140, 40), marks="ascii") as pilot:
        await press(pilot, ">", "v", "left")
        bar = sent(pilot)[-1]
    assert "->unfold" in bar
    assert "> trace on" not in bar.replace("->unfold", ""), "what is traced is not traced on again"

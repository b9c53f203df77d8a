"""Nothing on a screen is cut in the middle, drawn twice, or explained by letters that are not there."""

from datetime import timedelta
from typing import Any

import pytest
from rich.cells import cell_len
from textual.content import Content

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.tui.rounds.line_words import rows_when_empty
from cooperage.tui.shared.dialogs import Confirm, Shown
from cooperage.tui.shared.ink import pointer


def drawn(pilot: Any) -> list[str]:
    return ["".join(s.text for s in strip).rstrip() for strip in pilot.app.screen._compositor.render_strips()]


async def test_a_long_answer_in_a_form_takes_the_room_of_its_unit(opened: Any, press: Any) -> None:
    """The class lines of the cellar are four figures, with their unit once."""
    async with opened(page="today") as pilot:
        await pilot.app.run_action("ask('facts')")
        await press(pilot)
        [line] = [line for line in drawn(pilot) if "class lines" in line]
    assert "14.0; 16.0; 21.0; 24.0 % vol (default)" in line
    assert "…" not in line


@pytest.mark.parametrize("width", [30, 50, 78, 138])
def test_what_a_key_does_at_a_stop_stands_in_one_row(width: int) -> None:
    rows = rows_when_empty(
        (), (), Content(""), most=5, width=width, is_open=True, ordered="order 4 as it stands: move B-044"
    )
    lines = [line for row in rows for line in row.plain.splitlines()]
    for sign in ("- skips it", "* out of reach"):
        assert any(sign in line and cell_len(line) <= width for line in lines), (sign, lines)


async def test_a_row_of_the_book_that_is_cut_shows_it(opened: Any, press: Any, book: Book) -> None:
    with book.writing() as w:
        at = w.now - timedelta(hours=1)
        w.write(acts.Top(vessel="B-001", source="K-01", volume=500, at=at, note="wet at the croze again and again" * 3))
    async with opened(page="book") as pilot:
        await press(pilot)
        [line] = [line for line in drawn(pilot) if "0.5 L from K-01" in line]
    assert line.rstrip("▁▂▃▄▅▆▇█ ").endswith("…")


async def test_letters_of_one_chart_are_not_explained_below_another(opened: Any, press: Any) -> None:
    """What was lost is drawn in bars: nothing there was measured in points, or lies in a band."""
    async with opened(page="barrel") as pilot:
        seen = []
        for _ in range(9):
            await press(pilot, "v")
            lines = drawn(pilot)
            if any("lost between visits" in line for line in lines):
                seen.append([line for line in lines if "█ lost" in line or "● measured" in line])
    assert seen
    assert all(["█ lost" in line for line in lines] == [True] for lines in seen)


@pytest.mark.parametrize("theme", ["dark", "light", "contrast", "plain"])
async def test_the_list_that_has_the_keys_is_told_from_the_other(opened: Any, theme: str) -> None:
    async with opened(page="losses", theme=theme) as pilot:
        here, elsewhere = pointer(pilot.app), pointer(pilot.app, has_keys=False)
    assert (here.bgcolor, here.reverse) != (elsewhere.bgcolor, elsewhere.reverse)


async def test_the_palette_begins_with_what_can_be_done_here(opened: Any, press: Any) -> None:
    """Not with whichever provider came first: acts, forms and places, before anything is typed."""
    async with opened(page="today") as pilot:
        await press(pilot, "ctrl+p")
        await pilot.pause(0.1)
        kinds = [line.split()[0] for line in drawn(pilot)[5:] if line.startswith("  ") and line.split()]
    assert kinds[1:2] == ["act"]
    assert not {"guide", "vessel"} & set(kinds)


async def test_a_line_of_the_palette_that_is_cut_shows_it(opened: Any, press: Any) -> None:
    """In one row each, so that the list does not change its height with what is found."""
    async with opened(page="today", size=(60, 20)) as pilot:
        await press(pilot, "ctrl+p", *"settings")
        await pilot.pause(0.5)
        [line] = [line for line in drawn(pilot) if "settings of the cellar" in line]
    assert line.rstrip("▁▂▃▄▅▆▇█ ").endswith("…")


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (140, 40)])
@pytest.mark.parametrize("kind", ["question", "lines"])
async def test_a_long_question_keeps_its_keys_and_its_edges_in_sight(
    opened: Any, press: Any, size: tuple[int, int], kind: str
) -> None:
    """It is wrapped to the screen and scrolls; the keys that answer it stand below."""
    words = "each tasted once by Maren, Jory, in one flight, drawn at random in blocks of barrels that are alike. " * 20
    async with opened(page="trials", size=size) as pilot:
        pilot.app.push_screen(Confirm(words, "keep") if kind == "question" else Shown("Pour", [words] * 3))
        await press(pilot)
        lines = drawn(pilot)
        box, bar = (pilot.app.screen.query_one(each).region for each in (".box", "KeyBar"))
        assert pilot.app.screen.region.contains_region(box)
        assert box.contains_region(bar)
    inside = [line[box.x + 1 : box.right - 1].strip("▁▂▃▄▅▆▇█ ") for line in lines[box.y + 1 : box.bottom - 1]]
    assert inside[-1].startswith("+ keep" if kind == "question" else "Enter close")
    assert {word for line in inside[:-1] for word in line.split()} <= {*words.split(), "Pour"}, "no word is cut"

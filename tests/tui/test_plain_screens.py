"""Whatever stands in the book: no screen draws a character that a terminal would obey, nor reads a text as markup."""

import shutil
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from cooperage.book import Book
from cooperage.errors import CooperageError
from cooperage.plaintext import visible
from cooperage.settings import Settings
from cooperage.tui.app import PAGES, CooperageApp

sys.path.insert(0, str(Path(__file__).parents[2]))
from tests.poisoned import POISON, poisoned_cellar

DIALOGS: dict[str, list[tuple[str, ...]]] = {
    "rounds": [("escape", "u"), ("q",), ("l",), ("s",), ("h",), ("o",), ("j",)],
    "today": [("l",), ("down",)],
    "racks": [("q",), ("m",)],
    "barrel": [("t",), ("u",), ("m",), ("x",), ("v",), ("z",), ("enter",)],
    "panel": [("n",), ("enter",), ("g",), ("down", "enter")],
    "blend": [("o",), ("b",), ("p",)],
    "lots": [("b",), ("e",), ("e", "enter"), ("r",), ("enter",), ("tab", "enter")],
    "book": [("enter",), ("r",), ("x",)],
    "losses": [("enter",), ("tab", "enter"), ("q",)],
    "figures": [("tab", "v")],
    "trials": [("n",), ("p",), ("e",)],
    "periods": [("v",), ("ctrl+s",), ("c",)],
    "recall": [("q",)],
    "bottling": [("n",), ("enter",), ("ctrl+s",)],
    "bottles": [("m",), ("z",), ("c",)],
}
"""Keys that open what a screen has to open."""


@pytest.fixture(scope="session")
def poisoned_template(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """The poisoned cellar, made once; tests copy the file."""
    return poisoned_cellar(tmp_path_factory.mktemp("poisoned") / "cellar.db")


@pytest.fixture
def poisoned(poisoned_template: Any, tmp_path: Path) -> Iterator[Any]:
    book = Book.open(str(shutil.copy(poisoned_template, tmp_path / "cellar.db")))
    yield book
    book.close()


def drawn(pilot: Any) -> str:
    """All that the terminal is sent of the screen, each strip looked at."""
    strips = pilot.app.screen._compositor.render_strips()
    lines = ["".join(segment.text for segment in strip) for strip in strips]
    for line in lines:
        assert visible(line) == line, line
    assert all(strip.cell_length == sum(segment.cell_length for segment in strip) for strip in strips)
    return "\n".join(lines)


@pytest.mark.slow
@pytest.mark.parametrize("page", [page.name for page in PAGES])
async def test_no_screen_draws_what_a_terminal_obeys(poisoned: Any, press: Any, page: Any) -> None:
    """Each screen at 80 by 24, its help, and what its keys open."""
    app = CooperageApp(poisoned, Settings(hand=f"Ada{POISON}"))
    async with app.run_test(size=(80, 24)) as pilot:
        if app.current_mode != page:
            await app.switch_mode(page)
        await press(pilot)
        seen = drawn(pilot)
        for keys in [("f1",), ("ctrl+z",), ("ctrl+p",), ("/",), *DIALOGS[page]]:
            await pilot.press(*keys)
            await press(pilot)
            seen += drawn(pilot)
            while len(app.screen_stack) > 1:
                app.pop_screen()
            await press(pilot)
            drawn(pilot)
        assert "\\x1b]0;gone" in seen, "no old text was on it, so nothing was looked at"


@pytest.mark.slow
async def test_markup_in_a_note_is_shown_as_it_was_written(poisoned: Any, press: Any) -> None:
    """The book's list shows the note's brackets, and the whole of what stands before them."""
    app = CooperageApp(poisoned, Settings())
    async with app.run_test(size=(200, 40)) as pilot:
        await app.switch_mode("book")
        await press(pilot)
        assert r"note\x1b]0;gone\x07\x1b[2J\x9b1m<U+202E><U+2028>\x7f[/][red][" in drawn(pilot)


async def test_a_refusal_is_no_markup_either(poisoned: Any, press: Any) -> None:
    """An error with brackets in it, told in the corner, is told as it is."""
    app = CooperageApp(poisoned, Settings())
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        app.desk._not_read(CooperageError(f"cannot [/] read {POISON}"))
        await press(pilot)
        assert "cannot [/] read" in drawn(pilot)

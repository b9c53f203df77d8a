"""The level now beside the book's volume on every screen that shows one, and what follows from it."""

import re
import shutil
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.log import Entry
from cooperage.settings import Settings
from cooperage.tui.rounds.walk_line import WalkLine

if TYPE_CHECKING:
    from tests.tui.conftest import Clock

NOW = re.compile(r" L (?:▕.*▏ )?now \(")


def shown(pilot: Any, selector: Any) -> str:
    return str(pilot.app.screen.query_one(selector).render())


@pytest.mark.slow
@pytest.mark.parametrize(("page", "where"), [("rounds", "#card"), ("racks", "#under-cursor"), ("barrel", "#head")])
async def test_the_level_now_stands_beside_the_books(opened: Any, page: str, where: str) -> None:
    """35 days after its topping, with its band; the band says once what it is."""
    async with opened(page=page) as pilot:
        result = shown(pilot, where)
    assert NOW.search(result)
    level = next(line for line in result.splitlines() if NOW.search(line))
    assert level.count("90 %") == 1
    assert "; book 225.0 of 225.0 L" in result


@pytest.mark.slow
async def test_a_form_that_draws_litres_tells_the_level_now(opened: Any, press: Any) -> None:
    """Topping and bottling from the page of the barrel."""
    async with opened(page="barrel") as pilot:
        for key in ("t", "l"):
            await press(pilot, key)
            assert NOW.search(shown(pilot, "#about"))
            await press(pilot, "escape")


@pytest.mark.slow
async def test_what_was_left_short_stays_on_the_rounds(opened: Any, press: Any, book: Book) -> None:
    """Topped, not to the bung: the stop is done on this walk, and due on the next, with what is known to be missing."""
    async with opened() as pilot:
        await press(pilot, "0.3 not full", "enter", "escape", "j", "+")
        about = shown(pilot, "#card")
    assert "B-001" in about
    assert "topped, not to the bung, today" in about
    assert "or more" in about
    assert "at most" in about


@pytest.fixture
def leaking(book: Book, clock: "Clock") -> Any:
    """B-001 has leaked for a year, and every topping of it was answered for."""
    at = book.now()
    for _ in range(9):
        clock.at = at = at + timedelta(days=30)
        top = acts.Top(vessel="B-001", source="T-01", volume=4_900, sure=True)
        book.write(top)
        for tag in ("B-002", "B-003", "B-004", "B-005"):
            book.write(acts.Top(vessel=tag, source="T-01", volume=700, sure=True))
    clock.at = at + timedelta(days=32)
    return book


@pytest.mark.slow
async def test_a_sure_leak_stands_on_the_card_and_its_litres_are_not_asked_about(
    opened: Any, press: Any, newest: Callable[..., list[Entry]], leaking: Any
) -> None:
    """The card says leak and what to expect; typed, that is written at once. Three times as much is asked back."""
    async with opened() as pilot:
        about = shown(pilot, "#card")
        assert about.count("▲ leak: ") == 1
        expected = about.split("○ top ")[1].split(" L")[0]
        await press(pilot, "14 from K-01", "enter")
        assert "14.0 L is a lot" in shown(pilot, "#status")
        await press(pilot, "-", "ctrl+u", f"{expected} from K-01", "enter")
        assert shown(pilot, "#status").startswith("Written ")
    written = newest()[0]
    assert (written.kind, written.vessel) == ("top", "B-001")
    assert sum(m.ml for m in written.moves if m.destination == "B-001") == round(1000 * float(expected))


@pytest.mark.slow
async def test_a_question_at_a_line_leaves_the_line(
    opened: Any, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """Free SO2 of 3.2 where 32 were read two days ago: no leaves the words in the box, yes writes them."""
    before = newest()[0].id
    async with opened() as pilot:
        await press(pilot, "1.5 so2 3.2", "enter")
        assert "○ Free SO2 3.2" in shown(pilot, "#status")
        await press(pilot, "-")
        assert pilot.app.screen.query_one(WalkLine).value == "1.5 so2 3.2"
        assert newest()[0].id == before
        await press(pilot, "enter", "+")
    assert {entry.kind for entry in newest(2)} == {"top", "reading"}


# --- the first days -------------------------------------------------------------------------------------------------


@pytest.mark.slow
@pytest.mark.parametrize("page", ["rounds", "racks", "barrel", "panel", "blend", "lots", "book", "losses", "figures"])
async def test_every_screen_of_an_empty_cellar_says_what_is_missing(
    empty_cellar: Path, tmp_path: Path, press: Any, monkeypatch: pytest.MonkeyPatch, page: str
) -> None:
    """One sentence, and mostly the command that mends it; nothing is only a heading."""
    from cooperage.tui.app import CooperageApp

    monkeypatch.setattr("cooperage.tui.lots.screen.PAUSE_S", 0.001)
    book = Book.open(str(shutil.copy(empty_cellar, tmp_path / "cellar.db")))
    app = CooperageApp(book, Settings())
    async with app.run_test(size=(80, 24)) as pilot:
        if app.current_mode != page:
            await app.switch_mode(page)
        await press(pilot)
        await press(pilot)
        result = pilot.app.export_screenshot().replace("&#160;", " ")
    book.close()
    sentences = ("no vessels yet", "No flight yet", "Nothing was lost", "anything to blend")
    assert any(sentence in result for sentence in sentences), result

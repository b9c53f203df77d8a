"""The same act on several vessels from the racks: marks, the form, what it announces, writes, asks and refuses."""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from cooperage.book import Barrel, Book, Vessel
from cooperage.book.log import Entry
from cooperage.programme.several.proposed import meant_by
from cooperage.programme.several.wanted import Ground, Wanted
from cooperage.programme.several.written import write_several
from cooperage.tui.racks.map import RackMap
from cooperage.tui.several.form import SeveralForm
from cooperage.tui.several.lines import VesselLines
from cooperage.tui.shared.act_form import ActForm
from cooperage.tui.shared.bars import KeyBar, StatusLine
from cooperage.tui.shared.dialogs import Confirm, Pick
from tests.programme.several.test_together import levels, rows, states

NEW = [f"E-{number:02}" for number in range(1, 9)]
pytestmark = pytest.mark.slow


def with_empty_barrels(book: Book) -> Book:
    """Register eight empty barrels of 150 L."""
    oak = Barrel(wood="french oak", past_life="red wine", past_kind="wine", fills_before=2)
    with book.writing() as w:
        for nth, tag in enumerate(NEW):
            at = ("West", "1", nth + 1, 1)
            w.add_vessel(Vessel(id="", tag=tag, kind="barrel", capacity_ml=150_000, position=at, barrel=oak))
    return book


@pytest.fixture
def book(book: Book) -> Book:
    """The small cellar with empty barrels."""
    return with_empty_barrels(book)


@pytest.fixture
def other(small_cellar: tuple[Path, Any], tmp_path: Path, clock: Any) -> Iterator[Book]:
    """The same cellar again."""
    made = Book.open(str(shutil.copy(small_cellar[0], tmp_path / "other.db")), now=clock)
    yield with_empty_barrels(made)
    made.close()


def shown(pilot: Any, selector: Any) -> str:
    return " ".join(str(pilot.app.screen.query_one(selector).render()).split())


def chosen(pilot: Any) -> list[str]:
    return list(pilot.app.screen._chosen)


def lines(pilot: Any) -> list[str]:
    listed = pilot.app.screen.query_one(VesselLines)
    return [listed.line(y, 70).plain.rstrip() for y in range(listed.line_count)]


async def test_eight_barrels_are_filled_from_a_tank_in_eleven_keys(
    opened: Any, press: Any, book: Book, other: Book
) -> None:
    """Found by a filter, filled in one form: the same as the command writes, under one mark."""
    keys = ["q", *"e-0", "enter", "f", *"T-01", "enter"]
    assert len(keys) == 11
    count = len(rows(book, 0))
    async with opened(page="racks") as pilot:
        await press(pilot, *keys[:5])
        assert "done to all 8" in shown(pilot, StatusLine)
        await press(pilot, *keys[5:-1])
        kept = (book.cellar()["T-01"].ml - 8 * 150_000) / 1000
        told = f"Enter writes fill 8 barrels, 1200.0 L from T-01, which keeps {kept:.1f} L"
        assert shown(pilot, "#announced") == told
        assert [line.split() for line in lines(pilot)] == [[tag, "150.0", "L"] for tag in NEW]
        await press(pilot, "enter")
        assert shown(pilot, StatusLine) == f"Written: {told.removeprefix('Enter writes ')}"
    wanted = Wanted("fill", {"vessel": "E-01..E-08", "from": "T-01", "hand": "Ada"})
    cellar = other.cellar()
    write_several(other, meant_by(wanted, cellar, Ground(other, cellar)))
    assert rows(book, count) == rows(other, count)
    assert levels(book) == levels(other)


async def test_marks_are_drawn_counted_and_taken_away(opened: Any, press: Any) -> None:
    """A star before the tag; Space again takes it away, Escape all of them; a filter leaves them."""
    async with opened(page="racks") as pilot:
        await press(pilot, "B-001", "escape")
        screen = pilot.app.screen
        screen.query_one(RackMap).go_to("E-02")
        await press(pilot, " ", "right", " ", "right", " ", " ")
        assert chosen(pilot) == ["E-02", "E-03"]
        assert shown(pilot, "#count").startswith("2 marked (*)")
        drawn = "\n".join(
            screen.query_one(RackMap).line(y, 80).plain for y in range(screen.query_one(RackMap).line_count)
        )
        assert "*E-02" in drawn
        assert "*E-04" not in drawn
        await press(pilot, "escape")
        assert chosen(pilot) == []
        assert pilot.app.current_mode == "racks"


async def test_marked_ones_are_done_and_the_marks_are_gone(opened: Any, press: Any, newest: Any) -> None:
    """Without marks the same key is about the vessel under the cursor."""
    async with opened(page="racks") as pilot:
        screen = pilot.app.screen
        screen.query_one(RackMap).go_to("B-003")
        await press(pilot, "s")
        assert type(pilot.app.screen) is ActForm
        await press(pilot, "escape", " ")
        screen.query_one(RackMap).go_to("B-001")
        await press(pilot, " ", "s", "50 ml", "enter")
        assert chosen(pilot) == []
        assert shown(pilot, StatusLine).startswith("Written: sample B-003, B-001")
    assert [(entry.kind, entry.vessel) for entry in newest(2)] == [("sample", "B-001"), ("sample", "B-003")]


async def test_a_figure_is_typed_for_one_and_another_is_left_out(opened: Any, press: Any, newest: Any) -> None:
    """In its line; the sum follows while it is typed, and only those that are left are written."""
    async with opened(page="racks") as pilot:
        await press(pilot, "q", "e-0", "enter", "f", "T-01")
        await press(pilot, "tab", "tab", "tab", "tab", "tab")
        assert isinstance(pilot.app.focused, VesselLines)
        await press(pilot, "down", *"90", "down", "-", "down", *"12x", "backspace", "backspace", "backspace")
        assert lines(pilot)[1].split() == ["E-02", "90", "typed"]
        assert lines(pilot)[2].split() == ["-", "E-03", "left", "out"]
        assert lines(pilot)[3].split()[:2] == ["E-04", "150.0"]
        assert "fill 7 barrels, 990.0 L from T-01" in shown(pilot, "#announced")
        await press(pilot, "enter")
    assert {entry.vessel for entry in newest(7)} == {*NEW} - {"E-03"}
    assert {m.ml for entry in newest(7) if entry.vessel == "E-02" for m in entry.moves} == {90_000}


async def test_what_is_refused_is_named_at_its_line_and_nothing_is_written(opened: Any, press: Any, book: Book) -> None:
    """What was typed stays; corrected, it is written."""
    before = states(book)
    async with opened(page="racks") as pilot:
        await press(pilot, "q", "e-0", "enter", "f", "T-01", *["tab"] * 5, "down", *"160", "enter")
        assert isinstance(pilot.app.screen, SeveralForm)
        assert lines(pilot)[1].startswith("▲ E-02")
        assert shown(pilot, StatusLine).startswith("Nothing is written. ")
        assert "E-02" in shown(pilot, StatusLine)
        assert states(book) == before
        await press(pilot, *["backspace"] * 3, *"16", "enter")
        assert getattr(pilot.app.screen, "NAME", "") == "racks"
    assert book.cellar()["E-02"].ml == 16_000


async def test_questions_come_at_once_and_one_plus_answers_them(opened: Any, press: Any, newest: Any) -> None:
    """Toppings that no one measured are asked back; no leaves all of it in the form."""
    async with opened(page="racks") as pilot:
        screen = pilot.app.screen
        for tag in ("B-001", "B-002"):
            screen.query_one(RackMap).go_to(tag)
            await press(pilot, " ")
        await press(pilot, "t")
        assert "Asks:" in shown(pilot, "#announced")
        await press(pilot, "enter")
        assert isinstance(pilot.app.screen, Confirm)
        await press(pilot, "-")
        assert isinstance(pilot.app.screen, SeveralForm)
        await press(pilot, "enter", "+")
        assert pilot.app.screen is screen
    assert [(entry.kind, entry.vessel) for entry in newest(2)] == [("top", "B-002"), ("top", "B-001")]


@pytest.mark.parametrize(("keys", "struck"), [(("t", "enter"), 1), (("enter",), 8)])
async def test_one_of_eight_is_struck_or_all(
    opened: Any, press: Any, book: Book, newest: Callable[..., list[Entry]], keys: tuple[str, ...], struck: int
) -> None:
    """Ctrl+Z asks which; struck as one, everything is as it was."""
    before = states(book)
    async with opened(page="racks") as pilot:
        await press(pilot, "q", "e-0", "enter", "f", "T-01", "enter", "ctrl+z")
        assert isinstance(pilot.app.screen, Pick)
        await press(pilot, *keys)
        assert shown(pilot, StatusLine).startswith("Struck: fill E-08")
    assert [entry.kind for entry in newest(struck)] == ["strike"] * struck
    assert (states(book) == before) is (struck == 8)
    assert book.cellar()["E-08"].ml == 0


async def test_what_cannot_be_done_to_some_is_done_to_the_others(opened: Any, press: Any) -> None:
    """The title says who is not among them; what can be done to none is not offered."""
    async with opened(page="racks") as pilot:
        screen = pilot.app.screen
        for tag in ("E-01", "B-001", "E-02"):
            screen.query_one(RackMap).go_to(tag)
            await press(pilot, " ")
        assert shown(pilot, StatusLine).startswith("3 marked: what is done now is done to all of them")
        await press(pilot, "f")
        assert shown(pilot, "#announced") == "from: still needed"
        assert shown(pilot, ".title") == "Fill: E-01, E-02; not B-001"
        await press(pilot, "escape", "escape", "q", "e-0", "enter", "t")
        assert pilot.app.screen is screen
        assert "t top" not in shown(pilot, KeyBar)


async def test_all_that_are_marked_are_lifted(opened: Any, press: Any) -> None:
    """In the order in which they were marked."""
    async with opened(page="racks") as pilot:
        for tag in ("E-02", "E-01"):
            pilot.app.screen.query_one(RackMap).go_to(tag)
            await press(pilot, " ")
        await press(pilot, "m")
        assert "Enter moves E-02" in shown(pilot, "#under-cursor")
        assert "then E-01" in shown(pilot, "#under-cursor")
        assert chosen(pilot) == []


@pytest.mark.parametrize("size", [(60, 20), (140, 40)])
async def test_the_form_stays_whole_at_other_sizes(opened: Any, press: Any, size: Any) -> None:
    """The line under the cursor, the announcement and the keys are in view."""
    async with opened(page="racks", size=size) as pilot:
        await press(pilot, "q", "e-0", "enter", "f", "T-01")
        screen = pilot.app.screen
        for selector in (VesselLines, "#announced", KeyBar):
            region = screen.query_one(selector).region
            assert region.height >= 1
            assert region.bottom <= size[1]
        assert screen.query_one(VesselLines).region.height >= 3

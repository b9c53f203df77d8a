"""The screen of bottling runs: risks passed with reasons, a line that writes, closing, and nothing lost on the way."""

from typing import Any

import pytest

from cooperage.book import Book
from cooperage.book.bottles import bottle_stock
from cooperage.book.declared import acts
from cooperage.programme.bottling.opening import open_run
from cooperage.programme.bottling.run import BottlingRun, RunLineKind
from cooperage.programme.bottling.stored import runs_in
from cooperage.programme.bottling.writing import write_line
from cooperage.programme.bottling_risks.passed import risks_passed
from cooperage.programme.bottling_risks.risks import risks
from cooperage.tui.bottling.close_form import CloseForm
from cooperage.tui.bottling.open_form import OpenForm
from cooperage.tui.bottling.risks_sheet import RisksSheet
from cooperage.tui.bottling.run_sheet import RunSheet
from cooperage.tui.shared.bars import StatusLine
from cooperage.tui.shared.dialogs import Confirm
from cooperage.tui.shared.line_list import LineList
from cooperage.tui.shared.wrapped import Wrapped


def runs(book: Book) -> list[BottlingRun]:
    with book.reading() as connection:
        return runs_in(connection)


def put(pilot: Any, words: str) -> None:
    """Put words in at the cursor, as if they had been typed."""
    pilot.app.focused.insert_text_at_cursor(words)


async def typed(pilot: Any, press: Any, *wanted: str) -> None:
    """Press keys; what has a name of its own is a key, everything else is put in at once."""
    for each in wanted:
        if each in ("enter", "tab", "up", "down", "escape", "ctrl+s", "n"):
            await press(pilot, each)
        else:
            put(pilot, each)
            await pilot.pause()


def text(pilot: Any) -> str:
    return str(pilot.app.screen.query_one(Wrapped).plain)


def status(pilot: Any) -> str:
    return str(pilot.app.screen.query_one(StatusLine).render())


def stock(book: Book) -> dict[tuple[str, str], int]:
    with book.reading() as connection:
        return {(each.code, each.place): each.bottles for each in bottle_stock(connection) if each.bottles > 0}


def opened_run(book: Book, *tags: str, code: str = "SALT", sizes: dict[int, int | None] | None = None) -> BottlingRun:
    found = risks(book, tags, sizes or {750: None})
    reasons = {each.name: "settled at the line" for each in found}
    return open_run(book, code, tags, sizes or {750: None}, found, reasons)


async def test_a_plain_bottling_takes_ten_keys_beside_what_is_typed(opened: Any, press: Any, book: Book) -> None:
    """From the lots to bottles in the book: the trouble is passed with a reason, one count, and the run is closed."""
    keys = 0
    async with opened(page="today") as pilot:
        for each in ("f8", "o", "n", "SALT-26", "tab", "T-01", "enter", "sterile filtered", "enter", "enter", "100x12"):
            await press(pilot, each)
            keys += each in ("f8", "o", "n", "tab", "enter")
        assert status(pilot).startswith("Enter writes  1200 bottles of 750 mL filled, 1200 in all")
        await press(pilot, "enter", "ctrl+s", "enter")
        assert "of 1457.5 L: 900.0 L filled, 557.5 L left where it was" in text(pilot)
    assert keys + len(("enter", "ctrl+s", "enter")) == 10
    [run] = runs(book)
    assert (run.is_open, run.hand, stock(book)) == (False, "Ada", {("SALT-26", ""): 1200})
    with book.reading() as connection:
        [passed] = risks_passed(connection)
    assert passed.reasons == {"living yeast": "sterile filtered"}


async def test_a_blend_with_living_yeast_from_a_spirit_barrel_shows_its_troubles(
    opened: Any, press: Any, book: Book
) -> None:
    """As the command does: glass under pressure, what settles it, and the strength that must be measured."""
    book.write(acts.Fill(vessel="B-012", source="T-01", volume=200_000))
    async with opened(page="bottling") as pilot:
        await typed(pilot, press, "n", "DARK-27", "tab", "B-001, B-012", "enter")
        assert isinstance(pilot.app.screen, RisksSheet)
        assert "glass can burst" in text(pilot)
        assert "Caution: Sugar, living yeast and a closed bottle make pressure" in text(pilot)
        assert "This list cannot call a bottling safe." in text(pilot)
        assert "2 troubles stand: living yeast, strength" in status(pilot)
        await typed(pilot, press, "down")
        assert "B-012" in text(pilot)
        assert "it must be measured, not calculated" in text(pilot)
        assert "Caution: Sugar" in text(pilot)
        await typed(pilot, press, "enter")
        assert isinstance(pilot.app.screen, RisksSheet)
    assert runs(book) == []


async def test_reasons_are_there_again_after_the_program_was_killed(opened: Any, press: Any, book: Book) -> None:
    """What was typed for the run, the reasons, and the half-typed one; a reason is taken back by emptying its line."""
    book.write(acts.Fill(vessel="B-012", source="T-01", volume=200_000))
    async with opened(page="bottling") as pilot:
        await typed(pilot, press, "n", "DARK-27", "tab", "B-012", "enter", "filtered", "enter", "lab")
        await pilot.pause(0.3)
    async with opened(page="bottling") as pilot:
        await typed(pilot, press, "n")
        assert isinstance(pilot.app.screen, OpenForm)
        assert pilot.app.screen.texts["code"] == "DARK-27"
        await typed(pilot, press, "enter")
        sheet = pilot.app.screen
        assert isinstance(sheet, RisksSheet)
        assert (sheet.risk.name, sheet._line.value) == ("strength", "lab")
        line = str(sheet.query_one(LineList).line(0, 80))
        assert "living yeast" in line
        assert "passed: filtered" in line
        pilot.app.focused.value = ""
        await press(pilot, "up")
        pilot.app.focused.value = ""
        await press(pilot, "enter")
        assert "2 troubles stand" in status(pilot)
        await typed(pilot, press, "cold", "enter", "measured today", "enter", "enter")
        assert isinstance(pilot.app.screen, RunSheet)
    async with opened(page="bottling") as pilot:
        await typed(pilot, press, "n")
        assert pilot.app.screen.texts["code"] == ""
    with book.reading() as connection:
        assert risks_passed(connection)[0].reasons == {"living yeast": "cold", "strength": "measured today"}


async def test_what_became_a_trouble_meanwhile_is_shown_before_the_run_opens(
    opened: Any, press: Any, book: Book
) -> None:
    async with opened(page="bottling") as pilot:
        await typed(pilot, press, "n", "SALT", "tab", "K-01", "tab", "750ml=50", "enter", "filtered", "enter")
        book.write(acts.Sample(vessel="K-01", volume=9_000, sure=True))
        await typed(pilot, press, "enter")
        assert isinstance(pilot.app.screen, RisksSheet)
        assert "1 trouble stands: volume" in status(pilot)
    assert runs(book) == []


async def test_a_line_is_announced_written_and_half_typed_it_stays(opened: Any, press: Any, book: Book) -> None:
    """Each is in the book at once; a wrong word is refused before Enter, and stays in the line."""
    opened_run(book, "T-01")
    async with opened(page="bottling") as pilot:
        await typed(pilot, press, "enter", "4x12; reject 2")
        assert "48 bottles of 750 mL filled, 48 in all · 2 bottles of 750 mL rejected, 2 in all" in status(pilot)
        await typed(pilot, press, "enter", "check 1270 1269 tare 512", "enter")
        assert "fill of 750 mL: 2 bottles checked" in text(pilot)
        await typed(pilot, press, "rejct 3", "enter")
        assert "did you mean reject" in status(pilot)
        assert pilot.app.screen._line.value == "rejct 3"
        await pilot.pause(0.3)
    assert [line.kind.value for line in runs(book)[0].lines] == ["filled", "rejects", "fill check"]
    async with opened(page="bottling") as pilot:
        await typed(pilot, press, "enter")
        assert pilot.app.screen._line.value == "rejct 3"
        await typed(pilot, press, "ctrl+s")
        assert not isinstance(pilot.app.screen, CloseForm)
        await typed(pilot, press, "escape", "strike 2 miscounted", "enter")
        assert "rejected" not in text(pilot).partition("Lines")[0].partition("SALT:")[2]
        await typed(pilot, press, "escape")
        assert pilot.app.screen.NAME == "bottling"
    assert runs(book)[0].is_open


async def test_closing_shows_what_it_comes_to_and_puts_bottles_by_of_every_size(
    opened: Any, press: Any, book: Book
) -> None:
    opened_run(book, "K-01", sizes={750: None, 375: 24})
    write_line(book, "", RunLineKind.FILLED, bottles=40, bottle_ml=750)
    write_line(book, "", RunLineKind.FILLED, bottles=24, bottle_ml=375)
    async with opened(page="bottling") as pilot:
        await typed(pilot, press, "ctrl+s")
        form = pilot.app.screen
        assert isinstance(form, CloseForm)
        await typed(pilot, press, "99", "enter")
        assert "too much" in status(pilot)
        await press(pilot, *["backspace"] * 2, "1", "tab", "6", "tab", "library")
        said = str(form.query_one("#announced").render())
        assert "of 45.0 L: 39.0 L filled, 1.0 L left in the line, 5.0 L left where it was" in said
        assert "6 bottles of 750 mL, 6 bottles of 375 mL put by in library" in said
        assert "Caution: " in said
        assert "a closed bottle can burst and cut" in said
        await typed(pilot, press, "enter")
        if isinstance(pilot.app.screen, Confirm):
            await typed(pilot, press, "+")
        assert "What remained: 5.0 L in K-01" in text(pilot)
        assert "SALT-750: 34 not stowed, 6 in library" in text(pilot)
        bottled = stock(book)
        await press(pilot, "x")
        assert "strikes the 4 entries that closed it" in str(pilot.app.screen.query_one("#question").render())
        await press(pilot, "+")
        assert "SALT is open again." in status(pilot)
    assert runs(book)[0].is_open
    assert stock(book) == {}
    assert bottled == {
        ("SALT-750", ""): 34, ("SALT-750", "library"): 6, ("SALT-375", ""): 18, ("SALT-375", "library"): 6,
    }  # fmt: skip


async def test_an_open_run_stands_on_the_first_page(opened: Any, book: Book) -> None:
    opened_run(book, "T-01")
    async with opened(page="today", size=(140, 40)) as pilot:
        strips = pilot.app.screen._compositor.render_strips()
        assert any("Run    SALT is open" in "".join(segment.text for segment in strip) for strip in strips)


@pytest.mark.parametrize("size", [(80, 24), (140, 40)])
async def test_every_line_of_the_sheets_fits(opened: Any, press: Any, book: Book, size: Any) -> None:
    """The line, the keys and what Enter does are there at both sizes."""
    async with opened(page="bottling", size=size) as pilot:
        await typed(pilot, press, "n", "SALT", "tab", "T-01", "enter")
        strips = pilot.app.screen._compositor.render_strips()
        rows = ["".join(segment.text for segment in strip) for strip in strips]
        assert "living yeast ›" in rows[-2]
        assert "Enter take" in rows[-1]
        assert any("Your practice and law decide." in row for row in rows)


@pytest.mark.parametrize(("figures", "is_wrong"), [("check 1150 1149 tare 512", True), ("check 750 750.4 ml", False)])
async def test_a_fill_that_is_wrong_has_the_mark_of_trouble_in_the_list_too(
    opened: Any, press: Any, book: Book, figures: str, is_wrong: bool
) -> None:
    """Some 640 mL where a bottle holds at least 735 by the rules; a sound fill has no mark, and its run is open."""
    opened_run(book, "T-01")
    async with opened(page="bottling", size=(60, 20)) as pilot:
        await typed(pilot, press, "enter", figures, "enter")
        on_sheet = text(pilot)
        await typed(pilot, press, "escape")
        line = pilot.app.screen.query_one("#runs", LineList).line(0, 58).plain
        assert ("▲" in on_sheet, "▲" in text(pilot)) == (is_wrong, is_wrong)
    assert line.startswith("▲ SALT" if is_wrong else "○ SALT")
    assert len(line) <= 58


async def test_the_caution_is_read_whole_on_a_small_screen(opened: Any, press: Any, book: Book) -> None:
    """Without scrolling, whatever else there is to read of the risk."""
    async with opened(page="bottling", size=(60, 20)) as pilot:
        await typed(pilot, press, "n", "SALT", "tab", "T-01", "tab", "750ml", "enter")
        assert isinstance(pilot.app.screen, RisksSheet)
        about = pilot.app.screen.query_one("#risk", Wrapped)
        seen = " ".join(about.line(y, 58).plain for y in range(min(about.size.height, about.line_count)))
    assert "Caution: " in seen
    assert "do not close the bottle." in seen

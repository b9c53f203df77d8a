"""A whole walk by keyboard: struck and resumed, left and ended, walked on paper, beside other hands."""

import re
from collections.abc import Callable
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest
from textual.events import Key
from textual.widgets import Static

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.log import Entry
from cooperage.programme.walk.progress import mark, open_walk
from cooperage.tui.rounds.walk_end import WalkEnd
from cooperage.tui.shared.bars import KeyBar
from cooperage.tui.shared.line_list import LineList
from tests.tui.rounds.on_rounds import here, line, said, shown

if TYPE_CHECKING:
    from tests.tui.conftest import Clock


@pytest.mark.slow
async def test_strike_takes_the_last_entry_back_and_the_stop_with_it(
    opened: Any, press: Any, newest: Callable[..., list[Entry]], book: Book
) -> None:
    """Ctrl+Z shows the entry, + strikes it, and the barrel is to be topped again."""
    litres = book.cellar()["B-001"].ml
    async with opened() as pilot:
        await press(pilot, "1.5", "enter")
        topped = newest()[0]
        await press(pilot, "ctrl+z")
        assert "top B-001" in shown(pilot, "#question")
        await press(pilot, "+")
        assert here(pilot) == "B-001"
        assert "Struck: top B-001" in said(pilot)
        assert "11 of 11 stops to do" in shown(pilot, "#walk")
    assert (newest()[0].kind, newest()[0].strikes) == ("strike", topped.id)
    assert book.cellar()["B-001"].ml == litres


async def test_what_is_struck_elsewhere_is_no_longer_told_as_written(
    opened: Any, press: Any, newest: Callable[..., list[Entry]], book: Book
) -> None:
    """Struck on another page or on another laptop, the topping is not the last message of the rounds."""
    async with opened() as pilot:
        await press(pilot, "1.5", "enter")
        assert "Written " in said(pilot)
        book.write(acts.Strike(entry=newest()[0].id))
        pilot.app.desk.look_up()
        await press(pilot)
        assert "Written" not in said(pilot)


@pytest.mark.slow
async def test_after_a_strike_the_stop_is_up_again(
    opened: Any, press: Any, newest: Callable[..., list[Entry]], clock: "Clock"
) -> None:
    """With all its tasks: a number typed again is a topping, not milligrams of SO2."""
    clock.at += timedelta(days=60)
    async with opened() as pilot:
        await press(pilot, "1.5", "enter")
        assert "Still to do here: SO2, taste" in said(pilot)
        await press(pilot, "ctrl+z", "+")
        assert here(pilot) == "B-001"
        await press(pilot, "1.6", "enter")
    written = newest()[0]
    assert (written.kind, written.vessel) == ("top", "B-001")


@pytest.mark.slow
async def test_a_walk_is_resumed_where_it_was_left(opened: Any, press: Any, book: Book) -> None:
    """Done, skipped and out of reach are remembered by the book; the next start begins at the first one left."""
    async with opened() as pilot:
        await press(pilot, "1.5", "enter", "-", "*")
        assert here(pilot) == "B-004"
    async with opened() as pilot:
        assert here(pilot) == "B-004"
        assert "8 of 11 stops to do · 1 done · 1 skipped · 1 out of reach" in shown(pilot, "#walk")
        stops = pilot.app.screen.query_one("#stops", LineList)
        assert stops.line(0, 78).plain.startswith("✓ North 1.1.1  B-001  1.5 L")
        assert stops.line(1, 78).plain.rstrip().endswith("skipped")
    states = open_walk(book).states
    assert states["B-002", "top"] == "skipped"
    assert states["B-003", "top"] == "out of reach"


@pytest.mark.slow
async def test_out_of_reach_holds_for_the_vessel(opened: Any, press: Any, book: Book, clock: "Clock") -> None:
    """All its tasks: the barrel does not come again on this walk."""
    clock.at += timedelta(days=60)
    async with opened() as pilot:
        await press(pilot, "*")
        assert here(pilot) == "B-002"
    states = {task: state for (tag, task), state in open_walk(book).states.items() if tag == "B-001"}
    assert states == {"top": "out of reach", "sulphite": "out of reach", "taste": "out of reach"}


@pytest.mark.slow
async def test_the_end_of_a_walk_sums_it_up(opened: Any, press: Any, book: Book) -> None:
    """Litres by keg and what was not reached; + ends it and a new walk begins, - walks on."""
    async with opened() as pilot:
        first = open_walk(book).id
        await press(pilot, "1.5", "enter", "1.5", "enter", "-", "escape", "j")
        assert isinstance(pilot.app.screen, WalkEnd)
        result = str(pilot.app.screen.query_one("#summary Static", Static).render())
        assert "Toppings: 2. Stops done: 2." in result
        assert "K-02 3.0 L drawn" in " ".join(result.split())
        assert "Not reached: 8" in result
        assert "Skipped: 1" in result
        await press(pilot, "-")
        assert open_walk(book).id == first
        await press(pilot, "j", "+")
        assert "9 of 9 stops to do" in shown(pilot, "#walk")
    assert open_walk(book).id != first


@pytest.mark.slow
async def test_under_the_last_stop_the_walk_is_summed_up(opened: Any, press: Any) -> None:
    """When no stop is left; afterwards Enter on the empty line does it again."""
    async with opened() as pilot:
        await press(pilot, *["-"] * 11)
        assert isinstance(pilot.app.screen, WalkEnd)
        await press(pilot, "-", "enter")
        assert isinstance(pilot.app.screen, WalkEnd)


async def test_a_stop_drawn_late_is_of_the_walk_that_was_shown(opened: Any) -> None:
    """A walk may end between the list and its drawing; what is still on screen then is drawn all the same."""
    async with opened() as pilot:
        stops = pilot.app.screen.query_one("#stops", LineList)
        draw = stops._draw
        pilot.app.screen._begin_next_walk(None)
        assert "B-001" in draw(0, 80).plain


async def test_the_key_bar_is_true_while_a_number_is_typed(opened: Any, press: Any) -> None:
    """Signs are keys only while the line is empty, and the bar says so."""
    async with opened() as pilot:
        assert "+ in order" in shown(pilot, KeyBar)
        await press(pilot, "1")
        assert "+ in order" not in shown(pilot, KeyBar)
        assert "Enter write" in shown(pilot, KeyBar)
        assert "Esc clear" in shown(pilot, KeyBar)
        await press(pilot, "backspace")
        assert "+ in order" in shown(pilot, KeyBar)
        assert "Esc list" in shown(pilot, KeyBar)


@pytest.mark.slow
async def test_what_is_left_is_left_open_by_enter_and_skipped_by_a_key(
    opened: Any, press: Any, book: Book, clock: "Clock"
) -> None:
    """After a topping the walk stays for the rest; Enter alone goes on, and the vessel comes up again at the end."""
    clock.at += timedelta(days=60)
    async with opened() as pilot:
        await press(pilot, "enter")
        assert here(pilot) == "B-001"
        assert "Type what was done at B-001 first" in said(pilot)
        await press(pilot, "2", "enter", "ctrl+j")
        assert here(pilot) == "B-002"
        await press(pilot, "2", "enter", "-")
        assert here(pilot) == "B-003"
    states = open_walk(book).states
    assert {task: state for (tag, task), state in states.items() if tag == "B-001"} == {"top": "done"}
    left = {task: state for (tag, task), state in states.items() if tag == "B-002"}
    assert left == {"top": "done", "sulphite": "skipped", "taste": "skipped"}


@pytest.mark.slow
async def test_a_sample_pulled_at_a_tasting_does_it(
    opened: Any, press: Any, newest: Callable[..., list[Entry]], book: Book, clock: "Clock"
) -> None:
    """A form that does what the stop is for goes on to the next stop; another one does not."""
    clock.at += timedelta(days=60)
    async with opened() as pilot:
        await press(pilot, "2; so2 24", "enter")
        assert "Still to do here: taste" in said(pilot)
        await press(pilot, "escape", "d", "4", "enter")
        assert newest()[0].kind == "gauge"
        assert here(pilot) == "B-001"
        await press(pilot, "s", "30 ml", "enter")
        assert here(pilot) == "B-002"
    assert open_walk(book).states["B-001", "taste"] == "done"


async def test_all_in_order_leaves_the_level_alone_and_goes_on(
    opened: Any, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """`+` at a topping writes that it was inspected, as the answer said; no litres move."""
    async with opened() as pilot:
        assert "+ writes inspected" in said(pilot)
        await press(pilot, "+")
        assert here(pilot) == "B-002"
        assert "10 of 11" in shown(pilot, "#walk")
    assert (newest()[0].kind, newest()[0].said["treatment"], newest()[0].moves) == ("treat", "inspect", [])


@pytest.mark.slow
async def test_keys_typed_faster_than_the_book_writes_are_not_mixed_up(
    opened: Any, newest: Callable[..., list[Entry]], book: Book, press: Any
) -> None:
    """A topping, a skip and two toppings in one burst: each at its own barrel, in the order typed."""
    async with opened() as pilot:
        for key in (*"15", "backspace", "full_stop", "5", "enter", "minus", "1", "enter", *"14", "enter"):
            character = {"full_stop": ".", "minus": "-"}.get(key, key if len(key) == 1 else None)
            pilot.app.post_message(Key(key, character))
        await press(pilot)
        assert "14.0 L is a lot" in said(pilot)
    written = [(e.vessel, sum(m.ml for m in e.moves if m.destination == e.vessel)) for e in reversed(newest(2))]
    assert written == [("B-001", 1500), ("B-003", 1000)]
    assert open_walk(book).states["B-002", "top"] == "skipped"


@pytest.mark.slow
async def test_one_part_of_the_walk_is_shown(opened: Any, press: Any) -> None:
    """`q` in the list: a room or a task; a scan of a stop outside it shows all again."""
    async with opened() as pilot:
        await press(pilot, "escape", "q", "South", "enter")
        assert here(pilot) == "B-009"
        assert "only South" in shown(pilot, "#walk")
        await press(pilot, "enter", "B-002", "enter")
        assert here(pilot) == "B-002"
        assert "only" not in shown(pilot, "#walk")


@pytest.mark.slow
async def test_the_paper_sheet_is_saved(
    opened: Any, press: Any, tmp_path: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """`h` in the list proposes a name for the day; what is there is not replaced without a yes."""
    monkeypatch.chdir(tmp_path)
    async with opened() as pilot:
        await press(pilot, "escape", "h", "enter")
        assert "Saved " in said(pilot)
        (sheet,) = tmp_path.glob("rounds-*.txt")
        assert "B-001" in sheet.read_text(encoding="utf-8")
        sheet.write_text("mine", encoding="utf-8")
        await press(pilot, "h", "enter", "-")
        assert sheet.read_text(encoding="utf-8") == "mine"
        await press(pilot, "h", "enter", "+")
        assert "B-001" in sheet.read_text(encoding="utf-8")


@pytest.mark.slow
async def test_a_sheet_is_entered_stop_by_stop_at_the_time_it_was_walked(
    opened: Any, press: Any, newest: Callable[..., list[Entry]], book: Book
) -> None:
    """`o` asks when; toppings then bear that time, and at the end today's walk is taken up again."""
    async with opened() as pilot:
        await press(pilot, "escape", "o", "soon", "enter")
        assert "is not a date or time" in shown(pilot, "#refusal")
        await press(pilot, *["backspace"] * 4, "3 days ago", "enter")
        assert shown(pilot, "#walk").startswith("Sheet walked 30 Sep 12:00: ")
        await press(pilot, "1.5", "enter", "B-002", "enter", "1.4 loose, so2 20, tasted", "enter")
        assert "1 done" in shown(pilot, "#walk")
        await press(pilot, "escape", "j", "+")
        assert re.search(r" since [0-2][0-9]:[0-5][0-9]$", shown(pilot, "#walk"))
        assert here(pilot) == "B-003"
    written = newest(5)
    assert [entry.kind for entry in written] == ["top", "treat", "reading", "look", "top"]
    assert {f"{entry.happened_at:%Y-%m-%d}" for entry in written} == {"2026-09-30"}
    assert open_walk(book).walked_at is None


# --- who, and others ------------------------------------------------------------------------------------------------


@pytest.mark.slow
async def test_who_is_at_work_is_asked_once_when_a_walk_begins(
    book: Book, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """Where the settings name no hand; what is written then is signed."""
    from cooperage.settings import Settings
    from cooperage.tui.app import CooperageApp
    from cooperage.tui.shared.dialogs import Pick

    app = CooperageApp(book, Settings())
    async with app.run_test(size=(80, 24)) as pilot:
        await app.switch_mode("rounds")
        await press(pilot)
        await press(pilot)
        assert isinstance(app.screen, Pick)
        await press(pilot, "Ada", "enter", "1.5", "enter")
        assert shown(pilot, "#top-bar").endswith("Ada")
        assert here(pilot) == "B-002"
    assert newest()[0].hand == "Ada"


@pytest.mark.slow
async def test_what_another_laptop_writes_is_seen(
    opened: Any, press: Any, book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Somebody else tops B-001 and skips B-002 on the same walk: the stops say so without a key being pressed."""
    monkeypatch.setattr("cooperage.tui.app.LOOK_UP_S", 0.1)
    async with opened() as pilot:
        assert here(pilot) == "B-001"
        other = Book.open(book.name, book.now)
        other.write(acts.Top(vessel="B-001", volume=1500, source="K-01"))
        walk = open_walk(other)
        mark(other, walk, ("B-001", "top"), "done")
        mark(other, walk, ("B-002", "top"), "skipped")
        for _ in range(300):
            await pilot.pause(0.1)
            if "1 done" in shown(pilot, "#walk"):
                break
        assert "1 done · 1 skipped" in shown(pilot, "#walk")
        other.close()


@pytest.mark.slow
async def test_what_was_typed_for_a_barrel_topped_elsewhere_stays_with_it(
    opened: Any, press: Any, newest: Callable[..., list[Entry]], book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The stop is done from under the hand: one line says so, the figure is still that barrel's and no other's."""
    monkeypatch.setattr("cooperage.tui.app.LOOK_UP_S", 0.1)
    async with opened() as pilot:
        await press(pilot, "1.5")
        other = Book.open(book.name, book.now)
        written = other.write(acts.Top(vessel="B-001", volume=1500, source="K-01"))
        for _ in range(300):
            await pilot.pause(0.1)
            if "no longer due" in said(pilot):
                break
        assert "B-001 is no longer due" in said(pilot)
        assert (here(pilot), line(pilot).value) == ("B-001", "1.5")
        await press(pilot, "escape", "down")
        assert here(pilot) == "B-002"
        other.close()
    assert newest()[0].id == written.id

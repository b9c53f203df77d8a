"""Walking the rounds by keyboard at 80 by 24; every story also says what the book holds afterwards."""

from collections.abc import Callable
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest
from textual.events import Key
from textual.pilot import Pilot
from textual.widgets import Static

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.log import Entry
from cooperage.programme.walk.progress import mark, open_walk
from cooperage.tui.rounds.answer_box import AnswerBox
from cooperage.tui.rounds.walk_end import WalkEnd
from cooperage.tui.shared.bars import KeyBar, StatusLine
from cooperage.tui.shared.dialogs import Confirm
from cooperage.tui.shared.line_list import LineList

if TYPE_CHECKING:
    from tests.tui.conftest import Clock


def shown(pilot: Pilot[Any], selector: Any) -> str:
    return str(pilot.app.screen.query_one(selector).render())


def box(pilot: Pilot[Any]) -> AnswerBox:
    return pilot.app.screen.query_one(AnswerBox)


@pytest.mark.slow
async def test_ten_toppings_take_the_number_and_enter_each(
    opened: Any, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """After each Enter the next due barrel is up, its box empty and focused."""
    async with opened() as pilot:
        for nth in range(1, 11):
            assert f"B-{nth:03}" in shown(pilot, "#asked")
            await press(pilot, "1.5", "enter")
            assert box(pilot).value == ""
            assert box(pilot).has_focus
        assert "B-011" in shown(pilot, "#asked")
    written = newest(10)
    assert [entry.vessel for entry in reversed(written)] == [f"B-{nth:03}" for nth in range(1, 11)]
    assert {entry.kind for entry in written} == {"top"}
    assert all(entry.hand == "Ada" for entry in written)
    assert all(sum(m.ml for m in entry.moves if m.destination == entry.vessel) == 1500 for entry in written)


@pytest.mark.slow
async def test_a_scanned_tag_in_the_litres_box_goes_to_that_stop(
    opened: Any, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """A tag is never mistaken for litres, and nothing is written."""
    before = newest()[0].id
    async with opened() as pilot:
        await press(pilot, "B-007", "enter")
        assert "B-007" in shown(pilot, "#asked")
        assert box(pilot).value == ""
    assert newest()[0].id == before


@pytest.mark.slow
async def test_a_refused_topping_keeps_what_was_typed(
    opened: Any, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """K-02 held 6 litres: 1.7 cannot come out of the 1.6 that are left. The words say so, the text stays."""
    async with opened() as pilot:
        await press(pilot, "2.2", "enter", "2.2", "enter")
        before = newest()[0].id
        await press(pilot, "1.7", "enter")
        assert box(pilot).value == "1.7"
        assert box(pilot).has_focus
        assert "Refused: K-02 holds 1.6 L; 1.7 L cannot come out of it" in shown(pilot, StatusLine)
    assert newest()[0].id == before


@pytest.mark.slow
async def test_what_is_no_volume_stays_to_be_put_right(
    opened: Any, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """A slip of the finger is told in one line and costs one key to correct."""
    before = newest()[0].id
    async with opened() as pilot:
        await press(pilot, "1..5", "enter")
        assert box(pilot).value == "1..5"
        assert "Not understood: volume: '1..5' is not a volume" in shown(pilot, StatusLine)
    assert newest()[0].id == before


@pytest.mark.slow
async def test_another_keg_is_taken_for_the_rest_of_the_walk(
    opened: Any, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """`k` lists what there is to top from; what is chosen instead of a keg stays chosen."""
    async with opened() as pilot:
        await press(pilot, "k", "up", "enter")
        assert "from K-01 (45.0 L of M-26)" in shown(pilot, "#source")
        await press(pilot, "1.5", "enter", "1.4", "enter")
    assert [m.source for entry in newest(2) for m in entry.moves if m.destination == entry.vessel] == ["K-01", "K-01"]


@pytest.mark.slow
async def test_a_topping_asked_back_is_written_after_yes(
    opened: Any, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """A great deal for one topping is a question; no leaves the box as it was, yes writes it."""
    before = newest()[0].id
    async with opened() as pilot:
        await press(pilot, "5.5", "enter")
        assert isinstance(pilot.app.screen, Confirm)
        assert "5.5 L is a lot for one topping of B-001" in shown(pilot, "#question")
        await press(pilot, "-")
        assert box(pilot).value == "5.5"
        assert newest()[0].id == before
        await press(pilot, "enter", "+")
        assert "B-002" in shown(pilot, "#asked")
    written = newest()[0]
    assert (written.kind, written.vessel) == ("top", "B-001")
    assert sum(move.ml for move in written.moves if move.destination == "B-001") == 5500


@pytest.mark.slow
async def test_not_full_writes_no_evaporation(
    opened: Any, press: Any, newest: Callable[..., list[Entry]], book: Book
) -> None:
    """`n` before the litres says that they do not reach the bung: only the move from the keg is written."""
    async with opened() as pilot:
        await press(pilot, "d", "40", "enter")
        await press(pilot, "n")
        assert "NOT to the bung" in shown(pilot, "#source")
        await press(pilot, "1", "enter")
        assert "to the bung" in shown(pilot, "#source")
        assert "NOT" not in shown(pilot, "#source")
    written = newest()[0]
    assert [(move.destination, move.ml) for move in written.moves] == [("B-001", 1000)]


@pytest.mark.slow
async def test_a_dip_a_reading_and_a_sample_at_the_stop(
    opened: Any, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """One letter opens each form with the barrel filled in; the stop is still to be topped afterwards."""
    async with opened() as pilot:
        await press(pilot, "d", "20", "enter")
        dip = newest()[0]
        assert (dip.kind, dip.vessel, dip.said["headspace"]) == ("gauge", "B-001", 20.0)
        await press(pilot, "p", "50 ml", "enter")
        sample = newest()[0]
        assert (sample.kind, [(m.destination, m.ml) for m in sample.moves]) == ("sample", [("sample", 50)])
        await press(pilot, "r", "enter", "down", "enter")
        await press(pilot, "13.2", "enter")
        read = newest()[0]
        assert [(r.property, r.value) for r in read.readings] == [("abv", 13.2)]
        assert "B-001" in shown(pilot, "#asked")


@pytest.mark.slow
async def test_strike_takes_the_last_entry_back_and_the_stop_with_it(
    opened: Any, press: Any, newest: Callable[..., list[Entry]], book: Book
) -> None:
    """Ctrl+Z shows the entry, `y` strikes it, and the barrel is to be topped again."""
    litres = book.cellar()["B-001"].ml
    async with opened() as pilot:
        await press(pilot, "1.5", "enter")
        topped = newest()[0]
        await press(pilot, "ctrl+z")
        assert "top B-001" in shown(pilot, "#question")
        await press(pilot, "+")
        assert "B-001" in shown(pilot, "#asked")
        assert "Struck: top B-001" in shown(pilot, StatusLine)
        assert "11 of 11 stops to do" in shown(pilot, "#walk")
    assert (newest()[0].kind, newest()[0].strikes) == ("strike", topped.id)
    assert book.cellar()["B-001"].ml == litres


async def test_what_is_struck_elsewhere_is_no_longer_told_as_written(
    opened: Any, press: Any, newest: Callable[..., list[Entry]], book: Book
) -> None:
    """Struck on another page or on another laptop, the topping is not the last message of the rounds."""
    async with opened() as pilot:
        await press(pilot, "1.5", "enter")
        assert "Written: top B-001" in shown(pilot, StatusLine)
        book.write(acts.Strike(entry=newest()[0].id))
        pilot.app.desk.look_up()
        await press(pilot)
        assert "Written" not in shown(pilot, StatusLine)


@pytest.mark.slow
async def test_after_a_strike_the_stop_is_up_again(
    opened: Any, press: Any, newest: Callable[..., list[Entry]], clock: "Clock"
) -> None:
    """With all its tasks: a number typed again is a topping, not milligrams of SO2."""
    clock.at += timedelta(days=60)
    async with opened() as pilot:
        await press(pilot, "1.5", "enter")
        assert "B-001  SO2, taste" in shown(pilot, "#asked")
        await press(pilot, "ctrl+z", "+")
        assert "B-001  top, SO2, taste" in shown(pilot, "#asked")
        await press(pilot, "1.6", "enter")
    written = newest()[0]
    assert (written.kind, written.vessel) == ("top", "B-001")


@pytest.mark.slow
async def test_a_walk_is_resumed_where_it_was_left(opened: Any, press: Any, book: Book) -> None:
    """Done, skipped and out of reach are remembered by the book; the next start begins at the first one left."""
    async with opened() as pilot:
        await press(pilot, "1.5", "enter", "x", "u")
        assert "B-004" in shown(pilot, "#asked")
    async with opened() as pilot:
        assert "B-004" in shown(pilot, "#asked")
        assert "8 of 11 stops to do (1 done, 1 skipped, 1 out of reach)" in shown(pilot, "#walk")
    states = open_walk(book).states
    assert states["B-002", "top"] == "skipped"
    assert states["B-003", "top"] == "out of reach"


@pytest.mark.slow
async def test_the_end_of_a_walk_sums_it_up(opened: Any, press: Any, book: Book) -> None:
    """Litres by keg and what was not reached; `e` again ends it and a new walk begins."""
    async with opened() as pilot:
        first = open_walk(book).id
        await press(pilot, "1.5", "enter", "1.5", "enter", "x", "e")
        assert isinstance(pilot.app.screen, WalkEnd)
        result = str(pilot.app.screen.query_one("#summary Static", Static).render())
        assert "Toppings: 2. Stops done: 2." in result
        assert "K-02 3.0 L drawn" in " ".join(result.split())
        assert "Not reached: 8" in result
        assert "Skipped: 1" in result
        await press(pilot, "e")
        assert "9 of 9 stops to do" in shown(pilot, "#walk")
    assert open_walk(book).id != first


async def test_a_stop_drawn_late_is_of_the_walk_that_was_shown(opened: Any) -> None:
    """A walk may end between the list and its drawing; what is still on screen then is drawn all the same."""
    async with opened() as pilot:
        stops = pilot.app.screen.query_one("#stops", LineList)
        pilot.app.screen._begin_next_walk(None)
        stops.lines_changed()
        assert "B-001" in stops.line(0, 80).plain


async def test_the_key_bar_is_true_while_a_number_is_typed(opened: Any, press: Any) -> None:
    """Letters are keys only while the box is empty, and the bar says so."""
    async with opened() as pilot:
        assert "g all good" in shown(pilot, KeyBar)
        await press(pilot, "1")
        assert "g all good" not in shown(pilot, KeyBar)
        assert "Enter write" in shown(pilot, KeyBar)
        await press(pilot, "backspace")
        assert "g all good" in shown(pilot, KeyBar)


@pytest.mark.slow
async def test_other_tasks_are_answered_at_their_stop_too(
    opened: Any, press: Any, newest: Callable[..., list[Entry]], book: Book, clock: "Clock"
) -> None:
    """Sixty days on: a topping, free SO2 and a tasting, in one line or in several; what is left is named."""
    clock.at += timedelta(days=60)
    async with opened() as pilot:
        await press(pilot, "2", "enter")
        assert "B-001  SO2, taste" in shown(pilot, "#asked")
        await press(pilot, "w", "so2 24", "enter")
        read = newest()[0]
        assert [(r.vessel, r.property, r.value) for r in read.readings] == [("B-001", "free_so2_mg_l", 24.0)]
        assert "B-001  taste" in shown(pilot, "#asked")
        await press(pilot, "g")
        assert (newest()[0].kind, newest()[0].said["treatment"]) == ("treat", "taste")
        assert "B-002  top, taste" in shown(pilot, "#asked")
        await press(pilot, "2; so2 24 ph 3.41; weeping, smells of vinegar; taste clean", "enter")
        assert "B-003" in shown(pilot, "#asked")
    assert [entry.kind for entry in reversed(newest(5))] == ["look", "reading", "reading", "treat", "top"]


@pytest.mark.slow
async def test_what_is_left_is_left_open_by_enter_and_skipped_by_a_key(
    opened: Any, press: Any, book: Book, clock: "Clock"
) -> None:
    """After a topping the walk stays for the rest; Enter alone goes on, and the vessel comes up again at the end."""
    clock.at += timedelta(days=60)
    async with opened() as pilot:
        await press(pilot, "enter")
        assert "B-001" in shown(pilot, "#asked")
        await press(pilot, "2", "enter", "enter")
        assert "B-002" in shown(pilot, "#asked")
        await press(pilot, "2", "enter", "x")
        assert "B-003" in shown(pilot, "#asked")
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
        await press(pilot, "2", "enter", "w", "so2 24", "enter")
        assert "B-001  taste" in shown(pilot, "#asked")
        await press(pilot, "o", "cloudy", "enter")
        assert newest()[0].note == "cloudy"
        assert "B-001  taste" in shown(pilot, "#asked")
        await press(pilot, "p", "30 ml", "enter")
        assert "B-002" in shown(pilot, "#asked")
    assert open_walk(book).states["B-001", "taste"] == "done"


@pytest.mark.slow
async def test_an_unknown_tag_at_a_tasting_is_never_a_note(
    opened: Any, press: Any, newest: Callable[..., list[Entry]], book: Book, clock: "Clock"
) -> None:
    """A misread barcode is refused, and the stop is not done by it."""
    clock.at += timedelta(days=60)
    before = newest()[0].id
    async with opened() as pilot:
        await press(pilot, "B-777", "enter")
        assert box(pilot).value == "B-777"
        assert "there is no vessel 'B-777'" in shown(pilot, StatusLine)
    assert newest()[0].id == before


async def test_all_good_leaves_the_level_alone_and_goes_on(
    opened: Any, press: Any, newest: Callable[..., list[Entry]], book: Book
) -> None:
    """`g` at a topping writes that it was inspected; no litres move."""
    async with opened() as pilot:
        await press(pilot, "g")
        assert "B-002" in shown(pilot, "#asked")
        assert "10 of 11" in shown(pilot, "#walk")
    assert (newest()[0].kind, newest()[0].said["treatment"], newest()[0].moves) == ("treat", "inspect", [])


def burst(pilot: Any, *keys: str) -> None:
    """Send keys all at once, as a slow line delivers them."""
    for key in keys:
        pilot.app.post_message(Key(key, {"full_stop": "."}.get(key, key if len(key) == 1 else None)))


@pytest.mark.slow
async def test_keys_typed_faster_than_the_book_writes_are_not_mixed_up(
    opened: Any, newest: Callable[..., list[Entry]], book: Book, press: Any
) -> None:
    """A topping, a skip and two toppings in one burst: each at its own barrel, in the order typed."""
    async with opened() as pilot:
        burst(pilot, *"15", "backspace", "full_stop", "5", "enter", "x", "1", "enter", *"14", "enter")
        await press(pilot)
        assert isinstance(pilot.app.screen, Confirm)  # 14 litres
    written = [(e.vessel, sum(m.ml for m in e.moves if m.destination == e.vessel)) for e in reversed(newest(2))]
    assert written == [("B-001", 1500), ("B-003", 1000)]
    assert open_walk(book).states["B-002", "top"] == "skipped"


@pytest.mark.slow
async def test_keys_typed_before_a_form_is_up_go_into_it(
    opened: Any, newest: Callable[..., list[Entry]], press: Any
) -> None:
    """`d`, the millimetres and Enter in one burst is a dip, never a topping."""
    async with opened() as pilot:
        burst(pilot, "d", *"20", "enter")
        await press(pilot)
    assert (newest()[0].kind, newest()[0].said["headspace"]) == ("gauge", 20.0)


@pytest.mark.slow
async def test_words_of_level_bung_and_smell_are_typed_after_w(
    opened: Any, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """`w` opens the box to letters; what was seen is written beside the topping, and the next stop is up."""
    async with opened() as pilot:
        await press(pilot, "w", "1.5 weeping vinegar; hoop rusty", "enter")
        assert "B-002" in shown(pilot, "#asked")
        assert "bung weeping, smells of vinegar" in shown(pilot, StatusLine)
        await press(pilot, "x")
        assert "skipped" in shown(pilot, StatusLine)
    topping, look = newest(2)
    assert (topping.kind, topping.vessel, topping.note) == ("top", "B-001", "")
    assert (look.kind, look.said["bung"], look.said["smell"], look.note) == ("look", "weeping", "vinegar", "hoop rusty")


@pytest.mark.slow
async def test_a_level_alone_is_written_and_the_stop_stays(
    opened: Any, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """Very low and nothing to top it with: the word is in the book, the box is empty, the barrel still to do."""
    async with opened() as pilot:
        await press(pilot, "w", "very low", "enter")
        assert "B-001" in shown(pilot, "#asked")
        assert box(pilot).value == ""
        await press(pilot, "1.5", "enter")
        assert "B-002" in shown(pilot, "#asked")
    assert [entry.kind for entry in newest(2)] == ["top", "look"]


@pytest.mark.slow
async def test_escape_closes_the_box_to_words(opened: Any, press: Any) -> None:
    """After it a small letter is a key again."""
    async with opened() as pilot:
        await press(pilot, "w", "low", "escape", "x")
        assert "B-002" in shown(pilot, "#asked")


@pytest.mark.slow
async def test_a_sheet_is_entered_stop_by_stop_at_the_time_it_was_walked(
    opened: Any, press: Any, newest: Callable[..., list[Entry]], book: Book
) -> None:
    """`t` asks when; toppings then bear that time, and at the end today's walk is taken up again."""
    async with opened() as pilot:
        await press(pilot, "t", "soon", "enter")
        assert "is not a date or time" in shown(pilot, "#refusal")
        await press(pilot, *["backspace"] * 4, "3 days ago", "enter")
        assert shown(pilot, "#walk").startswith("Sheet walked 2026-09-30 ")
        await press(pilot, "1.5", "enter", "B-002", "enter", "w", "1.4 loose, so2 20, tasted", "enter")
        assert "1 done" in shown(pilot, "#walk")
        await press(pilot, "e", "e")
        assert shown(pilot, "#walk").startswith("Walk started 2026-10-03")
        assert "B-003" in shown(pilot, "#asked")
    written = newest(5)
    assert [entry.kind for entry in written] == ["top", "treat", "reading", "look", "top"]
    assert {f"{entry.happened_at:%Y-%m-%d}" for entry in written} == {"2026-09-30"}
    assert open_walk(book).walked_at is None


@pytest.mark.slow
async def test_what_another_laptop_writes_is_seen(
    opened: Any, press: Any, book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Somebody else tops B-001 and skips B-002 on the same walk: the stops say so without a key being pressed."""
    monkeypatch.setattr("cooperage.tui.app.LOOK_UP_S", 0.1)
    async with opened() as pilot:
        assert "B-001" in shown(pilot, "#asked")
        other = Book.open(book.name, book.now)
        other.write(acts.Top(vessel="B-001", volume=1500, source="K-01"))
        walk = open_walk(other)
        mark(other, walk, ("B-001", "top"), "done")
        mark(other, walk, ("B-002", "top"), "skipped")
        for _ in range(300):
            await pilot.pause(0.1)
            if "1 done" in shown(pilot, "#walk"):
                break
        assert "(1 done, 1 skipped)" in shown(pilot, "#walk")
        other.close()


@pytest.mark.slow
async def test_what_was_typed_for_a_barrel_topped_elsewhere_goes_nowhere(
    opened: Any, press: Any, newest: Callable[..., list[Entry]], book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The stop is gone from under the hand: the figure is let go of, and one line says why."""
    monkeypatch.setattr("cooperage.tui.app.LOOK_UP_S", 0.1)
    async with opened() as pilot:
        await press(pilot, "1.5")
        other = Book.open(book.name, book.now)
        written = other.write(acts.Top(vessel="B-001", volume=1500, source="K-01"))
        for _ in range(300):
            await pilot.pause(0.1)
            if "B-002" in shown(pilot, "#asked"):
                break
        assert "B-001 is no longer due" in shown(pilot, StatusLine)
        await press(pilot, "enter")
        assert "B-002" in shown(pilot, "#asked")
        other.close()
    assert newest()[0].id == written.id

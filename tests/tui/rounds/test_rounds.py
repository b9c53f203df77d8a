"""Walking the rounds by keyboard at 80 by 24; every story also says what the book holds afterwards."""

import re
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
from cooperage.tui.rounds.walk_end import WalkEnd
from cooperage.tui.rounds.walk_line import WalkLine
from cooperage.tui.shared.bars import KeyBar, StatusLine
from cooperage.tui.shared.line_list import LineList

if TYPE_CHECKING:
    from tests.tui.conftest import Clock


def shown(pilot: Pilot[Any], selector: Any) -> str:
    return str(pilot.app.screen.query_one(selector).render())


def said(pilot: Pilot[Any]) -> str:
    return shown(pilot, StatusLine)


def line(pilot: Pilot[Any]) -> WalkLine:
    return pilot.app.screen.query_one(WalkLine)


def here(pilot: Pilot[Any]) -> str:
    """The tag before the line."""
    return shown(pilot, "#prompt").split(" ")[0]


@pytest.mark.slow
async def test_ten_toppings_take_the_number_and_enter_each(
    opened: Any, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """After each Enter the next due barrel is up, its line empty and with the cursor."""
    async with opened() as pilot:
        for nth in range(1, 11):
            assert here(pilot) == f"B-{nth:03}"
            await press(pilot, "1.5", "enter")
            assert line(pilot).value == ""
            assert line(pilot).has_focus
        assert here(pilot) == "B-011"
    written = newest(10)
    assert [entry.vessel for entry in reversed(written)] == [f"B-{nth:03}" for nth in range(1, 11)]
    assert {entry.kind for entry in written} == {"top"}
    assert all(entry.hand == "Ada" for entry in written)
    assert all(sum(m.ml for m in entry.moves if m.destination == entry.vessel) == 1500 for entry in written)


@pytest.mark.slow
async def test_the_answer_announces_what_enter_writes(
    opened: Any, press: Any, newest: Callable[..., list[Entry]], clock: "Clock"
) -> None:
    """Act by act, in words and units, while it is typed; then one Enter writes all of it, and the next stop is up."""
    clock.at += timedelta(days=60)
    async with opened() as pilot:
        await press(pilot, "2; so2 24 ph 3.41; weeping, smells of vinegar; taste clean")
        announced = " ".join(said(pilot).split())
        for part in ("bung weeping, smells of vinegar", "free SO2 24 mg/L", "pH 3.41", "tasted: clean", "top 2"):
            assert part in announced
        await press(pilot, "enter")
        assert here(pilot) == "B-002"
        assert "B-001" in said(pilot)
    assert [entry.kind for entry in reversed(newest(5))] == ["look", "reading", "reading", "treat", "top"]
    assert {entry.vessel for entry in newest(5)} == {"B-001"}


@pytest.mark.slow
async def test_a_typed_tag_goes_to_that_stop(opened: Any, press: Any, newest: Callable[..., list[Entry]]) -> None:
    """A tag is never mistaken for litres, and nothing is written; a wrong one is refused and selected."""
    before = newest()[0].id
    async with opened() as pilot:
        await press(pilot, "B-007")
        assert "Enter goes to" in said(pilot)
        await press(pilot, "enter")
        assert (here(pilot), line(pilot).value) == ("B-007", "")
        await press(pilot, "B-777", "enter")
        assert (here(pilot), line(pilot).value) == ("B-007", "B-777")
        assert "there is no vessel 'B-777'" in said(pilot)
        await press(pilot, "B-003", "enter")
        assert (here(pilot), line(pilot).value) == ("B-003", "")
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
        assert line(pilot).value == "1.7"
        assert line(pilot).has_focus
        assert "Refused: K-02 holds 1.6 L; 1.7 L cannot come out of it" in said(pilot)
    assert newest()[0].id == before


@pytest.mark.slow
async def test_a_word_that_is_none_is_marked_and_the_nearest_offered(
    opened: Any, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """Nothing is written; + takes the nearest, Enter and a doubled Enter do not, and the line goes on from there."""
    before = newest()[0].id
    async with opened() as pilot:
        await press(pilot, "1.1, weepin, full", "enter", "enter")
        assert "“weepin” is not a word of the walk. Nearest: weeping. Nothing is written." in said(pilot)
        assert line(pilot)._value.spans[0].start == 5
        assert newest()[0].id == before
        await press(pilot, "+")
        assert line(pilot).value == "1.1, weeping, full"
        assert newest()[0].id == before
        await press(pilot, "enter")
        assert here(pilot) == "B-002"
    assert [entry.kind for entry in newest(2)] == ["top", "look"]


@pytest.mark.slow
async def test_what_is_no_volume_stays_to_be_put_right(
    opened: Any, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """A slip of the finger is told in one line and costs one key to correct."""
    before = newest()[0].id
    async with opened() as pilot:
        await press(pilot, "1..5", "enter")
        assert line(pilot).value == "1..5"
        assert "'1..5' is not a volume" in said(pilot)
    assert newest()[0].id == before


@pytest.mark.slow
async def test_another_keg_and_another_hand_hold_from_there_on(
    opened: Any, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """`from K-01` and `by Tove`, alone in a line or with what was done; the top bar shows the hand."""
    async with opened() as pilot:
        await press(pilot, "by Tove", "enter")
        assert "by Tove from here on" in said(pilot)
        assert here(pilot) == "B-001"
        await press(pilot, "1.5 from K-01", "enter", "1.4", "enter")
        assert shown(pilot, "#top-bar").endswith("Tove")
    assert [m.source for entry in newest(2) for m in entry.moves if m.destination == entry.vessel] == ["K-01", "K-01"]
    assert {entry.hand for entry in newest(2)} == {"Tove"}


@pytest.mark.slow
async def test_a_topping_asked_back_is_written_after_yes(
    opened: Any, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """The question stands above the line; Enter does not answer it, - leaves the line as it was, + writes."""
    before = newest()[0].id
    async with opened() as pilot:
        await press(pilot, "5.5", "enter", "enter")
        assert "5.5 L is a lot for one topping of B-001" in said(pilot)
        assert "+ yes" in shown(pilot, KeyBar)
        await press(pilot, "-")
        assert line(pilot).value == "5.5"
        assert "Enter writes" in said(pilot)
        assert newest()[0].id == before
        await press(pilot, "enter", "+")
        assert here(pilot) == "B-002"
    written = newest()[0]
    assert (written.kind, written.vessel) == ("top", "B-001")
    assert sum(move.ml for move in written.moves if move.destination == "B-001") == 5500


@pytest.mark.slow
async def test_not_full_writes_no_evaporation(opened: Any, press: Any, newest: Callable[..., list[Entry]]) -> None:
    """Litres that do not reach the bung: only the move from the keg is written."""
    async with opened() as pilot:
        await press(pilot, "dip 40", "enter", "1 not full")
        assert "not to the bung" in said(pilot)
        await press(pilot, "enter")
    written = newest()[0]
    assert [(move.destination, move.ml) for move in written.moves] == [("B-001", 1000)]


@pytest.mark.slow
async def test_letters_act_in_the_list(opened: Any, press: Any, newest: Callable[..., list[Entry]]) -> None:
    """Esc leads there from the empty line: each letter opens its form with the barrel filled in; Enter leads back."""
    async with opened() as pilot:
        await press(pilot, "escape")
        assert pilot.app.screen.query_one("#stops").has_focus
        await press(pilot, "d", "20", "enter")
        dip = newest()[0]
        assert (dip.kind, dip.vessel, dip.said["headspace"]) == ("gauge", "B-001", 20.0)
        await press(pilot, "s", "50 ml", "enter")
        sample = newest()[0]
        assert (sample.kind, [(m.destination, m.ml) for m in sample.moves]) == ("sample", [("sample", 50)])
        await press(pilot, "t", "1.2", "enter")
        assert (newest()[0].kind, newest()[0].vessel) == ("top", "B-001")
        assert here(pilot) == "B-002"
        await press(pilot, "enter")
        assert line(pilot).has_focus
        await press(pilot, "tab")
        assert not line(pilot).has_focus
        await press(pilot, "1")
        assert (line(pilot).has_focus, line(pilot).value) == (True, "1")


@pytest.mark.slow
async def test_words_begin_as_words(opened: Any, press: Any, newest: Callable[..., list[Entry]]) -> None:
    """No letter acts in the line: "good" is refused, "very low" is a level, and nothing else is written."""
    before = newest()[0].id
    async with opened() as pilot:
        await press(pilot, "good", "enter")
        assert newest()[0].id == before
        await press(pilot, "-", "ctrl+u", "very low", "enter")
        assert here(pilot) == "B-001"
        await press(pilot, "1.5", "enter")
        assert here(pilot) == "B-002"
    assert [entry.kind for entry in newest(2)] == ["top", "look"]


# --- drafts ---------------------------------------------------------------------------------------------------------


@pytest.mark.slow
async def test_what_is_half_typed_stays_with_its_vessel(
    opened: Any, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """Another stop, another screen and back: it is there again with its cursor, and is announced again."""
    before = newest()[0].id
    async with opened() as pilot:
        await press(pilot, "1.5 weeping", "left", "left", "down")
        assert (here(pilot), line(pilot).value) == ("B-002", "")
        await press(pilot, "1.2", "f4", "f3")
        assert (here(pilot), line(pilot).value) == ("B-002", "1.2")
        await press(pilot, "up")
        assert (line(pilot).value, line(pilot).cursor_position) == ("1.5 weeping", 9)
        assert "bung weeping" in said(pilot)
        assert newest()[0].id == before
        await press(pilot, "enter")
        assert (here(pilot), line(pilot).value) == ("B-002", "1.2")
        assert "Enter writes" in said(pilot)


@pytest.mark.slow
async def test_escape_clears_the_line_and_it_can_be_brought_back(opened: Any, press: Any) -> None:
    """One Esc clears, the right arrow brings back; a second leads to the list."""
    async with opened() as pilot:
        await press(pilot, "1.5 weeping", "escape")
        assert line(pilot).value == ""
        assert "1.5 weeping" in said(pilot)
        await press(pilot, "right")
        assert line(pilot).value == "1.5 weeping"
        await press(pilot, "escape", "escape")
        assert not line(pilot).has_focus


@pytest.mark.slow
@pytest.mark.parametrize("typed", ["weepin", "2.0; weepin", "11.4"])
async def test_escape_clears_what_is_asked_about(opened: Any, press: Any, newest: Any, typed: str) -> None:
    """A misspelt word, a doubtful figure: the next keys are never joined to it; answer and bar name the same keys."""
    before = newest()[0].id
    async with opened() as pilot:
        stop = here(pilot)
        await press(pilot, typed, "enter")
        assert pilot.app.screen.is_asked
        assert "- goes back to the line, Esc clears it." in " ".join(said(pilot).split())
        bar = " ".join(str(pilot.app.screen.query_one(KeyBar).render()).split())
        assert "- back to the line" in bar
        assert "Esc clear" in bar
        await press(pilot, "-")
        assert (line(pilot).value, pilot.app.screen.is_asked) == (typed, False)
        await press(pilot, "enter", "escape")
        assert (line(pilot).value, pilot.app.screen.is_asked) == ("", False)
        assert f"brings back: {typed}" in said(pilot)
        await press(pilot, "right")
        assert line(pilot).value == typed
        await press(pilot, "escape", *"1.5", "enter")
        last, earlier = newest(2)
        assert (last.vessel, last.moves[0].ml, earlier.id) == (stop, 1_500, before)


@pytest.mark.slow
@pytest.mark.scanned
@pytest.mark.usefixtures("scanner")
async def test_a_scan_lifts_itself_out_of_what_is_half_typed(
    opened: Any, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """A right tag goes to its stop, a wrong one is refused above the line; the draft stays with its vessel."""
    before = newest()[0].id

    def pause() -> None:
        pilot.app._typed._burst.last = float("-inf")

    async with opened() as pilot:
        await press(pilot, "1.5")
        pause()
        await press(pilot, "B-777", "enter")
        assert (here(pilot), line(pilot).value) == ("B-001", "1.5")
        assert "B-777" in said(pilot)
        pause()
        await press(pilot, "left")
        pause()
        await press(pilot, "B-005", "enter")
        assert (here(pilot), line(pilot).value) == ("B-005", "")
        pause()
        await press(pilot, "B-001", "enter")
        assert (here(pilot), line(pilot).value, line(pilot).cursor_position) == ("B-001", "1.5", 2)
    assert newest()[0].id == before


# --- skips, strikes, resuming ---------------------------------------------------------------------------------------


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

"""Walking the rounds by keyboard at 80 by 24; every story also says what the book holds afterwards."""

from collections.abc import Callable
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest

from cooperage.book.log import Entry
from cooperage.tui.shared.bars import KeyBar
from tests.tui.rounds.on_rounds import here, line, said, shown

if TYPE_CHECKING:
    from tests.tui.conftest import Clock


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

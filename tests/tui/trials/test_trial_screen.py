"""The screen of trials: what is next, what scores show, pouring blind, and the way to the blend desk."""

from typing import Any

import pytest
from textual.widgets import Input

from cooperage.blending.trials.kept import trial, trials
from cooperage.blending.trials.planning import TrialAsked, keep_trial, plan_trial
from cooperage.blending.trials.pouring import pour_trial
from cooperage.blending.trials.stocks import parse_stock
from cooperage.book import Book
from cooperage.programme.compared.kept import barrel_trials
from cooperage.tasting.flights import flights, reveal, score
from cooperage.tui.shared.bars import StatusLine
from cooperage.tui.shared.wrapped import Wrapped


@pytest.fixture
def planned(book: Book) -> Book:
    """A trial of three barrels that is to be poured."""
    asked = TrialAsked([parse_stock(tag) for tag in ("B-001", "B-002", "B-003")], "which?", tasters=("Ada", "Bea"))
    keep_trial(book, plan_trial(book, book.cellar(), asked))
    return book


@pytest.fixture
def scored(planned: Book) -> Book:
    """The same, scored: half B-001 and half B-002 is liked best."""
    kept, poured = pour_trial(planned, "TR-1")
    for nth, glass in enumerate(poured.glasses):
        tried = kept.glass_named(glass.called)
        assert tried is not None
        a, b, _ = tried.shares
        for taster, lean in (("Ada", 0.0), ("Bea", 1.0)):
            score(planned, poured.code, glass.code, taster, round(10 + a + b + 12 * a * b + lean + nth % 3 / 10, 1))
    reveal(planned, poured.code)
    return planned


def shown(pilot: Any) -> str:
    return str(pilot.app.screen.query_one(Wrapped).plain)


@pytest.mark.slow
async def test_a_trial_is_poured_blind_and_its_codes_are_shown_once(opened: Any, press: Any, planned: Book) -> None:
    async with opened(page="trials") as pilot:
        assert "TR-1/7" in shown(pilot)
        assert "p pours it as a blind flight" in shown(pilot)
        await press(pilot, "p", "+")
        [poured] = flights(planned)
        assert poured.is_blind
        assert len(poured.glasses) == 7
        await press(pilot, "escape")
        after = shown(pilot)
        assert f"takes the scores of {poured.code}" in after
        assert not any(glass.code in after for glass in poured.glasses)
        assert not trial(planned, "TR-1").left_to_pour
        status = pilot.app.screen.query_one(StatusLine)
        assert f"{poured.code}: score it on" in str(status.render())
        await press(pilot, "f6", "v", "+")
        pilot.app.switch_mode("trials")
        await press(pilot)
        assert "score it" not in str(status.render())


@pytest.mark.slow
@pytest.mark.usefixtures("solvers_begun")
async def test_the_best_blend_is_shown_and_handed_to_the_blend_desk(opened: Any, press: Any, scored: Book) -> None:
    """The plot has one best blend; e opens the blend page on a brief that holds its shares."""
    async with opened(size=(140, 50), page="trials") as pilot:
        for _ in range(100):
            if "Best blend" in shown(pilot):
                break
            await pilot.pause(0.05)
        text = shown(pilot)
        assert "Best blend: " in text
        assert sum(line.count("*") for line in text.splitlines() if not line.startswith("*")) == 1
        await press(pilot, "e")
        assert pilot.app.current_mode == "blend"
        for _ in range(100):
            if pilot.app.screen.query_one("#litres", Input).value:
                break
            await pilot.pause(0.05)
        assert float(pilot.app.screen.query_one("#litres", Input).value) > 100
        assert set(pilot.app.screen._typed_brief()["share"]) == {"B-001", "B-002"}
        assert pilot.app.desk.brief is None


@pytest.mark.slow
async def test_a_trial_is_planned_shown_and_kept(opened: Any, press: Any, book: Book) -> None:
    """The form is asked back until it can be planned; the plan is shown, and kept after a yes."""
    async with opened(page="trials") as pilot:
        await press(pilot, "n", "B-001=20-60, B-002, X-9")
        await press(pilot, "enter")
        assert pilot.app.screen.rows["stocks"].text == "B-001=20-60, B-002, X-9"  # refused, and nothing lost
        assert not trials(book)
        for _ in range(3):
            await press(pilot, "backspace")
        await press(pilot, "B-003", "enter")
        assert not trials(book)
        await press(pilot, "+")
        for _ in range(100):
            if "TR-1" in shown(pilot):
                break
            await pilot.pause(0.05)
        [kept] = trials(book)
        assert (kept.names[0], kept.stocks[0].low, kept.stocks[0].high) == ("B-001", 0.2, 0.6)
        assert kept.hand == "Ada"
        assert "Next: mix the glasses" in shown(pilot)


async def test_without_a_trial_the_screen_names_the_way_to_one(opened: Any, book: Book) -> None:
    async with opened(page="trials") as pilot:
        assert not trials(book)
        assert "No trial yet" in shown(pilot)


async def until(pilot: Any, words: str) -> None:
    """Wait until something is shown."""
    for _ in range(200):
        if words in shown(pilot):
            return
        await pilot.pause(0.05)
    raise AssertionError(shown(pilot))


@pytest.mark.slow
async def test_a_trial_across_barrels_is_planned_poured_and_answered(opened: Any, press: Any, book: Book) -> None:
    """What it could find is shown before it is kept; while it is blind, no barrel's treatment is on the screen."""
    async with opened(page="trials") as pilot:
        await press(pilot, "v")
        assert "n shows what one could find" in shown(pilot)
        await press(pilot, "n", "B-001..B-006", "tab", "fresher?", "enter")
        announced = str(pilot.app.screen.query_one("#announced").render())
        assert "6 barrels: B-001..B-006. Fill in one of three: treatments to be drawn" in announced
        ways = [pilot.app.screen.rows[name].field.label for name in ("treatments", "by", "given")]
        assert ways == ["treatments, drawn", "or treatments by", "or treatments by barrel"]
        assert pilot.app.screen.rows["question"].text == "fresher?"  # refused, and nothing lost
        for name, text in {"treatments": "weekly=topped every 7 days; monthly", "tasters": "Ada, Bea"}.items():
            pilot.app.screen.rows[name].set_text(text)
        await press(pilot, "enter")
        assert barrel_trials(book) == []
        await press(pilot, "+")
        await until(pilot, "Next: p pours flight 1 of 1")
        [kept] = barrel_trials(book)
        assert (kept.hand, [each.words for each in kept.treatments]) == ("Ada", ["topped every 7 days", ""])
        await press(pilot, "p", "+", "escape")
        await until(pilot, "takes the scores of")
        assert "weekly: topped every 7 days; 3 barrels" in shown(pilot)
        [made] = flights(book)
        for nth, glass in enumerate(made.glasses):
            for taster in made.panel:
                score(book, made.code, glass.code, taster, 10.0 + nth)
        reveal(book, made.code, sure=True)
        pilot.app.desk.read_again()
        await until(pilot, "Held against 6 barrels")
        lines = shown(pilot).splitlines()
        assert lines.index(next(line for line in lines if "Held against" in line)) < lines.index(
            next(line for line in lines if line.startswith("Stated beforehand"))
        )


@pytest.mark.slow
async def test_a_field_that_is_not_understood_is_named(opened: Any, press: Any) -> None:
    """A barrel that is not there, and a treatment without its barrel."""
    async with opened(page="trials") as pilot:
        await press(pilot, "v", "n", "QQ-1")
        assert "there is no vessel 'QQ-1'" in str(pilot.app.screen.query_one("#announced").render())
        pilot.app.screen.rows["barrels"].set_text("B-001..B-006")
        pilot.app.screen.rows["question"].set_text("which?")
        pilot.app.screen.rows["given"].set_text("heavy")
        await press(pilot, "enter")
        assert pilot.app.screen.in_hand.field.name == "given"


async def test_titles_and_rows_of_the_list_fit_sixty_columns(opened: Any, press: Any, planned: Book) -> None:
    """What has no room is cut with a mark in the rows, and no title is cut."""
    async with opened(page="trials", size=(60, 20)) as pilot:
        await press(pilot)
        listed, head = pilot.app.screen.query_one("#trials"), str(pilot.app.screen.query_one("#trials-head").render())
        line = listed.line(0, 58).plain
    assert head.split() == ["trial", "planned", "state", "stocks"]
    assert head.index("stocks") == line.index("B-001")
    assert len(line) <= 58

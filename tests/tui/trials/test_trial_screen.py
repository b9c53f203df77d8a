"""The screen of trials: what is next, what scores show, pouring blind, and the way to the blend desk."""

from typing import Any

import pytest
from textual.widgets import Input

from cooperage.blending.trials.kept import trial, trials
from cooperage.blending.trials.planning import TrialAsked, keep_trial, plan_trial
from cooperage.blending.trials.pouring import pour_trial
from cooperage.blending.trials.stocks import parse_stock
from cooperage.book import Book
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

"""Flights that the day asks for stand among the orders, and are poured by one key."""

from datetime import timedelta
from typing import Any

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.log import entries
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.compared.kept import keep_trial, trial_coded
from cooperage.programme.compared.planning import AskedOfTrial, plan_trial
from cooperage.programme.compared.trial import TrialTreatment
from cooperage.programme.today.glance import today_of
from cooperage.tasting.flights import flights
from cooperage.tasting.pulling import pull_flight
from cooperage.tui.shared.bars import StatusLine
from cooperage.tui.trials.screen import TrialsScreen
from cooperage.units import local_day

pytestmark = pytest.mark.slow


def keep(book: Book, days: int = 0) -> None:
    """Keep a trial of four barrels, tasted on a day so far ahead, and again thirty days later."""
    cellar, day = cellar_now(book), local_day(book.now()) + timedelta(days=days)
    asked = AskedOfTrial(
        "fresher?",
        code="TOP",
        treatments=[TrialTreatment("weekly"), TrialTreatment("monthly")],
        tasters=["Ada", "Bea"],
        days=[day, day + timedelta(days=30)],
    )
    keep_trial(book, plan_trial(book, cellar, [cellar[f"B-00{n}"] for n in range(1, 5)], asked).trial)


def look_again(book: Book, *tags: str) -> None:
    """Decide to look again after two weeks."""
    for tag in tags:
        book.write(acts.Judge(vessel=tag, verdict="look again", weeks=2))


def planned(book: Book) -> list[str]:
    return [each.words for each in today_of(book, cellar_now(book)).planned]


def rows(pilot: Any) -> list[str]:
    listed = pilot.app.screen.query_one("#orders")
    return [" ".join(listed.line(y, 90).plain.split()) for y in range(listed.line_count)]


async def test_a_flight_of_a_trial_is_poured_by_one_key(opened: Any, press: Any, book: Book) -> None:
    """It stands there on its day, is blind once it is poured, and the next stands there on its own day alone."""
    keep(book)
    async with opened(page="today") as pilot:
        assert rows(pilot) == ["○ today pour flight 1 of 2 of trial TOP: 4 barrels"]
        await press(pilot, "tab", "+")
        [poured] = flights(book)
        assert poured.is_blind
        assert [each.flight for each in trial_coded(book, "TOP").poured] == [poured.code]
        await press(pilot, "-")
        assert "score it on" in str(pilot.app.screen.query_one(StatusLine).render())
        assert pilot.app.screen.rows == ()
    assert planned(book) == []


async def test_it_pulls_as_much_as_was_pulled_last(opened: Any, press: Any, book: Book) -> None:
    """The line under the list names it, and so much is written of each barrel."""
    pull_flight(book, ["T-01"], 35, hand="Ada")
    keep(book)
    async with opened(page="today") as pilot:
        await press(pilot, "tab")
        page = " ".join(strip.text.strip() for strip in pilot.app.screen._compositor.render_strips())
        assert "with a sample of 35 mL from each" in " ".join(page.split())
        await press(pilot, "+")
    with book.reading() as connection:
        assert {each.moves[0].ml for each in entries(connection, kind="sample")} == {35}


async def test_enter_goes_to_the_trial(opened: Any, press: Any, book: Book) -> None:
    keep(book)
    async with opened(page="today") as pilot:
        await press(pilot, "tab", "enter")
        screen = pilot.app.screen
        assert isinstance(screen, TrialsScreen)
        for _ in range(100):
            if screen.current is not None:
                break
            await pilot.pause(0.05)
        assert screen.current.code == "TOP"


def test_a_trial_whose_day_is_ahead_asks_for_nothing(book: Book) -> None:
    keep(book, days=2)
    assert planned(book) == []


async def test_looks_that_have_come_are_one_flight(opened: Any, press: Any, book: Book, clock: Any) -> None:
    """Two or more; a single one is left to the walk, and so are those in a flight that is open."""
    look_again(book, "B-005")
    clock.at += timedelta(weeks=2)
    assert planned(book) == []
    look_again(book, "B-006", "B-007")
    assert planned(book) == []
    clock.at += timedelta(weeks=2)
    assert planned(book) == ["pour a flight of 3 barrels to look at again: B-005..B-007"]
    async with opened(page="today") as pilot:
        await press(pilot, "tab", "+", "-")
        [poured] = flights(book)
        assert sorted(glass.vessel or "" for glass in poured.glasses) == ["B-005", "B-006", "B-007"]
        assert pilot.app.screen.rows == ()
    assert planned(book) == []

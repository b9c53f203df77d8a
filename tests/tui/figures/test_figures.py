"""The readings that are worth most, and the scores of what was forecast."""

import re
from collections.abc import Iterator
from datetime import timedelta
from threading import Event
from typing import TYPE_CHECKING, Any

import pytest
from textual.widgets import OptionList, Static

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.programme.ageing.scoring.scoreboard import ScoreLine
from cooperage.programme.ageing.scoring.scores import ForecastScore
from cooperage.tui.figures.words import score_head, score_text, worth_head
from cooperage.tui.rounds.drawn import CardLines
from cooperage.units import Units

if TYPE_CHECKING:
    from tests.tui.conftest import Clock


def picture(pilot: Any) -> str:
    strips = pilot.app.screen._compositor.render_strips()
    return "\n".join("".join(segment.text for segment in strip) for strip in strips)


def title(pilot: Any) -> str:
    return str(pilot.app.screen.query_one("#scored-title", Static).render())


@pytest.fixture
def doubtful(book: Book, clock: "Clock") -> Book:
    """Seven weeks after 32 mg/L were read at pH 3.4, pH is read again in half of the barrels; B-001 had 24 mg/L."""
    with book.writing() as w:
        w.write(acts.Reading(vessel="B-001", property="free_so2_mg_l", value=24.0, at=clock.at, sure=True))
    clock.at += timedelta(days=50)
    with book.writing() as w:
        for nth in range(2, 7):
            w.write(acts.Reading(vessel=f"B-{nth:03}", property="ph", value=3.42, at=clock.at - timedelta(days=1)))
    return book


@pytest.fixture
def held_back(monkeypatch: pytest.MonkeyPatch) -> Iterator[Event]:
    """Scores that are not done before the event is set."""
    go = Event()
    score = ForecastScore("ph", 5, 0.02, -0.02, (0.4, 0.8, 1.0), 0.012, 0.03, -0.03)

    def wait(book: Book) -> list[ScoreLine]:
        assert go.wait(30)
        return [ScoreLine(score, "learned from 5 readings here", is_set_aside=False)]

    monkeypatch.setattr("cooperage.tui.figures.screen.scoreboard", wait)
    yield go
    go.set()


@pytest.mark.slow
@pytest.mark.parametrize("size", [(80, 24), (140, 40)])
async def test_keys_work_while_the_scores_are_calculated(
    opened: Any, press: Any, doubtful: Book, held_back: Event, size: tuple[int, int]
) -> None:
    """The page is up and says what it does; the readings stand there, and the cursor moves; then the scores come."""
    async with opened(size=size) as pilot:
        await press(pilot, "escape")
        await pilot.press("v")
        for _ in range(200):
            await pilot.pause(0.02)
            if pilot.app.current_mode == "figures" and "B-001" in picture(pilot):
                break
        await pilot.press("down")
        await pilot.pause()
        seen = picture(pilot)
        assert (pilot.app.current_mode, title(pilot)) == ("figures", "Scores: calculating")
        assert re.search(r"B-001 +free SO2", seen)
        assert pilot.app.screen.query_one("#readings").cursor == 1
        held_back.set()
        await press(pilot)
        seen = picture(pilot)
    assert re.search(r"Scores at [ \d]\d [A-Z][a-z]{2} \d\d:\d\d", seen)
    head = next(line for line in seen.splitlines() if "last read" in line)
    assert head.rstrip().endswith("score" if size[0] > 80 else "last read")  # every column has its whole name
    assert ("bias as last read -0.030, score 0.012" in " ".join(seen.split())) == (size[0] == 80)
    assert "pH 5 0.020 -0.020 40 80 100 0.030" in " ".join(seen.split())
    verdict = "pH: came nearer than the figure as last read; shown now: learned from 5 readings here"
    assert verdict in " ".join(seen.split())


@pytest.mark.slow
async def test_what_is_given_up_can_be_begun_again(opened: Any, press: Any, doubtful: Book, held_back: Event) -> None:
    """Escape lets the result drop and names the key; with it the scores come."""
    async with opened() as pilot:
        await press(pilot, "escape")
        await pilot.press("v")
        await pilot.pause()
        await pilot.press("escape")
        await pilot.pause()
        assert title(pilot) == "Scores: press v to calculate them"
        held_back.set()
        await press(pilot, "v")
        assert title(pilot).startswith("Scores at ")
        held_back.clear()
        await pilot.press("v")
        await pilot.pause()
        assert title(pilot) == "Scores: calculating"
        await pilot.press("escape")
        await pilot.pause()
        assert title(pilot).startswith("Scores at ")
        held_back.set()


@pytest.mark.slow
async def test_a_reading_opens_its_vessel_and_real_scores_stand_below(opened: Any, press: Any, doubtful: Book) -> None:
    """Enter opens the best one's page; five pH were read twice, 3.42 after 3.40, of which the book knew 3.40."""
    async with opened(page="losses") as pilot:
        await press(pilot, "v")
        seen = picture(pilot)
        assert "Worth measuring" in seen
        assert re.search(r"pH +5 ", seen)
        assert "0.020" in next(line for line in seen.splitlines() if line.startswith(" pH  "))
        await press(pilot, "enter")
        assert (pilot.app.current_mode, pilot.app.desk.tag) == ("barrel", "B-001")


@pytest.mark.slow
async def test_a_page_without_a_function_key_is_in_the_list(opened: Any, press: Any) -> None:
    """Ctrl+P and its words; nothing was measured twice, so there is nothing to score."""
    async with opened() as pilot:
        await press(pilot, "ctrl+p", "readings worth")
        palette = pilot.app.screen
        for _ in range(200):  # until the line has been found
            await pilot.pause(0.02)
            listed = palette.query_one(OptionList)
            if listed.option_count and "readings worth" in str(listed.get_option_at_index(0).prompt):
                break
        await press(pilot, "enter")
        assert pilot.app.current_mode == "figures"
        assert title(pilot) == "No figure has been measured twice yet: there is nothing to score."


@pytest.mark.slow
async def test_the_card_names_what_is_worth_measuring_here(opened: Any, press: Any, doubtful: Book) -> None:
    """At the barrel's stop; where nothing is worth it, there is no such line."""
    async with opened() as pilot:
        card = pilot.app.screen.query_one("#card", CardLines)
        assert "Measure free SO2? Molecular SO2 under 0.50 mg/L: " in str(card.render())
        worth = pilot.app.screen._worth
        without = next(stop.tag for stop in pilot.app.screen.stops.every if stop.tag not in worth)
        await press(pilot, without, "enter")
        assert str(card.render()).startswith(without)
        assert "Measure" not in str(card.render())


@pytest.mark.parametrize(("width", "columns"), [(57, 2), (77, 3), (137, 5)])
@pytest.mark.parametrize("units", [Units(), Units(gravity="brix", temperature="f", decimal=",")])
async def test_a_score_fits_its_list_with_its_points_under_one_another(
    opened: Any, width: int, columns: int, units: Units
) -> None:
    """The widest and the finest figures, under the names of their columns; the narrower the fewer columns."""
    wide = ForecastScore("total_so2_mg_l", 12345, 102.3, -102.3, (1.0, 1.0, 1.0), 104.9, 121.4, -121.4)
    fine = ForecastScore("sg", 193, 0.0006, 0.000124, (0.48, 0.77, 0.89), 0.00045, 0.00064, 0.000012)
    async with opened(page="rounds") as pilot:
        lines = [
            score_text(ScoreLine(score, "", is_set_aside=False), pilot.app, width, units).plain
            for score in (wide, fine)
        ]
    assert max(len(score_head(width)), *map(len, lines)) <= width
    points = [[at for at, letter in enumerate(line) if letter == units.decimal] for line in lines]
    assert len(points[0]) == columns
    assert points[0] == points[1]


@pytest.mark.parametrize("width", [57, 77, 137])
def test_the_names_of_the_columns_are_whole(width: int) -> None:
    assert len(worth_head(width)) <= width
    assert worth_head(width).endswith("spares")

"""Results as a picture: words first, glasses on one scale, tasters below or beside, nothing cut."""

from typing import Any

import pytest
from rich.cells import cell_len
from rich.style import Style
from rich.text import Text

from cooperage.book import Book
from cooperage.tasting.flights import Flight, results, reveal, score, start_flight
from cooperage.tui.tasting.results import result_lines
from cooperage.units import DEFAULT

GIVEN = {"Ada": [12.0, 14.5, 9.0, 17.0], "Ben": [13.0, 15.0, 8.5, 18.0], "Cas": [12.5, 14.0, 9.5, 16.5]}


@pytest.fixture
def revealed(book: Book) -> Flight:
    """Four glasses by three tasters who mostly agree."""
    poured = start_flight(book, ["B-001", "B-002", "B-003", "B-004"], code="F1", name="autumn")
    for taster, scores in GIVEN.items():
        for glass, value in zip(poured.glasses, scores, strict=True):
            score(book, "F1", glass.code, taster, value, "round, ripe fruit, a long and warm end of honey")
    return reveal(book, "F1")


def lines_of(pilot: Any) -> list[str]:
    """The screen as it is drawn, line by line."""
    return [strip.text.rstrip() for strip in pilot.app.screen._compositor.render_strips()]


def drawn(flight: Flight, width: int) -> list[str]:
    lines = result_lines(flight, results(flight), DEFAULT, width, lambda _role: Style())
    return [line.plain if isinstance(line, Text) else line for line in lines]


@pytest.mark.parametrize("width", [58, 78, 138])
def test_the_picture_fits_its_room(revealed: Flight, width: int) -> None:
    """Head, glasses, least difference and tasters are as wide as the room or less, best glass first, with its band."""
    lines = drawn(revealed, width)
    assert lines[0].startswith("Glasses more than ")
    found = results(revealed)
    assert found is not None
    glasses = [next(line for line in lines if f" {row.glass.code} " in line and "●" in line) for row in found.rows]
    assert glasses == lines[2:6]
    picture = lines[1 : lines.index("")]
    assert max(cell_len(line) for line in picture) <= width
    places = [line.index("●") for line in glasses]
    assert places == sorted(places, reverse=True)
    assert any("├" in line and "points" in line for line in lines)
    assert all(any(taster in line for line in lines) for taster in GIVEN)


def test_the_tasters_stand_beside_the_glasses_where_there_is_room(revealed: Flight) -> None:
    """At 138 columns in the same lines, at 78 under them."""
    beside, below = drawn(revealed, 138), drawn(revealed, 78)
    assert "taster" in beside[1]
    assert "glass " in beside[1]
    assert any(line.lstrip().startswith("taster ") for line in below)


def test_without_a_score_there_is_nothing_to_rank(book: Book) -> None:
    """The one line says so."""
    start_flight(book, ["B-001"], code="F2")
    assert drawn(reveal(book, "F2"), 78) == ["No score has been given: there is nothing to rank."]


@pytest.mark.slow
@pytest.mark.usefixtures("revealed")
@pytest.mark.parametrize("size", [(80, 24), (60, 20), (140, 40)])
async def test_results_take_the_room_while_they_are_read(opened: Any, press: Any, size: Any) -> None:
    """Enter gives them the screen where it is small, Esc the list back; nothing is cut with dots."""
    async with opened(page="panel", size=size) as pilot:
        assert any("✓ F1" in line for line in lines_of(pilot))
        await press(pilot, "enter")
        lines = lines_of(pilot)
        assert any("✓ F1" in line for line in lines) == (size[0] >= 110)
        assert not any("…" in line for line in lines[1:])
        assert any("●" in line for line in lines)
        await press(pilot, "escape")
        assert any("✓ F1" in line for line in lines_of(pilot))
        assert pilot.app.current_mode == "panel"


@pytest.mark.slow
async def test_a_blind_flight_tells_how_many_scores_are_in(opened: Any, book: Book) -> None:
    """A mark and a word, and nothing of what was given."""
    poured = start_flight(book, ["B-001", "B-002"], code="F3")
    score(book, "F3", poured.glasses[0].code, "Ada", 17.5)
    async with opened(page="panel") as pilot:
        (line,) = [line for line in lines_of(pilot) if "F3" in line and "○" in line]
        assert "blind, 1 in" in line


@pytest.mark.slow
async def test_a_glass_to_score_stands_large_with_its_score_as_a_bar(opened: Any, press: Any, book: Book) -> None:
    """The code in a frame; what is typed is announced and drawn; Enter brings up the next glass."""
    poured = start_flight(book, ["B-001", "B-002"], code="F4")
    first, second = (glass.code for glass in poured.glasses)
    async with opened(page="panel") as pilot:
        await press(pilot, "enter", "Ada", "enter", "10")
        lines = lines_of(pilot)
        assert any(f"│  {first}  │" in line for line in lines)
        assert any(f"Enter writes {first} 10" in line for line in lines)
        assert any(first in line and f" 10      {'▆' * 10}{'▁' * 10}" in line for line in lines)
        await press(pilot, "enter")
        assert any(f"│  {second}  │" in line for line in lines_of(pilot))
        await press(pilot, "up")
        assert pilot.app.screen.query_one("#score").value == "10"

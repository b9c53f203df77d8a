"""Results as a picture: words first, glasses on one scale, tasters below or beside, nothing cut."""

from typing import Any

import pytest
from rich.cells import cell_len
from rich.style import Style
from rich.text import Text

from cooperage.book import Book
from cooperage.book.declared.verdicts import Judgement
from cooperage.tasting.closed import by_verdict, closed_flight
from cooperage.tasting.flights import Flight, peek, results, reveal, score, start_flight
from cooperage.tui.shared.act_form import ActForm
from cooperage.tui.tasting.judge_form import JudgeFlight
from cooperage.tui.tasting.results import PointedRow, figure_lines
from cooperage.tui.tasting.sides import side_lines, sides_of
from cooperage.tui.tasting.words import about_flight
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


def plain(row: Any) -> str:
    """A line as text."""
    text = row.text if isinstance(row, PointedRow) else row
    return text.plain if isinstance(text, Text) else text


def drawn(book: Book, flight: Flight, width: int) -> list[str]:
    lines = figure_lines(closed_flight(book, flight), "overall", DEFAULT, width, lambda _role: Style())
    return [plain(line) for line in lines]


@pytest.mark.parametrize("width", [58, 78, 138])
def test_the_picture_fits_its_room(book: Book, revealed: Flight, width: int) -> None:
    """Head, glasses, least difference and tasters are as wide as the room or less, best glass first, with its band."""
    lines = drawn(book, revealed, width)
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


def test_the_tasters_stand_beside_the_glasses_where_there_is_room(book: Book, revealed: Flight) -> None:
    """At 138 columns in the same lines, at 78 under them."""
    beside, below = drawn(book, revealed, 138), drawn(book, revealed, 78)
    assert "taster" in beside[1]
    assert "glass " in beside[1]
    assert any(line.lstrip().startswith("taster ") for line in below)


def test_without_a_score_there_is_nothing_to_rank(book: Book) -> None:
    """The one line says so."""
    start_flight(book, ["B-001"], code="F2")
    assert drawn(book, reveal(book, "F2", sure=True), 78) == ["No score has been given: there is nothing to rank."]


@pytest.mark.parametrize(
    ("named", "absent"),
    [("Ada", ""), ("Ada Cai Dia", "Cai and Dia did not score"), ("Bo Ada Cai Dia", "Bo, Cai and Dia did not score")],
)
def test_the_heading_names_who_scored_and_who_did_not(book: Book, named: str, absent: str) -> None:
    """Those who were named, in that order; nothing of it where all scored."""
    poured = start_flight(book, ["B-001"], code="F2", tasters=named.split())
    score(book, "F2", poured.glasses[0].code, "Ada", 12.0)
    closed = reveal(book, "F2", sure=True)
    [line] = about_flight(closed, closed.poured_at)
    assert line.split(" · ")[3:] == ["Ada", *([absent] if absent else [])]


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
    poured = start_flight(book, ["B-001", "B-002"], code="F4", tasters=["Ada"])
    first, second = poured.orders["Ada"]
    async with opened(page="panel") as pilot:
        await press(pilot, "enter", "Ada", "enter", "10")
        lines = lines_of(pilot)
        assert any(f"│  {first}  │" in line for line in lines)
        assert any("Enter takes  overall 10" in line for line in lines)
        assert any("overall" in line and f" 10{' ' * 5}{'▆' * 5}{'▁' * 5}" in line for line in lines)
        await press(pilot, "enter")
        assert any(f"│  {second}  │" in line for line in lines_of(pilot))
        await press(pilot, "up")
        assert pilot.app.screen.query_one("#line").value == "10"


# --- what the panel decided -----------------------------------------------------------------------------------------

SAID = {"B-001": "vanilla, soft wood", "B-002": "Pricked, nail varnish", "B-003": "round"}
GAVE: dict[str, list[Judgement | None]] = {
    "B-001": [Judgement("ready")] * 3,
    "B-002": [Judgement("quarantine"), Judgement("quarantine"), Judgement("keep")],
    "B-003": [Judgement("keep"), Judgement("look again", 8), None],
}


def judged_panel(book: Book) -> Flight:
    """Three vessels by three tasters, with an attribute, words and verdicts; one looked the codes up; closed."""
    poured = start_flight(book, list(SAID), code="F7", name="winter", attributes=["oak"], tasters=list(GIVEN))
    peek(book, "F7", hand="Dora")
    for glass in poured.glasses:
        for nth, taster in enumerate(GIVEN):
            tag = str(glass.vessel)
            points = 5.0 * int(tag[-1])
            score(book, "F7", glass.code, taster, points, SAID[tag], marks={"oak": nth}, verdict=GAVE[tag][nth])
    return reveal(book, "F7", hand="Ada")


def test_the_sides_of_a_flight_show_what_was_given(book: Book) -> None:
    """Each side has its own; faults are marked, who looked the codes up is named, verdicts stand together."""
    closed = closed_flight(book, judged_panel(book))
    sides = sides_of(closed)
    assert sides == ["overall", "oak", "tasters", "words", "verdicts"]
    shown = [
        [plain(row) for row in side_lines(closed, nth, {}, DEFAULT, 78, lambda _role: Style())] for nth in range(5)
    ]
    overall, oak, tasters, words, verdicts = shown
    assert [line[:1] for line in overall if "●" in line] == [" ", "▲", " "]
    assert any("Looked up by Dora" in line for line in overall)
    assert any("ready B-001" in line and "quarantine B-002" in line and "no majority" in line for line in overall)
    assert oak[0].startswith("Oak 0-10")
    assert any("high by" in line and "oak" in line for line in tasters)
    assert sum("Ada: " in line for line in words) == 3
    assert any("B-002" in line and "quarantine 2, keep 1" in line for line in verdicts)
    assert by_verdict(closed.verdicts)["quarantine"] == ["B-002"]
    assert list(closed.faults.values()) == [["pricked", "nail varnish"]]


@pytest.mark.slow
async def test_verdicts_of_the_panel_are_proposed_changed_and_written(
    opened: Any, press: Any, book: Book, newest: Any
) -> None:
    """From the list, all vessels in one form; what was decided stands in the book and on the side of verdicts."""
    judged_panel(book)
    async with opened(page="panel") as pilot:
        await press(pilot, "j")
        form = pilot.app.screen
        assert isinstance(form, JudgeFlight)
        texts = form.texts
        assert (texts["B-001"], texts["B-002"], texts["B-003"]) == ("ready", "quarantine", "")
        form.rows["B-003"].take_focus()
        await press(pilot, "look again", "enter")
        assert "needs the weeks" in form.rows["B-003"].complaint
        await press(pilot, "look again 6 weeks", "enter", "enter")
        assert book.cellar()["B-003"].judged is None  # a doubled Enter does not answer the question
        await press(pilot, "+")
        await press(pilot, "v", "v", "v", "v")
        lines = lines_of(pilot)
    assert {(e.kind, e.vessel, e.hand) for e in newest(3)} == {("judge", tag, "Ada") for tag in SAID}
    quarantined, again = book.cellar()["B-002"], book.cellar()["B-003"].judged
    assert quarantined.is_quarantined
    assert again is not None
    assert again.decided == Judgement("look again", 6)
    assert any("✓ B-002" in line and "quarantine 2, keep 1" in line for line in lines)
    assert any("in the book: look again in 6 weeks" in line for line in lines)


@pytest.mark.slow
async def test_a_vessel_is_judged_at_the_pointer_and_opened(opened: Any, press: Any, book: Book, newest: Any) -> None:
    """The arrows go from vessel to vessel; Enter opens its page; the form has the panel's verdict."""
    judged_panel(book)
    async with opened(page="panel") as pilot:
        await press(pilot, "enter", "down")
        assert pilot.app.screen.query_one("#flight").vessel == "B-002"
        await press(pilot, "j")
        assert isinstance(pilot.app.screen, ActForm)
        assert pilot.app.screen.fields.by_name["verdict"].text == "quarantine"
        await press(pilot, "ctrl+s")
        assert (newest()[0].kind, newest()[0].vessel) == ("judge", "B-002")
        await press(pilot, "enter")
        assert (pilot.app.current_mode, pilot.app.desk.tag) == ("barrel", "B-002")
        assert any("▲" in line and "quarantine" in line for line in lines_of(pilot)[:3])


@pytest.mark.slow
@pytest.mark.parametrize("page", ["barrel", "racks"])
async def test_a_vessel_is_judged_from_its_page_and_from_the_racks(
    opened: Any, press: Any, book: Book, newest: Any, page: str
) -> None:
    """The same form, by the same key."""
    async with opened(page=page) as pilot:
        await press(pilot, "j")
        pilot.app.screen.fields.by_name["verdict"].set_text("keep")
        await press(pilot, "ctrl+s")
    assert newest()[0].kind == "judge"


@pytest.mark.slow
async def test_the_last_side_has_the_tasters_over_all_flights(opened: Any, press: Any, book: Book) -> None:
    """Worked out when it is turned to, over every closed flight; what is sure stands in a sentence."""
    for nth in range(3):
        made = start_flight(book, ["B-001", "B-002", "B-003"], tasters=["Ada", "Bea"])
        for at, glass in enumerate(made.glasses):
            score(book, made.code, glass.code, "Ada", 10.0 + 2 * at + nth)
            score(book, made.code, glass.code, "Bea", 12.0 + 2 * at + nth)
        reveal(book, made.code, sure=True)
    async with opened(page="panel", size=(80, 24)) as pilot:
        text = pilot.app.screen.query_one("#flight")
        for _ in range(6):
            if "over the years" in text.plain.partition(";")[0]:
                break
            await press(pilot, "v")
            assert text.vertical_scrollbar.window_virtual_size == text.line_count  # the bar is as long as the text
        for _ in range(100):
            if "3 closed flights" in text.plain:
                break
            await pilot.pause(0.05)
        assert "Overall 0-20, 3 closed flights" in text.plain
        assert "Ada   3 flights, 9 glasses" in text.plain
        assert "Bea scores 2.0 points higher than the others" in text.plain

"""Tasting: a flight poured blind, scored alone, revealed; what is in a glass is not shown before."""

from collections.abc import Callable
from typing import Any

import pytest
from rich.style import Style
from textual.pilot import Pilot

from cooperage.book import Book
from cooperage.book.declared.verdicts import Judgement
from cooperage.book.log import Entry
from cooperage.tasting.flights import Score, flight, flights, order_for, reveal, score, start_flight
from cooperage.tui.app import PAGES
from cooperage.tui.shared.bars import StatusLine
from cooperage.tui.tasting.scores import ScoreSheet
from cooperage.tui.tasting.words import flight_line


@pytest.fixture
def poured(book: Book) -> Any:
    return start_flight(book, ["B-001", "B-002", "B-003"], code="F1", name="autumn")


def shown(pilot: Pilot[Any]) -> str:
    """Everything that is written on the screen."""
    return pilot.app.export_screenshot().replace("&#160;", " ")


@pytest.mark.slow
async def test_a_flight_is_poured_from_typed_tags_and_its_samples_are_written(
    opened: Any, press: Any, book: Book, newest: Callable[..., list[Entry]]
) -> None:
    """Tags typed or scanned are marked; one sample of 50 ml each and one flight are written."""
    async with opened(page="panel") as pilot:
        await press(pilot, "n", "B-003", "enter", "b-005", "enter", "ctrl+s")
    (flight,) = flights(book)
    assert sorted(glass.vessel or "" for glass in flight.glasses) == ["B-003", "B-005"]
    samples = newest(2)
    assert [(entry.kind, entry.vessel, entry.moves[0].ml, entry.hand) for entry in samples] == [
        ("sample", "B-005", 50, "Ada"),
        ("sample", "B-003", 50, "Ada"),
    ]


@pytest.mark.slow
async def test_vessels_are_marked_in_the_list_too(opened: Any, press: Any, book: Book) -> None:
    """Space marks the line and goes to the next, and takes a mark away again."""
    async with opened(page="panel") as pilot:
        await press(pilot, "n", "tab", " ", " ", "up", " ", "ctrl+s")
    (flight,) = flights(book)
    assert [glass.vessel for glass in flight.glasses] == ["B-001"]


@pytest.mark.slow
async def test_a_flight_without_vessels_is_refused_and_nothing_typed_is_lost(
    opened: Any, press: Any, book: Book, newest: Callable[..., list[Entry]]
) -> None:
    """The dialog stays with what was typed; neither a flight nor a sample is written."""
    before = newest()[0].id
    async with opened(page="panel") as pilot:
        await press(pilot, "n", "tab", "tab", "spring", "ctrl+s")
        assert pilot.app.screen.rows["name"].text == "spring"
        assert "at least one sample" in shown(pilot)
    assert flights(book) == []
    assert newest()[0].id == before


@pytest.mark.slow
async def test_a_scale_that_is_none_writes_no_samples(
    opened: Any, press: Any, book: Book, newest: Callable[..., list[Entry]]
) -> None:
    """The scale is looked at before any sample is written."""
    before = newest()[0].id
    async with opened(page="panel") as pilot:
        await press(pilot, "n", "B-001", "enter")
        pilot.app.screen.rows["scale"].set_text("wide")
        await press(pilot, "ctrl+s")
        assert "is not a scale" in shown(pilot)
    assert newest()[0].id == before
    assert flights(book) == []


@pytest.mark.slow
async def test_what_is_in_a_glass_is_not_shown_before_the_codes_are_lifted(
    opened: Any, press: Any, poured: Any
) -> None:
    """Neither the list, the flight nor the score sheet names a vessel of a blind flight."""
    async with opened(page="panel") as pilot:
        seen = shown(pilot)
        await press(pilot, "enter", "Ada", "enter")
        seen += shown(pilot)
    assert "codes stay closed until the flight is revealed" in seen
    assert all(glass.code in seen for glass in poured.glasses)
    assert not any(tag in seen for tag in ("B-001", "B-002", "B-003"))


@pytest.mark.slow
async def test_an_empty_vessel_is_refused_as_it_is_typed_and_a_tag_typed_twice_is_out_again(
    opened: Any, press: Any
) -> None:
    """Neither stays marked; the list begins at the first vessel."""
    async with opened(page="panel") as pilot:
        await press(pilot, "n")
        form = pilot.app.screen
        assert form.query_one("#vessels").cursor == 0
        await press(pilot, "B-012", "enter")
        assert "B-012 is empty; name vessels that hold something" in str(form.query_one(StatusLine).render())
        await press(pilot, "B-003", "enter")
        assert "1 marked: B-003" in shown(pilot)
        await press(pilot, "b-003", "enter")
        assert "B-003 is out again" in str(form.query_one(StatusLine).render())
        assert "none marked yet" in shown(pilot)


@pytest.mark.slow
async def test_a_form_that_is_left_is_there_again_and_a_bare_number_is_millilitres(
    opened: Any, press: Any, book: Book, newest: Callable[..., list[Entry]]
) -> None:
    """Esc loses nothing; a refusal goes once its field is corrected; 40 pulls 40 mL; then the form is fresh."""
    async with opened(page="panel") as pilot:
        await press(pilot, "n", "B-003", "enter")
        pilot.app.screen.rows["pull"].set_text("much")
        await press(pilot, "escape", "n")
        form = pilot.app.screen
        assert (form._marked, form.rows["pull"].text, form.rows["pull"].hint) == (["B-003"], "much", "mL")
        assert form._tags[form.query_one("#vessels").cursor] == "B-003"
        await press(pilot, "ctrl+s")
        assert "much" in str(form.query_one(StatusLine).render())
        form.rows["pull"].set_text("40")
        await press(pilot)
        assert "Ctrl+S pours 1 glass blind" in str(form.query_one(StatusLine).render())
        await press(pilot, "ctrl+s", "-", "n")
        assert pilot.app.screen._marked == []
    assert newest()[0].moves[0].ml == 40


def order_of(book: Book, taster: str) -> list[str]:
    """The codes as a taster meets them."""
    return flights(book)[0].orders[taster]


@pytest.mark.slow
async def test_scores_are_typed_glass_by_glass_with_enter(opened: Any, press: Any, book: Book, poured: Any) -> None:
    """One line a glass, words behind the figure; what Enter takes is written, in the taster's own order."""
    async with opened(page="panel") as pilot:
        await press(pilot, "enter", "Ada", "enter", "14.5", "enter", "12 thin", "enter")
        assert len(flights(book)[0].scores) == 2
        await press(pilot, "16; keep", "enter")
    scores = flights(book)[0].scores
    given = [(scores[code, "Ada"].value, scores[code, "Ada"].words) for code in order_of(book, "Ada")]
    assert given == [(14.5, ""), (12.0, "thin"), (16.0, "")]
    assert scores[order_of(book, "Ada")[2], "Ada"].verdict == Judgement("keep")


@pytest.mark.slow
async def test_the_next_taster_does_not_see_the_scores_before(opened: Any, press: Any, book: Book, poured: Any) -> None:
    """After the last glass the sheet asks for the next name; each keeps their own scores, in an order of their own."""
    async with opened(page="panel") as pilot:
        await press(pilot, "enter", "Ada", "enter", "14", "enter", "12", "enter", "16", "enter")
        assert not any(f" {value}" in line for value in (14, 12, 16) for line in lines_of(pilot)[3:])
        await press(pilot, "Ben")
        assert "a new taster: Ben" in str(pilot.app.screen.query_one(StatusLine).render())
        await press(pilot, "enter", "9", "enter", "ctrl+o")
        assert not any("✓" in line for line in lines_of(pilot))
        await press(pilot, "escape")
        assert not isinstance(pilot.app.screen, ScoreSheet)
    scores = flights(book)[0].scores
    first, at_first = order_of(book, "Ada")[0], order_of(book, "Ben")[0]
    assert (scores[first, "Ada"].value, scores[at_first, "Ben"].value) == (14.0, 9.0)


@pytest.mark.slow
async def test_a_score_off_the_scale_is_refused_and_stays_to_be_corrected(
    opened: Any, press: Any, book: Book, poured: Any
) -> None:
    """25 on a scale to 20 is not written; it stays typed, and is not lost where Esc clears it or the sheet is left."""
    async with opened(page="panel") as pilot:
        await press(pilot, "enter", "Ada", "enter", "25", "enter")
        sheet = pilot.app.screen
        assert "is not on the scale" in str(sheet.query_one(StatusLine).render())
        await press(pilot, "escape", "right")
        assert sheet.query_one("#line").value == "25"
        assert flights(book)[0].scores == {}
        await press(pilot, "backspace", "backspace", "15", "enter")
    assert [given.value for given in flights(book)[0].scores.values()] == [15.0]


@pytest.mark.slow
async def test_a_score_can_be_changed_until_the_flight_is_revealed(
    opened: Any, press: Any, book: Book, poured: Any
) -> None:
    """A taster who comes back finds what was given as a line, and writes over it."""
    code = order_for(book, "F1", "Ada")[0]
    score(book, "F1", code, "Ada", 11.0, "sharp")
    async with opened(page="panel") as pilot:
        await press(pilot, "enter", "Ada", "enter", "up", "up")
        assert pilot.app.screen.query_one("#line").value == "11 sharp"
        await press(pilot, "home", *["right"] * 2, "backspace", "backspace", "13", "enter")
    given = flights(book)[0].scores[code, "Ada"]
    assert (given.value, given.words) == (13.0, "sharp")


@pytest.mark.slow
async def test_a_glass_is_taken_in_parts_and_completed(opened: Any, press: Any, book: Book) -> None:
    """Figures that are taken are written though others are to come; the rest follows them in the same line.

    A word is completed from its first letters by Right, and so is a verdict.
    """
    start_flight(book, ["B-001", "B-002"], code="F1", attributes=["honey", "oak=0-100 mm"], tasters=["Ada"])
    first = order_of(book, "Ada")[0]
    async with opened(page="panel") as pilot:
        await press(pilot, "enter", "enter", "6 35", "enter")
        assert flights(book)[0].scores[first, "Ada"].marks == {"honey": 6.0, "oak": 35.0}
        line = flight_line(flights(book)[0], 80, lambda _role: Style(), book.now())
        assert "blind, 1 in" in line.plain  # a glass is scored where only its attributes are
        assert "Still to come: overall" in str(pilot.app.screen.query_one(StatusLine).render())
        await press(pilot, "12.5 van", "right", "; lo", "right", " 8 weeks", "enter")
        line = pilot.app.screen.query_one("#line")
        assert line.value == ""
        await press(pilot, "- 40 10", "enter")
    scores = flights(book)[0].scores
    assert scores[first, "Ada"] == Score(12.5, "vanilla", {"honey": 6.0, "oak": 35.0}, Judgement("look again", 8))
    assert scores[order_of(book, "Ada")[1], "Ada"].marks == {"oak": 40.0}


@pytest.mark.slow
async def test_what_is_half_typed_is_there_again_for_its_taster_alone(opened: Any, press: Any, book: Book) -> None:
    """Kept on disk as it is typed: an app that ends without leaving the sheet loses nothing."""
    start_flight(book, ["B-001", "B-002"], code="F1", attributes=["honey"], tasters=["Ada", "Ben"])
    async with opened(page="panel") as pilot:
        await press(pilot, "enter", "enter", "6 12", "enter", "7 1")
    async with opened(page="panel") as pilot:
        await press(pilot, "enter", "Ben", "enter")
        assert pilot.app.screen.query_one("#line").value == ""
        await press(pilot, "ctrl+o", "Ada", "enter")
        sheet = pilot.app.screen
        assert (sheet.code, sheet.query_one("#line").value) == (order_of(book, "Ada")[1], "7 1")
        await press(pilot, "3", "enter")
    assert [each.value for each in flights(book)[0].scores.values()] == [12.0, 13.0]


@pytest.mark.slow
async def test_the_known_control_comes_first_and_is_named(opened: Any, press: Any, book: Book) -> None:
    """A reference is no secret; what is in it is none of the sheet's business."""
    start_flight(book, ["B-001", "B-002"], code="F1", tasters=["Ada"], reference="B-003")
    async with opened(page="panel") as pilot:
        await press(pilot, "enter", "enter")
        assert "the known control" in lines_of(pilot)[0]
        await press(pilot, "down")
        assert "the known control" not in lines_of(pilot)[0]


@pytest.mark.slow
async def test_reveal_asks_once_lifts_the_codes_and_shows_the_ranking(
    opened: Any, press: Any, book: Book, poured: Any
) -> None:
    """No leaves the flight blind; yes lifts the codes, ranks the glasses and tells how little so few can tell."""
    for place, glass in enumerate(poured.glasses):
        for taster, bias in (("Ada", 0.0), ("Ben", 1.0)):
            score(book, "F1", glass.code, taster, 10.0 + 2 * place + bias)
    async with opened(page="panel", size=(80, 36)) as pilot:
        await press(pilot, "v", "-")
        assert flights(book)[0].revealed_at is None
        await press(pilot, "v", "+")
        seen = shown(pilot)
        keys = {active.binding.action for active in pilot.app.screen.active_bindings.values() if active.enabled}
    assert flights(book)[0].revealed_at is not None
    best = poured.glasses[-1]
    ranked_first = next(line for line in seen.splitlines() if best.code in line and "14.5" in line)
    assert best.vessel in ranked_first  # means 10.5, 12.5 and 14.5: (10 + 2 * place + 10 + 2 * place + 1) / 2
    assert "triangle test" in seen
    assert not keys & {"score", "reveal", "look_up", "take_file"}


@pytest.mark.slow
async def test_a_taster_leaves_and_is_asked_before_coming_back(opened: Any, press: Any, book: Book) -> None:
    """From the list of those who are waited for; a score after it asks first, and brings the taster back."""
    start_flight(book, ["B-001", "B-002"], code="F1", tasters=["Ada", "Ben"])
    async with opened(page="panel") as pilot:
        await press(pilot, "z")
        assert "Who leaves F1" in shown(pilot)
        await press(pilot, "down", "enter")
        assert "Ben left F1" in shown(pilot)
        assert [taster for taster, _ in flights(book)[0].left_to_give()] == ["Ada"]
        await press(pilot, "enter", "Ben", "enter", "12", "enter", "-")
        assert flights(book)[0].scores == {}
        await press(pilot, "enter", "+", "13", "enter")
    poured = flights(book)[0]
    assert (poured.departed, [each.value for each in poured.scores.values()]) == ({}, [12.0, 13.0])


@pytest.mark.slow
async def test_the_pour_sheet_is_shown_only_to_the_one_who_pours(
    opened: Any, press: Any, book: Book, poured: Any
) -> None:
    """It asks first; only yes names the vessels, and then it is written who looked."""
    async with opened(page="panel") as pilot:
        await press(pilot, "g")
        assert "B-001" not in shown(pilot)
        assert flight(book, "F1").peeks == []
        await press(pilot, "+")
        assert "B-001" in shown(pilot)
    assert [each.hand for each in flight(book, "F1").peeks] == ["Ada"]


def lines_of(pilot: Any) -> list[str]:
    """The screen as it is drawn, line by line."""
    return [strip.text for strip in pilot.app.screen._compositor.render_strips()]


@pytest.mark.slow
async def test_no_screen_tells_of_a_blind_flight(opened: Any, press: Any, book: Book) -> None:
    """Every screen, with the vessel's page open: the codes stand by themselves, what they were given nowhere."""
    poured = start_flight(book, ["B-001", "B-002"], code="BLIND", scale="0-90000")
    for place, glass in enumerate(poured.glasses):
        for taster, value in (("Ada", 41371.0), ("Bea", 45913.0)):
            score(book, "BLIND", glass.code, taster, value + place, f"xyzzy {glass.vessel}")
    seen = {}
    async with opened(size=(140, 40)) as pilot:
        pilot.app.desk.tag = "B-001"
        for page in PAGES:
            await press(pilot, page.key)
            seen[page.name] = lines_of(pilot)
    result = [line for lines in seen.values() for line in lines]
    codes = [glass.code for glass in poured.glasses]
    assert any("BLIND" in line and "blind" in line for line in seen["panel"])
    assert all(any(code in line for line in seen["panel"]) for code in codes)
    for line in result:
        assert "xyzzy" not in line
        assert not any(figure in line for figure in ("41371", "41372", "43642", "43643", "45913", "45914"))
        assert "Glasses" not in line or "B-00" not in line


@pytest.mark.slow
async def test_six_glasses_are_scored_in_fifteen_keys(opened: Any, press: Any, book: Book) -> None:
    """The taster by the first letter, two digits a glass, one Enter; what it writes is shown before it is written."""
    six = start_flight(book, [f"B-{nth:03}" for nth in range(1, 7)])
    keys = ["A", "enter", *"141209160513", "enter"]
    assert len(keys) == 15
    async with opened(page="panel") as pilot:
        await press(pilot, "enter", *keys[:-1])
        told = str(pilot.app.screen.query_one(StatusLine).render())
        assert all(glass.code in told for glass in six.glasses)
        assert not flights(book)[0].scores
        await press(pilot, keys[-1])
    scores = flights(book)[0].scores
    assert [scores[code, "Ada"].value for code in order_of(book, "Ada")] == [14.0, 12.0, 9.0, 16.0, 5.0, 13.0]


@pytest.mark.slow
async def test_a_dash_leaves_a_glass_out_of_a_row(opened: Any, press: Any, book: Book, poured: Any) -> None:
    """The glasses around it are scored."""
    async with opened(page="panel") as pilot:
        await press(pilot, "enter", "Ada", "enter", "14 - 9", "enter")
    scores = flights(book)[0].scores
    first, second, third = order_of(book, "Ada")
    assert (scores[first, "Ada"].value, scores.get((second, "Ada")), scores[third, "Ada"].value) == (14.0, None, 9.0)


@pytest.mark.slow
async def test_a_line_that_is_refused_shows_no_figure_of_what_stood_there_before(
    opened: Any, press: Any, book: Book
) -> None:
    """The rows show what is understood of the line as it stands: up to the first part that is not."""
    start_flight(book, ["B-001", "B-002"], attributes=["honey=0-10", "oak=0-10"], tasters=["Ada"])
    async with opened(page="panel") as pilot:
        await press(pilot, "enter", "enter", "1")
        sheet = pilot.app.screen
        assert dict(sheet.hand.given.marks) == {"honey": 1.0}
        await press(pilot, "4 van")
        assert (dict(sheet.hand.given.marks), sheet.hand.reached) == ({}, 0)
        assert "honey 14 is not on the scale 0-10" in str(sheet.query_one(StatusLine).render())
        await press(pilot, *["backspace"] * 5, " 3 140")
        assert (dict(sheet.hand.given.marks), sheet.hand.reached) == ({"honey": 1.0, "oak": 3.0}, 2)


@pytest.mark.slow
async def test_the_end_of_a_turn_names_glasses_that_lack_figures(opened: Any, press: Any, book: Book) -> None:
    """One glass whole, one without its overall score."""
    start_flight(book, ["B-001", "B-002"], attributes=["oak=0-10"], tasters=["Ada"])
    async with opened(page="panel") as pilot:
        await press(pilot, "enter", "enter", "3 12", "enter", "4", "enter", "enter")
        last = order_of(book, "Ada")[-1]
        assert f"Figures missing: {last}." in str(pilot.app.screen.query_one(StatusLine).render())


@pytest.mark.slow
async def test_results_stand_in_the_same_columns_beside_the_list_and_without_it(
    opened: Any, press: Any, book: Book
) -> None:
    """At 80 columns the list makes room for the results that are read; no column of them moves."""
    made = start_flight(book, ["B-001", "B-002"], tasters=["Ada", "Bea"])
    for taster in made.panel:
        for nth, glass in enumerate(made.glasses):
            score(book, made.code, glass.code, taster, 10.0 + 3 * nth)
    reveal(book, made.code, sure=True)
    async with opened(page="panel") as pilot:
        text = pilot.app.screen.query_one("#flight")
        before = text.scrollable_content_region.width
        await press(pilot, "enter")
        assert not pilot.app.screen.query_one("#flights").display
        assert text.scrollable_content_region.width == before

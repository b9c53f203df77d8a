"""A difference test on the screen of tasting: one line a taster, blind until it is revealed."""

import re
from typing import Any

import numpy as np
import pytest
from textual.pilot import Pilot

from cooperage.book import Book
from cooperage.book.log import entries
from cooperage.tasting.difference.answering import answer
from cooperage.tasting.difference.from_text import TEST_FIELDS, question_typed
from cooperage.tasting.difference.pouring import start_difference
from cooperage.tasting.difference.question import DifferenceQuestion
from cooperage.tasting.difference.shape import DifferenceFlight
from cooperage.tasting.difference.stored import difference_flights
from cooperage.tui.tasting.answers import AnswerSheet
from cooperage.tui.tasting.new_test import NewTest


@pytest.fixture
def poured(book: Book) -> Any:
    question = DifferenceQuestion("triangle", rounds=2)
    rng = np.random.default_rng(3)
    return start_difference(book, ["B-001", "B-002"], question, ["Ada", "Bea"], code="D1", sure=True, rng=rng)


def shown(pilot: Pilot[Any]) -> str:
    """Everything that is written on the screen."""
    return pilot.app.export_screenshot().replace("&#160;", " ").replace("&#x27;", "'")


def words(pilot: Pilot[Any]) -> str:
    """The same as text alone, whatever the lines it is drawn in."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", shown(pilot)))


def answers(book: Book) -> list[list[str]]:
    return [each.answer for each in difference_flights(book)[0].sets]


@pytest.mark.slow
async def test_one_line_a_taster(opened: Any, press: Any, book: Book, poured: DifferenceFlight) -> None:
    """Name and codes on one line; or Enter for whose turn it is, then the codes, one set after the other."""
    first, second, third, fourth = (each.codes for each in poured.sets)
    async with opened(page="panel") as pilot:
        await press(pilot, "enter", f"ada {first[0]} {second[1]}", "enter")
        assert answers(book) == [[first[0]], [second[1]], [], []]
        await press(pilot, "enter")
        assert f"{'   '.join(third)}" in shown(pilot)
        assert first[0] not in shown(pilot)
        await press(pilot, third[2], "enter")
        assert isinstance(pilot.app.screen, AnswerSheet)
        await press(pilot, fourth[0], "enter")
        assert "All have answered" in shown(pilot)
        await press(pilot, "escape")
    assert answers(book) == [[first[0]], [second[1]], [third[2]], [fourth[0]]]


@pytest.mark.slow
async def test_what_is_half_typed_is_there_again(opened: Any, press: Any, book: Book, poured: DifferenceFlight) -> None:
    """Kept on disk as it is typed, for its taster alone; what is written is no draft."""
    first, _, third, _ = (each.codes for each in poured.sets)
    async with opened(page="panel") as pilot:
        await press(pilot, "enter", "Ada", "enter", first[0][:2])
    async with opened(page="panel") as pilot:
        await press(pilot, "enter", "Bea", "enter")
        assert pilot.app.screen.query_one("#line").value == ""
        await press(pilot, "escape", "Ada", "enter")
        assert pilot.app.screen.query_one("#line").value == first[0][:2]
        await press(pilot, first[0][2:], "enter")
        assert pilot.app.screen.query_one("#line").value == ""
        await press(pilot, "escape", f"bea {third[0][:2]}")
    async with opened(page="panel") as pilot:
        await press(pilot, "enter")
        assert pilot.app.screen.query_one("#line").value == f"bea {third[0][:2]}"
    assert answers(book) == [[first[0]], [], [], []]


@pytest.mark.slow
async def test_what_is_no_answer_is_refused_on_its_line(
    opened: Any, press: Any, book: Book, poured: DifferenceFlight
) -> None:
    """A dash, a code of another, a stranger; nothing is written. Sets for one who came late are drawn when asked."""
    async with opened(page="panel") as pilot:
        await press(pilot, "enter", "ada -", "enter")
        assert "choice is forced" in shown(pilot)
        await press(pilot, "escape", f"ada {poured.sets[2].codes[0]}", "enter")
        assert "none of their glasses" in shown(pilot)
        await press(pilot, "escape", f"zoe {poured.sets[2].codes[0]}", "enter")
        assert "zoe has no glasses" in shown(pilot)
        await press(pilot, "escape", "zoe", "enter", "+")
        assert "Drawn for zoe" in words(pilot)
    assert answers(book) == [[], [], [], [], [], []]


@pytest.mark.slow
async def test_blind_it_shows_progress_and_revealed_the_outcome(
    opened: Any, press: Any, book: Book, poured: DifferenceFlight
) -> None:
    """Who has answered how many, no vessel; after the reveal which against which, and what that shows."""
    for each in poured.sets:
        answer(book, "D1", each.taster, each.codes[0])
    async with opened(page="panel") as pilot:
        await pilot.app.workers.wait_for_complete()
        text = shown(pilot)
        assert "Ada has answered 2 of 2." in text
        assert "B-00" not in text
        await press(pilot, "v", "+")
        await pilot.app.workers.wait_for_complete()
        await pilot.pause()
        text = words(pilot)
        assert "B-001 against B-002" in text
        assert "right of 4 answers of 2 tasters" in text
        await press(pilot, "h")
        assert "Results of D1" in shown(pilot)
    assert not difference_flights(book)[0].is_blind


@pytest.mark.slow
async def test_a_test_is_poured_on_screen(opened: Any, press: Any, book: Book) -> None:
    """It asks back where there are too few answers, with the number needed; refused, what is typed stays."""
    async with opened(page="panel") as pilot:
        await press(pilot, "p")
        form = pilot.app.screen
        assert isinstance(form, NewTest)
        form.rows["vessel"].set_text("B-001")
        form.rows["tasters"].set_text("Ada, Bea")
        form.action_write()
        await pilot.pause()
        assert "name two that differ" in words(pilot)
        form.rows["against"].set_text("B-002")
        form.rows["rounds"].set_text("2")
        form.rows["pull"].set_text("60")
        form.action_write()
        await pilot.pause()
        assert "at least 16 tasters" in words(pilot)
        await press(pilot, "+")
    (made,) = difference_flights(book)
    with book.reading() as connection:
        pulled = {entry.vessel: entry.moves[0].ml for entry in entries(connection, kind="sample")[:2]}
    assert pulled == {"B-001": 60, "B-002": 60}  # a bare number is mL
    assert (made.question.test, made.panel, len(made.sets)) == ("triangle", ["Ada", "Bea"], 4)


def test_what_is_typed_is_a_question() -> None:
    """Shares in per cent, blank fields as usual."""
    blank = dict.fromkeys(TEST_FIELDS, "")
    assert question_typed(blank | {"test": "tetrad"}) == DifferenceQuestion("tetrad")
    typed = blank | {"test": "paired", "share": "30", "rounds": "3", "more": "oak", "expect": "B-001", "alike": "yes"}
    assert question_typed(typed) == DifferenceQuestion("paired", "alike", "oak", "B-001", rounds=3, share=0.3)
    typed = blank | {"test": "duo-trio", "reference": "B-001", "alpha": "1", "power": "90"}
    assert question_typed(typed) == DifferenceQuestion("duo-trio", reference="B-001", alpha=0.01, power=0.9)


@pytest.mark.slow
async def test_what_is_begun_is_no_mistake_and_esc_leads_where_it_is_announced(
    opened: Any, press: Any, poured: DifferenceFlight
) -> None:
    """Half a code of one's own glasses asks for the rest; a code of no glass is refused; a first Esc goes back."""
    first, *_ = (each.codes for each in poured.sets)
    own = {code for each in poured.sets_of("Ada") for code in each.codes}
    strange = next(str(code) for code in range(100, 999) if not any(each.startswith(str(code)[:2]) for each in own))
    async with opened(page="panel") as pilot:
        await press(pilot, "enter", "Ada", "enter", first[0][:1])
        assert "Type the whole code." in words(pilot)
        await press(pilot, "escape", strange)
        assert "none of their glasses" in words(pilot)
        await press(pilot, "escape")
        assert "goes back to the tasters" in words(pilot)
        await press(pilot, "escape")
        assert "has answered 0 of 2" in words(pilot)

"""A difference test on the screen of tasting: one line a taster, blind until it is revealed."""

import re
from typing import Any

import numpy as np
import pytest
from textual.pilot import Pilot

from cooperage.book import Book
from cooperage.tasting.difference.answering import answer
from cooperage.tasting.difference.pouring import start_difference
from cooperage.tasting.difference.question import DifferenceQuestion
from cooperage.tasting.difference.shape import DifferenceFlight
from cooperage.tasting.difference.stored import difference_flights
from cooperage.tui.tasting.answers import AnswerSheet


@pytest.fixture
def poured(book: Book) -> Any:
    question = DifferenceQuestion("triangle", rounds=2)
    rng = np.random.default_rng(3)
    return start_difference(book, ["B-001", "B-002"], question, ["Ada", "Bea"], code="D1", sure=True, rng=rng)


def shown(pilot: Pilot[Any]) -> str:
    """Everything that is written on the screen."""
    return pilot.app.export_screenshot().replace("&#160;", " ").replace("&#x27;", "'")


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
async def test_what_is_no_answer_is_refused_on_its_line(
    opened: Any, press: Any, book: Book, poured: DifferenceFlight
) -> None:
    """A dash, a code of another, a stranger; nothing is written, and what is typed stays."""
    async with opened(page="panel") as pilot:
        await press(pilot, "enter", "ada -", "enter")
        assert "choice is forced" in shown(pilot)
        await press(pilot, "escape", f"ada {poured.sets[2].codes[0]}", "enter")
        assert "none of their glasses" in shown(pilot)
        await press(pilot, "escape", f"zoe {poured.sets[2].codes[0]}", "enter")
        assert "zoe has no glasses" in shown(pilot)
    assert answers(book) == [[], [], [], []]


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
        text = re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", shown(pilot)))
        assert "B-001 against B-002" in text
        assert "right of 4 answers of 2 tasters" in text
        await press(pilot, "h")
        assert "Results of D1" in shown(pilot)
    assert not difference_flights(book)[0].is_blind

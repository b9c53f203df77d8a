"""Difference tests between the mead of B-1 and of T-1, poured on each backend."""

from collections.abc import Callable, Sequence

import numpy as np
import pytest

from cooperage.book import Book
from cooperage.tasting.difference.answering import answer
from cooperage.tasting.difference.closing import reveal_any
from cooperage.tasting.difference.pouring import start_difference
from cooperage.tasting.difference.question import DifferenceQuestion
from cooperage.tasting.difference.shape import DifferenceFlight, PresentedSet

PANEL = ("Ada", "Bea", "Cleo", "Dot")
Pour = Callable[..., DifferenceFlight]


def right_codes(test: str, each: PresentedSet, expected: str = "B") -> list[str]:
    """What a taster who tastes it answers: worked out from the samples, glass by glass."""
    letters = list(zip(each.order, each.codes, strict=True))
    if test == "tetrad":
        return [code for letter, code in letters if letter == each.order[0]]
    if test == "duo-trio":
        return [code for letter, code in letters[1:] if letter == each.order[0]]
    wanted = expected if test in ("paired", "3-afc") else min("AB", key=each.order.count)
    return [code for letter, code in letters if letter == wanted]


def answered(book: Book, poured: DifferenceFlight, right: Sequence[bool]) -> None:
    """Let each set be answered right or wrong, in the sequence of the sets."""
    question = poured.question
    for each, is_right in zip(poured.sets, right, strict=True):
        codes = right_codes(question.test, each, question.expected or "B")
        if not is_right:
            others = [code for code in each.codes if code not in codes]
            others = others[-1:] if question.test != "tetrad" else [codes[0], others[0]]
            codes = others if question.test != "duo-trio" else [code for code in each.codes[1:] if code not in codes]
        answer(book, poured.code, each.taster, " ".join(codes))


def closed(book: Book, code: str = "D") -> DifferenceFlight:
    """The test revealed, whoever has not answered."""
    found = reveal_any(book, code, sure=True)
    assert isinstance(found, DifferenceFlight)
    return found


@pytest.fixture
def pour(cellar_book: Book) -> Pour:
    """Pour a test between B-1 and T-1, by a fixed draw; what is asked is given by name."""

    def poured(test: str, tasters: Sequence[str] = PANEL, **asked: object) -> DifferenceFlight:
        question = DifferenceQuestion(test, **asked)  # type: ignore[arg-type]
        rng = np.random.default_rng(7)
        return start_difference(cellar_book, ["B-1", "T-1"], question, tasters, code="D", sure=True, rng=rng)

    return poured

"""Several difference tests of the same two samples, and what makes them the same."""

import math
from typing import Any

import numpy as np
import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.tasting.difference.outcome import taken_together
from cooperage.tasting.difference.pouring import start_difference
from cooperage.tasting.difference.question import DifferenceQuestion
from cooperage.tasting.difference.shape import DifferenceFlight
from cooperage.tasting.difference.words import together_lines
from cooperage.tasting.statistics.difference.common import common_distance
from cooperage.tasting.statistics.difference.counts import TESTS
from tests.tasting.difference.conftest import answered, closed

pytestmark = pytest.mark.parametrize("book", ["sqlite"], indirect=True)


PAIR = "B-1", "T-1"


def given(book: Book, code: str, test: str, right: str, *samples: str, **asked: Any) -> DifferenceFlight:
    """A test that was answered so, a digit a taster, and revealed."""
    poured = poured_test(book, code, test, len(right), *samples, **asked)
    answered(book, poured, [each == "1" for each in right])
    return closed(book, code)


def poured_test(book: Book, code: str, test: str, tasters: int, *samples: str, **asked: Any) -> DifferenceFlight:
    """A test that is still blind."""
    names = [f"taster {at}" for at in range(tasters // asked.get("rounds", 1))]
    question, rng = DifferenceQuestion(test, **asked), np.random.default_rng(7)
    return start_difference(book, samples or PAIR, question, names, code=code, sure=True, rng=rng)


def test_tests_of_one_pair_have_one_distance(cellar_book: Book) -> None:
    """A triangle and a tetrad, whichever sample was named first; blind, repeated and two-sided ones do not count."""
    first = given(cellar_book, "D-1", "triangle", "11010111")
    assert taken_together(cellar_book, first) is None
    assert together_lines(None) == []
    given(cellar_book, "D-2", "tetrad", "110101", "T-1", "B-1")
    poured_test(cellar_book, "D-3", "triangle", 6)
    given(cellar_book, "D-4", "triangle", "111111", rounds=2)
    given(cellar_book, "D-5", "paired", "111111")
    found = taken_together(cellar_book, first)
    assert found is not None
    assert found.codes == ("D-1", "D-2")
    assert found.found == common_distance([(TESTS["triangle"], 6, 8), (TESTS["tetrad"], 4, 6)], 0.9)
    low, high = found.found.between
    assert together_lines(found) == [
        f"2 tests of these two (D-1, D-2) have 14 answers: together d' from {low:.1f} to {high:.1f}, 90 % sure, "
        "each answer taken for another taster's."
    ]


def test_tests_that_differ_are_not_taken_together(cellar_book: Book) -> None:
    given(cellar_book, "D-1", "triangle", "1" * 12)
    found = taken_together(cellar_book, given(cellar_book, "D-2", "triangle", "0" * 9 + "1" * 3))
    assert found is not None
    assert found.found.p_alike < 0.001
    assert "go by each test alone" in together_lines(found)[1]
    assert math.isfinite(found.found.d_prime)


def test_another_fill_is_another_sample(cellar_book: Book) -> None:
    """Once the barrel was emptied and filled again, tests before are of another mead."""
    before = given(cellar_book, "D-1", "triangle", "110101")
    cellar_book.write(acts.Rack(vessel="B-1", destination="T-1", sure=True))
    cellar_book.write(acts.Fill(vessel="B-1", source="T-1", sure=True))
    after = given(cellar_book, "D-2", "triangle", "111101")
    assert taken_together(cellar_book, before) is None
    assert taken_together(cellar_book, after) is None

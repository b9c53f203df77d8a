"""How many tasters a difference test needs, and when two liquids may be called alike, against the standards' rules."""

from collections.abc import Callable
from typing import Any

import pytest
from scipy.stats import binom

from cooperage.errors import OutOfRange
from cooperage.tasting.statistics.difference.counts import (
    TESTS,
    NoSuchTest,
    by_guessing,
    difference_test,
    fewest_correct,
    triangle_power,
)
from cooperage.tasting.statistics.difference.power import (
    chance_of_so_few,
    most_correct,
    power,
    tasters_needed,
    tasters_to_show_alike,
)
from cooperage.tasting.statistics.difference.thurstone import right_answers

BY_GUESS = {"1/3": ("triangle", "3-afc", "tetrad"), "1/2": ("duo-trio", "paired")}


def test_panels_are_as_large_as_the_standards_ask(reference: Callable[[str], Any]) -> None:
    """ISO 4120 and ISO 10399: the first number of tasters, its right answers and power, and where power stays."""
    rows = reference("discrimination_sample_size.csv")
    assert len(rows) >= 160
    for row in rows:
        test = TESTS[BY_GUESS[row["guess_probability"]][0]]
        found = tasters_needed(test, float(row["pd"]), float(row["alpha"]), float(row["beta"]))
        assert found is not None
        assert (found.first, found.stable) == (int(row["n_first"]), int(row["n_stable"])), row
        assert found.correct == int(row["minimum_correct_at_n_first"]), row
        assert found.power == pytest.approx(float(row["power_at_n_first"]), abs=1e-6), row
        assert row["printed_value_memory"] in ("", str(found.first)), row


def test_power_is_lost_again_before_it_stays() -> None:
    """Triangle, half of the tasters, 5 %: 23 tasters reach 95 %, 24 do not, and from 29 on all do."""
    triangle = TESTS["triangle"]
    found = tasters_needed(triangle, 0.5, 0.05, 0.05)
    assert found is not None
    assert (found.first, found.stable) == (23, 29)
    reached = [n for n in range(1, 60) if power(triangle, n, 0.05, 0.5) >= 0.95]
    assert reached[0] == 23
    assert reached[-31:] == list(range(29, 60))
    assert 24 not in reached
    assert 28 not in reached


def test_tests_with_the_same_guess_need_as_many() -> None:
    """A guess is right one time in three in the triangle, the 3-AFC and the tetrad, one in two in the others."""
    for names in BY_GUESS.values():
        assert len({fewest_correct(TESTS[name], 15, 0.05) for name in names}) == 1
        assert len({tasters_needed(TESTS[name], 0.4) for name in names}) == 1
    assert power(TESTS["triangle"], 12, 0.05, 0.5) == triangle_power(12, 0.05, 0.5)


def test_right_answers_that_show_two_liquids_alike(reference: Callable[[str], Any]) -> None:
    """ISO 4120, table A.2: the most right answers, or none where only fewer than guessing gives would do."""
    rows = reference("similarity_maximum_correct.csv")
    assert len(rows) >= 600
    for row in rows:
        test, tasters = TESTS[row["test"].replace("_", "-")], int(row["n_assessors"])
        found = most_correct(test, tasters, float(row["beta"]), float(row["pd"]))
        assert str(found).lower() == row["maximum_correct_for_similarity"], row


@pytest.mark.parametrize(
    ("name", "d_prime", "first"),
    [("tetrad", 1.0, 82), ("paired", 1.0, 30)],
)
def test_tasters_for_a_distance(name: str, d_prime: float, first: int) -> None:
    """Ennis and Jesionka; sensR: one standard deviation apart, 5 %, power 90 %."""
    test = TESTS[name]
    share = (right_answers(test, d_prime) - float(test.guess)) / (1 - float(test.guess))
    found = tasters_needed(test, share, 0.05, 0.1)
    assert found is not None
    assert found.first == first


def test_tasters_to_show_two_liquids_alike() -> None:
    """Guess one in two, a tenth taste it, fewer than a fifth to be shown at 5 % with power 80 %: 604 (sensR)."""
    found = tasters_to_show_alike(TESTS["paired"], 0.2, truly=0.1)
    assert found is not None
    assert found.first == 604
    assert found.correct == most_correct(TESTS["paired"], 604, 0.05, 0.2)
    assert found.power == pytest.approx(binom.cdf(found.correct, 604, 0.55), rel=1e-9)


def test_a_tail_that_meets_the_level_counts() -> None:
    """Two of two by one in ten is 0.01 exactly; three of three at one in three is 1/27 exactly."""
    assert fewest_correct(TESTS["triangle"], 3, 1 / 27) == 3
    assert fewest_correct(TESTS["paired"], 4, 1 / 16) == 4
    assert by_guessing(TESTS["paired"], 4, 4) == 1 / 16
    needed = tasters_needed(TESTS["paired"], 0.9, 1 / 16, 0.3)
    assert needed is not None
    assert (needed.first, needed.correct) == (4, 4)  # all of four right 0.95^4 = 0.81 of the time


def test_so_few_right_answers() -> None:
    """22 of 75 in a triangle, if the liquids were one standard deviation apart: 0.01773 (sensR)."""
    triangle = TESTS["triangle"]
    share = (right_answers(triangle, 1.0) - 1 / 3) * 1.5
    assert chance_of_so_few(triangle, 22, 75, share) == pytest.approx(0.01773, abs=5e-6)


def test_what_is_no_test_and_no_share_is_refused() -> None:
    """A name that is none, with the nearest; a share above one; nobody to be found."""
    with pytest.raises(NoSuchTest, match="did you mean triangle"):
        difference_test("triange")
    assert difference_test(" Tetrad ").name == "tetrad"
    for share in (0.0, 1.0, 1.5):
        with pytest.raises(OutOfRange):
            tasters_needed(TESTS["paired"], share)
    with pytest.raises(OutOfRange):
        tasters_to_show_alike(TESTS["paired"], 0.2, truly=0.3)
    assert tasters_needed(TESTS["triangle"], 0.001) is None

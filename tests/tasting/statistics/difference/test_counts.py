"""Triangle, duo-trio and paired tests against printed tables, scipy and each other."""

from collections.abc import Callable
from functools import partial
from typing import Any, TypeAlias

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom, binomtest

from cooperage.errors import BadInput, OutOfRange
from cooperage.tasting.statistics.difference.counts import (
    duo_trio_critical,
    duo_trio_test,
    paired_critical,
    paired_test,
    triangle_critical,
    triangle_power,
    triangle_test,
)

Tail: TypeAlias = Callable[[int, int], float]
Critical: TypeAlias = Callable[[int, float], int | None]

TESTS: dict[str, tuple[Tail, Critical]] = {
    "triangle": (triangle_test, triangle_critical),
    "duo_trio": (duo_trio_test, duo_trio_critical),
    "paired_one_sided": (partial(paired_test, two_sided=False), partial(paired_critical, two_sided=False)),
    "paired_two_sided": (paired_test, paired_critical),
}


@pytest.mark.parametrize("kind", TESTS)
def test_critical_numbers_and_tails_match_the_reference_table(kind: str, reference: Callable[[str], Any]) -> None:
    """Every row of discrimination_minimum_correct.csv: the count exactly, its tail to 1e-6, prints included."""
    tail, critical = TESTS[kind]
    rows = [row for row in reference("discrimination_minimum_correct.csv") if row["test"] == kind]
    assert len(rows) == 315
    for row in rows:
        trials, alpha = int(row["n_assessors"]), float(row["alpha"])
        expected = None if row["minimum_correct"] == "none" else int(row["minimum_correct"])
        assert critical(trials, alpha) == expected, row
        if expected is not None:
            # six significant digits are printed
            assert tail(expected, trials) == pytest.approx(float(row["exact_tail_probability"]), rel=1e-5)
        if row["printed_value"]:
            assert str(expected).lower() == row["printed_value"], row


def test_three_tasters_reach_significance_only_if_all_are_right() -> None:
    """3 of 3 has tail (1/3)^3 = 1/27 = 0.037: significant at 5 %, though 2 of 2 (1/9) is not."""
    assert triangle_test(3, 3) == pytest.approx(1 / 27, rel=1e-15)
    assert triangle_critical(3, 0.05) == 3
    assert triangle_critical(2, 0.05) is None


@given(st.integers(1, 60).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_tails_agree_with_scipy(counts: tuple[int, int]) -> None:
    """Any count of right answers has the tail that scipy's binomial gives it."""
    correct, trials = counts
    assert triangle_test(correct, trials) == pytest.approx(binom.sf(correct - 1, trials, 1 / 3), abs=1e-12)
    assert duo_trio_test(correct, trials) == pytest.approx(binom.sf(correct - 1, trials, 0.5), abs=1e-12)
    assert paired_test(correct, trials) == pytest.approx(binomtest(correct, trials).pvalue, abs=1e-12)


@given(st.integers(1, 60), st.floats(0.0005, 0.5), st.sampled_from(sorted(TESTS)))
def test_critical_is_the_first_significant_count(trials: int, alpha: float, kind: str) -> None:
    """The critical count is significant, one fewer is not, and None means that all right is not."""
    tail, critical = TESTS[kind]
    fewest = critical(trials, alpha)
    assert tail(trials if fewest is None else fewest - 1, trials) > alpha
    assert fewest is None or tail(fewest, trials) <= alpha


def test_power_is_the_tail_when_some_truly_taste_it() -> None:
    """With half of 12 telling, an answer is right 2 times in 3; 8 right are needed: scipy gives the chance."""
    assert triangle_critical(12, 0.05) == 8
    assert triangle_power(12, 0.05, 0.5) == pytest.approx(binom.sf(7, 12, 2 / 3), rel=1e-9)
    assert triangle_power(12, 0.05, 1) == 1
    assert triangle_power(2, 0.05, 1) == 0


@pytest.mark.parametrize(("correct", "trials"), [(4, 3), (-1, 3), (0, 0), (1.5, 3), ("2", 3)])
def test_impossible_counts_are_refused(correct: float | int | str, trials: int) -> None:
    """More right than tried, fewer than none, or half an answer is bad input."""
    with pytest.raises(BadInput, match="right answers of"):
        triangle_test(correct, trials)  # type: ignore[arg-type]  # half an answer and a word are no counts


@pytest.mark.parametrize("alpha", [0, 1, -0.1, 5])
def test_a_level_is_a_chance(alpha: float) -> None:
    """A level of 5 instead of 0.05 is refused."""
    with pytest.raises(OutOfRange, match="above 0 and below 1"):
        triangle_critical(10, alpha)


def test_a_share_of_tasters_is_at_most_all() -> None:
    """Power for 150 % of the tasters is refused."""
    with pytest.raises(OutOfRange):
        triangle_power(10, 0.05, 1.5)

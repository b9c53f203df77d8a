"""How far apart two liquids taste, against Ennis's psychometric functions and published estimates."""

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from scipy.stats import binomtest

from cooperage.errors import OutOfRange
from cooperage.tasting.statistics.difference.counts import TESTS, by_guessing
from cooperage.tasting.statistics.difference.thurstone import d_prime_of, distinguished, right_answers

NAMES = {"two_afc": "paired", "three_afc": "3-afc", "duo_trio": "duo-trio", "triangle": "triangle", "tetrad": "tetrad"}


def test_right_answers_follow_from_the_distance(reference: Callable[[str], Any]) -> None:
    """thurstone_links.csv: every test at every distance to 1e-8, the share of tasters too, and back again."""
    rows = reference("thurstone_links.csv")
    tests = [TESTS[NAMES[row["method"]]] for row in rows]
    apart = [float(row["d_prime"]) for row in rows]
    right = [right_answers(test, d) for test, d in zip(tests, apart, strict=True)]
    assert right == pytest.approx([float(row["p_correct"]) for row in rows], abs=1e-8)
    back = [d_prime_of(test, share) for test, share in zip(tests, right, strict=True)]
    assert back == pytest.approx(apart, abs=1e-6)


@pytest.mark.parametrize("at", range(4))
def test_ten_right_of_fifteen(at: int, reference: Callable[[str], Any]) -> None:
    """Estimates, standard error and exact ends of each test (sensR): 1e-5, its own search being no closer."""
    case = reference("discrimination_inference.json")["cases"][at]
    test = TESTS[NAMES[case["method"]]]
    found = distinguished(test, case["correct"], case["total"])
    assert (found.right, found.share) == pytest.approx((case["pc"], case["pd"]))
    assert (found.d_prime, found.error) == pytest.approx((case["d_prime"], case["se_d_prime"]), rel=1e-5)
    if "pc_ci95_exact" in case:
        assert found.right_between == pytest.approx(case["pc_ci95_exact"], abs=5e-5)
        assert by_guessing(test, 10, 15) == pytest.approx(case["p_value_exact"], abs=5e-7)


def test_twenty_two_of_seventy_five_are_no_more_than_guessed(reference: Callable[[str], Any]) -> None:
    """The ends above what was found: 0.4098 right, 0.1147 of the tasters, 0.946 apart (sensR)."""
    case = reference("discrimination_inference.json")["cases"][4]
    found = distinguished(TESTS["triangle"], case["correct"], case["total"])
    ends = (found.right_between[1], found.share_between[1], found.d_prime_between[1])
    assert ends == pytest.approx((case["pc_upper95"], case["pd_upper95"], case["d_prime_upper95"]), abs=5e-4)
    assert (found.d_prime, found.error) == (0.0, math.inf)


def test_exact_ends_are_scipys() -> None:
    """Clopper and Pearson, none and all right too, no lower than guessing."""
    for correct, trials in ((0, 4), (4, 4), (7, 9), (2, 9)):
        expected = binomtest(correct, trials).proportion_ci(0.9, method="exact")
        found = distinguished(TESTS["triangle"], correct, trials, 0.9)
        assert found.right_between == pytest.approx((max(1 / 3, expected.low), max(1 / 3, expected.high)), rel=1e-9)
    assert distinguished(TESTS["tetrad"], 4, 4).d_prime == math.inf


def test_simulated_glasses_are_told_apart_as_often() -> None:
    """100,000 simulated tasters of each test, liquids 1.2 apart: right as often as the formula, four deviations."""
    rng = np.random.default_rng(11)
    one, two, three = (rng.normal(size=100_000) for _ in range(3))
    other, last = rng.normal(1.2, 1, 100_000), rng.normal(1.2, 1, 100_000)
    like, first, second = abs(one - two), abs(one - other), abs(two - other)
    tetrad = (np.maximum(one, two) < np.minimum(other, last)) | (np.minimum(one, two) > np.maximum(other, last))
    right = {
        "paired": other > one,
        "3-afc": other > np.maximum(one, two),
        "triangle": (like < first) & (like < second),
        "duo-trio": abs(one - three) < abs(three - other),
        "tetrad": tetrad,
    }
    for name, answers in right.items():
        expected = right_answers(TESTS[name], 1.2)
        assert answers.mean() == pytest.approx(expected, abs=4 * math.sqrt(expected * (1 - expected) / 1e5)), name


@pytest.mark.parametrize("right", [-0.1, 1.1])
def test_a_share_is_a_share(right: float) -> None:
    with pytest.raises(OutOfRange):
        d_prime_of(TESTS["paired"], right)

"""One distance from several difference tests: a published example, and what must hold of any."""

import math
from collections.abc import Callable
from itertools import product
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom

from cooperage.tasting.statistics.difference.common import NoTestGiven, common_distance
from cooperage.tasting.statistics.difference.counts import TESTS
from cooperage.tasting.statistics.difference.thurstone import distinguished, right_answers
from tests.tasting.statistics.difference.test_thurstone import NAMES


def test_four_tests_of_one_pair(reference: Callable[[str], Any]) -> None:
    """Triangle, duo-trio, 3-AFC and 2-AFC of 40 answers each: d' 1.585, error 0.179 (sensR), likelihood root 8.28."""
    cases = reference("discrimination_inference.json")["cases"]
    case = next(each for each in cases if each["id"] == "common_dprime_four_methods")
    counted = [
        (TESTS[NAMES[name]], right, of)
        for name, right, of in zip(case["methods"], case["correct"], case["total"], strict=True)
    ]
    alone = [distinguished(*each) for each in counted]
    assert [each.d_prime for each in alone] == pytest.approx(case["d_primes"], abs=1e-4)
    assert [each.error for each in alone] == pytest.approx(case["se"], rel=1e-3)
    found = common_distance(counted)
    assert (found.d_prime, found.error) == pytest.approx((case["common_d_prime_ml"], case["se_common"]), abs=5e-4)
    assert found.between == pytest.approx(case["ci95_wald"], abs=3e-3)  # the profile's ends lie near Wald's here

    def log_likelihood(d_prime: float) -> float:
        return float(sum(binom.logpmf(right, of, right_answers(test, d_prime)) for test, right, of in counted))

    root = math.sqrt(2 * (log_likelihood(found.d_prime) - log_likelihood(0.0)))
    assert root == pytest.approx(case["likelihood_root"], abs=5e-3)
    least = log_likelihood(found.d_prime) - 3.841458820694124 / 2
    assert [log_likelihood(end) for end in found.between] == pytest.approx([least, least], abs=1e-5)


@settings(max_examples=30, deadline=None)
@given(st.sampled_from(sorted(TESTS)), st.integers(1, 40), st.data())
def test_one_test_alone_and_the_same_twice(name: str, of: int, data: st.DataObject) -> None:
    """Alone it is its own d'; twice the same is the same d' known better, and alike for sure."""
    right = data.draw(st.integers(0, of))
    one, two = (common_distance([(TESTS[name], right, of)] * times) for times in (1, 2))
    assert one.d_prime == pytest.approx(distinguished(TESTS[name], right, of).d_prime, abs=1e-5)
    assert two.d_prime == pytest.approx(one.d_prime, abs=1e-5)
    assert one.between[0] - 1e-5 <= two.between[0] <= two.between[1] <= one.between[1] + 1e-5
    assert math.isnan(one.p_alike)
    assert two.p_alike == pytest.approx(1.0, abs=1e-3)


def test_nothing_and_everything_right() -> None:
    """Guessing gives no distance and no end below it; all right give no upper end."""
    guessed = common_distance([(TESTS["triangle"], 3, 12), (TESTS["paired"], 4, 12)])
    assert (guessed.d_prime, guessed.between[0]) == (0.0, 0.0)
    assert 0 < guessed.between[1] < 2
    every = common_distance([(TESTS["triangle"], 12, 12), (TESTS["paired"], 12, 12)])
    assert (every.d_prime, every.between[1]) == (math.inf, math.inf)
    assert every.between[0] > 2
    apart = common_distance([(TESTS["triangle"], 12, 12), (TESTS["triangle"], 3, 12)])
    assert apart.p_alike < 0.001
    with pytest.raises(NoTestGiven):
        common_distance([])


def test_ends_hold_the_truth_about_as_often_as_they_say() -> None:
    """Two tests of eight answers each of liquids 1.5 apart: the chances of all counts whose ends hold it, summed."""
    tests, of, held = [TESTS["triangle"], TESTS["3-afc"]], 8, 0.0
    chances = [right_answers(test, 1.5) for test in tests]
    for counts in product(range(of + 1), repeat=2):
        low, high = common_distance([(test, right, of) for test, right in zip(tests, counts, strict=True)], 0.9).between
        if low <= 1.5 <= high:
            held += float(np.prod(binom.pmf(counts, of, chances)))
    assert 0.87 <= held <= 0.95

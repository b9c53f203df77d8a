"""Repeated answers of the same tasters, against published fits and the plain binomial."""

import math
from collections.abc import Callable
from typing import Any

import pytest

from cooperage.errors import OutOfRange
from cooperage.tasting.statistics.difference.counts import TESTS, NotACount, by_guessing
from cooperage.tasting.statistics.difference.replicated import repeated_answers
from cooperage.tasting.statistics.difference.thurstone import distinguished


@pytest.mark.slow
def test_a_published_duo_trio_of_eighteen_tasters(reference: Callable[[str], Any]) -> None:
    """Mean, spread, d', log-likelihood, and the chance of tasters so far apart (sensR, chance-corrected)."""
    cases = {case["id"]: case for case in reference("discrimination_inference.json")["cases"]}
    case = cases["replicated_beta_binomial_duo_trio"]
    found = repeated_answers(TESTS["duo-trio"], list(zip(case["x"], case["n"], strict=True)))
    assert found is not None
    assert (found.share, found.spread) == pytest.approx((case["mu"], case["gamma"]), abs=5e-6)
    assert found.d_prime == pytest.approx(case["d_prime"], abs=1e-4)
    assert found.log_likelihood == pytest.approx(case["loglik"], abs=5e-5)
    assert found.p_spread == pytest.approx(case["p_overdispersion"], abs=1e-6)
    assert found.p == pytest.approx(by_guessing(TESTS["duo-trio"], sum(case["x"]), sum(case["n"])))


def test_tasters_who_are_all_alike_have_no_spread() -> None:
    """Then the estimate is the plain one of as many answers; the interval is wider, being of few tasters."""
    found = repeated_answers(TESTS["triangle"], [(2, 3)] * 4, 0.9)
    plain = distinguished(TESTS["triangle"], 8, 12, 0.9)
    assert found is not None
    assert found.spread == 0.0
    assert found.share == pytest.approx(plain.share, abs=1e-4)
    assert found.share_between[0] < plain.share_between[0]
    assert found.p_spread == 1.0


def test_the_ends_of_none_and_all_right() -> None:
    """None right: the share may be nothing; all right: it may be all, and d' has no end."""
    none = repeated_answers(TESTS["triangle"], [(0, 3)] * 4)
    every = repeated_answers(TESTS["triangle"], [(3, 3)] * 4)
    assert none is not None
    assert every is not None
    assert (none.share, none.share_between[0]) == (0.0, 0.0)
    assert every.share_between[1] == 1.0
    assert math.isinf(every.d_prime_between[1])


def test_one_taster_is_no_panel_and_misfits_are_refused() -> None:
    """None for one; counts and levels as everywhere."""
    assert repeated_answers(TESTS["triangle"], [(3, 5)]) is None
    with pytest.raises(NotACount):
        repeated_answers(TESTS["triangle"], [(4, 3), (1, 3)])
    with pytest.raises(OutOfRange):
        repeated_answers(TESTS["triangle"], [(1, 3), (1, 3)], 1.0)

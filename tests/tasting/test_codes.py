"""Blind codes and serving orders."""

from collections import Counter
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.tasting.codes import NothingToCode, TooManyGlasses, blind_codes, serving_orders

SEEDS = st.integers(0, 2**32)
EVERY_CODE = 633  # 9 x 9 x 8 with no digit twice, less 123..789 (7) and 321..987 with 210 (8)


@given(st.integers(0, 40), SEEDS)
def test_codes_are_distinct_and_suggest_no_order(n: int, seed: int) -> None:
    """Codes have three different digits, none leading zero, none counting up or down, and no two are alike."""
    codes = blind_codes(n, np.random.default_rng(seed))
    assert len(set(codes)) == n
    for code in codes:
        assert len(set(code)) == 3
        assert 100 <= int(code) <= 999
        assert code not in "0123456789"
        assert code not in "9876543210"


def test_every_permitted_code_can_be_drawn_once_and_no_more() -> None:
    """There are exactly 633 codes; one glass more is refused, and so is less than none."""
    assert len(set(blind_codes(EVERY_CODE, np.random.default_rng(1)))) == EVERY_CODE
    for impossible in (EVERY_CODE + 1, -1):
        with pytest.raises(TooManyGlasses, match="633"):
            blind_codes(impossible, np.random.default_rng(1))


@given(st.integers(1, 9), st.integers(1, 20), SEEDS)
def test_every_taster_meets_every_glass_once_and_places_are_shared(glasses: int, tasters: int, seed: int) -> None:
    """Each row is a permutation; in each place, glasses occur equally often or once more."""
    orders = serving_orders(glasses, tasters, np.random.default_rng(seed))
    assert orders.shape == (tasters, glasses)
    assert (np.sort(orders, axis=1) == np.arange(glasses)).all()
    for place in orders.T:
        counts = np.bincount(place, minlength=glasses)
        assert counts.max() - counts.min() <= 1


@given(st.integers(2, 9), SEEDS)
def test_a_full_design_balances_what_comes_before(glasses: int, seed: int) -> None:
    """Over a whole Williams design every ordered pair of neighbours occurs once (even) or twice (odd)."""
    times = 1 if glasses % 2 == 0 else 2
    orders = serving_orders(glasses, glasses * times, np.random.default_rng(seed))
    followed = Counter(pair for row in orders.tolist() for pair in pairwise(row))
    assert len(followed) == glasses * (glasses - 1)
    assert set(followed.values()) == {times}


@given(st.integers(3, 9), SEEDS)
def test_orders_differ_between_tasters_and_draws_repeat(glasses: int, seed: int) -> None:
    """Up to one square no two tasters share an order, and the same generator gives the same orders."""
    orders = serving_orders(glasses, glasses, np.random.default_rng(seed))
    assert len({tuple(row) for row in orders.tolist()}) == glasses
    assert (orders == serving_orders(glasses, glasses, np.random.default_rng(seed))).all()


@pytest.mark.parametrize(("glasses", "tasters"), [(0, 3), (3, 0)])
def test_nothing_to_serve_is_refused(glasses: int, tasters: int) -> None:
    """No glass or no taster is bad input."""
    with pytest.raises(NothingToCode, match="one of each"):
        serving_orders(glasses, tasters, np.random.default_rng(0))

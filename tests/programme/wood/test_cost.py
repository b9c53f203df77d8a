"""What a barrel costs: sums to the cent, and what is unknown stays unknown."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.programme.wood.cost import MONTH_DAYS, CostBasis, cost_of_barrel, spread_price
from cooperage.programme.wood.history import BarrelFill, BarrelHistory, WoodLoss

YEAR = 365.25
basis = st.builds(CostBasis, spread=st.sampled_from(["straight", "effect"]), fills=st.integers(1, 20))


@given(
    st.integers(0, 10**8).map(lambda cents: cents / 100),
    st.none() | st.integers(0, 8),
    st.lists(st.floats(0, 3000), max_size=12),
    basis,
)
def test_a_price_is_its_fills_and_what_is_left_to_the_cent(
    price: float, before: int | None, days: list[float], how: CostBasis
) -> None:
    """However it is spread, and however many fills there were; none bears less than nothing."""
    found = spread_price(price, before, days, how)
    cents = [round(100 * each) for each in (*found.charges, found.left)]
    assert sum(cents) == round(100 * price)
    assert all(each >= 0 for each in cents)
    assert len(found.charges) == len(days)
    assert round(100 * (found.used + found.left)) == round(100 * price)


def test_in_equal_parts() -> None:
    """By hand: 600 over 6 fills; a whole year, half a year: 100 and 50, and 450 is left."""
    found = spread_price(600.0, 0, [YEAR, YEAR / 2])
    assert found.charges == (100.0, 50.0)
    assert found.left == 450.0


def test_by_the_effect_that_is_used() -> None:
    """By hand: a new barrel loses half of its effect in the first fill and a quarter in the second."""
    found = spread_price(600.0, 0, [YEAR, YEAR], CostBasis("effect"))
    assert found.charges == (300.0, 150.0)
    assert (found.left, found.spread) == (150.0, "effect")


@pytest.mark.parametrize("before", [None, 4, 9])
def test_what_came_without_known_effect_is_spread_straight(before: int | None) -> None:
    assert spread_price(60.0, before, [YEAR], CostBasis("effect")).spread == "straight"
    assert spread_price(60.0, before, [YEAR], CostBasis("effect")).charges == (10.0,)


PAST = BarrelHistory((BarrelFill(0.0, YEAR * 86_400, 225 * YEAR),), WoodLoss(9_000, 54.0), days_worked=12)


def test_a_litre_and_month_by_hand() -> None:
    """600 over 6 fills is 100; 9 L lost had cost 54; 12 days at 5 are 60: 214 over 225 L x 12 months."""
    found = cost_of_barrel(600.0, 0, PAST, YEAR * 86_400, CostBasis(day_cost=5.0))
    assert found.litre_months == pytest.approx(225 * YEAR / MONTH_DAYS) == pytest.approx(2700)
    assert found.per_l_month == pytest.approx(214 / 2700)
    parts = (found.wood_per_l_month, found.lost_per_l_month, found.work_per_l_month)
    assert sum(part or 0 for part in parts) == pytest.approx(found.per_l_month)
    assert found.not_known == ()


def test_what_is_unknown_is_unknown_never_nothing() -> None:
    """Without a price, or where a lot's cost is unknown, there is no cost in all; what is known still stands."""
    unpriced = cost_of_barrel(None, 0, PAST, 0.0)
    assert (unpriced.per_l_month, unpriced.price, unpriced.wood_per_l_month) == (None, None, None)
    assert unpriced.lost_per_l_month == pytest.approx(54 / 2700)
    assert unpriced.not_known == ("the price",)
    lots = BarrelHistory(PAST.fills, WoodLoss().more(9_000, None))
    found = cost_of_barrel(600.0, 0, lots, YEAR * 86_400)
    assert (found.lost, found.lost_l, found.per_l_month) == (None, 9.0, None)
    assert found.work is None
    assert cost_of_barrel(600.0, 0, BarrelHistory(), 0.0).per_l_month is None

"""Power beforehand: a published table, a quadrature of its own, and what barrels, tasters and flights change."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.programme.compared.layout import assign
from cooperage.programme.compared.power import BarrelComparing, BarrelSpread, TrialPower, critical_t, of_layout, passed
from tests.examples import tried_on

SPREAD = BarrelSpread(barrel=1.0, score=2.0, barrel_degrees=8, score_degrees=40)


def planned(each: int = 4, flights: int = 2, tasters: int = 4) -> TrialPower:
    layout = assign(sorted([*range(each)] * 2), 2, seed=1)
    return TrialPower(of_layout(layout), SPREAD, flights, tasters, each, layout.blocks)


def test_two_groups_as_published(cases: Any) -> None:
    """Cohen's sizes reach the power he gives; four fewer do not."""
    for case in cases["two_groups"]["cases"]:
        n, d = case["n"], case["d"]
        assert BarrelComparing(2 / n, 2 * n - 2, 2).power(d, 1.0) == pytest.approx(0.8, abs=0.01)
        assert round(BarrelComparing(2 / n, 2 * n - 2, 2).power(d, 1.0), 2) >= 0.8
        assert BarrelComparing(2 / (n - 4), 2 * n - 10, 2).power(d, 1.0) < 0.8


@pytest.mark.parametrize(("degrees", "true"), [(3, 0.0), (4, 2.5), (7, 4.0), (30, 1.2)])
def test_the_tail_agrees_with_a_quadrature(degrees: int, true: float) -> None:
    """The chance that a normal value over the root of a chi-square passes, summed over that in small steps."""
    critical = 2.4
    s = np.linspace(1e-4, 6, 60_001)
    density = np.exp(math.log(2) + degrees / 2 * math.log(degrees / 2) - math.lgamma(degrees / 2)) * np.exp(
        (degrees - 1) * np.log(s) - degrees * s**2 / 2
    )
    normal = np.vectorize(lambda z: 0.5 * math.erfc(-z / math.sqrt(2)))
    beyond = 1 - normal(critical * s - true) + normal(-critical * s - true)
    assert passed(critical, true, degrees) == pytest.approx(float((beyond * density).sum() * (s[1] - s[0])), abs=1e-6)


def test_without_a_difference_as_many_are_found_as_stated() -> None:
    assert BarrelComparing(0.5, 6, 2).power(0.0, 1.0) == pytest.approx(0.05, abs=1e-9)
    assert critical_t(2, 10, 0.95) == pytest.approx(2.228139, abs=1e-5)


def test_the_least_difference_is_found_so_often() -> None:
    plan = planned()
    assert plan.power(plan.least()[0])[0] == pytest.approx(0.8, abs=1e-6)
    value, near, far = plan.least()
    assert near < value < far
    power, least, most = plan.power(2.0)
    assert least < power < most


@given(each=st.integers(2, 12), flights=st.integers(1, 4), tasters=st.integers(1, 8))
@tried_on(20)
def test_more_of_anything_finds_more(each: int, flights: int, tasters: int) -> None:
    plan = planned(each, flights, tasters)
    for more in (plan.with_barrels(each + 1), replace(plan, flights=flights + 1), replace(plan, tasters=tasters + 1)):
        assert more.power(1.5)[0] > plan.power(1.5)[0]


def test_what_is_needed_is_the_least_that_does() -> None:
    plan = planned()
    each = plan.barrels_needed(2.0)
    assert each is not None
    assert plan.with_barrels(each).power(2.0)[0] >= 0.8 > plan.with_barrels(each - 1).power(2.0)[0]
    assert planned(each).power(2.0)[0] == pytest.approx(plan.with_barrels(each).power(2.0)[0])


def test_no_panel_makes_up_for_too_few_barrels() -> None:
    """With four barrels of each and barrels that differ by a point, no number of tasters finds one point."""
    assert planned().tasters_needed(1.0) is None
    assert planned().flights_needed(1.0) is None
    assert planned().barrels_needed(1.0) is not None


def test_nothing_is_found_without_an_error() -> None:
    nothing = BarrelComparing(1.0, 0, 2)
    assert nothing.power(5.0, 1.0) == 0
    assert nothing.least(1.0) == math.inf

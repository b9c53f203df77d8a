"""Windows, intervals and the next look, where what must come out is known."""

from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cooperage.programme.ready.chances import NEVER, Expected, WindowAhead, ahead_of, moments
from cooperage.programme.ready.looks import WEEKS
from cooperage.programme.ready.pulling import LATEST_LOOK, SOONEST_LOOK

GRID = moments(200.0, 70.0)
NO_DOUBT = np.zeros((len(GRID.weeks), len(GRID.weeks)))


def sure(start: float, a_week: float, least: float = -np.inf, most: float = np.inf) -> Expected:
    """Return what is sure to change evenly."""
    return Expected("oak", start + a_week * GRID.weeks, NO_DOUBT, least, most)


def foreseen(*expected: Expected, wanted: float = 0.5, risk: float = 0.1) -> WindowAhead:
    return ahead_of(expected, GRID, wanted=wanted, risk=risk, seed="B-1")


def test_the_moments() -> None:
    """Coarse ones up to the last look, then every week to a year ahead; now is where the week is zero."""
    assert list(GRID.weeks[: GRID.look]) == [-28, -24, -20, -16, -12]
    assert GRID.weeks[GRID.look] == -10
    assert GRID.weeks[GRID.now] == 0
    assert GRID.weeks[-1] == WEEKS
    assert np.all(np.diff(GRID.weeks[GRID.look :]) == 1)
    new = moments(0.0, 0.0)
    assert (new.look, new.now, len(new.weeks)) == (0, 0, WEEKS + 1)


def test_a_sure_window() -> None:
    """Oak rises a tenth of a point a week from 5: at least 6 in ten weeks, at most 8 for twenty more."""
    found = foreseen(sure(5.0, 0.1, least=6.0 - 1e-6, most=8.0 + 1e-6))
    assert (found.first, found.last, found.middle) == (10, 30, 10)
    assert found.becomes == ((10, 10), (10, 10))
    assert found.chance[9] == 0
    assert found.chance[10] == 1
    assert found.passed == 0
    assert found.look == 10  # twenty weeks after the last look, ten from now


def test_a_window_that_is_over() -> None:
    """Too much oak stays too much; a figure that is still to come is not over."""
    assert foreseen(sure(7.0, 0.1, most=6.0)).passed == 1
    assert foreseen(sure(5.0, 0.0, least=6.0)).passed == 0
    fallen = foreseen(sure(5.0, -0.1, least=5.5))
    assert (fallen.passed, fallen.first) == (1, None)
    assert foreseen(sure(7.0, -0.1, most=6.0)).first == 10


def test_later_than_can_be_seen() -> None:
    found = foreseen(sure(0.0, 0.01, least=5.0))
    assert (found.first, found.last, found.middle) == (None, None, NEVER)
    assert found.look == -10 + LATEST_LOOK


def test_a_window_still_open() -> None:
    """It has no end, and is looked at before the longest time is over."""
    found = foreseen(sure(6.0, 0.0, least=5.0))
    assert (found.first, found.last) == (0, WEEKS)
    assert found.look == -10 + LATEST_LOOK


@settings(max_examples=25)
@given(st.floats(-2, 2), st.floats(0.2, 2), st.floats(-1, 1))
def test_chances_are_those_of_the_normal_law(mean: float, sd: float, limit: float) -> None:
    """Of one limit on what does not move; with as many draws a chance is known to a few hundredths."""
    flat = np.full(len(GRID.weeks), mean)
    covariance = np.full((len(flat), len(flat)), sd**2)
    found = foreseen(Expected("oak", flat, covariance, limit, np.inf))
    assert found.chance[0] == pytest.approx(1 - NormalDist(mean, sd).cdf(limit), abs=0.06)
    assert found.holds_now == (found.chance[0],)


def test_two_limits_hold_together() -> None:
    """Where errors have nothing in common chances multiply; where they are the same the least of both is left."""
    n = len(GRID.weeks)
    each = [Expected(name, np.zeros(n), np.ones((n, n)), 0.0, np.inf) for name in ("oak", "honey")]
    apart = ahead_of(each, GRID, wanted=0.5, risk=0.1, alike=np.eye(2))
    together = ahead_of(each, GRID, wanted=0.5, risk=0.1, alike=np.array([[1.0, 0.999], [0.999, 1.0]]))
    assert apart.chance[0] == pytest.approx(0.25, abs=0.05)
    assert together.chance[0] == pytest.approx(0.5, abs=0.06)


def share_held(found: WindowAhead, interval: tuple[int, int]) -> float:
    """Return how likely the first week is in an interval, for a figure that rises to stay: from the chances alone."""
    low, high = interval
    by = [*found.chance, 1.0]
    return by[high] - (by[low - 1] if low else 0.0)


@pytest.mark.parametrize("start", [4.2, 5.0, 5.5, 5.9])
def test_intervals_hold_no_more_than_they_claim(start: float) -> None:
    """Some are ready today, and some not within the year: neither makes an interval hold far more than it claims."""
    n = len(GRID.weeks)
    found = foreseen(Expected("oak", start + 0.02 * GRID.weeks, np.full((n, n), 0.36), 6.0, np.inf))
    for interval, share in zip(found.becomes, (0.5, 0.8), strict=True):
        assert share - 1e-9 <= share_held(found, interval) <= max(share + 0.03, found.chance[0], 1 - found.chance[-1])


def test_an_interval_is_the_shortest_that_holds_so_much() -> None:
    """Oak of which the first week is normal: the ends lie evenly about the middle."""
    n = len(GRID.weeks)
    found = foreseen(Expected("oak", 5.0 + 0.1 * (GRID.weeks - 26), np.full((n, n), 0.49), 5.0, np.inf))
    for (low, high), reach in zip(found.becomes, (0.6745 * 7, 1.2816 * 7), strict=True):
        assert high - low == pytest.approx(2 * reach, abs=2.5)
        assert (low + high) / 2 == pytest.approx(26, abs=3)


@settings(max_examples=25)
@given(st.floats(0, 8), st.floats(-0.3, 0.3), st.floats(0.05, 2))
def test_what_always_holds(start: float, a_week: float, sd: float) -> None:
    """Intervals are in order and nested, windows lie within the year, the next look is neither at once nor too far."""
    covariance = np.full(NO_DOUBT.shape, sd**2) + 1e-4 * np.minimum.outer(GRID.weeks + 30, GRID.weeks + 30)
    found = foreseen(Expected("oak", start + a_week * GRID.weeks, covariance, 3.0, 6.0))
    (half_low, half_high), (low, high) = found.becomes
    assert 0 <= low <= half_low <= found.middle <= half_high <= high <= NEVER
    assert all(0 <= chance <= 1 for chance in found.chance)
    assert (found.first is None) == (max(found.chance) < 0.5)
    if found.first is not None and found.last is not None:
        assert 0 <= found.first <= found.last <= WEEKS
    assert SOONEST_LOOK <= found.look - GRID.weeks[GRID.look] <= LATEST_LOOK
    again = foreseen(Expected("oak", start + a_week * GRID.weeks, covariance, 3.0, 6.0))
    assert again == found


def test_a_smaller_risk_never_looks_later() -> None:
    n = len(GRID.weeks)
    mean = 5.0 + 0.05 * GRID.weeks
    covariance = np.full((n, n), 0.6)
    looks = [foreseen(Expected("oak", mean, covariance, 3.0, 6.0), risk=risk).look for risk in (0.02, 0.1, 0.4)]
    assert looks == sorted(looks)
    assert looks[0] < looks[-1]

"""The week to pull and the next look, by how many weeks off its window a barrel would be pulled."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.programme.ready.pulling import (
    LATEST_LOOK,
    LOOK_COSTS,
    SOONEST_LOOK,
    best_week,
    week_to_look,
    weeks_off,
)

WEEKS = np.arange(53.0)
NEVER_OVER = np.zeros(2, dtype=bool)


def holding(*windows: tuple[int, int]) -> np.ndarray:
    """Courses that hold from one week to another."""
    return np.array([(first <= WEEKS) & (last >= WEEKS) for first, last in windows])


def test_weeks_off_a_window() -> None:
    """Before it, in it, after it; between two windows the nearer counts."""
    off = weeks_off(holding((10, 20), (3, 4)) | holding((30, 31), (3, 4)), NEVER_OVER, WEEKS)
    assert list(off[0, [0, 10, 20, 24, 27, 31, 40]]) == [10, 0, 0, 4, 3, 0, 9]
    assert list(off[1, [0, 3, 4, 14]]) == [3, 0, 0, 10]


def test_weeks_off_where_it_never_holds() -> None:
    """What is over is the farther off the later; what is still to come is nearest in the end."""
    off = weeks_off(np.zeros((2, 53), dtype=bool), np.array([True, False]), WEEKS)
    assert np.all(np.diff(off[0]) > 0)
    assert np.all(np.diff(off[1]) < 0)


@given(st.integers(3, 20), st.integers(0, 6))
def test_what_is_sure_is_pulled_in_its_window_and_looked_at_there(first: int, length: int) -> None:
    """Unless it begins within so few weeks that another look is not worth the wait."""
    holds = holding((first, first + length), (first, first + length))
    off = weeks_off(holds, NEVER_OVER, WEEKS)
    assert best_week(off) == first
    assert max(first, SOONEST_LOOK) <= week_to_look(off, holds, NEVER_OVER, 0) <= max(first + length, SOONEST_LOOK)


def test_waiting_is_not_worth_a_look() -> None:
    off = weeks_off(holding((int(LOOK_COSTS), 9), (int(LOOK_COSTS), 9)), NEVER_OVER, WEEKS)
    assert best_week(off) == 0


def test_a_look_comes_where_it_shows_which() -> None:
    """Ready in week 6 to 9 or in 20 to 23: a look in the first window shows which; without it, seven weeks off."""
    holds = holding((6, 9), (20, 23))
    off = weeks_off(holds, NEVER_OVER, WEEKS)
    assert 6 <= week_to_look(off, holds, NEVER_OVER, 0) <= 9
    assert off.mean(axis=0).min() == pytest.approx(5.5)


def test_nothing_within_the_year_is_looked_at_late() -> None:
    holds = np.zeros((2, 53), dtype=bool)
    assert week_to_look(weeks_off(holds, NEVER_OVER, WEEKS), holds, NEVER_OVER, 0) == LATEST_LOOK

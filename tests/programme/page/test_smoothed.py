"""A figure between its readings, by all of them."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.programme.page.smoothed import KnownOn, Lifted, smoothed, wander_of

gaps = st.lists(st.floats(1.0, 200.0), min_size=1, max_size=8)
figures = st.floats(0.0, 100.0)
doubts = st.floats(0.1, 10.0)


@st.composite
def readings(draw: st.DrawFn) -> list[KnownOn]:
    """Readings on different days, each with its doubt."""
    day, found = 0.0, [KnownOn(0.0, draw(figures), draw(doubts))]
    for gap in draw(gaps):
        day += gap
        found.append(KnownOn(day, draw(figures), draw(doubts)))
    return found


@given(read=readings(), wander=st.floats(0.0, 5.0))
def test_it_keeps_between_the_readings_and_is_no_less_sure_than_each(read: list[KnownOn], wander: float) -> None:
    """On the day of a reading all together are at least as sure as that one; no value is beyond all of them."""
    found = smoothed(read, [], [each.day for each in read], wander)
    lowest, highest = min(each.value for each in read), max(each.value for each in read)
    for alone, together in zip(read, found, strict=True):
        assert together.doubt <= alone.doubt * (1 + 1e-6)
        assert lowest - 1e-6 <= together.value <= highest + 1e-6


@given(read=readings(), by=st.floats(-50.0, 50.0), wander=st.floats(0.0, 5.0))
def test_it_does_not_hang_on_where_the_scale_begins(read: list[KnownOn], by: float, wander: float) -> None:
    """All readings by so much higher: the line by so much higher, as sure as before."""
    days = [each.day for each in read]
    higher = [each._replace(value=each.value + by) for each in read]
    for one, other in zip(smoothed(read, [], days, wander), smoothed(higher, [], days, wander), strict=True):
        assert other.value == pytest.approx(one.value + by, abs=1e-6)
        assert other.doubt == pytest.approx(one.doubt, abs=1e-6)


def test_it_is_least_sure_between_two_readings() -> None:
    """Which is where the band is widest."""
    found = smoothed([KnownOn(0, 20.0, 1.0), KnownOn(100, 20.0, 1.0)], [], [0, 50, 100], 0.1)
    assert found[1].doubt > max(found[0].doubt, found[2].doubt)


def test_what_a_hand_added_lifts_it_there_and_then() -> None:
    """Fourteen days after a reading of 10, sulphite for 15 more went in: before it 10, after it 25."""
    read = [KnownOn(0, 10.0, 1.0), KnownOn(30, 25.0, 1.0)]
    found = smoothed(read, [Lifted(14.5, 15.0)], [0, 14, 15, 30], 1e-3)
    assert [each.value for each in found] == pytest.approx([10, 10, 25, 25], abs=0.2)


def test_it_follows_readings_that_move() -> None:
    """Five readings that climb by ten of their doubts each: the line goes through them."""
    read = [KnownOn(30.0 * nth, 0.4 * nth, 0.04) for nth in range(5)]
    assert wander_of(read) > 0
    for at, found in zip(read, smoothed(read, [], [each.day for each in read], 0.0), strict=True):
        assert found.value == pytest.approx(at.value, abs=0.04)


def test_readings_within_their_errors_do_not_wander() -> None:
    """The same thing read over and over, give or take an error."""
    assert wander_of([KnownOn(30.0 * nth, 3.4 + 0.01 * (-1) ** nth, 0.04) for nth in range(6)]) == 0


def test_without_readings_there_is_no_line() -> None:
    assert smoothed([], [], [1.0], 0.1) == []


@given(read=readings())
def test_readings_wander_no_less_than_nothing(read: list[KnownOn]) -> None:
    assert wander_of(read) >= 0
    assert all(before.day < after.day for before, after in pairwise(read))

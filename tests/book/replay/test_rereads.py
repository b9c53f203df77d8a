"""What a vessel remembers of its readings: each one beside the figure that the book had just before it."""

import pytest

from cooperage.book.replay.contents import Contents
from cooperage.book.replay.state import REMEMBERED, Reread, VesselState, from_text, to_text

DAY = 86_400.0


def test_a_reading_is_remembered_beside_what_was_expected() -> None:
    """Thirty days after 30 mg/L another reading of 26 stands beside the 30 that the book still had."""
    state = filled(1000)
    state.is_read("free_so2_mg_l", 30.0, 3.0, 10 * DAY)
    state.is_read("free_so2_mg_l", 26.0, 3.0, 40 * DAY)
    first, second = state.rereads["free_so2_mg_l"]
    assert first == Reread(10 * DAY, 30.0, 3.0, None, 0.0, 0.0, 0.0, 1)
    assert second == Reread(40 * DAY, 26.0, 3.0, 30.0, 30.0, 0.0, 0.0, 1)


def test_what_was_added_in_between_is_told_apart() -> None:
    """A dose of 20 mg/L after ten days: 50 expected, of which 20 are 20 days old, and all of it 26 on average."""
    state = filled(1000)
    state.is_read("free_so2_mg_l", 30.0, 3.0, 0.0)
    state.is_raised("free_so2_mg_l", 20.0 * 1000, 10 * DAY)
    state.is_read("free_so2_mg_l", 41.0, 3.0, 30 * DAY)
    assert state.rereads["free_so2_mg_l"][-1] == Reread(30 * DAY, 41.0, 3.0, 50.0, 26.0, 20.0, 20.0, 1)


def test_only_the_last_few_are_remembered() -> None:
    """The eighth reading before the last is the oldest that is remembered, and temperatures are not."""
    state = filled(1000)
    for day in range(REMEMBERED + 3):
        state.is_read("ph", 3.4, 0.04, day * DAY)
        state.is_read("temperature_c", 12.0, 0.5, day * DAY)
    assert [each.at / DAY for each in state.rereads["ph"]] == list(range(3, REMEMBERED + 3))
    assert "temperature_c" not in state.rereads


def test_what_is_remembered_outlives_the_fill_and_the_cache() -> None:
    """The next fill has another number, and the text of the cache brings all of it back."""
    state = filled(1000)
    state.is_read("free_so2_mg_l", 30.0, 3.0, 0.0)
    state.is_raised("free_so2_mg_l", 20.0 * 1000, 10 * DAY)
    again = from_text(to_text(state), is_barrel=True)
    assert again is not None
    assert to_text(again) == to_text(state)
    parcel = state.flows_out(1000, 20 * DAY)
    state.flows_in(parcel, 25 * DAY)
    state.is_read("free_so2_mg_l", 33.0, 3.0, 40 * DAY)
    assert [each.fill for each in state.rereads["free_so2_mg_l"]] == [1, 2]
    assert state.rereads["free_so2_mg_l"][-1].expected == 50.0


def test_topping_thins_what_was_added() -> None:
    """10 mg/L added to 90 L are 9 mg/L after 10 L more came in."""
    state = filled(90_000)
    state.is_read("free_so2_mg_l", 20.0, 3.0, 0.0)
    state.is_raised("free_so2_mg_l", 10.0 * 90_000, DAY)
    state.flows_in(state.contents.more_alike(10_000), 2 * DAY)
    assert state.reads["free_so2_mg_l"].added == pytest.approx(9.0)
    state.evaporates(10_000, 3 * DAY)
    assert state.reads["free_so2_mg_l"].added == pytest.approx(10.0)


def filled(ml: int) -> VesselState:
    """Return a barrel's state with so much of a lot in it, of which nothing is known."""
    state = VesselState(is_barrel=True)
    state.flows_in(Contents(ml, "lot"), 0.0)
    return state

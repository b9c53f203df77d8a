"""What a vessel remembers of its readings: each one beside the figure that the book had just before it."""

import pytest

from cooperage.book.replay.contents import PLACE_OF, Contents
from cooperage.book.replay.rereads import REMEMBERED, Reread, SinceRead
from cooperage.book.replay.state import VesselState, from_text, to_text

DAY = 86_400.0


def test_a_reading_is_remembered_beside_what_was_expected() -> None:
    """Thirty days after 30 mg/L another reading of 26 stands beside the 30 that the book still had."""
    state = filled(1000)
    state.is_read("free_so2_mg_l", 30.0, 3.0, 10 * DAY)
    state.is_read("free_so2_mg_l", 26.0, 3.0, 40 * DAY)
    first, second = state.rereads["free_so2_mg_l"]
    assert first == Reread(10 * DAY, 30.0, 3.0, 1, SinceRead(None, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 10.0))
    assert second == Reread(40 * DAY, 26.0, 3.0, 1, SinceRead(30.0, 30.0, 0.0, 0.0, 0.0, 0.0, 30.0, 40.0))


def test_what_was_added_in_between_is_told_apart() -> None:
    """A dose of 20 mg/L after ten days: 50 expected, of which 20 are 20 days old and the rest 30."""
    state = filled(1000)
    state.is_read("free_so2_mg_l", 30.0, 3.0, 0.0)
    state.is_raised("free_so2_mg_l", 20.0 * 1000, 10 * DAY)
    state.is_read("free_so2_mg_l", 41.0, 3.0, 30 * DAY)
    assert state.rereads["free_so2_mg_l"][-1].since == SinceRead(50.0, 30.0, 0.0, 20.0, 20.0, 0.0, 30.0, 30.0)


def test_only_the_last_few_are_remembered() -> None:
    """The eighth reading before the last is the oldest that is remembered, and headspaces are not."""
    state = filled(1000)
    for day in range(REMEMBERED + 3):
        state.is_read("ph", 3.4, 0.04, day * DAY)
        state.is_read("headspace_mm", 12.0, 2.0, day * DAY)
    assert [each.at / DAY for each in state.rereads["ph"]] == list(range(3, REMEMBERED + 3))
    assert "headspace_mm" not in state.rereads


def test_what_is_remembered_outlives_the_fill_and_the_cache() -> None:
    """The next fill has another number, and the text of the cache brings all of it back."""
    state = filled(1000)
    state.is_read("free_so2_mg_l", 30.0, 3.0, 0.0)
    state.is_raised("free_so2_mg_l", 20.0 * 1000, 10 * DAY)
    again = from_text(to_text(state), 225_000)
    assert again is not None
    assert to_text(again) == to_text(state)
    parcel = state.flows_out(1000, 20 * DAY)
    state.flows_in(parcel, 25 * DAY)
    state.is_read("free_so2_mg_l", 33.0, 3.0, 40 * DAY)
    assert [each.fill for each in state.rereads["free_so2_mg_l"]] == [1, 2]
    since = state.rereads["free_so2_mg_l"][-1].since
    assert (since.expected, since.added, since.added_age, since.here) == (50.0, 20.0, 30.0, 15.0)


def test_a_barrel_tells_rackings_and_days_in_the_tank_from_its_own() -> None:
    """Read in a tank, dosed after forty days and racked into a barrel after fifty: each is counted there by itself."""
    tank, barrel = VesselState(None), VesselState(225_000)
    tank.flows_in(Contents(1000, "lot"), 0.0)
    tank.is_read("free_so2_mg_l", 30.0, 3.0, 0.0)
    tank.is_raised("free_so2_mg_l", 10.0 * 1000, 40 * DAY)
    parcel = tank.flows_out(400, 50 * DAY)
    parcel.is_racked()
    barrel.age_to(50 * DAY)
    barrel.flows_in(parcel, 50 * DAY)
    assert barrel.since_read("free_so2_mg_l", 80 * DAY) == SinceRead(40.0, 80.0, 50.0, 10.0, 40.0, 1.0, 30.0, 30.0)
    assert tank.since_read("free_so2_mg_l", 80 * DAY) == SinceRead(40.0, 80.0, 0.0, 10.0, 40.0, 0.0, 80.0, 80.0)


def test_topping_thins_what_was_added() -> None:
    """10 mg/L added to 90 L are 9 mg/L after 10 L more came in."""
    state = filled(90_000)
    state.is_read("free_so2_mg_l", 20.0, 3.0, 0.0)
    state.is_raised("free_so2_mg_l", 10.0 * 90_000, DAY)
    more = Contents(10_000, "lot")
    more.set(PLACE_OF["free_so2_mg_l"], 20.0, 0.0)
    state.flows_in(more, 2 * DAY)
    assert state.since_read("free_so2_mg_l", 3 * DAY).added == pytest.approx(9.0)
    state.evaporates(10_000, 3 * DAY)
    assert state.since_read("free_so2_mg_l", 3 * DAY).added == pytest.approx(10.0)


def filled(ml: int) -> VesselState:
    """Return a barrel's state with so much of a lot in it, of which nothing is known."""
    state = VesselState(225_000)
    state.age_to(0.0)
    state.flows_in(Contents(ml, "lot"), 0.0)
    return state

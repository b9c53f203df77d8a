"""What waiting costs ranks signs: more where more is at stake, where a limit is passed further, where it is surer."""

from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.book import Barrel, Standing, Upkeep, Vessel
from cooperage.book.replay.contents import Contents
from cooperage.book.replay.state import VesselState
from cooperage.programme.losses.loss_rate import Leak, LossRate
from cooperage.programme.signs.sign import Sign, SignState
from cooperage.programme.signs.waiting import _COSTS, waiting_costs_l, weighed, worst_first
from cooperage.programme.today.kinds import KINDS

BEGAN, DAY = 1_735_689_600.0, 86_400.0
SHARES = st.floats(0.0, 1.0)


def barrel(ml: int = 225_000, days: float = 90.0, **reads: float) -> Standing:
    state = VesselState(225_000)
    state.flows_in(Contents(ml, "M"), BEGAN)
    state.age_to(BEGAN + days * DAY)
    for name, value in reads.items():
        state.is_read(name, value, 0.01, BEGAN + days * DAY)
    vessel = Vessel("", "B-1", "barrel", 225_000, upkeep=Upkeep(), barrel=Barrel(fills_before=2))
    return Standing(vessel, state, datetime.fromtimestamp(BEGAN + days * DAY, UTC), {})


def rate(a_day: float, usual: float = 20.0, probability: float = 1.0) -> LossRate:
    leak = Leak(probability, BEGAN, 1, a_day / usual, 0.0, 28 * a_day, 28 * usual)
    return LossRate(a_day, 1.0, a_day, 300.0, 225_000, peers_ml_per_day=usual, leak=leak)


def costs(kind: str, standing: Standing | None = None, its_rate: LossRate | None = None, **given: Any) -> float:
    return waiting_costs_l(Sign("B-1", kind, "", **given), standing or barrel(), its_rate)


@given(SHARES, SHARES, st.sampled_from(sorted(_COSTS)))
def test_surer_never_costs_less(one: float, other: float, kind: str) -> None:
    """For every kind, all else equal."""
    low, high = sorted((one, other))
    of = barrel(va_g_l=1.0, free_so2_mg_l=2.0, ph=3.5)
    assert costs(kind, of, sure=low, about_l=3.0) <= costs(kind, of, sure=high, about_l=3.0)


@given(st.floats(0.81, 3.0), st.floats(0.81, 3.0))
def test_a_limit_passed_further_costs_more(one: float, other: float) -> None:
    """Of volatile acidity."""
    low, high = sorted((one, other))
    assert costs("va", barrel(va_g_l=low), sure=1.0) <= costs("va", barrel(va_g_l=high), sure=1.0)


@given(st.floats(21.0, 400.0), st.floats(21.0, 400.0))
def test_a_leak_that_loses_more_costs_more(one: float, other: float) -> None:
    """Beyond its peers."""
    low, high = sorted((one, other))
    found = [costs("leak", its_rate=rate(each), sure=1.0) for each in (low, high)]
    assert found[0] <= found[1]


def test_a_leak_costs_what_it_loses_beyond_its_peers_and_what_is_at_risk() -> None:
    """Of 225 L: 100 mL a day beyond the usual are 3 L a month, and a tenth of what is in it, by hand 25.5 L."""
    assert costs("leak", its_rate=rate(120.0), sure=1.0) == pytest.approx(25.5)
    assert costs("leak", its_rate=rate(120.0, probability=0.5), sure=1.0) == pytest.approx(12.75)


def test_a_leak_that_the_last_visits_do_not_show_is_due() -> None:
    """It was sure once, and is not known to be over; the next visit settles it."""
    held = Sign("B-1", "leak", "", sure=0.99)
    assert weighed(held, barrel(), rate(120.0, probability=0.99)).state is SignState.TROUBLE
    assert weighed(held, barrel(), rate(120.0, probability=0.6)).state is SignState.DUE


def test_acidity_that_climbs_far_below_its_limit_can_wait() -> None:
    """It is sure to climb, and far from 0.8."""
    assert weighed(Sign("B-1", "va", "", sure=0.999), barrel(va_g_l=0.43)).state is SignState.DUE


def test_an_odd_visit_costs_by_the_chance_that_it_was_a_leak() -> None:
    """A slip of the pen costs nothing."""
    odd = Sign("B-1", "thirst", "", sure=0.99, about_l=2.8)
    assert waiting_costs_l(odd, barrel(), rate(120.0, probability=0.0)) == 0.0
    assert weighed(odd, barrel(), rate(120.0, probability=0.02)).state is SignState.DUE


@pytest.mark.parametrize(
    ("kind", "of", "more", "state"),
    [
        ("empty", barrel(0, days=300), {}, SignState.DUE),  # never filled here: nothing is known of its days
        ("dip", barrel(), {"about_l": 12.3}, SignState.TROUBLE),
        ("dip", barrel(), {"about_l": 1.0}, SignState.DUE),
        ("gravity", barrel(), {"sure": 0.999}, SignState.TROUBLE),
        ("class line", barrel(), {}, SignState.DUE),
        ("strength", barrel(), {}, SignState.KNOWN),
        ("of another kind", barrel(), {}, SignState.DUE),
        ("va", barrel(va_g_l=0.99), {"sure": 0.99}, SignState.TROUBLE),
        ("va", barrel(va_g_l=0.81), {"sure": 0.6}, SignState.DUE),
        ("partial", barrel(100_000), {}, SignState.TROUBLE),
    ],
)
def test_trouble_is_sure_and_costly(kind: str, of: Standing, more: Any, state: SignState) -> None:
    """Uncertain or slight is due; what asks for nothing is known."""
    assert weighed(Sign("B-1", kind, "", **more), of).state is state


def test_the_worst_stands_first() -> None:
    """Trouble before what is due, whatever that costs; then by cost; alike, as they came."""
    found = [
        Sign("B-1", "a", "", waiting_costs_l=9.0), Sign("B-2", "a", "", waiting_costs_l=1.0, state=SignState.TROUBLE),
        Sign("B-3", "a", "", waiting_costs_l=5.0, state=SignState.TROUBLE), Sign("B-4", "a", "", state=SignState.KNOWN),
        Sign("B-5", "a", "", waiting_costs_l=9.0),
    ]  # fmt: skip
    assert [sign.vessel for sign in worst_first(found)] == ["B-3", "B-2", "B-1", "B-5", "B-4"]


def test_what_has_a_cost_has_its_words() -> None:
    """A kind that is ranked is told in a row by words of its own."""
    assert set(_COSTS) <= set(KINDS)

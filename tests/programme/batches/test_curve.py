"""Simulated fermentations: what readings and the cellar's own ones narrow, which are claimed stuck. Seeds are fixed."""

import pytest

from cooperage.programme.batches.curve import USUAL, Came, FermentCurve, habit_of
from cooperage.programme.batches.gravities import Normal, Took, stands_still
from cooperage.programme.batches.must import expected_end
from tests.programme.batches.simulated import Simulated, ferment


@pytest.fixture(scope="module")
def sound() -> list[tuple[Simulated, Normal]]:
    """Sound fermentations, each with where must and yeast would end it."""
    return [_with_end(ferment(seed, every=1.5, days=30)) for seed in range(6)]


def _with_end(one: Simulated) -> tuple[Simulated, Normal]:
    end = expected_end(one.original, one.tolerance)
    return one, Normal(end.sg, end.sd)


def test_own_fermentations_narrow_what_is_expected(sound: list[tuple[Simulated, Normal]]) -> None:
    """What a cellar's own ones came to moves the days, and narrows them when they are alike."""
    came = [Came(FermentCurve(one.original, one.took, end).shape(), one.end - end.mean) for one, end in sound]
    habit = habit_of([came[0]] * 8)
    assert habit.lots == 8
    assert habit.days.sd < USUAL.days.sd
    assert habit_of([]) is USUAL
    before = FermentCurve(1.1, [], Normal(1.0, 0.005)).end_day()
    after = FermentCurve(1.1, [], Normal(1.0, 0.005), habit).end_day()
    assert after.high80 - after.low80 < before.high80 - before.low80


def test_readings_narrow_the_end() -> None:
    """Once it stands at its end, the end is known better than beforehand, and near what was read."""
    one, end = _with_end(ferment(3, every=1.0))
    before, after = FermentCurve(one.original, [], end).end(), FermentCurve(one.original, one.took, end).end()
    assert after.high80 - after.low80 < (before.high80 - before.low80) / 2
    assert after.middle == pytest.approx(one.end, abs=0.003)


def _claims(one: Simulated, end: Normal) -> list[float]:
    """The days on which it would be claimed stuck, with the eight latest readings that a vessel remembers."""
    return [
        each.day
        for nth, each in enumerate(one.took)
        if stands_still(one.took[max(0, nth - 7) : nth + 1], one.original, end, each.day)
    ]


def test_sound_ones_are_seldom_claimed_stuck_and_stuck_ones_found() -> None:
    """Of 40 sound ones at most two ever, on any day; of 40 stuck ones nearly all, and within a week."""
    false = sum(bool(_claims(*_with_end(ferment(seed)))) for seed in range(40))
    assert false <= 2
    found = 0
    for seed in range(1000, 1040):
        one, end = _with_end(ferment(seed, sticks=True))
        assert one.stuck_day is not None
        after = [day for day in _claims(one, end) if day > one.stuck_day]
        found += bool(after) and after[0] - one.stuck_day < 7.0
    assert found >= 37


FLAT = [Took(float(day), 1.060) for day in range(7, 14)]


def test_it_is_stuck_only_with_sugar_left_with_readings_and_after_a_while() -> None:
    end = Normal(1.005, 0.006)
    stuck = stands_still(FLAT, 1.105, end, 13.0)
    assert stuck is not None
    assert stuck.has_begun
    assert stuck.days == 3.0
    assert stands_still(FLAT, 1.105, Normal(1.055, 0.006), 13.0) is None  # it has nearly ended
    assert stands_still(FLAT, 1.105, end, 30.0) is None  # not read for too long
    assert stands_still(FLAT[:2], 1.105, end, 8.0) is None  # too short a time
    assert stands_still([], 1.105, end, 8.0) is None
    early = [Took(float(day), 1.105) for day in range(5)]
    assert stands_still(early, 1.105, end, 4.0) is None  # it may begin yet
    late = [Took(float(day), 1.105) for day in range(8)]
    not_begun = stands_still(late, 1.105, end, 7.0)
    assert not_begun is not None
    assert not not_begun.has_begun

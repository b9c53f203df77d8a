"""Trouble planted in simulated cellars is named first, and sound cellars show none."""

from typing import Any

import pytest


@pytest.mark.slow
def test_planted_trouble_is_named_before_anything_else(mornings: Any) -> None:
    """All five in each of four cellars.

    In forty of the benchmark a planted one was first in all, 99 % of the first three rows were, and in 98 % of the
    cellars all five stood before anything else.
    """
    found = mornings.judged(mornings.look(seed, tuple(mornings.KINDS)) for seed in range(4))
    assert found.first == 1.0
    assert found.in_three >= 0.9
    assert found.before_else >= 0.75


@pytest.mark.slow
def test_a_sound_cellar_cries_no_wolf(mornings: Any) -> None:
    """Of four sound cellars at most one shows any trouble; of forty none did."""
    share, rows = mornings.wolf(mornings.look(seed, ()) for seed in range(4))
    assert share <= 0.25
    assert rows <= 0.25

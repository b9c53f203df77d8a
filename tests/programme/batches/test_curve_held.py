"""How often the bands hold what came, on fermentations of seven laws; the form follows its differential equation."""

from collections.abc import Iterator
from math import sqrt
from statistics import median

import numpy as np
import pytest
from scipy.integrate import quad

from cooperage.programme.batches.curve import FermentCurve, _taken
from cooperage.programme.batches.gravities import Normal
from cooperage.programme.batches.must import expected_end
from tests.programme.batches.other_laws import SORTS, ferment_by
from tests.programme.batches.simulated import Simulated, ferment

EACH = 15
DAYS = (4.0, 8.0, 14.0)
"""Days after pitching on which the end is forecast, by turns."""


def _curve(one: Simulated, until: float) -> FermentCurve:
    end = expected_end(one.original, one.tolerance)
    return FermentCurve(one.original, [each for each in one.took if each.day <= until], Normal(end.sg, end.sd))


def _forecasts() -> Iterator[tuple[str, Simulated, FermentCurve]]:
    for seed in range(500, 500 + EACH):
        until = DAYS[seed % len(DAYS)]
        for name in ("growth", *SORTS):
            one = ferment(seed, every=1.5, days=30.0) if name == "growth" else ferment_by(name, seed)
            yield name, one, _curve(one, until)


def _least(share: float, count: int) -> float:
    """Return what the share that is held may come to by chance: three binomial deviations under it."""
    return share - 3.0 * sqrt(share * (1.0 - share) / count)


@pytest.mark.slow
def test_the_bands_hold_what_came_whatever_the_law() -> None:
    """Last gravity and its day are held 50 and 80 times of 100 or oftener, of each law and of all.

    Oftener is the safe side; that the bands are no wider for it than they must be is held below.
    """
    held: dict[tuple[str, str, int], list[bool]] = {}
    for name, one, curve in _forecasts():
        spans = {"gravity": (curve.end(), one.end), "day": (curve.end_day(), one.end_day)}
        for what, (span, came) in spans.items():
            for share in (50, 80):
                held.setdefault((name, what, share), []).append(span.covers(came, share))
                held.setdefault(("all", what, share), []).append(span.covers(came, share))
    short = {
        key: sum(each) / len(each)
        for key, each in held.items()
        if sum(each) / len(each) < _least(key[2] / 100, len(each))
    }
    assert not short
    for what in ("gravity", "day"):
        everywhere = held["all", what, 50]
        assert sum(everywhere) / len(everywhere) < 0.75, f"the {what} is held so often that the band tells little"


@pytest.mark.slow
def test_readings_narrow_both_bands() -> None:
    """Read for four weeks, the gravity and the day are known far better than on the third day."""
    narrowed = []
    for seed in range(6):
        one = ferment_by("late", seed)
        early, late = _curve(one, 3.0), _curve(one, 28.0)
        narrowed.append(
            (
                (late.end().high80 - late.end().low80) / (early.end().high80 - early.end().low80),
                (late.end_day().high80 - late.end_day().low80) / (early.end_day().high80 - early.end_day().low80),
            )
        )
    assert median(each[0] for each in narrowed) < 0.8
    assert median(each[1] for each in narrowed) < 0.5


@pytest.mark.parametrize("slowing", [0.0, 0.4, 0.95])
def test_the_closed_form_is_the_equations(slowing: float) -> None:
    """The steps to a share that is left are the integral of (r + h) / (r (1 - s (1 - r))) from it to 1."""
    for left in (0.002, 0.03, 0.5, 1.0):
        by_hand = quad(lambda r: (r + 0.3) / (r * (1.0 - slowing * (1.0 - r))), left, 1.0)[0]
        assert float(_taken(np.array(left), 0.3, slowing)) == pytest.approx(by_hand, rel=1e-4, abs=1e-9)

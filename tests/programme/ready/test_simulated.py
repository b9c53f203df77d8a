"""In invented cellars whose ripening is known, windows hold what is in them; the long run is a benchmark."""

import numpy as np
import pytest

from cooperage.programme.ready.forecasting import CellarCurves
from cooperage.programme.ready.looks import Cask
from cooperage.programme.ready.scoring import look_outcomes, ripening_scores
from tests.benchmarks.bench_ready import LEARNED_UNTIL, by_forecast, every_eight_weeks, pull, windows_of
from tests.benchmarks.ready_world import SCALES, RipeningWorld, at


@pytest.mark.slow
def test_windows_hold_and_chances_come() -> None:
    """Of two cellars: intervals hold at least as often as they should, and chances beat the mean share."""
    found = windows_of([0, 1])
    assert found.coverage(0.5) >= 0.5
    assert found.coverage(0.8) >= 0.8
    share = float(np.mean(found.came))
    assert found.brier() < share * (1 - share)


@pytest.mark.slow
def test_looks_by_the_forecast_pull_nearer_with_fewer() -> None:
    """In a cellar the program was not tried on: nearer to the window than a look every eight weeks, by fewer."""
    forecast, eight = (pull(RipeningWorld(202, barrels=14), 202, way) for way in (by_forecast, every_eight_weeks))
    assert forecast.barrels == eight.barrels > 0
    assert forecast.looks < eight.looks
    assert forecast.weeks_off < eight.weeks_off


def test_curves_come_nearer_than_what_stood_before() -> None:
    """Looks forecast without looking ahead: nearer than the mean of the lot, and as sure as they claim."""
    world = RipeningWorld(4, barrels=10)
    scores = ripening_scores(look_outcomes(world.history(90, np.random.default_rng(4))))
    assert {each.attribute: each.scale for each in scores} == SCALES
    for each in scores:
        assert each.error < each.of_lot_error
        assert each.crps < each.as_last_error
        assert 0.6 <= each.held[1] <= 0.98


def test_a_new_barrel_gives_more_oak_than_an_old_one() -> None:
    """Without any look at them: a first fill is foreseen to gain more than a fourth, and less surely."""
    world = RipeningWorld(4, barrels=10)
    curve = CellarCurves(world.history(LEARNED_UNTIL, np.random.default_rng(4))).curve(("oak", "0-10"))
    unseen = [Cask("B-99", at(LEARNED_UNTIL).timestamp(), "NEW", "", "", 225_000, fill) for fill in (1, 4)]
    assert all(curve.looks_at(cask) == 0 for cask in unseen)
    (new, new_doubt), (old, old_doubt) = (curve.ahead(cask, np.array([0.0, 365.0])) for cask in unseen)
    assert new[1] - new[0] > 2 * (old[1] - old[0]) > 0
    assert new_doubt[1, 1] > old_doubt[1, 1]

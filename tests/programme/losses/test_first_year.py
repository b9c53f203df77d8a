"""Forecasts of a cellar's first year, of which no season can be known yet, on simulated cellars."""

from typing import Any

import numpy as np
import pytest

from cooperage.programme.air.first_year import season_until_now
from cooperage.programme.air.harmonic import mean_multiples
from cooperage.programme.air.season import NO_SEASON, UNKNOWN_SEASON

DAY = 86_400.0
MONTH = 28 * DAY


@pytest.mark.slow
@pytest.mark.parametrize(
    ("months", "of_last", "of_mean"), [(3, 0.9, 0.85), (5, 0.85, 0.7), (8, 0.75, 0.6), (14, 0.65, 0.65)]
)
def test_a_new_cellars_forecast_errs_less_than_as_last_time_and_covers(
    leaks: Any, months: int, of_last: float, of_mean: float
) -> None:
    """What the next visit finds, in 80 cellars of 24 barrels that began at any time of the year.

    The mean absolute error is held against the last visit again and the barrel's own mean; over two seeds 0.72 to 0.81
    and 0.42 to 0.73 of those were seen. 12 barrels of a room share its weather, so 1920 forecasts count for 160 to
    1920; with a design effect of 2 three binomial deviations are 4.8, 3.9 and 2.1 %.
    """
    seen = leaks.look_ahead(np.random.default_rng(36), 80, months)
    print(leaks.ahead_line(months, seen))
    assert seen.error("expected") < of_last * seen.error("as_last")
    assert seen.error("expected") < of_mean * seen.error("own_mean")
    assert abs(seen.bias) < 0.05 * seen.found.mean()
    for probability in leaks.COVERED:
        reach = 3 * (2 * probability * (1 - probability) / len(seen.found)) ** 0.5
        assert seen.covered(probability) == pytest.approx(probability, abs=reach)


def monthly(count: int, swing: float = 0.0) -> Any:
    """Visits of ten barrels a month apart from the first of January, and what each lost over its mean."""
    began = np.tile(np.arange(count) * MONTH, 10)
    ratio = 1 + swing * np.cos(2 * np.pi * (began / DAY + 14 - 205) / 365.25)
    return began, began + MONTH, ratio / ratio.mean()


def test_half_a_year_of_a_season_carries_the_last_months_on() -> None:
    """Losses that rose from 0.67 to 1.37 of their mean are expected to stay high next month, with a doubt beside it.

    The mean over the time that was seen stays 1, so that a barrel's mean rate is what it was.
    """
    began, ended, ratio = monthly(6, 0.4)
    found = season_until_now(began, ended, ratio)
    assert not found.is_known
    assert mean_multiples(found, began, ended).mean() == pytest.approx(1.0)
    next_month = float(found.mean(6 * MONTH, 7 * MONTH))
    assert ratio.max() * 0.9 < next_month < ratio.max() * 1.1
    assert 0.05 < found.doubt(6 * MONTH, 7 * MONTH) < found.doubt(9 * MONTH, 10 * MONTH) < 0.4


def test_a_season_so_far_is_surer_the_more_months_it_has_seen() -> None:
    """Of the next month: the doubt falls with each month that is seen, and without any it is the usual 0.4."""
    doubts = [season_until_now(*monthly(count)).doubt(count * MONTH, (count + 1) * MONTH) for count in (1, 3, 6, 10)]
    assert doubts == sorted(doubts, reverse=True)
    nothing = np.zeros(0)
    assert season_until_now(nothing, nothing, nothing) == UNKNOWN_SEASON
    assert UNKNOWN_SEASON.doubt(0.0, MONTH) == 0.4 > doubts[0]


def test_a_season_that_is_none_has_no_doubt_and_a_known_one_has() -> None:
    """Two years without any swing, and with one of 0.4."""
    flat = np.random.default_rng(3).normal(1, 0.3, 240)
    began, ended, _ = monthly(24)
    assert season_until_now(began, ended, flat) == NO_SEASON
    known = season_until_now(*monthly(24, 0.4))
    assert known.is_known
    assert 0 < known.doubt(0.0, MONTH) < 0.1


def test_months_that_keep_to_their_season_make_it_surer_once_a_year_was_seen() -> None:
    """Before that a cosine bends to any weather; after two years steady months leave half the doubt of stormy ones."""
    storms = np.random.default_rng(4).normal(1, 0.12, 27)

    def doubt(count: int, weather: Any) -> float:
        began, ended, ratio = monthly(count, 0.4)
        return season_until_now(began, ended, ratio * np.tile(weather[:count], 10)).doubt(0.0, MONTH)

    steady = np.ones(27)
    assert doubt(10, steady) == pytest.approx(doubt(10, storms), rel=0.05)
    assert doubt(26, steady) < 0.7 * doubt(26, storms)


@pytest.mark.slow
@pytest.mark.parametrize(("bung_ml", "weather"), [(0.0, 0.0), (25.0, 0.04), (50.0, 0.08)])
def test_bands_are_as_narrow_as_the_cellar_is_steady(
    leaks: Any, monkeypatch: pytest.MonkeyPatch, bung_ml: float, weather: float
) -> None:
    """Twenty months on, with levels and weather as steady as given: not far from as often as they say.

    Seen for bands of 50, 80 and 95 %: 60, 92, 99 where nothing scatters but the jug; 51, 82, 96 in a steady cellar.
    """
    monkeypatch.setattr(leaks, "BUNG_ML", bung_ml)
    monkeypatch.setattr(leaks, "MONTHS", weather)
    seen = leaks.look_ahead(np.random.default_rng(34), 40, 20)
    print(leaks.ahead_line(20, seen))
    wider = 0.13 if bung_ml == 0 else 0.04
    for probability in leaks.COVERED:
        assert -0.05 < seen.covered(probability) - probability < wider

"""How visits scatter: what was put in is learnt again, slips and leaks or not."""

from typing import Any

import numpy as np
import pytest

from cooperage.programme.losses.loss_rate import USUAL_NOISE
from cooperage.programme.losses.noise import LEAST, LEAST_TO_COME, _Every, learn_noise, middle_rate, visited

DAY = 86_400.0


def barrels(rng: Any, count: Any, level_ml: Any, share: Any, visits: Any = 26, slips: Any = 0.0) -> Any:
    """Barrels that lose 300 to 1500 ml a visit, with a level error and an error of each visit's own."""
    ended = np.arange(1, visits + 1) * 28 * DAY
    made = []
    for _ in range(count):
        expected, levels = rng.uniform(300, 1500), rng.normal(0, level_ml, visits + 1)
        lost = expected * rng.normal(1, share, visits) + levels[:-1] - levels[1:]
        lost *= np.where(rng.random(visits) < slips, 4.0, 1.0)
        made.append(visited(lost, np.full(visits, 60.0), ended - 28 * DAY, ended))
    return made


@pytest.mark.parametrize("slips", [0.0, 0.01])
@pytest.mark.parametrize(("level_ml", "share"), [(60.0, 0.08), (40.0, 0.15), (150.0, 0.1)])
def test_noise_that_was_put_in_is_learnt_again(level_ml: float, share: float, slips: float) -> None:
    """200 barrels of 26 visits, one visit in a hundred four times its loss or none; the mean of eight cellars counts.

    Over twelve cellars the level came out 1 to 2 % low and scattered by 3 to 9 % from cellar to cellar; the share
    scattered by 2 to 3 %, where it is the smaller part of the noise (150 ml) by 7 %, and 7 % high.
    """
    cellars = [
        learn_noise(barrels(np.random.default_rng(seed), 200, level_ml, share, slips=slips)) for seed in range(8)
    ]
    assert np.mean([noise.level_ml for noise in cellars]) == pytest.approx(level_ml, rel=0.1)
    assert np.mean([noise.share for noise in cellars]) == pytest.approx(share, rel=0.12)


def test_a_few_visits_are_not_believed_against_the_usual_noise() -> None:
    """Two barrels of three visits without any scatter: some of the usual noise stays."""
    ended = np.arange(1, 4, dtype=np.float64) * 28 * DAY
    still = visited(np.full(3, 600.0), np.full(3, 60.0), ended - 28 * DAY, ended)
    noise = learn_noise([still, still])
    assert 0.5 * USUAL_NOISE.level_ml < noise.level_ml < USUAL_NOISE.level_ml


def test_without_barrels_the_noise_is_the_usual_one() -> None:
    """Nothing seen, nothing learnt."""
    assert learn_noise([]) == USUAL_NOISE


def test_barrels_that_lose_nothing_teach_no_share() -> None:
    """Six tight barrels: the share is the least there can be, and the level is below the usual one."""
    ended = np.arange(1.0, 13.0) * 28 * DAY
    tight = visited(np.zeros(12), np.full(12, 60.0), ended - 28 * DAY, ended)
    noise = learn_noise([tight] * 6)
    assert noise.share == 0.05
    assert 30.0 <= noise.level_ml < USUAL_NOISE.level_ml


def test_visits_to_come_are_foretold_as_near_as_those_before_have_come() -> None:
    """Levels off by 12 ml and shares by 4 % are found for visits to come; to judge one visit, no less than usual."""
    every = barrels(np.random.default_rng(2), 200, 12.0, 0.04)
    coming, judged = learn_noise(every, LEAST_TO_COME), learn_noise(every)
    assert coming.share == pytest.approx(0.04, rel=0.1)
    assert coming.level_ml < 0.6 * LEAST[0]
    assert (judged.level_ml, judged.share) == LEAST


def test_a_barrel_none_of_whose_visits_is_believed_keeps_its_rate() -> None:
    """Two visits of 600 and 1200 ml in 60 m2 days each: 15 with both kept, 10 with the first, as before with none."""
    ended = np.arange(1.0, 3.0) * 28 * DAY
    each = visited(np.array([600.0, 1200.0]), np.full(2, 60.0), ended - 28 * DAY, ended)
    kept = np.array([True, True, True, False, False, False])
    rates = _Every.of([each] * 3).rates(kept, np.array([7.0, 8.0, 9.0]))
    assert rates.tolist() == [15.0, 10.0, 9.0]


def test_a_middling_rate_does_not_follow_a_leak() -> None:
    """Nine visits of 600 ml and four of 3000, 60 m2 days each: 10 ml/(m2 day)."""
    assert middle_rate(np.array([600.0] * 9 + [3000.0] * 4), np.full(13, 60.0)) == pytest.approx(10.0)

"""Simulated panels: intervals hold the truth as often as stated, false claims are rare, balanced orders balance."""

import math

import numpy as np
import pytest
from scipy.special import stdtrit

from cooperage.tasting.codes import serving_orders
from cooperage.tasting.statistics.additive import fit_additive
from cooperage.tasting.statistics.agreement import friedman
from cooperage.tasting.statistics.carry_over import carry_over
from cooperage.tasting.statistics.products import analyse_products
from cooperage.tasting.statistics.rank_pairs import nemenyi

LEVELS = (0.5, 0.8, 0.95)


def deviations(chance: float, trials: int) -> float:
    """Three binomial deviations of a share."""
    return 3 * math.sqrt(chance * (1 - chance) / trials)


@pytest.mark.parametrize(("missing", "step"), [(0.0, 0.0), (0.0, 1.0), (0.15, 1.0)])
def test_means_lie_in_their_intervals_as_often_as_stated(missing: float, step: float) -> None:
    """600 panels of five on six glasses, each taster somewhere else on the scale: with gaps, and in whole points."""
    rng, truth = np.random.default_rng([int(100 * missing), int(step)]), np.array([10.0, 11, 12, 12, 13, 15])
    held, counted = np.zeros(3), 0
    for _ in range(600):
        bias = rng.normal(0, 1.5, 5)
        scores = truth[:, None] + bias + rng.normal(0, 1.2, (6, 5))
        scores = np.round(scores / step) * step if step else scores
        scores[rng.random(scores.shape) < missing] = np.nan
        fit = fit_additive(scores)
        if not fit.degrees or np.isnan(fit.glass).any() or np.isnan(fit.bias).any():
            continue
        counted += 1
        # a single glass at random: the six of one panel are not independent
        at = int(rng.integers(6))
        error = math.sqrt(fit.covariance[at, at])
        off = abs(fit.glass[at] - truth[at] - bias.mean())
        held += [off <= -stdtrit(fit.degrees, (1 - level) / 2) * error for level in LEVELS]
    assert counted > 500
    for level, share in zip(LEVELS, held / counted, strict=True):
        assert share == pytest.approx(level, abs=deviations(level, counted)), level


@pytest.mark.slow
def test_means_of_other_tasters_lie_in_the_wider_interval() -> None:
    """300 panels drawn from many tasters: the mean that all of them would give is held as often as stated."""
    rng, held = np.random.default_rng(9), np.zeros(3)
    for _ in range(300):
        scores = 12 + rng.normal(0, 1.5, 5) + rng.normal(0, 1, (3, 5)) + np.arange(3)[:, None]
        found = analyse_products(scores, level=0.95)
        assert found.mixed is not None
        error = (found.high[1] - found.means[1]) / -stdtrit(degrees := found.mixed.degrees(np.eye(3)[1]), 0.025)
        held += [abs(found.means[1] - 13) <= -stdtrit(degrees, (1 - level) / 2) * error for level in LEVELS]
    for level, share in zip(LEVELS, held / 300, strict=True):
        assert share == pytest.approx(level, abs=deviations(level, 300)), level


@pytest.mark.slow
def test_scale_use_raises_no_false_claim() -> None:
    """Products alike, tasters who stretch the scale by a third to three: F and Friedman claim no more than 5 %."""
    rng, claims, panels = np.random.default_rng(13), np.zeros(3), 200
    for _ in range(panels):
        scores = np.round(10 + rng.normal(0, 2, 4) + rng.normal(0, 1.2, (5, 4)) * np.array([1 / 3, 1, 1, 3]))
        pairs = nemenyi(scores)
        claims += [
            float(analyse_products(scores).product.p <= 0.05),
            float(friedman(scores)[1] <= 0.05),
            float(np.ptp(pairs.rank_sums) >= pairs.least_difference),
        ]
    # F takes tasters' errors to be alike; where they are not it is a little off on five glasses
    assert claims[0] / panels <= 0.07 + deviations(0.07, panels)
    assert claims[1] / panels <= 0.05 + deviations(0.05, panels)
    assert claims[2] / panels <= 0.05 + deviations(0.05, panels)


def tired(orders: np.ndarray, truth: np.ndarray, carried: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Scores (tasters, places): a tenth of a point lost with each glass, and what each glass leaves to the next."""
    scores = truth[orders] - 0.4 * np.arange(orders.shape[1]) + rng.normal(0, 0.01, orders.shape)
    scores[:, 1:] += carried[orders[:, :-1]]
    return np.asarray(scores)


def test_balanced_orders_cancel_fatigue_and_random_ones_do_not() -> None:
    """Six glasses, six tasters who tire: plain means are right in a Williams design, and off by chance otherwise."""
    rng, truth = np.random.default_rng(21), np.array([10.0, 11, 12, 13, 14, 15])
    balanced: list[float] = []
    random: list[float] = []
    for _ in range(100):
        for orders, off in (
            (serving_orders(6, 6, rng), balanced),
            (np.array([rng.permutation(6) for _ in range(6)]), random),
        ):
            scores = tired(orders, truth, np.zeros(6), rng)
            means = np.array([scores[orders == glass].mean() for glass in range(6)])
            off.append(np.abs(means - means.mean() - truth + truth.mean()).max())
    assert max(balanced) < 0.03
    assert np.median(random) > 0.2


def test_carry_over_is_recovered_from_balanced_orders() -> None:
    """A strong glass lowers the next by two points: the fit finds both effects, plain means blame the wrong glasses."""
    rng, truth = np.random.default_rng(22), np.array([10.0, 11, 12, 16])
    carried = np.array([0.0, 0.0, 0.0, -2.0])
    orders = serving_orders(4, 8, rng)
    scores = tired(orders, truth, carried, rng)
    found = carry_over(orders, scores)
    assert found.direct == pytest.approx(truth - truth.mean(), abs=0.05)
    assert found.carry_over == pytest.approx(carried - carried.mean(), abs=0.05)
    assert found.carry_over_adjusted.p < 1e-6
    plain = np.array([scores[orders == glass].mean() for glass in range(4)])
    assert np.abs(plain - plain.mean() - truth + truth.mean()).max() > 0.2

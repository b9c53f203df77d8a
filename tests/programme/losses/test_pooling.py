"""Pooling of rates against Efron and Morris, mixed models, the eight studies and its own laws."""

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from cooperage.programme.losses.pooling import (
    NotAVariance,
    UnpairedVariances,
    between_variance,
    pool,
    pool_given,
    pool_rates,
)

REFERENCE = Path(__file__).parents[2] / "reference" / "shrinkage_cases.json"
CASES = {case["id"]: case for case in json.loads(REFERENCE.read_text(encoding="utf-8"))["cases"]}
RATES = st.lists(st.integers(-300, 300).map(lambda n: n / 10), min_size=4, max_size=12)
UNEQUAL = RATES.flatmap(
    lambda rates: st.tuples(st.just(rates), st.lists(st.floats(0.05, 50), min_size=len(rates), max_size=len(rates)))
)


def eight_studies() -> Any:
    """Effects and variances of the eight studies."""
    data = CASES["eight_studies"]["data"]
    return np.array(data["effect"]), np.array(data["standard_error"]) ** 2


def batches() -> Any:
    """Mean yield of each of six batches of five, and the variance of such a mean."""
    case = CASES["batch_yield_six_batches"]
    means = np.array([np.mean(yields) for yields in case["data"].values()])
    return case, means, np.full(6, case["verified"]["var_within"] / 5)


def test_efron_and_morris_on_the_transformed_scale() -> None:
    """Eighteen units, unit variance: keeps 0.209 of each deviation; estimates to 1e-6, printed rates to 0.001."""
    case = CASES["batting_arcsine"]
    x = np.array(case["verified"]["x"])
    pooled = pool(x, np.ones(18))
    assert pooled.estimates == pytest.approx(case["verified"]["estimate_x"], rel=1e-6)
    assert 1 - pooled.noise == pytest.approx([case["verified"]["keep"]] * 18, rel=1e-6)
    assert 1 - pooled.noise[0] == pytest.approx(case["published"]["keep"], abs=5e-4)
    later = math.sqrt(45) * np.arcsin(2 * np.array(case["data"]["rate_later"]) - 1)
    losses = [((guess - later) ** 2).sum() for guess in (x, pooled.estimates)]
    assert losses == pytest.approx([case["verified"]["loss_mle"], case["verified"]["loss_js"]], rel=1e-6)
    # recomputed from rates printed to three decimals
    assert losses == pytest.approx([case["published"]["loss_mle"], case["published"]["loss_js"]], rel=5e-3)
    rates = (np.sin(pooled.estimates / math.sqrt(45)) + 1) / 2
    assert rates == pytest.approx(case["published"]["estimate_rate"], abs=1e-3)


@given(RATES, st.floats(0.01, 100))
def test_equal_variances_give_the_efron_morris_estimator(rates: Any, variance: float) -> None:
    """With one variance V for all: mean + (1 - (k - 3) V / sum of squares), never below zero, x deviation."""
    x = np.array(rates)
    squares = ((x - x.mean()) ** 2).sum()
    keep = max(0.0, 1 - (len(x) - 3) * variance / squares) if squares else 0.0
    expected = x.mean() + keep * (x - x.mean())
    pooled = pool(x, np.full(len(x), variance))
    assert pooled.estimates == pytest.approx(expected, rel=1e-9, abs=1e-9)
    # his variances (Morris 1983, section 5): V (1 - (k - 1) B / k) + 2 B^2 (x - mean)^2 / (k - 3), B being given up
    gives, k = 1 - keep, len(x)
    squared = variance * (1 - (k - 1) / k * gives) + 2 / (k - 3) * gives**2 * (x - x.mean()) ** 2
    assert pooled.deviations**2 == pytest.approx(squared, rel=1e-6)


def test_eight_studies_fall_together() -> None:
    """Q is 4.7, less than noise alone would bring: all eight become the published 7.7 with its error 4.1."""
    effects, variances = eight_studies()
    verified, published = CASES["eight_studies"]["verified"], CASES["eight_studies"]["published"]
    pooled = pool(effects, variances)
    assert pooled.between == published["dersimonian_laird_tau2"] == 0
    assert pooled.estimates == pytest.approx([verified["pooled"]] * 8, rel=1e-6)
    assert pooled.mean == pytest.approx(published["pooled"], abs=0.05)
    # the mean's own error is the floor; doubt about the spread comes on top
    floor = pool_given(effects, variances, 0.0).deviations
    assert floor == pytest.approx([verified["pooled_se"]] * 8, rel=1e-6)
    assert (pooled.deviations >= floor).all()


@pytest.mark.parametrize("spread", [5, 10])
def test_eight_studies_at_a_known_spread(spread: int) -> None:
    """With the spread between studies taken as 5 or 10, each is shrunk as published."""
    expected = CASES["eight_studies"]["verified"][f"shrunk_at_tau_{spread}"]
    effects, variances = eight_studies()
    pooled = pool_given(effects, variances, spread**2)
    assert pooled.mean == pytest.approx(expected["mean"], rel=1e-6)
    assert pooled.estimates == pytest.approx(expected["units"], rel=1e-6)


def test_batches_agree_with_the_mixed_model() -> None:
    """Paule and Mandel's own k - 1 is REML when balanced: variance 1764.05 and the effects of lme4."""
    case, means, variances = batches()
    between = between_variance(means, variances, degrees=5)
    assert between == pytest.approx(case["published"]["var_between_reml"], rel=1e-6)
    for variance, effects in ((between, "effects_reml"), (case["verified"]["var_between_ml"], "effects_ml")):
        pooled = pool_given(means, variances, variance)
        assert pooled.mean == pytest.approx(case["published"]["grand_mean"])
        assert pooled.estimates - pooled.mean == pytest.approx(list(case["verified"][effects].values()), rel=1e-6)


def test_every_published_figure_of_the_worked_examples_is_reproduced() -> None:
    """What the sources print, from the data alone: efficiency, Q, variances within and between, effects."""
    batting, batch, studies = (CASES[name] for name in ("batting_arcsine", "batch_yield_six_batches", "eight_studies"))
    assert set(CASES) == {"batting_arcsine", "batch_yield_six_batches", "eight_studies"}

    x, later = np.array(batting["verified"]["x"]), np.array(batting["data"]["rate_later"])
    losses = [((guess - math.sqrt(45) * np.arcsin(2 * later - 1)) ** 2).sum() for guess in (x, pool_rates(x, [1] * 18))]
    assert losses[0] / losses[1] == pytest.approx(batting["published"]["efficiency"], abs=0.05)

    yields = np.array(list(batch["data"].values()))
    within = yields.var(axis=1, ddof=1).mean()
    assert within == pytest.approx(batch["published"]["var_within"], rel=1e-6)
    means, printed = yields.mean(axis=1), batch["published"]
    between = between_variance(means, np.full(6, within / 5), degrees=5)
    assert between**0.5 == pytest.approx(printed["sd_between_reml"], rel=1e-4)
    assert within**0.5 == pytest.approx(printed["sd_within"], rel=1e-4)
    by_ml = pool_given(means, np.full(6, within / 5), printed["var_between_ml"])
    assert by_ml.estimates - by_ml.mean == pytest.approx(list(printed["effects_ml"].values()), rel=1e-4)

    effects, variances = eight_studies()
    assert pool(effects, variances).mean == pytest.approx(studies["published"]["pooled"], abs=0.05)
    floor = pool_given(effects, variances, 0.0).deviations
    assert floor == pytest.approx([studies["published"]["pooled_se"]] * 8, abs=0.05)
    assert floor**2 == pytest.approx([studies["published"]["pooled_variance"]] * 8, abs=0.1)
    assert ((effects - pool(effects, variances).mean) ** 2 / variances).sum() == pytest.approx(
        studies["verified"]["Q"], rel=1e-6
    )


def test_batches_shrink_less_by_three_fifths() -> None:
    """The noise share is REML's times (k - 3) / (k - 1) = 3/5 (Morris 1983): 1 - 3/5 x (1 - 0.78253) is kept."""
    case, means, variances = batches()
    assert 1 - pool(means, variances).noise == pytest.approx(
        [1 - 0.6 * (1 - case["verified"]["shrink_reml"])] * 6, rel=1e-6
    )


@given(UNEQUAL)
def test_spread_between_barrels_solves_paule_and_mandels_equation(rates_and_variances: Any) -> None:
    """A bracketing root finder gives the same spread, or the equation has no root above zero."""
    x, variance = map(np.array, rates_and_variances)

    def excess(between: Any) -> Any:
        weight = 1 / (variance + between)
        return (weight * (x - np.average(x, weights=weight)) ** 2).sum() - (len(x) - 3)

    between = pool(x, variance).between
    if excess(0.0) <= 0:
        assert between == 0
    else:
        assert between == pytest.approx(brentq(excess, 0, 1e7, xtol=1e-12, rtol=1e-13), rel=1e-7, abs=1e-9)


@given(UNEQUAL, st.randoms(use_true_random=False), st.floats(0.01, 100), st.floats(-50, 50))
def test_pooling_knows_no_order_and_no_unit(
    rates_and_variances: Any, random: Any, stretch: float, shift: float
) -> None:
    """Shuffled barrels shuffle the answer; rates in other units give the answer in those units."""
    x, variance = map(np.array, rates_and_variances)
    order = list(range(len(x)))
    random.shuffle(order)
    before, after = pool(x, variance), pool((x * stretch + shift)[order], variance[order] * stretch**2)
    scale = 1e-7 * stretch * (1 + np.abs(x).max())
    assert after.estimates == pytest.approx((before.estimates * stretch + shift)[order], abs=scale)
    assert after.deviations == pytest.approx((before.deviations * stretch)[order], rel=1e-5)


@given(UNEQUAL)
def test_every_rate_moves_towards_the_mean_and_never_past_it(rates_and_variances: Any) -> None:
    """A pooled rate lies between its own figure and the mean, and the noisier figure gives up the larger share."""
    x, variance = map(np.array, rates_and_variances)
    pooled = pool(x, variance)
    low, high = np.minimum(x, pooled.mean), np.maximum(x, pooled.mean)
    assert ((low - 1e-9 <= pooled.estimates) & (pooled.estimates <= high + 1e-9)).all()
    assert (np.diff(pooled.noise[np.argsort(variance)]) >= -1e-12).all()


@pytest.mark.slow
def test_pooled_rates_are_nearer_and_their_deviations_honest() -> None:
    """Over 2000 simulated cellars of 12 barrels pooling errs less than half as much, and owns up to it.

    True rates N(10, 1), noise variances from 0.25 to 4. Morris's deviations are an approximation on the safe side,
    so the claimed variance may exceed the true squared error (sampling error 1 %) by some percent, not fall short;
    without the doubt about mean and spread it does fall short.
    """
    rng = np.random.default_rng(5)
    variance = np.geomspace(0.25, 4, 12)
    error, claimed, as_if_known, raw = [], [], [], []
    for _ in range(2000):
        truth = rng.normal(10, 1, 12)
        seen = rng.normal(truth, np.sqrt(variance))
        pooled = pool(seen, variance)
        error.append((pooled.estimates - truth) ** 2)
        claimed.append(pooled.deviations**2)
        as_if_known.append(pool_given(seen, variance, pooled.between).deviations ** 2)
        raw.append((seen - truth) ** 2)
    assert np.mean(error) < 0.5 * np.mean(raw)
    assert 1.0 < np.mean(claimed) / np.mean(error) < 1.1
    assert np.mean(as_if_known) < 0.95 * np.mean(error)
    covered = np.sqrt(error) < 1.96 * np.sqrt(claimed)
    assert 0.92 < covered.mean() < 0.97


@pytest.mark.parametrize("barrels", [1, 2, 3])
def test_three_barrels_or_fewer_are_left_as_they_are(barrels: int) -> None:
    """With k - 3 not above zero nothing is lent, and each keeps its own error."""
    rates, variances = np.array([1.0, 4.0, 9.0])[:barrels], np.array([1.0, 4.0, 9.0])[:barrels]
    pooled = pool(rates, variances)
    assert pooled.estimates.tolist() == rates.tolist()
    assert pooled.deviations == pytest.approx(np.sqrt(variances))


def test_equal_rates_stay_equal() -> None:
    """Four barrels that lose the same go on losing the same, with no spread between them."""
    pooled = pool([2.5] * 4, [0.1, 0.2, 0.3, 0.4])
    assert pooled.estimates == pytest.approx([2.5] * 4)
    assert pooled.between == 0


@pytest.mark.parametrize(
    ("rates", "variances", "rule"),
    [
        ([1, 2], [1], UnpairedVariances),
        ([], [], UnpairedVariances),
        ([[1, 2], [3, 4]], [[1, 1], [1, 1]], UnpairedVariances),
        ([1, 2, 3, 4], [1, 0, 1, 1], NotAVariance),
        ([1, 2, 3, 4], [1, 1, -1, 1], NotAVariance),
        ([1, math.nan, 3, 4], [1, 1, 1, 1], NotAVariance),
        ([1, 2, 3, 4], [1, 1, 1, math.inf], NotAVariance),
    ],
)
def test_rates_that_cannot_be_pooled_are_refused(rates: list[Any], variances: list[Any], rule: Any) -> None:
    """Missing, zero or negative variances and rates that are no numbers are refused in one line."""
    with pytest.raises(rule) as refused:
        pool_rates(rates, variances)
    assert "\n" not in str(refused.value)


def test_a_bad_rate_is_named_by_its_place() -> None:
    """The third rate is the one without a usable variance."""
    with pytest.raises(NotAVariance, match="rate 3") as refused:
        pool_rates([1, 2, 3, 4], [1, 1, 0, 1])
    assert refused.value.position == 2

"""Analysis of variance with tasters at random: published panels, SciPy, and what missing glasses do."""

import math
from collections.abc import Callable
from itertools import product
from typing import Any

import numpy as np
import pytest
from scipy.stats import ttest_1samp

from cooperage.tasting.statistics.products import NotAProductEach, analyse_products
from cooperage.tasting.statistics.shuffled import shuffled_p
from cooperage.tasting.statistics.tables import NothingToCompare

Panel = tuple[np.ndarray, list[str]]


@pytest.mark.parametrize("at", [0, 1])
def test_twelve_products_poured_twice(
    at: int, reference: Callable[[str], Any], tv_panel: Callable[[str], Panel]
) -> None:
    """Squares, degrees, F against product x taster and F of that (R and statsmodels): no digit lost."""
    case = reference("panel_performance_cases.json")["cases"][at]
    found, expected = analyse_products(*tv_panel(case["response"])), case["panel"]
    lines = {
        "C(Product)": found.product,
        "C(Assessor)": found.taster,
        "C(Product):C(Assessor)": found.interaction,
        "Residual": found.residual,
    }
    assert {name: line.squares for name, line in lines.items()} == pytest.approx(expected["SS"], rel=1e-9)
    assert {name: line.degrees for name, line in lines.items()} == expected["df"]
    assert (found.product.f, found.product.p) == pytest.approx((expected["F_product_random_assessor"], expected["p"]))
    assert (found.interaction.f, found.interaction.p) == pytest.approx(
        (expected["F_interaction"], expected["p_interaction"])
    )
    # held against the residual, products would seem to differ far more surely
    by_residual = found.product.mean_square / found.residual.mean_square
    assert by_residual == pytest.approx(expected["F_product_fixed"])
    assert by_residual > found.product.f


@pytest.mark.parametrize("response", ["Sharpnessofmovement", "Coloursaturation"])
def test_the_mixed_model_gives_the_same_where_all_is_balanced(response: str, tv_panel: Callable[[str], Panel]) -> None:
    """F of the model by restricted maximum likelihood is the quotient of mean squares; means are the plain means."""
    scores, products = tv_panel(response)
    found = analyse_products(scores, products)
    size = len(found.products)
    assert found.mixed is not None
    f, below, p = found.mixed.test(np.eye(size)[:-1] - np.eye(size)[1:])
    assert (f, below, p) == pytest.approx((found.product.f, 77, found.product.p), rel=1e-6)
    plain = [scores[[name == product for name in products]].mean() for product in found.products]
    assert found.means == pytest.approx(plain, rel=1e-9)


def test_six_chocolates_with_judges_at_random(reference: Callable[[str], Any]) -> None:
    """29 judges in two sessions (R and statsmodels): F of products against product x judge."""
    panels = {panel["id"]: panel for panel in reference("panel_analyses.json")["panels"]}
    rows = reference("panel_chocolates.csv")
    judges = sorted({row["judge"] for row in rows})
    glasses = sorted({(row["product"], row["session"]) for row in rows})
    scores = np.full((len(glasses), len(judges)), np.nan)
    for row in rows:
        scores[glasses.index((row["product"], row["session"])), judges.index(row["judge"])] = row["bitterness_0_10"]
    found = analyse_products(scores, [product for product, _ in glasses])
    expected = panels["chocolates_panel"]["verified"]["bitterness_0_10"]
    assert found.product.f == pytest.approx(expected["F_product_judges_random"], rel=1e-8)
    assert dict(zip(found.products, found.means, strict=True)) == pytest.approx(expected["product_means"])


def test_two_products_poured_once_are_a_paired_t() -> None:
    """Without replicates F is the square of SciPy's paired t."""
    rng = np.random.default_rng(2)
    scores = rng.normal(size=(2, 6)) + rng.normal(0, 2, 6)
    found = analyse_products(scores)
    paired = ttest_1samp(scores[0] - scores[1], 0)
    assert (found.product.f, found.product.p) == pytest.approx((paired.statistic**2, paired.pvalue))
    assert found.interaction.degrees == 0
    assert math.isnan(found.interaction.f)


def test_one_product_scored_by_a_population_of_tasters() -> None:
    """Balanced, once each: a mean has the variance (MS taster + (p - 1) MS left) / pt, and Satterthwaite's degrees."""
    rng = np.random.default_rng(4)
    scores = rng.normal(size=(3, 5)) + rng.normal(0, 2, 5)
    found = analyse_products(scores)
    shares = found.taster.mean_square / 15, 2 * found.residual.mean_square / 15
    degrees = sum(shares) ** 2 / (shares[0] ** 2 / 4 + shares[1] ** 2 / 8)
    row = np.eye(3)[0]
    assert found.mixed is not None
    assert row @ found.mixed.covariance @ row == pytest.approx(sum(shares), rel=1e-6)
    assert found.mixed.degrees(row) == pytest.approx(degrees, rel=1e-6)


def test_missing_glasses_cost_little_and_bias_nothing(tv_panel: Callable[[str], Panel]) -> None:
    """A tenth of the glasses left out at random: F and means move a little; who was generous moves no mean."""
    scores, products = tv_panel("Coloursaturation")
    whole = analyse_products(scores, products)
    gappy = scores.copy()
    gappy[np.random.default_rng(1).random(scores.shape) < 0.1] = np.nan
    found = analyse_products(gappy, products)
    assert not found.balanced
    assert found.product.f == pytest.approx(whole.product.f, rel=0.25)
    assert found.means == pytest.approx(whole.means, abs=0.5)
    shifted = analyse_products(gappy + np.arange(8) * 3.0, products)
    assert np.diff(shifted.means) == pytest.approx(np.diff(found.means), abs=0.15)


def test_tasters_who_contradict_each_other_in_nothing_give_no_error() -> None:
    """Everyone one point apart throughout, or no score beyond what the fit uses up: means, and no interval."""
    tables: list[list[list[float]]] = [[[1, 2], [2, 3]], [[1, 2], [3, math.nan]]]
    for scores in tables:
        found = analyse_products(scores)
        assert found.means[1] > found.means[0]
        assert math.isnan(found.product.f)
        assert np.isnan(found.high).all()


def test_shuffled_scores_of_two_products_are_fishers_signs() -> None:
    """Darwin's 15 pairs of maize, in eighths of an inch: 1726 of 32768 signs (Fisher 1935, section 21), both sides."""
    apart = np.array([49, -67, 8, 16, 6, 23, 28, 41, 14, 29, 56, 24, 75, 60, -48])
    signs = np.array(list(product([1, -1], repeat=15)))
    assert (np.abs(signs @ apart) >= apart.sum()).sum() == 1726
    found = analyse_products(np.vstack([apart, np.zeros(15)]))
    assert found.p_shuffled == pytest.approx(1726 / 32768, abs=0.015)


def test_all_orders_of_a_small_panel() -> None:
    """Three who agree in the order of three glasses: 6 of 216 orders agree so; a taster's height counts for nothing.

    Where one missed the first glass, the others' names may still be exchanged, and all orders turned round: 4 of 72.
    """
    scores = np.array([[1.0, 11, 5], [2, 12, 6], [3, 13, 7]])
    assert analyse_products(scores).p_shuffled == pytest.approx(6 / 216)
    scores[0, 2] = math.nan
    assert analyse_products(scores).p_shuffled == pytest.approx(4 / 72)


def test_whole_points_and_uneven_tasters_do_not_mislead_shuffled_scores() -> None:
    """Of panels without a difference no more than 5 in 100 have such a p; what is there is found."""
    rng = np.random.default_rng(5)
    panels = [np.round(10 + rng.normal(0, [0.4, 0.4, 1.6], (4, 3))) for _ in range(150)]
    claimed = np.mean([shuffled_p(each) <= 0.05 for each in panels])
    better = np.array([[3], [0], [0], [-3]])
    found = np.mean([shuffled_p(each + better) <= 0.05 for each in panels])
    assert claimed <= 0.05 + 3 * math.sqrt(0.05 * 0.95 / 150)
    assert found > 0.9


def test_what_cannot_be_compared_is_refused() -> None:
    """One product, one taster, products that are not one for each glass."""
    for scores in ([[1.0, 2.0]], [[1.0], [2.0]], [[1.0, math.nan], [2.0, math.nan]], [[math.nan] * 2] * 2):
        with pytest.raises(NothingToCompare):
            analyse_products(scores)
    with pytest.raises(NotAProductEach, match="2 products for 3 glasses"):
        analyse_products([[1, 2], [3, 4], [5, 6]], ["a", "b"])

"""Direct effects and carry-over against Cochran's cows, an exact case, and the variances of Williams's designs."""

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from cooperage.tasting.statistics.carry_over import NotOrders, OrdersTooAlike, carry_over
from cooperage.tasting.statistics.squares import Source, against, dropped


def test_dairy_cows(reference: Callable[[str], Any]) -> None:
    """Cochran, Autrey and Cannon (1941): every printed sum of squares, effects, F and p."""
    case = reference("crossover_cases.json")["cases"][0]
    orders, scores, squares = np.zeros((6, 3), dtype=int), np.zeros((6, 3)), [0] * 6
    for square, cow, period, treatment, milk in case["rows"]:
        orders[cow - 1, period - 1], scores[cow - 1, period - 1] = "ABC".index(treatment), milk
        squares[cow - 1] = square
    found = carry_over(orders, scores, squares)
    lines = {
        "sequences": found.tasters,
        "periods_in_squares": found.places,
        "direct_ignoring_carryover": found.direct_ignoring,
        "carryover_adjusted": found.carry_over_adjusted,
        "carryover_ignoring_direct": found.carry_over_ignoring,
        "direct_adjusted": found.direct_adjusted,
        "error": found.error,
    }
    assert {name: line.squares for name, line in lines.items()} == pytest.approx(case["SS"], abs=1e-4)
    printed = {"sequences": 5781.1, "direct_adjusted": 2854.6, "carryover_adjusted": 616.2, "error": 199.3}
    assert {name: lines[name].squares for name in printed} == pytest.approx(printed, abs=0.06)
    assert found.direct == pytest.approx(list(case["direct_effects_sum_zero"].values()))
    assert found.carry_over == pytest.approx(list(case["carryover_effects_sum_zero"].values()))
    assert found.variance == pytest.approx(case["sigma2"])
    tests = [found.direct_adjusted, found.carry_over_adjusted]
    names = ("direct_adjusted", "carryover_adjusted")
    assert [line.f for line in tests] == pytest.approx([case[f"F_{name}"] for name in names])
    assert [line.p for line in tests] == pytest.approx([case[f"p_{name}"] for name in names])


def test_true_effects_come_back_only_with_carry_over_in_the_model(reference: Callable[[str], Any]) -> None:
    """Constructed without noise: 3, -1, -4, 2 exactly, where plain means give 2.75, -1, -3.5, 1.75."""
    case = reference("crossover_cases.json")["cases"][1]
    orders, scores = np.array(case["design"]) - 1, np.array(case["observations"], dtype=float)
    found = carry_over(orders, scores)
    assert found.direct == pytest.approx(case["true_direct"], abs=1e-9)
    assert found.carry_over == pytest.approx(case["true_carryover"], abs=1e-9)
    plain = np.array([scores[orders == glass].mean() for glass in range(4)]) - scores.mean()
    assert plain == pytest.approx(case["naive_product_means_centered"])


def test_what_a_williams_design_knows(reference: Callable[[str], Any]) -> None:
    """Variances of a difference of direct effects and of carry-over, as tabulated: 5/12, 11/20, ..."""
    rng = np.random.default_rng(0)
    for design in reference("williams_designs.json"):
        if design["treatments"] == 2:
            continue
        orders = np.array(design["rows"]) - 1
        found = carry_over(orders, rng.normal(size=orders.shape))
        for shared, name in (
            (found.direct_per_variance, "var_direct_adjusted"),
            (found.carry_over_per_variance, "var_carryover"),
        ):
            assert shared[0, 0] + shared[1, 1] - 2 * shared[0, 1] == pytest.approx(design[name], abs=1e-9)
        expected = math.sqrt(found.variance * design["var_direct_adjusted"])
        assert found.difference_error(0, 1) == pytest.approx(expected)


def test_squares_a_rounding_below_nil_are_nil() -> None:
    """Two models that leave as much over, the smaller a last digit less: nothing is explained, and p is 1."""
    explained = dropped(Source(math.nextafter(1.0, 0.0), 8), Source(1.0, 6))
    assert (explained.squares, explained.degrees) == (0.0, 2)
    assert against(explained, Source(1.0, 6)).p == 1


def test_one_order_for_all_shows_nothing() -> None:
    """The same order for everyone: a glass and its place are one; orders without a glass for each score are refused."""
    with pytest.raises(OrdersTooAlike, match="serve balanced orders"):
        carry_over([[0, 1, 2]] * 4, np.arange(12.0).reshape(4, 3))
    with pytest.raises(NotOrders):
        carry_over([[0, 1, 2]], np.zeros((2, 3)))
    with pytest.raises(NotOrders):
        carry_over([[0.0, 1.0, 2.0]], np.zeros((1, 3)))

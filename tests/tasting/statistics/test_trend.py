"""Page's test for a trend against its table, by hand, and against SciPy."""

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from scipy.stats import page_trend_test, rankdata

from cooperage.tasting.statistics.tables import NothingToCompare
from cooperage.tasting.statistics.trend import page_trend


def panel_of(trend: int, glasses: int, tasters: int) -> np.ndarray:
    """Untied scores of shape (glasses, tasters) whose L is just so large."""
    orders = sums_of_orders(glasses)
    reached: list[set[int]] = [{0}]
    for _ in range(tasters):
        reached.append({before + one for before in reached[-1] for one in orders})
    columns = []
    for others in range(tasters - 1, -1, -1):
        own = next(one for one in orders if trend - one in reached[others])
        columns.append(orders[own])
        trend -= own
    return np.array(columns).T


def sums_of_orders(glasses: int) -> dict[int, tuple[int, ...]]:
    """One order of ranks for each sum of place x rank: ranks in order, then neighbours swapped one by one."""
    order, found = list(range(1, glasses + 1)), {}
    while True:
        found[sum(place * rank for place, rank in enumerate(order, 1))] = tuple(order)
        at = next((i for i in range(glasses - 1) if order[i] < order[i + 1]), None)
        if at is None:
            return found
        order[at], order[at + 1] = order[at + 1], order[at]


def test_every_critical_value_of_the_table_is_met(reference: Callable[[str], Any]) -> None:
    """Page (1963), table 2: L is significant, one less is not, and its tail is the counted one to ten digits."""
    rows = reference("page_critical_values.csv")
    assert len(rows) >= 130
    for row in rows:
        glasses, tasters, alpha = int(row["products_k"]), int(row["assessors_n"]), float(row["alpha"])
        largest = tasters * glasses * (glasses + 1) * (2 * glasses + 1) // 6
        if row["critical_L_exact"] == "none":
            assert page_trend(panel_of(largest, glasses, tasters))[1] > alpha, row
            continue
        critical = int(row["critical_L_exact"])
        trend, p = page_trend(panel_of(critical, glasses, tasters))
        assert trend == critical, row
        assert p == pytest.approx(float(row["exact_tail_probability"]), rel=1e-9), row
        assert p <= alpha < page_trend(panel_of(critical - 1, glasses, tasters))[1], row
        assert row["printed_value"] in ("", str(critical)), row


def test_ties_are_counted_as_they_stand() -> None:
    """One taster, ranks 1, 2.5, 2.5: three orders, L 13.5 in one of them, and only one as large: p 1/3."""
    trend, p = page_trend([[1.0, 1.0], [2.0, 2.0], [2.0, 2.0]])
    assert trend == 2 * (1 + 5 + 7.5)
    assert p == pytest.approx(1 / 9)  # both tasters at their largest


def test_scipy_agrees_where_it_counts() -> None:
    """Random panels without ties: the same L, the same exact tail."""
    rng = np.random.default_rng(3)
    for glasses, tasters in ((3, 4), (4, 6), (5, 3)):
        scores = rng.normal(size=(glasses, tasters)) + np.arange(glasses)[:, None] * 0.4
        expected = page_trend_test(rankdata(scores, axis=0).T, ranked=True, method="exact")
        assert page_trend(scores) == pytest.approx((expected.statistic, expected.pvalue), abs=1e-9)


def test_many_glasses_have_the_normal_tail() -> None:
    """Nine glasses and more are not counted; SciPy's asymptotic tail, which has no continuity correction, is near."""
    scores = np.random.default_rng(5).normal(size=(10, 6)) + np.arange(10)[:, None] * 0.15
    expected = page_trend_test(scores.T, method="asymptotic")
    trend, p = page_trend(scores)
    assert trend == expected.statistic
    assert p == pytest.approx(expected.pvalue, rel=0.05)
    assert p > expected.pvalue


def test_the_worked_example_of_nine_reviewers() -> None:
    """Nine reviewers of four, L 252: 3.06 standard deviations above its mean, exactly 0.000705."""
    trend, p = page_trend(panel_of(252, 4, 9))
    assert trend == 252
    assert p == pytest.approx(0.000705, abs=5e-7)
    assert (252 - 225 - 0.5) / math.sqrt(9 * 16 * 5 * 15 / 144) == pytest.approx(3.06, abs=5e-3)


def test_scores_all_alike_have_no_trend() -> None:
    with pytest.raises(NothingToCompare):
        page_trend([[5, 5], [5, 5]])

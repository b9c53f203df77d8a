"""Nemenyi's comparison of rank sums against published panels, and how often it names a pair of like glasses."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from cooperage.tasting.statistics.rank_pairs import nemenyi


@pytest.mark.parametrize("at", [0, 1])
def test_rank_sums_and_pairs_are_the_published_ones(at: int, reference: Callable[[str], Any]) -> None:
    """Rank sums, the least difference and p of every pair (friedman_posthoc_cases.json)."""
    case = reference("friedman_posthoc_cases.json")["cases"][at]
    found, expected = nemenyi(np.array(case["data"]).T), case["result"]
    assert found.rank_sums.tolist() == expected["rank_sums"]
    assert found.least_difference == pytest.approx(expected["nemenyi_CD_rank_sum_5pct"], rel=1e-9)
    place = expected["labels"].index
    pairs = [(place(pair["a"]), place(pair["b"]), pair["p_nemenyi"]) for pair in expected["pairs"]]
    assert [found.p[one, other] for one, other, _ in pairs] == pytest.approx([p for *_, p in pairs], abs=1e-9)
    named = {frozenset((one, other)) for one, other, p in pairs if p <= 0.05}
    assert {frozenset(pair) for pair in found.differ()} == named


def test_like_glasses_are_seldom_named() -> None:
    """5,000 panels that taste no difference: a pair is named in no more than 5 % of them, three deviations allowed."""
    rng = np.random.default_rng(7)
    for glasses, tasters in ((2, 6), (3, 3), (4, 5), (6, 4), (6, 9)):
        ranks = rng.permuted(np.tile(np.arange(glasses), (5000, tasters, 1)), axis=2).sum(axis=1)
        least = nemenyi(np.arange(glasses * tasters).reshape(glasses, tasters)).least_difference
        assert (np.ptp(ranks, axis=1) >= least).mean() <= 0.05 + 3 * np.sqrt(0.05 * 0.95 / 5000)

"""Grubbs' test against the printed table and the handbook's example."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.tasting.statistics.outliers import TooFewToJudge, grubbs, grubbs_critical


def test_critical_values_match_the_printed_table(reference: Callable[[str], Any]) -> None:
    """One-sided points of outlier_cases.json: 0.006 to Grubbs' print, 1e-6 to those computed from Student's t."""
    rows = reference("outlier_cases.json")["grubbs"]
    assert len(rows) == 36
    for row in rows:
        found = grubbs_critical(row["n"], row["alpha_one_sided"], two_sided=False)
        assert found == pytest.approx(row["published"], abs=6e-3)
        assert found == pytest.approx(row["computed"], rel=1e-6)


def test_the_handbook_example(reference: Callable[[str], Any]) -> None:
    """Eight readings with one at 245.57: G 2.4687 passes the two-sided 5 % point 2.1266."""
    case = next(c for c in reference("outlier_cases.json")["examples"] if c["kind"] == "grubbs")
    suspect = grubbs(case["data"])
    assert case["data"][suspect.place] == case["verified"]["outlier"]
    assert suspect.g == pytest.approx(case["verified"]["G"], rel=1e-8)
    assert suspect.g == pytest.approx(case["published"]["G"], abs=1e-4)
    assert grubbs_critical(8, 0.05) == pytest.approx(case["verified"]["critical_two_sided_05"], rel=1e-8)
    assert suspect.p < 0.05


@given(st.lists(st.integers(0, 100), min_size=3, max_size=15).filter(lambda v: len(set(v)) > 1))
def test_probability_and_critical_value_are_one_test(values: list[int]) -> None:
    """P is below a level exactly when G is above that level's critical value."""
    suspect = grubbs(values)
    if 1e-9 < suspect.p < 0.99:
        assert grubbs_critical(len(values), suspect.p) == pytest.approx(suspect.g, rel=1e-6)


def test_one_value_against_equal_others_is_certain() -> None:
    """5, 5, 5, 9: the others do not scatter at all, so nothing could be odder."""
    suspect = grubbs([5, 5, 5, 9])
    assert (suspect.place, suspect.p) == (3, 0.0)
    assert suspect.g == pytest.approx(1.5)  # G at most (n-1)/sqrt(n) = 3/2


@pytest.mark.parametrize("values", [[1, 2], [4, 4, 4], [1, 2, np.nan]])
def test_nothing_stands_apart_from_two_or_from_equals(values: list[float]) -> None:
    """Two values, equal values or a gap are refused."""
    with pytest.raises(TooFewToJudge):
        grubbs(values)

"""The studentized range and the tails against SciPy's distributions and printed quantiles."""

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from scipy import stats

from cooperage.tasting.statistics.quantiles import f_tail, range_quantile, range_tail, student, student_tails

CASES = [(2, 1.0), (2, 7.0), (3, 2.0), (6, 10.0), (12, 60.0), (4, math.inf), (10, math.inf)]


@pytest.mark.parametrize(("groups", "degrees"), CASES)
def test_the_studentized_range_is_scipys(groups: int, degrees: float) -> None:
    """Integrated here and there alike, at the level of a panel and far out."""
    for beyond in (0.2, 0.05, 0.001):
        wide = range_quantile(beyond, groups, degrees)
        assert stats.studentized_range.sf(wide, groups, degrees) == pytest.approx(beyond, rel=1e-5)
        assert range_tail(wide, groups, degrees) == pytest.approx(beyond, rel=1e-6)


def test_two_groups_are_students_t() -> None:
    """The range of two means is their difference: t x sqrt(2)."""
    for degrees in (1, 2, 5, 30):
        assert range_quantile(0.05, 2, degrees) == pytest.approx(math.sqrt(2) * student(degrees, 0.025), rel=1e-6)


def test_printed_quantiles_of_rank_comparisons(reference: Callable[[str], Any]) -> None:
    """Demšar (2006), table 5: q at 5 and 10 % for 2 to 10 classifiers, over sqrt(2)."""
    for row in reference("friedman_posthoc_cases.json")["nemenyi_q_demsar_2006_table5"]:
        found = [range_quantile(beyond, row["k"]) / math.sqrt(2) for beyond in (0.05, 0.1)]
        assert found == pytest.approx([row["q05"], row["q10"]], abs=1e-3)


def test_tails_are_scipys_and_unknown_without_degrees() -> None:
    """F and t, and NaN where nothing is left to judge by."""
    assert f_tail(3.4, 2, 14) == pytest.approx(stats.f.sf(3.4, 2, 14), rel=1e-12)
    assert student_tails(-2.1, 6) == pytest.approx(2 * stats.t.sf(2.1, 6), rel=1e-12)
    unknown = [f_tail(3, 2, 0), f_tail(math.nan, 2, 3), student(0, 0.05), student_tails(1, 0)]
    assert np.isnan([*unknown, range_tail(3, 1, 5), range_quantile(0.05, 3, 0)]).all()

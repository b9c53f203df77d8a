"""How tasters did beside the others and how the panel did, against published measures and by construction."""

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from cooperage.tasting.statistics.performance import performance

Panel = tuple[np.ndarray, list[str]]


@pytest.mark.parametrize("at", [0, 1])
def test_eight_assessors_of_twelve_products(
    at: int, reference: Callable[[str], Any], tv_panel: Callable[[str], Panel]
) -> None:
    """Discrimination, repeatability, agreement with the others and slope of each; scale use and disagreement of all."""
    case = reference("panel_performance_cases.json")["cases"][at]
    found = performance(*tv_panel(case["response"]))
    figures = [(each.discrimination, each.p, each.repeatability, each.agreement, each.slope) for each in found.tasters]
    names = ("F_product", "p_product", "repeatability_sd", "r_with_others_mean", "slope_on_panel_mean")
    assert np.array(figures) == pytest.approx(np.array([[row[name] for name in names] for row in case["assessors"]]))
    means = np.array([row["mean"] for row in case["assessors"]])
    assert [each.bias for each in found.tasters] == pytest.approx(means - means.mean())
    panel = case["panel"]
    assert found.scaling is not None
    assert found.disagreement is not None
    assert found.product_by_disagreement is not None
    assert (found.scaling.squares, found.scaling.degrees) == pytest.approx((panel["SS_scaling"], panel["df_scaling"]))
    assert found.disagreement.squares == pytest.approx(panel["SS_disagreement"])
    assert found.disagreement.degrees == panel["df_disagreement"]
    assert found.scaling.f == pytest.approx(panel["F_scaling"])
    tested = (found.product_by_disagreement.f, found.product_by_disagreement.p)
    assert tested == pytest.approx((panel["F_product_MAM"], panel["p_product_MAM"]))


def test_a_taster_is_never_compared_with_himself() -> None:
    """Three who guess: with himself in the mean each would agree with it; with the others two of three do not."""
    scores = np.array([[9.0, 1.0, 5.0], [1.0, 9.0, 6.0], [5.0, 5.0, 1.0], [3.0, 4.0, 9.0]])
    found = performance(scores)
    for at, each in enumerate(found.tasters):
        others = np.delete(scores, at, axis=1).mean(axis=1)
        assert each.agreement == pytest.approx(np.corrcoef(scores[:, at], others)[0, 1])
        assert each.agreement < np.corrcoef(scores[:, at], scores.mean(axis=1))[0, 1]


def test_scale_use_is_no_disagreement() -> None:
    """Tasters who stretch one truth to 0.5, 1 and 1.5: slopes are those, and product x taster is scale use alone."""
    truth = np.array([-3.0, -1.0, 0.0, 4.0])
    found = performance(10 + truth[:, None] * np.array([0.5, 1.0, 1.5]) + np.array([1.0, 0.0, -1.0]))
    assert [each.slope for each in found.tasters] == pytest.approx([0.5, 1.0, 1.5])
    assert [each.bias for each in found.tasters] == pytest.approx([1.0, 0.0, -1.0])
    assert found.scaling is not None
    assert found.disagreement is not None
    assert found.scaling.squares == pytest.approx(found.analysis.residual.squares)
    assert found.disagreement.squares == pytest.approx(0, abs=1e-9)


def test_gaps_leave_what_can_be_known() -> None:
    """A glass missed, a taster who came for none: no split of scale use, NaN for the absent one."""
    scores = np.array([[5.0, 6.0, math.nan], [6.0, 8.0, math.nan], [8.0, math.nan, math.nan], [9.0, 9.0, math.nan]])
    found = performance(scores, ["a", "a", "b", "c"])
    assert found.scaling is None
    assert found.tasters[2].glasses == 0
    assert math.isnan(found.tasters[2].bias)
    assert found.tasters[0].repeatability == pytest.approx(math.sqrt(0.5))
    assert math.isnan(found.tasters[1].agreement)  # two products in common show none

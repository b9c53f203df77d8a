"""Scores of forecasts against published values, and by hand."""

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from cooperage.programme.ageing.scoring.scored import ForecastOutcome
from cooperage.programme.ageing.scoring.scores import crps_normal, scores

REFERENCE = Path(__file__).parents[2] / "reference" / "scoring_cases.json"
CASES = json.loads(REFERENCE.read_text(encoding="utf-8"))["cases"]
AT = datetime(2026, 5, 1, tzinfo=UTC)


@pytest.mark.parametrize("case", [case for case in CASES if case["case"] == "normal"], ids=lambda case: case["id"])
def test_the_score_of_a_normal_forecast(case: dict[str, Any]) -> None:
    """Gneiting and Raftery, J. Am. Stat. Assoc. 102 (2007): -3 under a standard normal scores 2.43657473."""
    score = crps_normal(case["y"], case["mean"], case["sd"])
    assert score == pytest.approx(case["crps"], abs=1e-9)
    if case.get("published"):
        assert score == pytest.approx(case["published"], abs=5e-9)


def test_without_doubt_the_score_is_the_error() -> None:
    """A forecast without a band scores its absolute error."""
    assert crps_normal(24.0, 30.0, 0.0) == 6.0


def test_errors_bias_and_bands_are_those_of_the_forecasts() -> None:
    """Three forecasts by hand: off by 1, -3 and 0.5, two of them within half of the band of 50 %."""
    came = [("B-1", 31.0, 2.0, 30.0, 33.0), ("B-2", 27.0, 2.0, 30.0, 31.0), ("B-1", 20.5, 2.0, 20.0, 26.0)]
    found = scores(ForecastOutcome("free_so2_mg_l", tag, AT, 30.0, *figures) for tag, *figures in came)
    assert [score.name for score in found] == ["free_so2_mg_l"]
    score = found[0]
    assert score.count == 3
    assert score.error == pytest.approx(1.5)
    assert score.bias == pytest.approx(-0.5)
    assert score.held == pytest.approx((2 / 3, 2 / 3, 1.0))
    assert score.last_error == pytest.approx(10 / 3)
    assert score.last_bias == pytest.approx(10 / 3)
    assert score.is_better

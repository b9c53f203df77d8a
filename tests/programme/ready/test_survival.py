"""Times until a definition was met, those not yet met counted as far as they were seen."""

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.programme.ready.limits import parse_limits
from cooperage.programme.ready.looks import Cask, PanelLook
from cooperage.programme.ready.survival import kaplan_meier, median_time, times_until_met, usual_time_words

CASE = json.loads((Path(__file__).parents[2] / "reference" / "time_to_event_cases.json").read_text())["cases"][0]
FILLED = datetime(2025, 1, 1, tzinfo=UTC)


def group(name: str) -> list[tuple[float, bool]]:
    """Return one group of the published trial: weeks, and whether it ended."""
    return [(float(time), bool(status)) for time, status, of in CASE["rows"] if of == name]


def test_published_survival() -> None:
    """Shares left, Greenwood's standard errors and medians (Miller, Survival Analysis (1997), p. 49)."""
    printed, steps = CASE["published"], kaplan_meier(group("Maintained"))
    assert {str(int(step.time)): step.left for step in steps} == pytest.approx(printed["S_maintained"], abs=1e-6)
    errors = {str(int(step.time)): step.standard_error for step in steps}
    assert errors == pytest.approx(printed["greenwood_se_maintained"], abs=1e-6)
    assert median_time(steps) == printed["median_maintained"]
    assert median_time(kaplan_meier(group("Nonmaintained"))) == printed["median_nonmaintained"]


@given(st.lists(st.integers(1, 50), min_size=1, max_size=20))
def test_without_loss_it_is_the_share_that_is_left(times: list[int]) -> None:
    """Where all were seen to the end, the share left is the plain one, and its error the binomial one."""
    for step in kaplan_meier([(time, True) for time in times]):
        share = sum(time > step.time for time in times) / len(times)
        assert step.left == pytest.approx(share)
        assert step.standard_error == pytest.approx((share * (1 - share) / len(times)) ** 0.5)


def look(tag: str, days: int, attribute: str, value: float) -> PanelLook:
    """Make one look at a barrel."""
    at = FILLED + timedelta(days=days)
    cask = Cask(tag, FILLED.timestamp(), "HE-24", "oak", "", 225_000, 2)
    return PanelLook(cask, attribute, "0-20", f"F-{days}", at, value, 4)


def test_times_until_the_limits_were_met() -> None:
    """The first flight that met all of them; a fill that has not is seen to its last; half a score shows nothing."""
    limits = parse_limits("overall at least 14; oak at most 6; va at most 0.7")
    looks = [
        *(look("B-1", days, "overall", value) for days, value in ((100, 12), (200, 15), (300, 16))),
        *(look("B-1", days, "oak", 5) for days in (100, 200, 300)),
        *(look("B-2", 150, name, 8) for name in ("overall", "oak")),
        look("B-3", 150, "overall", 18),
    ]
    assert sorted(times_until_met(looks, limits)) == [(150.0, False), (200.0, True)]


def test_words_of_the_usual_time() -> None:
    assert usual_time_words([(100, True)]) == ""
    words = usual_time_words([(100.0, True), (274.0, True), (300.0, True), (400.0, False)])
    assert words == "Of 4 fills that panels scored, half met the limits on what is tasted after 9 months."
    assert "1 met" in usual_time_words([(100.0, True), (200.0, False), (300.0, False)])

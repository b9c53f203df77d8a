"""The effect left in wood: laws, published series, and cellars whose true wood is known."""

import csv
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.liquid.wood import BETWEEN_BARRELS, MARKERS, wood_drawn, wood_extraction, wood_left
from cooperage.programme.wood.effect import (
    BY_FILL,
    BY_OTHERS,
    NOT_FOLLOWED,
    WOODS_DIFFER,
    EffectLeft,
    WoodScore,
    WoodUse,
    effect_left,
    fills_used,
)
from cooperage.programme.wood.left import NEUTRAL_BELOW, is_neutral

REFERENCE = Path(__file__).parents[2] / "reference" / "wood_series.csv"


@pytest.fixture(scope="module")
def published() -> dict[str, Any]:
    """The published series, each by its name; where they are from stands beside them."""
    with REFERENCE.open() as file:
        return {row["what"]: row["value"] for row in csv.DictReader(file)}


def left_after(fills: int, days: float) -> float:
    return float(wood_left(fills_used(0, [days] * fills)).percent)


@given(st.integers(0, 12), st.lists(st.floats(0, 7000), max_size=6), st.floats(0, 300))
def test_wood_never_comes_back(before: int, days: list[float], more: float) -> None:
    """Another day, or another fill, leaves no more than there was, and never less than nothing."""
    now = float(wood_left(fills_used(before, days)).percent)
    for later in ([*days, more], [*days[:-1], (days[-1] if days else 0) + more]):
        assert 0 <= float(wood_left(fills_used(before, later)).percent) <= now + 1e-9 <= 100 + 1e-9


@given(st.integers(1, 6))
def test_a_fill_in_the_long_run_is_the_next_ceiling(fill: int) -> None:
    """What is left after so many long fills is what `wood_extraction` has for the next one: one truth."""
    assert float(wood_left(fills_used(0, [7300.0] * fill)).percent) == pytest.approx(
        float(wood_extraction(7300.0, fill + 1).percent), abs=1e-4
    )


def test_casks_of_five_years_give_almost_nothing(published: dict[str, Any]) -> None:
    """Five fills of a year (Garde-Cerdan 2005)."""
    assert published["five_year_old_casks"] == "almost nothing"
    assert left_after(5, 365) < 1


def test_wood_is_neutral_after_three_to_five_fills(published: dict[str, Any]) -> None:
    first, last = map(int, published["neutral_after"].split("-"))
    neutral = [fills for fills in range(1, 9) if left_after(fills, 365) < NEUTRAL_BELOW]
    assert first <= neutral[0] <= last


def test_ellagitannin_is_useful_for_two_fills_and_toast_for_one(published: dict[str, Any]) -> None:
    useful = int(published["ellagitannin_useful"])
    assert [float(wood_left(fills, "tannin").percent) >= 10 for fills in range(4)] == [n <= useful for n in range(4)]
    assert published["toast_after_first_use"] == "almost gone"
    assert float(wood_left(1, "toast").percent) <= 15


def test_each_fill_gives_about_half_of_the_one_before(published: dict[str, Any]) -> None:
    """Within the spread between barrels."""
    factors = [float(wood_left(n + 1).percent) / float(wood_left(n).percent) for n in range(3)]
    assert factors == pytest.approx([float(published["decline_each_fill"])] * 3, rel=BETWEEN_BARRELS)


@pytest.mark.parametrize(("group", "series"), [("vanillin", "half_time_vanillin"), ("toast", "half_time_toast")])
def test_half_times_overlap_what_is_published(published: dict[str, Any], group: str, series: str) -> None:
    low, high = (30.4 * float(part) for part in published[series].split("-"))
    marker = MARKERS[group]
    assert np.log(2) * marker.quickest <= high
    assert np.log(2) * marker.slowest >= low


def test_a_month_draws_part_of_a_fill() -> None:
    """By hand: 1 - exp(-30/90) = 0.283; after it a new barrel has 100 - 50 x 0.283 = 85.8 % left."""
    assert float(wood_drawn(30.0)) == pytest.approx(0.2835, abs=1e-4)
    assert left_after(1, 30) == pytest.approx(85.8, abs=0.05)


USES = {"B-1": WoodUse(0.5, 1, ("oak", "light")), "B-2": WoodUse(2.0, 3, ("oak", "light"))}


def test_without_scores_the_ceilings_stand() -> None:
    found = effect_left(USES)
    assert found["B-1"].percent == pytest.approx(75)
    assert found["B-2"].percent == pytest.approx(25)
    for effect in found.values():
        assert (effect.scores, effect.basis) == (0, BY_FILL)
        assert 0 <= effect.low < effect.percent < effect.high <= 100


def test_scores_that_do_not_follow_the_wood_change_nothing() -> None:
    """Liking that falls with oak, or has nothing to do with it, is no measure of oak."""
    scores = [
        WoodScore(tag, 1 if tag == "B-1" else 3, days, score, 1.0)
        for days in (60.0, 200.0, 400.0)
        for tag, score in (("B-1", 50.0 - days / 20), ("B-2", 60.0))
    ]
    found, alone = effect_left(USES, scores), effect_left(USES)
    for tag, effect in found.items():
        assert (effect.percent, effect.low, effect.high) == (alone[tag].percent, alone[tag].low, alone[tag].high)
        assert (effect.scores, effect.basis) == (0, NOT_FOLLOWED)


def simulated(seed: int) -> tuple[dict[str, WoodUse], list[WoodScore], dict[str, float]]:
    """Thirty barrels of three toasts at four fills, their true wood, and three scores of each."""
    chance = np.random.default_rng(seed)
    toasts = {toast: chance.normal(0, WOODS_DIFFER) for toast in ("light", "medium", "heavy")}
    uses, scores, truth = {}, [], {}
    for place in range(30):
        fill, toast = 1 + place % 3, list(toasts)[place % 3 if place < 15 else (place + 1) % 3]
        tag, use = f"B-{place}", WoodUse(fill - 0.7, fill, ("oak", toast))
        deviation = chance.normal(0, BETWEEN_BARRELS) + toasts[toast]
        uses[tag] = use
        truth[tag] = min(100.0, max(0.0, float(wood_left(use.used).percent) * (1 + deviation)))
        for days in (90.0, 200.0, 330.0):
            drawn = float(wood_extraction(days, fill).percent) * (1 + deviation)
            scores.append(WoodScore(tag, fill, days, 2 + 0.08 * drawn + chance.normal(0, 0.8), 0.8))
    return uses, scores, truth


def test_scores_bring_it_nearer_to_the_truth() -> None:
    """In cellars whose wood is known the error is under two thirds of that by fills alone, and bands hold."""
    with_scores, alone, held = [], [], []
    for seed in range(4):
        uses, scores, truth = simulated(seed)
        found, by_fill = effect_left(uses, scores), effect_left(uses)
        for tag, true in truth.items():
            with_scores.append((found[tag].percent - true) ** 2)
            alone.append((by_fill[tag].percent - true) ** 2)
            held.append(found[tag].low <= true <= found[tag].high)
            assert found[tag].scores == 3
    assert np.mean(with_scores) < (2 / 3) ** 2 * np.mean(alone)
    assert 0.84 <= np.mean(held) <= 1.0


def test_a_barrel_without_scores_learns_from_those_like_it() -> None:
    """Of its toast and fill; its band is narrower than by fills alone, and wider than with scores of its own."""
    uses, scores, _ = simulated(1)
    kept = [score for score in scores if score.barrel != "B-0"]
    lent, alone, own = (effect_left(uses, some)["B-0"] for some in (kept, [], scores))
    assert lent.basis == BY_OTHERS
    assert own.sd < lent.sd < alone.sd


def test_too_few_scores_are_not_believed() -> None:
    assert effect_left(USES, [WoodScore("B-1", 1, 90.0, 50.0, 1.0)])["B-1"].basis == BY_FILL


def test_neutral_is_by_what_is_left_and_unknown_is_not_neutral() -> None:
    assert is_neutral(EffectLeft(4.9, 0, 10))
    assert not is_neutral(EffectLeft(5.0, 0, 10))
    assert not is_neutral(None)
    assert EffectLeft(5.0, 0, 10).chance_below(5.0) == pytest.approx(0.5)

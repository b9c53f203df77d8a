"""The summary of a flight against published analyses of variance, hand counts and its own laws."""

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from cooperage.tasting.panel import NotADuplicate, summarise, triangle_words
from cooperage.tasting.statistics.additive import fit_additive, score_step
from cooperage.tasting.statistics.quantiles import range_quantile
from cooperage.tasting.statistics.tables import NotAScoreTable

NAN = math.nan
POINTS = st.integers(0, 20).map(float)


def panel_analysis(reference: Callable[[str], Any], panel_id: str, analysis: str) -> Any:
    """Find the verified figures of a panel in panel_analyses.json."""
    panels = {panel["id"]: panel for panel in reference("panel_analyses.json")["panels"]}
    return panels[panel_id]["verified"][analysis]


def test_an_incomplete_block_panel_matches_its_intrablock_analysis(
    agreement_case: Callable[[str], dict[str, Any]],
) -> None:
    """Twelve panellists, two of four recipes each: residual and adjusted recipe squares of the published design."""
    case = agreement_case("taste_panel_bibd_12x4")
    table = np.array(case["data"], dtype=float).T
    expected = case["verified"]["intrablock_anova"]
    fit = fit_additive(table)
    assert fit.degrees == expected["residual_df"]
    assert fit.residual_ss == pytest.approx(expected["residual_ss"], rel=1e-9)
    # recipes adjusted for panellists: what they explain beyond each panellist's own mean
    of_panellists_alone = np.nansum((table - np.nanmean(table, axis=0)) ** 2)
    assert of_panellists_alone - fit.residual_ss == pytest.approx(expected["recipe_ss_adjusted"], rel=1e-9)


def test_nine_judges_on_bitterness_match_the_analysis_of_variance(reference: Callable[[str], Any]) -> None:
    """Squares of judges and of temperature follow from the biases and the means of panel_wine_bitterness.csv."""
    rows = reference("panel_wine_bitterness.csv")
    scores = np.array([float(row["bitterness_0_100"]) for row in rows]).reshape(9, 8).T
    summary = summarise(scores)
    squares = panel_analysis(reference, "wine_bitterness", "anova_response")["sum_sq"]
    assert 8 * (summary.bias**2).sum() == pytest.approx(squares["judge"], rel=1e-9)
    warm = np.array([row["temperature"] == "warm" for row in rows[:8]])
    contrast = summary.adjusted[warm].mean() - summary.adjusted[~warm].mean()
    assert 18 * contrast**2 == pytest.approx(squares["temperature"], rel=1e-9)  # 36 scores a side


@pytest.mark.parametrize("attribute", ["bitterness_0_10", "acidity_0_10", "sweetness_0_10", "astringency_0_10"])
def test_six_chocolates_match_the_analysis_of_variance(attribute: str, reference: Callable[[str], Any]) -> None:
    """29 judges, 2 sessions: product means, judge squares and the F that takes judges as drawn from many."""
    judges, products = [f"J{n:02}" for n in range(1, 30)], [f"P{n}" for n in range(1, 7)]
    scores = np.zeros((6, 29))
    for row in reference("panel_chocolates.csv"):
        scores[products.index(row["product"]), judges.index(row["judge"])] += float(row[attribute]) / 2
    expected = panel_analysis(reference, "chocolates_panel", attribute)
    summary = summarise(scores)
    assert dict(zip(products, summary.adjusted, strict=True)) == pytest.approx(expected["product_means"])
    assert 12 * (summary.bias**2).sum() == pytest.approx(expected["sum_sq"]["judge"], rel=1e-8)
    fit = fit_additive(scores)
    assert 2 * fit.residual_ss == pytest.approx(expected["sum_sq"]["product_x_judge"], rel=1e-8)
    mean_square = 29 * summary.adjusted.var(ddof=1)
    assert mean_square / fit.residual_sd**2 == pytest.approx(expected["F_product_judges_random"], rel=1e-8)


def test_two_tasters_two_glasses_by_hand() -> None:
    """Scores 4, 5 and 6, 9, worked on paper.

    Glass means 4.5 and 7.5, taster means 5 and 7 about 6: biases -1 and +1. The fit leaves 0.5 in each cell with
    one degree of freedom: residual squares 4 x 0.25 = 1, so one score is good to 1 and a mean to 1/sqrt(2). Student's
    t at 5 % with one degree is 12.706 and the difference of two means is good to 1; the whole points add 1/12 to the
    variance of a score by which they are said to differ, so the least gap is 12.706 x sqrt(13/12) = 13.225.
    """
    summary = summarise([[4, 5], [6, 9]])
    assert summary.mean == pytest.approx([4.5, 7.5])
    assert summary.adjusted == pytest.approx([4.5, 7.5])
    assert summary.bias == pytest.approx([-1, 1])
    assert summary.spread == pytest.approx([math.sqrt(0.5), math.sqrt(4.5)])
    assert summary.residual_sd == pytest.approx(1)
    assert summary.standard_error == pytest.approx([math.sqrt(0.5)] * 2)
    assert summary.least_gap == pytest.approx(13.225, abs=5e-4)


def test_a_generous_taster_who_missed_a_glass_does_not_sink_it() -> None:
    """The second taster scores 2 above the first and missed the third glass: its 5 is worth 6 from the pair."""
    scores: list[list[float]] = [[3, 5], [4, 6], [5, NAN]]
    summary = summarise(scores)
    assert summary.mean == pytest.approx([4, 5, 5])
    assert summary.adjusted == pytest.approx([4, 5, 6])
    assert summary.bias == pytest.approx([-1, 1])
    assert summary.tasted.tolist() == [2, 2, 1]
    assert summary.spread == pytest.approx([math.sqrt(2), math.sqrt(2), NAN], nan_ok=True)


TABLES = st.tuples(st.integers(2, 4), st.integers(2, 4)).flatmap(lambda s: arrays(float, s, elements=POINTS))


@settings(max_examples=60)
@given(TABLES)
def test_a_full_table_needs_no_adjustment(scores: np.ndarray) -> None:
    """Where all tasted all, adjusted means are the means, and biases are distances from the grand mean."""
    summary = summarise(scores)
    assert summary.adjusted == pytest.approx(scores.mean(axis=1))
    assert summary.bias == pytest.approx(scores.mean(axis=0) - scores.mean(), abs=1e-9)
    assert summary.spread == pytest.approx(scores.std(axis=1, ddof=1))


@settings(max_examples=60)
@given(TABLES, st.data())
def test_bias_takes_up_whatever_a_taster_adds(scores: np.ndarray, data: st.DataObject) -> None:
    """Adding to each taster's scores a number of their own moves biases by just that, and no gap between glasses."""
    gap = data.draw(st.tuples(st.integers(0, len(scores) - 1), st.integers(0, scores.shape[1] - 1)))
    scores[gap] = NAN  # one gap: bare means would now depend on the offsets
    offsets = data.draw(arrays(float, scores.shape[1], elements=st.integers(-9, 9).map(float)))
    before, after = summarise(scores), summarise(scores + offsets)
    assert np.diff(after.adjusted) == pytest.approx(np.diff(before.adjusted), abs=1e-8, nan_ok=True)
    assert after.bias - before.bias == pytest.approx(offsets - offsets.mean(), abs=1e-8, nan_ok=True)
    assert after.least_gap == pytest.approx(before.least_gap, rel=1e-6, abs=1e-8, nan_ok=True)


def test_hidden_duplicates_show_who_repeats_themselves() -> None:
    """Glasses 0 and 2 held the same liquid: tasters put 0, 3 and nothing between them; the third missed one."""
    scores: list[list[float]] = [[5, 4, 6], [7, 7, 7], [5, 7, NAN]]
    summary = summarise(scores, duplicates=[(0, 2)])
    assert summary.consistency == pytest.approx([0, 3, NAN], nan_ok=True)
    assert any("same liquid poured twice was scored 1.5 points apart" in line for line in summary.words)


def test_tasters_without_a_glass_in_common_are_not_compared() -> None:
    """Each tasted one glass of their own: means stand, adjusted means do not, and the words say why."""
    summary = summarise([[5, NAN], [NAN, 7]])
    assert summary.mean == pytest.approx([5, 7])
    assert np.isnan(summary.adjusted).all()
    assert np.isnan(summary.bias).all()
    assert "No glass links all the tasters, so their scores cannot be put on one footing." in summary.words


def test_a_glass_and_a_taster_left_out_do_not_spoil_the_rest() -> None:
    """A glass nobody reached and a taster who stayed away are NaN; the others are as without them."""
    summary = summarise([[3, 5, NAN], [4, 6, NAN], [NAN, NAN, NAN]])
    assert summary.adjusted == pytest.approx([4, 5, NAN], nan_ok=True)
    assert summary.bias == pytest.approx([-1, 1, NAN], nan_ok=True)
    assert summary.words[-1] == triangle_words(2)


def test_one_taster_is_told_to_be_an_opinion() -> None:
    """A single column has means but no error, and the words say so before anything else."""
    summary = summarise([[5], [7]])
    assert summary.mean == pytest.approx([5, 7])
    assert summary.words == (
        "One taster is an opinion, not a panel: bias and error cannot be measured.",
        "With 1 taster no triangle test can reach significance at 0.05.",
    )


def test_an_empty_flight_has_nothing_but_gaps() -> None:
    """Before anyone has scored, every figure is NaN and nothing fails."""
    summary = summarise(np.full((3, 2), NAN), duplicates=[(0, 1)])
    assert np.isnan(summary.mean).all()
    assert np.isnan(summary.consistency).all()
    assert summary.words


@pytest.mark.parametrize(
    ("scores", "message"),
    [
        # 1/2! squared = 25 % even if all agree
        ([[1, 2, 1], [3, 4, 5]], "Even full agreement of 3 tasters on 2 glasses comes by chance 25 % of the time."),
        # full agreement on three glasses: W = 1, p = 1/6^2
        ([[1, 2, 1], [3, 4, 5], [6, 7, 8]], "The tasters' rankings agree more than chance (W 1.00, p = 0.028)."),
        # p = 1/24^4 is small, and not nothing
        ([[n] * 5 for n in (1, 2, 3, 4)], "The tasters' rankings agree more than chance (W 1.00, p < 0.001)."),
        ([[5, 5, 5], [5, 5, 5], [5, 5, 5]], "Every taster scored every glass alike."),
    ],
)
def test_words_on_agreement(scores: list[list[float]], message: str) -> None:
    """The words tell when agreement means nothing, when it means something, and when there is none to measure."""
    assert message in summarise(scores).words


def test_words_tell_whether_any_two_glasses_differ() -> None:
    """Three tasters who differ by 0.1 find a gap of 5; three who contradict each other find none."""
    found = summarise([[1.0, 1.1, 0.9], [6.1, 6.0, 6.0]]).words[0]
    assert found.endswith("points apart differ. The highest stands alone.")
    # they disagree in nothing but their offsets, so a step of 0.1 is all: 4.303 x sqrt(2 x 0.1^2 / 12 / 3)
    assert summarise([[1, 2.1, 3.2], [4, 5.1, 6.2]]).least_gap == pytest.approx(0.10142, abs=1e-5)
    assert summarise([[1, 5, 9], [9, 5, 2]]).words[0] == "Three tasters do not show a difference between these glasses."


@pytest.mark.parametrize(
    ("tasters", "message"),
    [
        (2, "With 2 tasters no triangle test can reach significance at 0.05."),
        # 3 of 3 needed; half telling makes each right 2 times in 3, and 1 - (2/3)^3 = 19/27 = 70 %
        (3, "With 3 tasters a triangle test needs all 3 right at 0.05; a difference that half of them truly "
            "taste would be missed 70 % of the time."),
    ],
)  # fmt: skip
def test_words_say_how_little_a_small_panel_can_tell(tasters: int, message: str) -> None:
    """Two tasters can never show a difference; three only if all are right, and mostly miss a real one."""
    assert triangle_words(tasters) == message


@pytest.mark.parametrize("pair", [(0, 0), (0, 3), (-1, 1)])
def test_a_duplicate_is_two_glasses_of_the_flight(pair: tuple[int, int]) -> None:
    """A glass paired with itself or with none is refused."""
    with pytest.raises(NotADuplicate):
        summarise([[1, 2], [3, 4], [5, 6]], duplicates=[pair])


def test_words_for_scores_are_refused() -> None:
    """A table that is not numbers is refused by the same rule as in the other statistics."""
    with pytest.raises(NotAScoreTable):
        summarise([["good", "bad"]])


@pytest.mark.parametrize(
    ("scores", "width", "step"),
    [
        ([[12, 13], [15, 16]], 20, 1.0),
        ([[12, 13.5], [15, 16]], 20, 0.5),
        ([[12, 13.5], [15.1, 16]], 20, 0.1),
        ([[0.3, 0.6], [0.7, NAN]], 20, 0.1),
        ([[70, 75], [80, 85]], 100, 5.0),
        ([[5, 10], [15, 20]], 20, 1.0),
        ([[1 / 3, 2], [3, 4]], 20, 0.0),
        ([[NAN, NAN], [NAN, NAN]], 20, 1.0),
    ],
)
def test_the_step_of_the_scores_is_seen(scores: list[list[float]], width: int, step: float) -> None:
    """Whole, half and tenth points; fives only where the scale is wide."""
    assert score_step(np.array(scores), width) == step


def test_two_tasters_who_agree_to_the_point_do_not_know_it_exactly() -> None:
    """Both put one glass a point higher. Nothing is left over but rounding: 12.706 x sqrt(2 x (1/12) / 2) = 3.668."""
    summary = summarise([[12, 13], [13, 14]], width=20)
    assert summary.least_gap == pytest.approx(3.668, abs=1e-3)
    assert summary.residual_sd == pytest.approx(math.sqrt(1 / 12))
    assert summary.standard_error == pytest.approx([math.sqrt(1 / 24)] * 2)
    assert summary.words[0].startswith("Two tasters do not show a difference between these glasses.")


def test_a_gap_wider_than_the_scale_is_no_gap() -> None:
    """Two tasters who contradict each other over six glasses: the panel cannot tell, and says no number of points."""
    scores = [[2, 9], [9, 3], [1, 8], [8, 2], [3, 9], [9, 1]]
    assert summarise(scores).least_gap > 10
    summary = summarise(scores, width=10)
    assert math.isnan(summary.least_gap)
    assert summary.words[0] == (
        "Two tasters do not show a difference between these glasses. "
        "Not even 24 tasters who score as these do would show a gap of 1 point."
    )


def said_to_differ(scores: np.ndarray, width: float) -> np.ndarray:
    """Whether the widest gap passes the least, for many panels at once: (panels, glasses, tasters), nothing missed."""
    _, glasses, tasters = scores.shape
    means = scores.mean(axis=2)
    left = scores - means[:, :, None] - scores.mean(axis=1, keepdims=True) + scores.mean(axis=(1, 2), keepdims=True)
    degrees = (glasses - 1) * (tasters - 1)
    variance = (left**2).sum(axis=(1, 2)) / degrees + 1 / 12
    gap = range_quantile(0.05, glasses, degrees) * np.sqrt(variance / tasters)
    differ: np.ndarray = (np.ptp(means, axis=1) > gap) & (gap <= width)
    return differ


def panels(count: int, tasters: int, glasses: int, sd: float, better: float, rng: np.random.Generator) -> np.ndarray:
    """Whole-point scores from 0 to 20 by tasters who each lie somewhere else; one glass may be better."""
    levels = 10 + rng.normal(0, 1.5, (count, 1, tasters)) + rng.uniform(-0.5, 0.5, (count, 1, 1))
    scores = levels + rng.normal(0, sd, (count, glasses, tasters))
    scores[:, 0] += better
    return np.clip(np.round(scores), 0, 20)


SIZES = [(tasters, glasses) for tasters in range(2, 7) for glasses in range(2, 7)]


@pytest.mark.parametrize(("tasters", "glasses"), SIZES)
def test_rounding_makes_no_difference_of_none(tasters: int, glasses: int) -> None:
    """4,000 panels for each size and spread: false differences at 5 % stay within three binomial deviations of it."""
    rng = np.random.default_rng([tasters, glasses])
    for sd in (0.2, 0.5, 0.8, 1.4, 3.0):
        found = said_to_differ(panels(4000, tasters, glasses, sd, 0.0, rng), 20)
        assert found.mean() <= 0.05 + 3 * math.sqrt(0.05 * 0.95 / 4000), sd


@pytest.mark.parametrize(("tasters", "glasses"), SIZES)
def test_a_true_difference_is_still_found(tasters: int, glasses: int) -> None:
    """Eight points, or four where there are twelve scores and more, by tasters true to half a point: mostly."""
    rng = np.random.default_rng([tasters, glasses, 1])
    for better, fewest in ((8.0, (2, 3)), (4.0, (3, 4))):
        if tasters >= fewest[0] and tasters * glasses >= fewest[0] * fewest[1]:
            assert said_to_differ(panels(500, tasters, glasses, 0.5, better, rng), 20).mean() > 0.8


@pytest.mark.parametrize(("tasters", "glasses"), SIZES[:15:4])
def test_the_many_panels_are_judged_as_one_is(tasters: int, glasses: int) -> None:
    """What the simulation says of a panel is what the summary says of it."""
    rng = np.random.default_rng([tasters, glasses, 2])
    for better in (0.0, 2.0, 6.0):
        many = panels(8, tasters, glasses, 0.7, better, rng)
        for scores, result in zip(many, said_to_differ(many, 20), strict=True):
            assert ("apart differ" in summarise(scores, width=20).words[0]) == result

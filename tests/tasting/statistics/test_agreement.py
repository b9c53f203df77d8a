"""Intraclass correlation, Kendall's W and Friedman's test against published panels, scipy and their own laws."""

import itertools
import math
from collections.abc import Callable, Iterable, Sequence
from random import Random
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.stats import friedmanchisquare, rankdata

from cooperage.errors import BadInput
from cooperage.tasting.statistics import rank_sums
from cooperage.tasting.statistics.agreement import TooManyToCount, friedman, icc, kendall_w
from cooperage.tasting.statistics.rank_sums import exact_tail
from cooperage.tasting.statistics.tables import NotAScoreTable, NotEveryGlassTasted, NothingToCompare

PANELS = [
    "tasting_9x9",
    "tasting_9x4",
    "tasting_8x8_a",
    "tasting_7x8_b",
    "tasting_8x8_c",
    "tasting_8x8_d",
    "conover_grass_12x4",
    "nag_friedman_18x3",
    "kendall_4x10",
]
WHOLE_SCORES = st.tuples(st.integers(2, 5), st.integers(2, 4)).flatmap(
    lambda shape: arrays(np.int64, shape, elements=st.integers(0, 9))
)


def glasses_by_tasters(case: dict[str, Any]) -> np.ndarray:
    """Turn a reference case, whose rows are judges, on its side."""
    return np.array(case["data"], dtype=float).T


@pytest.mark.parametrize("case_id", PANELS)
def test_rank_statistics_match_the_published_panels(
    case_id: str, agreement_case: Callable[[str], dict[str, Any]]
) -> None:
    """Q, W and the chi-square p of each reference panel: 1e-8 to the recomputed, printed digits to the print."""
    case = agreement_case(case_id)
    scores, verified, published = glasses_by_tasters(case), case["verified"], case["published"]
    statistic, p = friedman(scores, "chi2")
    w, w_p = kendall_w(scores, "chi2")
    assert statistic == pytest.approx(verified["friedman_tie_corrected"], rel=1e-8)
    assert w == pytest.approx(verified["kendall_W"], rel=1e-8)
    assert p == w_p == pytest.approx(verified["p_chi2"], rel=1e-8)
    if "kendall_W" in published:
        assert w == pytest.approx(published["kendall_W"], abs=5e-5)
        assert p == pytest.approx(published["p_chi2"], abs=6e-5)  # 5.8e-5 is printed as 0.0001
    if "friedman_tie_corrected" in published:
        assert statistic == pytest.approx(published["friedman_tie_corrected"], abs=5e-5)


def test_nine_judges_on_eight_bottles(reference: Callable[[str], Any]) -> None:
    """Friedman's test of the bitterness panel, many ties: panel_analyses.json, friedman_bottles."""
    rows = reference("panel_wine_bitterness.csv")
    scores = np.array([float(row["bitterness_0_100"]) for row in rows]).reshape(9, 8).T
    expected = reference("panel_analyses.json")["panels"][0]["verified"]["friedman_bottles"]
    statistic, p = friedman(scores)
    assert statistic == pytest.approx(expected["Q"], rel=1e-8)
    assert p == pytest.approx(expected["p"], rel=1e-6)


def test_icc_matches_shrout_and_fleiss(agreement_case: Callable[[str], dict[str, Any]]) -> None:
    """Six subjects, four judges: all six forms to the print (2 digits) and to R psych (1e-8)."""
    case = agreement_case("shrout_fleiss_6x4")
    for form, found in icc(case["data"]).items():
        name = form.replace("(", "").replace(",", "_").replace(")", "")
        assert found == pytest.approx(case["verified"][name], rel=1e-8)
        assert found == pytest.approx(case["published"][name], abs=5e-3)


@pytest.mark.slow
def test_exact_tails_match_the_enumerated_distributions(reference: Callable[[str], Any]) -> None:
    """Random rankings fall on rows of friedman_exact_tails.csv, and their p is the row's to 1e-6."""
    tails = {
        (int(row["products_k"]), int(row["assessors_n"]), round(float(row["Q"]), 4)): float(row["P_Q_or_larger"])
        for row in reference("friedman_exact_tails.csv")
    }
    rng, met = np.random.default_rng(3), set()
    for (glasses, tasters), _ in itertools.product(sorted({key[:2] for key in tails}), range(200)):
        ranks = np.array([rng.permutation(glasses) for _ in range(tasters)]).T
        statistic, p = friedman(ranks)
        met.add((glasses, tasters, round(statistic, 4)))
        expected = tails.get((glasses, tasters, round(statistic, 4)))
        assert expected is not None
        assert p == pytest.approx(expected, rel=1e-6)
    assert len(met) > 100


def tail_of(ranks: np.ndarray, scatter: int) -> float:
    """Return the exact tail of a panel small enough to be counted."""
    tail = exact_tail(ranks, scatter)
    assert tail is not None
    return tail


@pytest.mark.slow
@pytest.mark.parametrize(("glasses", "most_tasters"), [(3, 24), (4, 20), (5, 9), (6, 5), (7, 3)])
def test_exact_critical_values_match_the_tables(
    glasses: int, most_tasters: int, reference: Callable[[str], Any]
) -> None:
    """The tabulated Q has the tabulated tail, and the next smaller Q is not significant any more.

    friedman_critical_values.csv for every panel that is counted in a moment, at all four levels.
    """
    rows = [row for row in reference("friedman_critical_values.csv") if int(row["products_k"]) == glasses]
    for row in rows:
        tasters, alpha = int(row["assessors_n"]), float(row["alpha"])
        if tasters > most_tasters:
            continue
        ranks = np.tile(2 * np.arange(glasses) - glasses + 1, (tasters, 1)).T  # doubled, about their mean
        full = int((ranks.sum(axis=1) ** 2).sum())
        if row["critical_Q_exact"] == "none":
            assert tail_of(ranks, full) > alpha
            continue
        # full agreement has Q = tasters x (glasses - 1), and Q is in proportion to the scatter
        scatter = round(float(row["critical_Q_exact"]) / (tasters * (glasses - 1)) * full)
        p = tail_of(ranks, scatter)
        assert p == pytest.approx(float(row["exact_tail_probability"]), rel=1e-5)
        # sums of squares of doubled ranks that total zero differ by multiples of eight
        smaller = (tail_of(ranks, lower) for lower in range(scatter - 8, 0, -8))
        assert next(q for q in smaller if q > p * 1.000001) > alpha


def test_full_agreement_is_as_rare_as_counting_says() -> None:
    """Three tasters with one order of four glasses: 1 / (4!)^2, and 3 glasses under 8 judges: 1 / 6^7."""
    assert friedman(np.tile(np.arange(4.0), (3, 1)).T)[1] == pytest.approx(1 / 576, rel=1e-12)
    w, p = kendall_w(np.tile(np.arange(3.0), (8, 1)).T)
    assert w == 1.0
    assert p == pytest.approx(6.0**-7, rel=1e-9)


@settings(max_examples=40)
@given(st.tuples(st.integers(2, 3), st.just(3)).flatmap(lambda s: arrays(np.int64, s, elements=st.integers(0, 3))))
def test_exact_tail_counts_ties_as_dealing_out_every_order_does(scores: np.ndarray) -> None:
    """With ties, p is the share of all ways to deal out each taster's own scores that scatter as much or more."""
    assume((np.ptp(scores, axis=0) > 0).any())
    ranks = rankdata(scores, axis=0)

    def scatter(columns: Iterable[Sequence[float]]) -> float:
        middle = len(scores[0]) * (len(scores) + 1) / 2
        return sum(float(sum(row) - middle) ** 2 for row in zip(*columns, strict=True))

    observed = scatter(ranks.T)
    deals = list(itertools.product(*(list(itertools.permutations(column)) for column in ranks.T)))
    share = sum(scatter(deal) >= observed - 1e-9 for deal in deals) / len(deals)
    assert friedman(scores)[1] == pytest.approx(share, rel=1e-9)


@settings(max_examples=50)
@given(st.integers(3, 6), st.integers(10, 14), st.integers(0, 10**6))
def test_ten_tasters_or_more_agree_with_scipy(glasses: int, tasters: int, draw: int) -> None:
    """From ten tasters on, statistic and p are those of scipy's friedmanchisquare."""
    scores = np.random.default_rng(draw).integers(0, 10, (glasses, tasters)).astype(float)
    expected = friedmanchisquare(*scores)
    assert friedman(scores) == pytest.approx((expected.statistic, expected.pvalue), rel=1e-9)


@settings(max_examples=60)
@given(WHOLE_SCORES, st.randoms(use_true_random=False))
def test_order_and_stretch_change_nothing_of_ranks(scores: np.ndarray, random: Random) -> None:
    """W lies in [0, 1]; neither the order of glasses or tasters nor any growing rescaling changes W or p."""
    assume((np.ptp(scores, axis=0) > 0).any())
    w, p = kendall_w(scores)
    assert 0 <= w <= 1
    assert 0 < p <= 1
    rows, columns = list(range(len(scores))), list(range(len(scores[0])))
    random.shuffle(rows)
    random.shuffle(columns)
    again = kendall_w(np.exp(scores[rows][:, columns] / 3.0))
    assert again == pytest.approx((w, p), rel=1e-9)


@given(WHOLE_SCORES, st.lists(st.integers(-50, 50), min_size=4, max_size=4))
def test_icc_3_forgives_the_offsets_of_tasters(scores: np.ndarray, offsets: list[int]) -> None:
    """Adding to each taster's scores a number of their own leaves ICC(3,1) and ICC(3,k) as they were."""
    assume(np.ptp(scores, axis=0).any())
    moved = icc(scores + np.array(offsets[: len(scores[0])]))
    for form in ("ICC(3,1)", "ICC(3,k)"):
        assert moved[form] == pytest.approx(icc(scores)[form], rel=1e-6, abs=1e-9, nan_ok=True)


@given(WHOLE_SCORES, st.floats(0.1, 10), st.floats(-20, 20), st.randoms(use_true_random=False))
def test_icc_knows_no_unit_and_no_order(scores: np.ndarray, stretch: float, shift: float, random: Random) -> None:
    """A change of scale, or of the order of glasses and tasters, leaves every form as it was."""
    assume(np.ptp(scores) > 0)
    rows = list(range(len(scores)))
    random.shuffle(rows)
    again = icc((scores * stretch + shift)[rows][:, ::-1])
    for form, value in icc(scores).items():
        assert again[form] == pytest.approx(value, rel=1e-6, abs=1e-9, nan_ok=True)


@given(WHOLE_SCORES)
def test_reliability_without_offsets_is_at_most_one(scores: np.ndarray) -> None:
    """ICC(1,·) and ICC(3,·) never pass 1 (ICC(2,·) can, where its variance estimates turn negative)."""
    assume(np.ptp(scores) > 0)
    found = icc(scores)
    assert not any(found[form] > 1 + 1e-9 for form in ("ICC(1,1)", "ICC(1,k)", "ICC(3,1)", "ICC(3,k)"))


def test_perfect_agreement_is_one_in_every_form() -> None:
    """Two tasters with the same scores: nothing is left over, and every form is 1."""
    assert list(icc([[1, 1], [4, 4], [6, 6]]).values()) == pytest.approx([1.0] * 6)


def test_equal_means_leave_panel_reliability_undefined() -> None:
    """Two glasses, two tasters who swap scores: the glasses' mean square is 0, so its ratios are NaN."""
    assert math.isnan(icc([[1, 2], [2, 1]])["ICC(3,k)"])


@pytest.mark.parametrize("glasses", [8, 10])
def test_chi_square_beyond_counting_errs_towards_cannot_tell(glasses: int) -> None:
    """Where auto falls back on chi-square, four random tasters pass its 5 % point less than 5 % of the time."""
    rng = np.random.default_rng(11)
    passed = [friedman(np.argsort(rng.random((glasses, 4)), axis=0), "chi2")[1] <= 0.05 for _ in range(4000)]
    assert 0.01 < np.mean(passed) < 0.045  # four standard errors under 5 % is 3.6 %; simulated 2.7 to 2.9 %


def test_an_exact_count_out_of_reach_is_refused_by_name() -> None:
    """Asked for by name, an exact tail for 8 judges on 8 glasses is refused; auto gives the chi-square tail."""
    scores = np.random.default_rng(0).random((8, 8))
    assert friedman(scores) == friedman(scores, "chi2")
    with pytest.raises(TooManyToCount, match="8 tasters ranking 8 glasses"):
        friedman(scores, "exact")


@pytest.mark.parametrize("glasses", [9, 10])
def test_a_count_out_of_reach_is_given_up_at_once(glasses: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Four tasters on nine or ten glasses are too many: seen in a block of rank sums or so, not after millions."""
    merged = rank_sums._merged
    rows: list[int] = []

    def counted(sums: rank_sums.Sums, shares: rank_sums.Floats) -> tuple[rank_sums.Sums, rank_sums.Floats]:
        rows.append(len(shares))
        return merged(sums, shares)

    monkeypatch.setattr(rank_sums, "_merged", counted)
    scores = np.random.default_rng(1).random((glasses, 4))
    assert friedman(scores) == friedman(scores, "chi2")
    assert 0 < sum(rows) <= 2 * rank_sums._BLOCK


@pytest.mark.parametrize("glasses", [2, 5, 9])
def test_two_tasters_of_one_mind_are_one_order_in_all(glasses: int) -> None:
    """The second taster agrees by chance once in all orders of the glasses, however many there are."""
    assert friedman(np.tile(np.arange(float(glasses)), (2, 1)).T)[1] == pytest.approx(1 / math.factorial(glasses))


@pytest.mark.parametrize("glasses", [12, 20])
def test_many_glasses_with_few_scores_are_counted_without_listing_every_order(glasses: int) -> None:
    """One favourite each, the same one: three tasters agree by chance 1 in glasses^2."""
    scores = np.zeros((glasses, 3))
    scores[4] = 1
    assert friedman(scores)[1] == pytest.approx(glasses**-2, rel=1e-9)


@pytest.mark.parametrize("function", [icc, kendall_w, friedman])
@pytest.mark.parametrize(
    ("scores", "rule"),
    [
        ([1, 2, 3], NotAScoreTable),
        ([[1], [2]], NotAScoreTable),
        ([[1, math.inf], [2, 3]], NotAScoreTable),
        ([["a", "b"], [1, 2]], NotAScoreTable),
        ([[1, 2], [3]], NotAScoreTable),
        ([[1, math.nan], [2, 3]], NotEveryGlassTasted),
        ([[5, 5], [5, 5]], NothingToCompare),
    ],
)
def test_unusable_scores_are_refused(
    function: Callable[[Any], object], scores: list[Any], rule: type[BadInput]
) -> None:
    """A row, one taster, words, gaps or a flat table raises the rule it breaks, with one line of advice."""
    with pytest.raises(rule) as refused:
        function(scores)
    assert isinstance(refused.value, BadInput)
    assert "\n" not in str(refused.value)

"""Mixed models against published fits by lme4 and lmerTest, and at a variance of zero."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from cooperage.tasting.statistics.reml import MixedFit, fit_mixed


def coded(rows: list[dict[str, str]], column: str) -> np.ndarray:
    names = sorted({row[column] for row in rows})
    return np.array([names.index(row[column]) for row in rows])


def sum_to_zero(place: np.ndarray) -> np.ndarray:
    size = int(place.max())
    columns: np.ndarray = np.vstack([np.eye(size), -np.ones(size)])[place]
    return columns


class Sets:
    """Sets, pictures and assessors of tv_sharpness.csv, and one response."""

    def __init__(self, rows: list[dict[str, str]], response: str) -> None:
        self.of_set, self.picture = coded(rows, "TVset"), coded(rows, "Picture")
        self.assessor = coded(rows, "Assessor")
        self.response = np.array([float(row[response]) for row in rows])
        self.set_by_assessor = self.assessor * 10 + self.of_set
        self.picture_by_assessor = self.assessor * 10 + self.picture

    def fit(self, groups: list[np.ndarray], *, crossed: bool, treated: bool = False) -> MixedFit:
        sets, pictures = sum_to_zero(self.of_set), sum_to_zero(self.picture)
        if treated:
            sets, pictures = np.eye(3)[self.of_set][:, 1:], np.eye(4)[self.picture][:, 1:]
        both = np.einsum("ni,nj->nij", sets, pictures).reshape(len(sets), -1)
        columns = [np.ones((len(sets), 1)), sets, pictures, *([both] if crossed else [])]
        return fit_mixed(self.response, np.hstack(columns), groups)


def test_sharpness_of_three_sets_and_four_pictures(reference: Callable[[str], Any]) -> None:
    """Kuznetsova and others (2017), section 8.2: every printed F and p, variances and likelihood of lme4."""
    case = reference("mixed_anova_cases.json")["cases"][0]
    sets = Sets(reference("tv_sharpness.csv"), case["response"])
    groups = [sets.assessor, sets.set_by_assessor, sets.picture_by_assessor]
    fit, verified = sets.fit(groups, crossed=True), case["verified"]
    names = ["var_assessor", "var_assessor_tv", "var_assessor_picture", "var_residual"]
    assert fit.ended
    assert fit.variances == pytest.approx([verified[name] for name in names], rel=1e-6)
    for name, at in (("TVset", slice(1, 3)), ("Picture", slice(3, 6)), ("TVset_Picture", slice(6, 12))):
        printed = case["published"][name]
        f, below, p = fit.test(np.eye(12)[at])
        assert (f, p) == pytest.approx((printed["F"], printed["p"]), rel=1e-6)
        assert below == pytest.approx(printed["df"][1], rel=1e-6)
    # the likelihood depends on how the columns are coded: lme4 codes treatments
    treated = sets.fit(groups, crossed=True, treated=True)
    assert treated.log_likelihood == pytest.approx(verified["reml_loglik"], abs=1e-6)
    printed = reference("mixed_anova_cases.json")["cases"][1]["published"]
    for name, left in (("tv", [0, 2]), ("picture", [0, 1])):
        lost = 2 * (fit.log_likelihood - sets.fit([groups[at] for at in left], crossed=True).log_likelihood)
        assert lost == pytest.approx(printed[f"LRT_assessor_{name}"], rel=1e-5)


def test_colour_has_a_small_variance_of_assessors(reference: Callable[[str], Any]) -> None:
    """The example of lmerTest's help: its search stops at 0.0575, ours where the slope is nil, 0.05747."""
    case = reference("mixed_anova_cases.json")["cases"][2]
    sets, expected = Sets(reference("tv_sharpness.csv"), case["response"]), case["verified"]
    fit = sets.fit([sets.set_by_assessor, sets.assessor], crossed=False)
    variances = [expected[name] for name in ("var_assessor_tv", "var_assessor", "var_residual")]
    assert fit.variances == pytest.approx(variances, rel=3e-4)
    f, below, p = fit.test(np.eye(6)[1:3])
    assert (f, below, p) == pytest.approx((expected["TVset"]["F"], 14, expected["TVset"]["p"]), rel=1e-4)
    lost = 2 * (fit.log_likelihood - sets.fit([sets.assessor], crossed=False).log_likelihood)
    assert lost == pytest.approx(expected["LRT_assessor_tv"], rel=1e-6)


def test_six_batches_have_the_published_variances(reference: Callable[[str], Any]) -> None:
    """Davies and Goldsmith's batches of five, as lme4 fits them: between 1764.05, within 2451.25, mean 1527.5 on 5."""
    cases = {case["id"]: case for case in reference("shrinkage_cases.json")["cases"]}
    case = cases["batch_yield_six_batches"]
    yields = np.array(list(case["data"].values()), dtype=float)
    fit = fit_mixed(yields.ravel(), np.ones((30, 1)), [np.repeat(np.arange(6), 5)])
    expected = [case["verified"][name] for name in ("var_between_reml", "var_within")]
    assert fit.variances == pytest.approx(expected, rel=1e-9)
    assert fit.estimates == pytest.approx([case["verified"]["grand_mean"]])
    assert fit.degrees(np.ones(1)) == pytest.approx(5)  # as many as there are batches beyond one


def test_equal_groups_end_at_no_variance() -> None:
    """Three groups of equal means: the variance between them is nil, the fit ends, degrees are those of one sample."""
    response = np.array([1.0, 3.0, 1.0, 3.0, 1.0, 3.0])
    fit = fit_mixed(response, np.ones((6, 1)), [np.repeat(np.arange(3), 2)])
    assert fit.ended
    assert fit.variances == pytest.approx([0.0, 1.2])
    assert fit.degrees(np.ones(1)) == pytest.approx(5)
    assert fit.estimates == pytest.approx([2.0])

"""Fits of scores by several tasters: blocks, lack of fit, intervals, refusals, the choice of a degree, settings."""

from collections.abc import Callable
from itertools import product
from typing import Any

import numpy as np
import pytest

from cooperage.blending import (
    ProcessModel,
    ScheffeFit,
    blends_to_add,
    choose_degree,
    fit_in_plots,
    fit_process,
    fit_scheffe,
    simplex_centroid,
    simplex_lattice,
)
from cooperage.blending.mixture.terms import CannotFit, model_matrix
from cooperage.blending.stocks.pool import Floats

TASTERS = ["Ada", "Ben", "Cleo"]


def _panel(points: Floats, scores: Floats, sd: float, seed: int = 0) -> tuple[Floats, Floats, list[str]]:
    """Return glasses of three tasters who lie a point apart each: blends, scores, and who gave them."""
    n, rng = len(points), np.random.default_rng(seed)
    given = np.add.outer([-1.0, 0.0, 1.0], scores) + rng.normal(0, sd, (3, n))
    return np.tile(points, (3, 1)), given.ravel(), [name for name in TASTERS for _ in range(n)]


def test_blocks_in_which_every_blend_stands_take_nothing_from_the_blends() -> None:
    """The coefficients are those of the means, and each taster's effect is how far the taster lies from them."""
    lattice = simplex_lattice(3, 2)
    points, scores, tasters = _panel(lattice, lattice @ [10.0, 12.0, 11.0], sd=0.5)
    fit = fit_scheffe(points, scores, 1, blocks={"taster": tasters})
    plain = fit_scheffe(points, scores, 1)
    assert fit.coefficients == pytest.approx(dict(plain.coefficients))
    assert fit.residual_df == plain.residual_df - 2
    assert fit.residual_ss < plain.residual_ss / 4
    means = {name: scores[np.array(tasters) == name].mean() - scores.mean() for name in TASTERS}
    assert dict(fit.effects["taster"]) == pytest.approx(means)


def test_blocks_agree_with_dummy_columns() -> None:
    """Unequal tasters and sessions: sums of squares and coefficients' differences are those of dummy columns."""
    rng = np.random.default_rng(3)
    points = simplex_lattice(3, 3)[rng.integers(0, 10, 30)]
    tasters, sessions = rng.integers(0, 3, 30), rng.integers(0, 2, 30)
    scores = points @ [9.0, 12.0, 10.0] + tasters - sessions + rng.normal(0, 1, 30)
    fit = fit_scheffe(points, scores, 2, blocks={"taster": tasters.tolist(), "session": sessions.tolist()})
    dummies = np.column_stack([tasters[:, None] == [1, 2], sessions == 1]).astype(float)
    full = np.column_stack([model_matrix(points, 2), dummies])
    expected, (squares,), *_ = np.linalg.lstsq(full, scores)
    assert fit.residual_ss == pytest.approx(float(squares))
    assert fit.residual_df == 30 - full.shape[1]
    ours = np.array(list(fit.coefficients.values()))
    level = dummies.mean(axis=0) @ expected[6:]  # the surface is that of the average glass
    assert ours == pytest.approx(expected[:6] + level * (np.arange(6) < 3))
    errors = np.sqrt(squares / fit.residual_df * np.diag(np.linalg.inv(full.T @ full)))
    assert list(fit.standard_errors.values())[3:] == pytest.approx(errors[3:6])


def test_press_is_what_leaving_each_glass_out_gives() -> None:
    """The sum of squares of prediction, worked by fitting as often as there are glasses."""
    lattice = simplex_lattice(3, 3)
    points, scores, tasters = _panel(lattice, lattice @ [10.0, 12.0, 11.0], sd=1.0)
    fit = fit_scheffe(points, scores, 2, blocks={"taster": tasters})
    dummies = np.array([[name == each for each in TASTERS[1:]] for name in tasters], dtype=float)
    full = np.column_stack([model_matrix(points, 2), dummies])
    total = 0.0
    for left in range(len(scores)):
        kept = np.arange(len(scores)) != left
        found, *_ = np.linalg.lstsq(full[kept], scores[kept])
        total += float((scores[left] - full[left] @ found) ** 2)
    assert fit.press == pytest.approx(total)
    assert fit_scheffe(simplex_lattice(3, 2), np.arange(6.0), 2).press == float("inf")


def test_published_lack_of_fit(reference: Callable[[str], Any]) -> None:
    """Etching: the special cubic leaves 5561 of squares on 3 degrees beside the pure error of 2262.5 on 4."""
    etch = next(each for each in reference("mixture_datasets.json")["datasets"] if each["id"] == "etch_rate")
    fit = _fit_of(etch)
    verified = etch["verified"]
    squares = verified["residual_ss"] - verified["pure_error_ss"]
    assert fit.lack_of_fit.squares == pytest.approx(squares)
    assert fit.lack_of_fit.degrees == 3
    assert fit.lack_of_fit.f == pytest.approx(squares / 3 / (2262.5 / 4))
    rest = 1 - 4 / (4 + 3 * fit.lack_of_fit.f)
    tail = (2 / 3 * (1 - rest**1.5) - 2 / 5 * (1 - rest**2.5)) / (4 / 15)  # F(3, 4) has a tail in closed form
    assert fit.lack_of_fit.p == pytest.approx(tail)
    yarn = next(each for each in reference("mixture_datasets.json")["datasets"] if each["id"] == "yarn_elongation")
    assert np.isnan(_fit_of(yarn).lack_of_fit.p)  # six blends carry six terms, and nothing beside


def test_published_intervals_of_yarn(reference: Callable[[str], Any]) -> None:
    """A pure blend tasted twice: its score within t(9) times 0.6037, a new one within t(9) times root 1.5 of 0.8537."""
    yarn = next(each for each in reference("mixture_datasets.json")["datasets"] if each["id"] == "yarn_elongation")
    fit = _fit_of(yarn)
    away = 2.262157 * yarn["published"]["other"]["se_pure_blends"]
    assert fit.confidence([[1, 0, 0]])[0] == pytest.approx([11.7 - away, 11.7 + away], abs=1e-5)
    one = 2.262157 * np.sqrt(1.5) * yarn["published"]["other"]["root_mse"]
    assert fit.prediction([[1, 0, 0]])[0] == pytest.approx([11.7 - one, 11.7 + one], abs=1e-4)
    many = fit.prediction([[1, 0, 0]], glasses=10**9)
    assert many == pytest.approx(fit.confidence([[1, 0, 0]]), abs=1e-4)


def _fit_of(dataset: dict[str, Any]) -> ScheffeFit:
    return fit_scheffe([row["x"] for row in dataset["data"]], [row["y"] for row in dataset["data"]], dataset["model"])


def test_degrees_of_published_data(reference: Callable[[str], Any]) -> None:
    """Etching needs the special cubic, yarn and the confection what was published; the flares carry no cubic."""
    chosen = {
        each["id"]: choose_degree([row["x"] for row in each["data"]], [row["y"] for row in each["data"]])
        for each in reference("mixture_datasets.json")["datasets"]
    }
    assert chosen["etch_rate"].fit.degree == "special cubic"
    assert chosen["yarn_elongation"].fit.degree == "quadratic"
    assert chosen["yarn_elongation"].refused.keys() == {"special cubic"}
    assert "cannot separate" in chosen["yarn_elongation"].refused["special cubic"]
    assert "it leaves 1 glass for" in chosen["flare_extreme_vertices"].refused["special cubic"]
    assert chosen["flare_extreme_vertices"].fits[-1].degree == "quadratic"


@pytest.mark.parametrize(("curved", "degree"), [(0.0, "linear"), (12.0, "quadratic")])
def test_the_degree_is_as_simple_as_the_scores_allow(curved: float, degree: str) -> None:
    """Three tasters of a lattice: a plain slope stays linear, a strong pair does not."""
    lattice = simplex_centroid(3)
    truth = lattice @ [10.0, 12.0, 11.0] + curved * lattice[:, 0] * lattice[:, 1]
    points, scores, tasters = _panel(lattice, truth, sd=0.5, seed=2)
    chosen = choose_degree(points, scores, blocks={"taster": tasters})
    assert chosen.fit.degree == degree
    assert ("lacks fit" in chosen.reason) == (degree == "quadratic")


def test_no_degree_beyond_what_glasses_carry() -> None:
    """Seven glasses carry no special cubic of three components: nothing would be left for the error."""
    centroid = simplex_centroid(3)
    chosen = choose_degree(centroid, centroid @ [10.0, 12.0, 11.0] + [0, 0, 0, 2, 2, 2, 2.0])
    assert chosen.fit.degree == "linear"
    assert "it leaves 1 glass for the error; 3 are needed" in chosen.refused["quadratic"]
    assert "it leaves 0 glasses" in chosen.refused["special cubic"]
    assert "still lacks" not in chosen.reason


def test_two_components_have_no_special_cubic() -> None:
    """A degree without a term of its own is not tried."""
    lattice = simplex_lattice(2, 5)
    chosen = choose_degree(lattice, [9, 11, 12, 12.5, 12, 10])
    assert chosen.fit.degree == "quadratic"
    assert chosen.refused == {"special cubic": "it has no term beside those of the simpler one"}


def test_confounded_terms_are_named_and_blends_to_add() -> None:
    """Pure stocks and one half: the pairs that were not tasted cannot be separated, and their halves are asked for."""
    points = np.array([[1, 0, 0], [0, 1, 0], [0, 0, 1], [0.5, 0.5, 0], [0.5, 0.5, 0], [1, 0, 0]], dtype=float)
    with pytest.raises(CannotFit, match=r"taste also 50% x1 \+ 50% x3; 50% x2 \+ 50% x3, or") as refused:
        fit_scheffe(points, np.arange(6.0), 2)
    assert refused.value.terms == ("x1:x3", "x2:x3")
    assert refused.value.add is not None
    assert len(blends_to_add(np.concatenate([points, refused.value.add]), 2)) == 0
    fit = fit_scheffe(np.concatenate([points, refused.value.add]), np.arange(8.0), 2)
    assert fit.residual_df == 2


def test_blends_to_add_come_from_the_candidates_that_are_given() -> None:
    """Where a region is restricted, what is asked for lies in it."""
    allowed = simplex_lattice(3, 4)
    added = blends_to_add(np.eye(3), 2, allowed)
    assert len(added) == 3
    assert {tuple(point) for point in added.tolist()} <= {tuple(point) for point in allowed.tolist()}
    with pytest.raises(CannotFit, match="taste also") as refused:
        choose_degree([[0.5, 0.25, 0.25]] * 3, [1, 2, 3], candidates=allowed[(allowed > 0).all(axis=1)])
    assert "simpler" not in str(refused.value)
    assert refused.value.add is not None
    assert (refused.value.add > 0).all()


def test_blends_that_differ_as_sessions_do() -> None:
    """Each stock in a session of its own shows nothing of them: a blend must stand in both."""
    points = np.array([[1, 0], [1, 0], [0, 1], [0, 1]], dtype=float)
    with pytest.raises(CannotFit, match="taste some of them in every block"):
        fit_scheffe(points, [1, 2, 3, 4], 1, blocks={"session": [1, 1, 2, 2]})


def test_tasters_who_want_different_blends_are_found() -> None:
    """One of three likes the first stock by four points more: their slopes differ; tasters alike do not show it."""
    lattice = simplex_lattice(3, 3)
    points, scores, tasters = _panel(lattice, lattice @ [10.0, 12.0, 11.0], sd=0.7, seed=5)
    blocks = {"taster": tasters}
    alike = fit_scheffe(points, scores, 1, blocks=blocks).disagreement()
    assert alike.degrees == 4  # two slopes a taster beside their levels, of two tasters beside the mean
    assert alike.below == 30 - 3 - 2 - 4
    assert alike.p > 0.05
    apart = scores + 4 * points[:, 0] * (np.array(tasters) == "Cleo")
    assert fit_scheffe(points, apart, 1, blocks=blocks).disagreement().p < 0.001
    assert np.isnan(fit_scheffe(points, scores, 1).disagreement().p)


def test_labels_for_every_glass() -> None:
    """A label that is missing is bad input."""
    with pytest.raises(CannotFit, match="2 labels of taster for 3 glasses"):
        fit_scheffe([[1.0, 0.0], [0.0, 1.0], [0.5, 0.5]], [1, 2, 3], 1, blocks={"taster": ["Ada", "Ben"]})


def _patties(reference: Callable[[str], Any]) -> tuple[dict[str, Any], Floats, Floats, Floats]:
    case = next(each for each in reference("mixture_process_cases.json")["cases"] if each["id"] == "fish_patty")
    rows = np.array(case["rows"])
    points = np.where(np.abs(rows[:, 1:4] - 1 / 3) < 1e-4, 1 / 3, rows[:, 1:4])  # 0.33333 stands for a third
    return case, points, rows[:, 4:], rows[:, 0]


def test_published_coefficients_of_fish_patties(reference: Callable[[str], Any]) -> None:
    """All 28 printed coefficients of seven blends at eight settings, to their last digit, and all 56 that follow."""
    case, points, settings, response = _patties(reference)
    fit = fit_process(points, settings, response, ProcessModel(3, 3, together=True))
    found = np.array(list(fit.coefficients.values())).reshape(8, 7).T  # one block a product of settings
    assert found[:, :4] == pytest.approx(np.array(case["printed_first_four_columns"]), abs=0.0051)
    assert found == pytest.approx(np.array(case["full_model"]), abs=1e-9)
    assert fit.solved.residual_df == 0
    assert np.isnan(fit.confidence(points[:1], settings[:1])).all()


def test_a_simpler_model_of_fish_patties(reference: Callable[[str], Any]) -> None:
    """Fifteen terms leave 41 degrees: their coefficients, error, leverages and both kinds of interval."""
    case, points, settings, response = _patties(reference)
    fit = fit_process(points, settings, response, ProcessModel(2, 1))
    named = {name.replace(":", ""): figure for name, figure in fit.coefficients.items()}
    assert named == pytest.approx(case["reduced_coefficients"], abs=1e-9)
    assert fit.solved.mean_square == pytest.approx(case["reduced_sigma2"])
    assert fit.solved.residual_df == case["reduced_df"]
    for row in case["predictions"]:
        at = [row["x"]], [row["z"]]
        assert fit.predict(*at) == pytest.approx([row["prediction"]])
        assert fit.leverage(*at) == pytest.approx([row["leverage"]])
        assert fit.confidence(*at)[0] == pytest.approx(row["ci95"])
        assert fit.prediction(*at)[0] == pytest.approx(row["pi95"])


def test_least_squares_of_vinyl(reference: Callable[[str], Any]) -> None:
    """Blends within whole plots, by ordinary least squares: twelve coefficients."""
    case = next(each for each in reference("mixture_process_cases.json")["cases"] if each["id"] == "vinyl_split_plot")
    rows = np.array(case["rows"])
    fit = fit_process(rows[:, 3:6], rows[:, 1:3], rows[:, 6], ProcessModel(2, 1))
    named = {name.replace(":", ""): figure for name, figure in fit.coefficients.items()}
    assert named == pytest.approx(dict(zip(case["terms"], case["ols"], strict=True)), abs=1e-9)


def test_whole_plots_of_vinyl(reference: Callable[[str], Any]) -> None:
    """Seven whole plots by restricted maximum likelihood (lme4): both variances, twelve coefficients, their errors."""
    case = next(each for each in reference("mixture_process_cases.json")["cases"] if each["id"] == "vinyl_split_plot")
    rows = np.array(case["rows"])
    given = rows[:, 3:6], rows[:, 1:3], rows[:, 6]
    fit = fit_in_plots(*given, rows[:, 0].tolist(), ProcessModel(2, 1))
    assert (fit.between_plots, fit.of_glass) == pytest.approx((case["var_whole_plot"], case["var_residual"]), rel=1e-4)
    for found, published in ((fit.coefficients, case["coefficients"]), (fit.standard_errors, case["se"])):
        named = {name.replace(":", ""): figure for name, figure in found.items()}
        assert named == pytest.approx(dict(zip(case["terms"], published, strict=True)), rel=1e-4)
    with pytest.raises(CannotFit, match="2 plots named for 28 glasses"):
        fit_in_plots(*given, ["a", "b"])
    with pytest.raises(CannotFit, match="use two plots or more"):
        fit_in_plots(*given, ["a"] * 28)


def test_settings_that_do_not_vary_are_refused() -> None:
    """One setting for all glasses shows nothing of it, and a setting for every glass is wanted."""
    points = simplex_lattice(2, 3)
    with pytest.raises(CannotFit, match="cannot separate x1, x2, x1:z1, x2:z1"):
        fit_process(points, np.ones((4, 1)), np.arange(4.0), ProcessModel(1, 1))
    with pytest.raises(CannotFit, match="4 blends and 3 settings"):
        fit_process(points, np.ones((3, 1)), np.arange(4.0))
    both = np.array(list(product(points.tolist(), [-1.0, 1.0])), dtype=object)
    with pytest.raises(CannotFit, match="give each a known one"):
        fit_process(np.array(both[:, 0].tolist()), both[:, 1:].astype(float), [float("nan")] * 8, ProcessModel(1, 1))

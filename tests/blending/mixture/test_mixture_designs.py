"""Designs of mixture experiments and their fits against published ones."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from cooperage.blending import extreme_vertices, fit_scheffe, simplex_centroid, simplex_lattice
from cooperage.blending.mixture.designs import NoSuchDesign
from cooperage.blending.mixture.terms import CannotFit, scheffe_terms
from cooperage.blending.stocks.pool import Floats

DEGREES: dict[str, int | str] = {
    "linear_terms": 1,
    "quadratic_terms": 2,
    "special_cubic_terms": 3,
    "full_cubic_terms": "full cubic",
}


def test_published_counts(reference: Callable[[str], Any]) -> None:
    """Lattices, centroids and models have the published numbers of points and terms."""
    for row in reference("mixture_design_counts.csv").itertuples():
        if row.design == "scheffe_model":
            found = len(scheffe_terms(np.ones((1, row.components_q)), DEGREES[row.quantity]))
        elif row.design == "simplex_lattice":
            found = len(simplex_lattice(row.components_q, int(row.degree_m)))
        else:
            found = len(simplex_centroid(row.components_q))
        assert found == row.count, row


@pytest.mark.parametrize("points", [simplex_lattice(4, 3), simplex_centroid(4), simplex_lattice(1, 2)])
def test_points_are_distinct_mixtures(points: Floats) -> None:
    """Every point sums to 1, none is below 0, none occurs twice."""
    assert np.allclose(points.sum(axis=1), 1.0)
    assert (points >= 0).all()
    assert len(np.unique(points.round(9), axis=0)) == len(points)


def test_lattice_steps() -> None:
    """The {3, 2} lattice is three pure components and three halves."""
    halves = {(1, 0, 0), (0, 1, 0), (0, 0, 1), (0.5, 0.5, 0), (0.5, 0, 0.5), (0, 0.5, 0.5)}
    assert {tuple(point) for point in simplex_lattice(3, 2)} == halves


def test_published_regions(reference: Callable[[str], Any]) -> None:
    """Restricted regions have exactly the published corners, and their mean."""
    for region in reference("mixture_regions.json")["regions"]:
        linear = [(row["coefficients"], row["lower"], row["upper"]) for row in region["linear"] or ()]
        corners = extreme_vertices(region["lower"], region["upper"], linear)
        assert len(corners) == region["n_vertices"], region["id"]
        assert corners.mean(axis=0) == pytest.approx(region["overall_centroid"], abs=1e-6), region["id"]
        if region["vertices"] is not None:
            assert corners == pytest.approx(np.array(sorted(region["vertices"])), abs=1e-6), region["id"]


@pytest.mark.parametrize(
    ("lower", "upper"), [([0.6, 0.6], [1, 1]), ([0.1], [0.2, 0.3]), ([0.5, 0.1], [0.4, 0.9]), ([0, 0], [0.4, 0.4])]
)
def test_bounds_without_a_mixture(lower: list[float], upper: list[float]) -> None:
    """Bounds that no mixture meets are bad input."""
    with pytest.raises(NoSuchDesign):
        extreme_vertices(lower, upper)


def test_lattice_of_nothing() -> None:
    """A lattice needs a component and a step."""
    with pytest.raises(NoSuchDesign, match="q must be 1 or more, not 0"):
        simplex_lattice(0, 2)


def test_published_fits(reference: Callable[[str], Any]) -> None:
    """Coefficients, their errors and the sums of squares agree with two independent least squares."""
    for dataset in reference("mixture_datasets.json")["datasets"]:
        fit = fit_scheffe(
            [row["x"] for row in dataset["data"]], [row["y"] for row in dataset["data"]], dataset["model"]
        )
        verified = dataset["verified"]
        for ours, theirs in (
            (fit.coefficients, verified["coefficients"]),
            (fit.standard_errors, verified["standard_errors"]),
        ):
            assert dict(ours) == pytest.approx(
                {name.replace("*", ":"): value for name, value in theirs.items()}, rel=1e-6
            )
        assert fit.residual_ss == pytest.approx(verified["residual_ss"], rel=1e-6)
        assert fit.r_squared == pytest.approx(verified["r_squared"], rel=1e-6)
        assert fit.adjusted_r_squared == pytest.approx(verified["adj_r_squared"], rel=1e-6)
        assert fit.root_mse == pytest.approx(verified["root_mse"], rel=1e-6)
        assert fit.f_statistic == pytest.approx(verified["f_statistic"], rel=1e-6)
        assert fit.pure_error_ss == pytest.approx(verified["pure_error_ss"], rel=1e-6, abs=1e-9)
        assert fit.pure_error_df == verified["pure_error_df"]


def test_fit_predicts_what_it_was_made_from() -> None:
    """A response without error is predicted everywhere: y = 10 x1 + 4 x2 + 8 x1 x2."""
    points = simplex_lattice(2, 4)
    response = points @ [10.0, 4.0] + 8.0 * points.prod(axis=1)
    fit = fit_scheffe(points, response, 2)
    assert fit.coefficients == pytest.approx({"x1": 10.0, "x2": 4.0, "x1:x2": 8.0})
    assert fit.predict([[0.3, 0.7]]) == pytest.approx([10 * 0.3 + 4 * 0.7 + 8 * 0.21])


@pytest.mark.parametrize(
    ("points", "response", "degree", "says"),
    [
        ([[1, 0], [0, 1]], [1, 2], 2, "cannot separate the 3 terms"),
        ([[1, 0], [0, 1]], [1, 2, 3], 1, "do not match"),
        ([[1, 0], [0.5, 0.4]], [1, 2], 1, "sum to 1"),
        ([[1, 0], [0, 1]], [1, float("nan")], 1, "unknown"),
        ([[1, 0], [0, 1]], [1, 2], 7, "degree must be 1, 2, 3"),
    ],
)
def test_what_cannot_be_fitted(points: list[list[float]], response: list[float], degree: int, says: str) -> None:
    """Points that make no fit are bad input that says why."""
    with pytest.raises(CannotFit, match=says):
        fit_scheffe(points, response, degree)

"""Scheffé's mixture models: what a blend tastes like from what is in it, fitted by least squares."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike

from cooperage.blending.stocks.pool import Floats
from cooperage.errors import BadInput

Degree = int | str

_DEGREES = {
    1: "linear",
    2: "quadratic",
    3: "special cubic",
    "linear": "linear",
    "quadratic": "quadratic",
    "special cubic": "special cubic",
    "full cubic": "full cubic",
}


class CannotFit(BadInput):
    """The points, responses or degree do not make a fit."""


@dataclass(frozen=True)
class ScheffeFit:
    """A fitted mixture model; sums of squares and R2 are about the mean, as is the custom for mixtures.

    `pure_error_ss` and `pure_error_df` come from repeated points alone, and are 0 without any.

    >>> from cooperage.blending import fit_scheffe
    >>> fit = fit_scheffe([[1, 0], [0, 1], [0.5, 0.5]], [11, 12, 13], degree=1)
    >>> fit.degree, fit.residual_df
    ('linear', 1)
    """

    degree: str
    coefficients: Mapping[str, float]
    standard_errors: Mapping[str, float]
    residual_ss: float
    residual_df: int
    total_ss: float
    pure_error_ss: float
    pure_error_df: int

    @property
    def r_squared(self) -> float:
        """The share of the variation about the mean that the model explains."""
        return 1.0 - self.residual_ss / self.total_ss

    @property
    def root_mse(self) -> float:
        """The standard deviation of the residuals, in units of the response."""
        return float(np.sqrt(self._mse))

    @property
    def adjusted_r_squared(self) -> float:
        """R2 on the degrees of freedom."""
        return 1.0 - self._mse / (self.total_ss / (self._points - 1))

    @property
    def f_statistic(self) -> float:
        """Model mean square over residual mean square."""
        return (self.total_ss - self.residual_ss) / (len(self.coefficients) - 1) / self._mse

    @property
    def _points(self) -> int:
        return self.residual_df + len(self.coefficients)

    @property
    def _mse(self) -> float:
        return self.residual_ss / self.residual_df if self.residual_df else float("nan")

    def predict(self, points: ArrayLike) -> Floats:
        """Return the response at points of shape (points, q), in proportions."""
        columns = scheffe_terms(np.atleast_2d(np.asarray(points, dtype=np.float64)), self.degree)
        predicted: Floats = np.column_stack(list(columns.values())) @ np.array(list(self.coefficients.values()))
        return predicted


def scheffe_terms(points: Floats, degree: Degree) -> dict[str, Floats]:
    """Return the columns of a model by the names of their terms: x1, x1:x2, x1:x2:x3, x1:x2:(x1-x2).

    `points` has shape (points, q). `degree` is 1, 2, 3 (the special cubic) or "full cubic". Source: Scheffé 1958.
    """
    model = _model(degree)
    x = {f"x{at}": column for at, column in enumerate(points.T, start=1)}
    terms = dict(x)
    if model != "linear":
        terms |= {f"{a}:{b}": x[a] * x[b] for a, b in combinations(x, 2)}
    if model == "full cubic":
        terms |= {f"{a}:{b}:({a}-{b})": x[a] * x[b] * (x[a] - x[b]) for a, b in combinations(x, 2)}
    if model.endswith("cubic"):
        terms |= {f"{a}:{b}:{c}": x[a] * x[b] * x[c] for a, b, c in combinations(x, 3)}
    return terms


def fit_scheffe(points: ArrayLike, response: ArrayLike, degree: Degree = 2) -> ScheffeFit:
    """Fit a Scheffé model of a degree to responses by ordinary least squares, without intercept.

    `points` has shape (n, q): proportions that sum to 1; `response` shape (n,). Raises CannotFit when they do not
    match, a point is no mixture, or the points cannot separate the terms. Source: Cornell 2002.

    >>> from cooperage.blending import fit_scheffe, simplex_lattice
    >>> fit = fit_scheffe(simplex_lattice(2, 2), [11, 15, 12])
    >>> {term: round(figure, 6) for term, figure in fit.coefficients.items()}
    {'x1': 11.0, 'x2': 12.0, 'x1:x2': 14.0}
    """
    x, y = np.asarray(points, dtype=np.float64), np.asarray(response, dtype=np.float64)
    _check(x, y)
    terms = scheffe_terms(x, degree)
    matrix = np.column_stack(list(terms.values()))
    coefficients, _, rank, _ = np.linalg.lstsq(matrix, y)
    if rank < len(terms):
        raise CannotFit(f"these {len(x)} points cannot separate the {len(terms)} terms of a {_model(degree)} model")
    residual_ss = float(((y - matrix @ coefficients) ** 2).sum())
    residual_df = len(y) - len(terms)
    variance = residual_ss / residual_df if residual_df else float("nan")
    errors = np.sqrt(variance * np.diag(np.linalg.inv(matrix.T @ matrix)))
    return ScheffeFit(
        _model(degree),
        dict(zip(terms, coefficients.tolist(), strict=True)),
        dict(zip(terms, errors.tolist(), strict=True)),
        residual_ss,
        residual_df,
        float(((y - y.mean()) ** 2).sum()),
        *_pure_error(x, y),
    )


def _model(degree: Degree) -> str:
    model = _DEGREES.get(degree.replace("_", " ") if isinstance(degree, str) else degree)
    if model is None:
        raise CannotFit(f'degree must be 1, 2, 3 (the special cubic) or "full cubic", not {degree!r}')
    return model


def _check(x: Floats, y: Floats) -> None:
    if x.ndim != 2 or y.shape != x.shape[:1]:
        raise CannotFit(f"points of shape {x.shape} and responses of shape {y.shape} do not match")
    if not (np.isfinite(x).all() and np.isfinite(y).all()):
        raise CannotFit("a point or a response is unknown; leave that blend out of the fit")
    if (np.abs(x.sum(axis=1) - 1.0) > 1e-6).any():
        raise CannotFit("every point must be proportions that sum to 1")


def _pure_error(x: Floats, y: Floats) -> tuple[float, int]:
    """Return the sum of squares between repeats of the same point, and its degrees of freedom."""
    _, group = np.unique(np.round(x, 9), axis=0, return_inverse=True)
    group = group.reshape(-1)
    means = np.bincount(group, y) / np.bincount(group)
    return float(((y - means[group]) ** 2).sum()), len(y) - len(means)

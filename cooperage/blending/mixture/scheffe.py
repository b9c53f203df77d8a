"""Scheffé's mixture models: what a blend tastes like from what is in it, fitted by least squares."""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike

from cooperage.blending.mixture.designs import simplex_centroid
from cooperage.blending.mixture.solved import Solved, solve_glasses
from cooperage.blending.mixture.terms import (
    Blocks,
    CannotFit,
    Degree,
    Glasses,
    cells,
    glasses_of,
    model_matrix,
    model_name,
)
from cooperage.blending.stocks.pool import Floats
from cooperage.tasting.statistics.squares import Source, against, dropped, left_over


@dataclass(frozen=True)
class Given:
    """The glasses that a model was fitted to: points of shape (n, q), responses of shape (n,), and their blocks."""

    points: Floats
    response: Floats
    blocks: Blocks


@dataclass(frozen=True)
class ScheffeFit:
    """A fitted mixture model; sums of squares and R2 are about the mean, as is the custom for mixtures.

    `pure_error_ss` and `pure_error_df` come from glasses of the same blend alone, and are 0 without any. Where there
    are blocks, all sums of squares are within them, the surface is that of the average glass, and `effects` is how far
    each block lies from it. `press` is the sum of squares of what each glass differs from its prediction by all others
    (infinite where one stands alone), `given` what was fitted, `solved` its least squares.

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
    press: float
    effects: Mapping[str, Mapping[Hashable, float]]
    given: Given = field(compare=False, repr=False)
    solved: Solved = field(compare=False, repr=False)

    @property
    def r_squared(self) -> float:
        """The share of the variation about the mean that the model explains."""
        return 1.0 - self.residual_ss / self.total_ss

    @property
    def root_mse(self) -> float:
        """The standard deviation of the residuals, in units of the response."""
        return float(np.sqrt(self.solved.mean_square))

    @property
    def adjusted_r_squared(self) -> float:
        """R2 on the degrees of freedom."""
        return 1.0 - self.solved.mean_square / (self.total_ss / (self._points - 1))

    @property
    def f_statistic(self) -> float:
        """Model mean square over residual mean square."""
        return (self.total_ss - self.residual_ss) / (len(self.coefficients) - 1) / self.solved.mean_square

    @property
    def lack_of_fit(self) -> Source:
        """What the model leaves between blends, against what glasses of one blend differ by: F and p, NaN without."""
        pure = Source(self.pure_error_ss, self.pure_error_df)
        return against(dropped(Source(self.residual_ss, self.residual_df), pure), pure)

    def disagreement(self, kind: str = "taster") -> Source:
        """Return what the blocks of a kind like apart from each other in the stocks, against what is left: F and p.

        A small p shows that the surface is the mean of tasters who want different blends. NaN where a kind is not
        there, or the glasses do not carry a slope for each.
        """
        given = self.given
        labels = given.blocks.get(kind, ())
        marks = np.array([[label == name for name in dict.fromkeys(labels)] for label in labels], dtype=np.float64)
        if not marks.size:
            return Source(0.0, 0)
        glasses = glasses_of(given.points, self.degree, given.blocks)
        alike = np.concatenate([model_matrix(given.points, self.degree), glasses.between], axis=1)
        slopes = (marks[:, :, None] * given.points[:, None, :]).reshape(len(marks), -1)
        left = left_over(given.response, np.concatenate([alike, slopes], axis=1))
        return against(dropped(left_over(given.response, alike), left), left)

    @property
    def _points(self) -> int:
        return self.residual_df + len(self.coefficients)

    def predict(self, points: ArrayLike) -> Floats:
        """Return the response at points of shape (points, q), in proportions."""
        predicted: Floats = model_matrix(points, self.degree) @ self.solved.coefficients
        return predicted

    def leverage(self, points: ArrayLike) -> Floats:
        """Return the variance of the surface at points of shape (m, q) by that of one glass: shape (m,)."""
        return self.solved.leverage(model_matrix(points, self.degree))

    def confidence(self, points: ArrayLike, level: float = 0.95) -> Floats:
        """Return the interval of the surface at points of shape (m, q): shape (m, 2); NaN without an error."""
        return self.solved.confidence(model_matrix(points, self.degree), level)

    def prediction(self, points: ArrayLike, level: float = 0.95, *, glasses: int = 1) -> Floats:
        """Return the interval of the mean of so many new glasses at points of shape (m, q): shape (m, 2)."""
        return self.solved.prediction(model_matrix(points, self.degree), level, glasses)


def fit_scheffe(
    points: ArrayLike,
    response: ArrayLike,
    degree: Degree = 2,
    *,
    blocks: Blocks | None = None,
    candidates: ArrayLike | None = None,
) -> ScheffeFit:
    """Fit a Scheffé model of a degree to responses by ordinary least squares, without intercept.

    `points` has shape (n, q): proportions that sum to 1; `response` shape (n,). `blocks` are labels of each glass by
    the kind of block, such as {"taster": [...], "session": [...]}: each label adds an effect of its own. They are fixed
    effects; where every taster tastes every blend, the surface is that of random ones too. Raises CannotFit when
    shapes do not match, a point is no mixture, or the points cannot separate the terms: it names the terms, and the
    blends to add, of the `candidates`, shape (N, q), where they are given. Source: Cornell 2002.

    >>> from cooperage.blending import fit_scheffe, simplex_lattice
    >>> fit = fit_scheffe(simplex_lattice(2, 2), [11, 15, 12])
    >>> {term: round(figure, 6) for term, figure in fit.coefficients.items()}
    {'x1': 11.0, 'x2': 12.0, 'x1:x2': 14.0}
    """
    x, y = np.asarray(points, dtype=np.float64), np.asarray(response, dtype=np.float64)
    _check(x, y, blocks or {})
    glasses = glasses_of(x, degree, blocks)
    _check_separate(x, degree, glasses, candidates)
    solved, within = solve_glasses(glasses, y), glasses.within(y)
    pure = left_over(y, np.concatenate([cells(x), glasses.between], axis=1))
    return ScheffeFit(
        model_name(degree),
        dict(zip(glasses.terms, solved.coefficients.tolist(), strict=True)),
        dict(zip(glasses.terms, solved.standard_errors.tolist(), strict=True)),
        solved.residual_ss,
        solved.residual_df,
        float(((within - within.mean()) ** 2).sum()),
        pure.squares if pure.degrees else 0.0,
        pure.degrees,
        _press(solved.residual, glasses.leverage),
        _effects(y - model_matrix(x, degree) @ solved.coefficients, blocks or {}),
        Given(x, y, blocks or {}),
        solved,
    )


def blends_to_add(points: ArrayLike, degree: Degree, candidates: ArrayLike | None = None) -> Floats:
    """Return the fewest blends that let a model be fitted beside points of shape (n, q): shape (k, q), k may be 0.

    Each time the candidate is taken that the blends so far, and those already taken, show least of; without candidates
    these are the equal blends of few components. Some terms may stay confounded if the candidates do not separate them.

    >>> from cooperage.blending import blends_to_add
    >>> blends_to_add([[1, 0], [0, 1]], 2).tolist()
    [[0.5, 0.5]]
    """
    x = np.asarray(points, dtype=np.float64)
    tried = _equal_blends(x.shape[1]) if candidates is None else np.asarray(candidates, dtype=np.float64)
    rows, new, added = model_matrix(x, degree), model_matrix(tried, degree), []
    while np.linalg.matrix_rank(rows) < new.shape[1]:
        unseen = new - new @ np.linalg.pinv(rows) @ rows
        size = (unseen**2).sum(axis=1) / (new**2).sum(axis=1)
        if size.max() < 1e-9:
            break
        added.append(int(size.argmax()))
        rows = np.concatenate([rows, new[added[-1:]]])
    blends: Floats = np.asarray(tried[added], dtype=np.float64)
    return blends


def _equal_blends(q: int) -> Floats:
    blends = simplex_centroid(q)
    few: Floats = blends[(blends > 0).sum(axis=1) <= 3]
    return few


def _check(x: Floats, y: Floats, blocks: Blocks) -> None:
    if x.ndim != 2 or y.shape != x.shape[:1]:
        raise CannotFit(f"points of shape {x.shape} and responses of shape {y.shape} do not match")
    for kind, labels in blocks.items():
        if len(labels) != len(y):
            raise CannotFit(f"{len(labels)} labels of {kind} for {len(y)} glasses; give one a glass")
    if not (np.isfinite(x).all() and np.isfinite(y).all()):
        raise CannotFit("a point or a response is unknown; leave that blend out of the fit")
    if (np.abs(x.sum(axis=1) - 1.0) > 1e-6).any():
        raise CannotFit("every point must be proportions that sum to 1")


def _check_separate(x: Floats, degree: Degree, glasses: Glasses, candidates: ArrayLike | None) -> None:
    """Refuse what cannot be fitted: which terms, and what to taste beside."""
    lost = glasses.confounded()
    if not lost:
        return
    name, count, all_terms = model_name(degree), len(x), len(glasses.terms)
    add = blends_to_add(x, degree, candidates)
    what = f"these {count} points cannot separate the {all_terms} terms of a {name} model ({', '.join(lost)})"
    if not len(add):
        raise CannotFit(f"{what}: they differ as the blocks do; taste some of them in every block", lost)
    blends = "; ".join(_blend_words(point) for point in add)
    simpler = "" if name == "linear" else ", or fit a simpler model"
    raise CannotFit(f"{what}; taste also {blends}{simpler}", lost, add)


def _blend_words(point: Floats) -> str:
    return " + ".join(f"{share:.0%} x{at}" for at, share in enumerate(point, start=1) if share > 0)


def _press(residual: Floats, leverage: Floats) -> float:
    left = 1 - leverage
    return float(((residual / left) ** 2).sum()) if (left > 1e-9).all() else float("inf")


def _effects(left: Floats, blocks: Blocks) -> dict[str, dict[Hashable, float]]:
    """Return how far each block's glasses lie from the surface; kinds of blocks share what they have in common."""
    names = {kind: list(dict.fromkeys(labels)) for kind, labels in blocks.items()}
    columns = [[label == name for label in blocks[kind]] for kind in blocks for name in names[kind]]
    if not columns:
        return {}
    marks = np.array(columns, dtype=np.float64).T
    marks -= marks.mean(axis=0)
    found, *_ = np.linalg.lstsq(marks, left)
    figures = iter(found.tolist())
    return {kind: {name: next(figures) for name in labels} for kind, labels in names.items()}

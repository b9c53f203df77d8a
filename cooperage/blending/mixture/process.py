"""Blends tried at several settings of something else, such as how warm they are served: what the two do together.

Settings that are hard to change are often kept for several blends, such as all that are tasted warm: a whole plot.
Glasses of one then resemble each other, and the settings are known only as well as there are plots.

Sources: Cornell 2002, chapter 7, for models that cross the terms of a blend with those of the settings; Kowalski,
Cornell and Vining 2002, Technometrics 44, 72-79, for blends within whole plots.
"""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike

from cooperage.blending.mixture.solved import Solved, solve_glasses
from cooperage.blending.mixture.terms import Blocks, CannotFit, Degree, Glasses, glasses_with, scheffe_terms
from cooperage.blending.stocks.pool import Floats
from cooperage.tasting.statistics.reml import MixedFit, fit_mixed


@dataclass(frozen=True)
class ProcessModel:
    """Which terms a model has: those of blends, crossed with those of settings.

    `degree` is that of the blend by itself, `crossed` that of the blend by which settings act; `together` adds the
    products of settings.

    >>> from cooperage.blending import ProcessModel
    >>> list(ProcessModel(1, 1).terms([[1, 0]], [[-1]]))
    ['x1', 'x2', 'x1:z1', 'x2:z1']
    """

    degree: Degree = 2
    crossed: Degree = 1
    together: bool = False

    def terms(self, points: ArrayLike, settings: ArrayLike) -> dict[str, Floats]:
        """Return the columns at points of shape (n, q) and settings of shape (n, k) by name: x1, x1:x2, x1:z1."""
        x = np.atleast_2d(np.asarray(points, dtype=np.float64))
        z = np.atleast_2d(np.asarray(settings, dtype=np.float64))
        if len(x) != len(z):
            raise CannotFit(f"{len(x)} blends and {len(z)} settings do not match; give one of each a glass")
        most = z.shape[1] if self.together else 1
        groups = [group for size in range(1, most + 1) for group in combinations(range(z.shape[1]), size)]
        terms = scheffe_terms(x, self.degree)
        for group in groups:
            acting, called = z[:, list(group)].prod(axis=1), ":".join(f"z{at + 1}" for at in group)
            terms |= {f"{name}:{called}": each * acting for name, each in scheffe_terms(x, self.crossed).items()}
        return terms


@dataclass(frozen=True)
class ProcessFit:
    """A fitted model of blends and settings; `solved` holds the least squares, in the order of `coefficients`."""

    model: ProcessModel
    coefficients: dict[str, float]
    solved: Solved

    def predict(self, points: ArrayLike, settings: ArrayLike) -> Floats:
        """Return the response at points of shape (m, q) and settings of shape (m, k): shape (m,)."""
        predicted: Floats = self._rows(points, settings) @ self.solved.coefficients
        return predicted

    def leverage(self, points: ArrayLike, settings: ArrayLike) -> Floats:
        """Return the variance of what is fitted there by that of one glass: shape (m,)."""
        return self.solved.leverage(self._rows(points, settings))

    def confidence(self, points: ArrayLike, settings: ArrayLike, level: float = 0.95) -> Floats:
        """Return the interval of what is fitted there: shape (m, 2); NaN without an error."""
        return self.solved.confidence(self._rows(points, settings), level)

    def prediction(self, points: ArrayLike, settings: ArrayLike, level: float = 0.95, *, glasses: int = 1) -> Floats:
        """Return the interval of the mean of so many new glasses there: shape (m, 2)."""
        return self.solved.prediction(self._rows(points, settings), level, glasses)

    def _rows(self, points: ArrayLike, settings: ArrayLike) -> Floats:
        return np.column_stack(list(self.model.terms(points, settings).values()))


def fit_process(
    points: ArrayLike,
    settings: ArrayLike,
    response: ArrayLike,
    model: ProcessModel | None = None,
    *,
    blocks: Blocks | None = None,
) -> ProcessFit:
    """Fit a model of blends, shape (n, q), and settings, shape (n, k), to a response of shape (n,) by least squares.

    Settings are best given from -1 to 1. Raises CannotFit where the glasses cannot separate the terms.

    >>> from cooperage.blending import ProcessModel, fit_process
    >>> fit = fit_process([[1, 0], [0, 1], [1, 0], [0, 1]], [[-1], [-1], [1], [1]], [1, 2, 3, 2], ProcessModel(1, 1))
    >>> {term: round(figure, 6) for term, figure in fit.coefficients.items()}
    {'x1': 2.0, 'x2': 2.0, 'x1:z1': 1.0, 'x2:z1': 0.0}
    """
    chosen = model or ProcessModel()
    glasses, y = _separate(chosen, points, settings, response, blocks)
    solved = solve_glasses(glasses, y)
    return ProcessFit(chosen, dict(zip(glasses.terms, solved.coefficients.tolist(), strict=True)), solved)


@dataclass(frozen=True)
class PlotFit:
    """A fitted model of blends within whole plots, with the `mixed` model behind it.

    `coefficients` and their `standard_errors` by term; `between_plots` and `of_glass` are variances, in squares of the
    response's unit: that of plots alike, and that of a glass about its plot.
    """

    coefficients: dict[str, float]
    standard_errors: dict[str, float]
    between_plots: float
    of_glass: float
    mixed: MixedFit


def fit_in_plots(
    points: ArrayLike,
    settings: ArrayLike,
    response: ArrayLike,
    plots: Sequence[Hashable],
    model: ProcessModel | None = None,
) -> PlotFit:
    """Fit a model of blends and settings as `fit_process` does, glasses of one whole plot resembling each other.

    `plots` names the plot of each glass. Plots are drawn from a population whose variance is estimated by restricted
    maximum likelihood. Raises CannotFit.

    >>> from cooperage.blending import ProcessModel, fit_in_plots
    >>> blends, warm = [[1, 0], [0, 1]] * 4, [[-1]] * 2 + [[1]] * 2 + [[-1]] * 2 + [[1]] * 2
    >>> plots = ["cool, Monday"] * 2 + ["warm, Monday"] * 2 + ["cool, Friday"] * 2 + ["warm, Friday"] * 2
    >>> fit = fit_in_plots(blends, warm, [10, 12, 11, 15, 8, 11, 10, 13], plots, ProcessModel(1, 1))
    >>> {term: round(figure, 2) for term, figure in fit.coefficients.items()}
    {'x1': 9.75, 'x2': 12.75, 'x1:z1': 0.75, 'x2:z1': 1.25}
    >>> round(fit.between_plots, 2), round(fit.of_glass, 2)
    (1.0, 0.25)
    """
    chosen = model or ProcessModel()
    glasses, y = _separate(chosen, points, settings, response, None)
    if len(plots) != len(y):
        raise CannotFit(f"{len(plots)} plots named for {len(y)} glasses; name that of each")
    if glasses.residual_df < 1 or len(set(plots)) in (1, len(y)):
        raise CannotFit(
            "glasses of one plot cannot be compared with those of others; use two plots or more, of several"
        )
    names = list(dict.fromkeys(plots))
    mixed = fit_mixed(y, glasses.matrix, [np.array([names.index(each) for each in plots])])
    errors = np.sqrt(np.diag(mixed.covariance)).tolist()
    between, of_glass = mixed.variances.tolist()
    return PlotFit(
        dict(zip(glasses.terms, mixed.estimates.tolist(), strict=True)),
        dict(zip(glasses.terms, errors, strict=True)),
        between,
        of_glass,
        mixed,
    )


def _separate(
    model: ProcessModel, points: ArrayLike, settings: ArrayLike, response: ArrayLike, blocks: Blocks | None
) -> tuple[Glasses, Floats]:
    """Return glasses that separate the terms, and their responses; raises CannotFit."""
    glasses, y = glasses_with(model.terms(points, settings), blocks), np.asarray(response, dtype=np.float64)
    if y.shape != (len(glasses.matrix),) or not np.isfinite(y).all():
        raise CannotFit(f"responses of shape {y.shape} for {len(glasses.matrix)} glasses; give each a known one")
    if lost := glasses.confounded():
        raise CannotFit(f"these {len(y)} glasses cannot separate {', '.join(lost)}; taste more, or fit less", lost)
    return glasses, y

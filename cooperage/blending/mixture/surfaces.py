"""Surfaces that agree with the scores: drawn from what a fit leaves possible.

The best of many blends looks better than it is, so a fit alone promises too much of it. Here differences are drawn
towards none by how much of them the scores bear out: the linear part, what pairs add to it and what threes add to that
are each as large as they are on average over the region, and how large that is follows from the scores themselves. The
error of a glass is integrated out, so surfaces have the tails of Student's t.

A hill of four stocks or more may be narrower than the terms of a surface can follow, and few blends are tasted for so
many terms. There surfaces are as wide about the one expected as if each tasted blend might also lie off the surface by
a part of its own, as large as the scores bear out; without it the interval of the best that is claimed to hold the
truth 95 times in 100 held it 87 times. The surface expected is the one without such parts: with them it is flatter, and
its best blend worse.

`tests/benchmarks/bench_trials.py` holds the chances that follow against simulated panels. Source: Lindley and Smith
1972, Journal of the Royal Statistical Society B 34, 1-41; Gelman 2006, Bayesian Analysis 1, 515-534, for the
half-Cauchy.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from cooperage.blending.mixture.exchange import Integers
from cooperage.blending.mixture.region import Region
from cooperage.blending.mixture.scheffe import ScheffeFit
from cooperage.blending.mixture.terms import (
    CannotFit,
    Glasses,
    cells,
    glasses_of,
    glasses_with,
    model_matrix,
    scheffe_terms,
)
from cooperage.blending.stocks.pool import Floats

DRAWS = 2000
_SIZES = (np.geomspace(0.03, 10.0, 12), np.geomspace(0.03, 10.0, 12), np.geomspace(0.03, 10.0, 8))
"""What each part of the surface may amount to in a direction, in errors of a glass, on average over the region."""
_USUAL = 0.5
"""What it usually amounts to (common practice, no source): the middle of a half-Cauchy, which allows much more."""
_NONE, _NO_MORE = 1e-3, 0.25
"""A size that is none, and the chance beforehand that pairs, or threes, add nothing (common practice, no source)."""
_FEWEST_FOR_OWN, _OWN = 4, np.array([0.1, 0.3, 1.0])
"""From so many components on a blend may have a part of its own, of one of these sizes (common practice, no source)."""
_MOST_FOR_THREES = 5
"""With more components than this, what threes add is left out: there are more of them than anybody tastes."""


@dataclass(frozen=True)
class Surfaces:
    """Drawn surfaces of one model: `coefficients` of shape (draws, terms); `sigma` the error of a glass, (draws,).

    Their components are shares of what is free beyond the `least` shares, shape (q,); none are held where it is None.
    """

    degree: str
    coefficients: Floats
    sigma: Floats
    least: Floats | None = None

    def rows(self, points: ArrayLike) -> Floats:
        """Return the columns of the model at points of shape (m, q): shape (m, terms)."""
        x = np.atleast_2d(np.asarray(points, dtype=np.float64))
        return model_matrix(x if self.least is None else _of_free(x, self.least), self.degree)

    @property
    def mean(self) -> Floats:
        """The coefficients of the surface expected, shape (terms,)."""
        found: Floats = self.coefficients.mean(axis=0)
        return found

    def at(self, points: ArrayLike) -> Floats:
        """Return each surface at points of shape (m, q): shape (draws, m)."""
        values: Floats = self.coefficients @ self.rows(points).T
        return values


def draw_surfaces(fit: ScheffeFit, region: Region | None = None, *, draws: int = DRAWS, seed: int = 0) -> Surfaces:
    """Return surfaces drawn from what the glasses of a fit leave possible over a region; a seed gives the same ones.

    Whatever the fit's degree is, surfaces are of the full cubic (of the quadratic with more than five components), so
    that they include the doubt about the degree. Without a region it is that of all mixtures. Raises CannotFit for one
    component.

    >>> from cooperage.blending import draw_surfaces, fit_scheffe, simplex_lattice
    >>> fit = fit_scheffe(simplex_lattice(2, 5), [9, 11, 12, 12.5, 12, 10])
    >>> draw_surfaces(fit, draws=100).at([[0.5, 0.5], [1.0, 0.0]]).shape
    (100, 2)
    """
    rng = np.random.default_rng(seed)
    points, level = fit.given.points, float(fit.given.response.mean())
    if points.shape[1] < 2:
        raise CannotFit("a blend needs two components or more")
    within = region or Region.whole(points.shape[1])
    degree = "full cubic" if within.components <= _MOST_FOR_THREES else "quadratic"
    least = within.vertices().min(axis=0)
    least = least if least.sum() < 1 - 1e-9 else np.zeros_like(least)
    basis, part = _basis(_of_free(within.grid(), least), degree)
    free, sizes = _of_free(points, least), _SIZES[: int(part.max())]
    glasses = glasses_of(free, degree, fit.given.blocks)
    off, sigma = _Posterior(glasses, fit.given.response - level, basis, part, sizes).drawn(draws, rng)
    if within.components >= _FEWEST_FOR_OWN:
        wide = _with_own(free, degree, fit, basis, part, sizes).drawn(draws, rng)[0][:, : len(part)]
        off = off.mean(axis=0) + wide - wide.mean(axis=0)
    raw = off @ basis.T
    raw[:, : within.components] += level
    return Surfaces(degree, raw, sigma, least)


def _with_own(
    points: Floats, degree: str, fit: ScheffeFit, basis: Floats, part: Integers, sizes: Sequence[Floats]
) -> "_Posterior":
    """Return what the glasses leave possible where each blend has a part of its own besides, in coarser steps."""
    own = cells(points)
    terms = scheffe_terms(points, degree) | {f"own {at}": column for at, column in enumerate(own.T)}
    both = np.eye(len(terms))
    both[: len(part), : len(part)] = basis
    parts = np.append(part, np.full(own.shape[1], len(sizes) + 1))
    coarse = [*(each[::2] for each in sizes), _OWN]
    scores = fit.given.response - float(fit.given.response.mean())
    return _Posterior(glasses_with(terms, fit.given.blocks), scores, both, parts, coarse)


class _Posterior:
    """For each choice of the parts' sizes: its weight, and the centre and spread of the coefficients."""

    def __init__(
        self, glasses: Glasses, scores: Floats, basis: Floats, part: Integers, grids: Sequence[Floats]
    ) -> None:
        columns, response = glasses.matrix @ basis, glasses.within(scores)
        sizes, before = _sizes(grids)
        held = np.concatenate([np.zeros((len(sizes), 1)), 1 / sizes**2], axis=1)[:, part]
        precision = columns.T @ columns + held[:, :, None] * np.eye(len(part))
        aim = columns.T @ response
        centres = np.linalg.solve(precision, np.tile(aim, (len(sizes), 1))[:, :, None])[:, :, 0]
        self.roots: Floats = np.asarray(np.linalg.cholesky(precision), dtype=np.float64)
        self.centres: Floats = np.asarray(centres, dtype=np.float64)
        self.squares: Floats = np.asarray(np.maximum(response @ response - centres @ aim, 1e-9), dtype=np.float64)
        self.degrees = len(response) - glasses.between.shape[1] - 1
        logs = 0.5 * np.log(held[:, 1:]).sum(axis=1) - np.log(np.diagonal(self.roots, axis1=1, axis2=2)).sum(axis=1)
        logs += np.log(before) - 0.5 * self.degrees * np.log(self.squares)
        weight = np.exp(logs - logs.max())
        self.weight: Floats = np.asarray(weight / weight.sum(), dtype=np.float64)

    def drawn(self, draws: int, rng: np.random.Generator) -> tuple[Floats, Floats]:
        """Return drawn coefficients, shape (draws, terms), and errors of a glass, (draws,).

        An odd number is rounded up. Each is drawn with its mirror image, and sizes in even steps of their weight, so
        that the mean has no chance in it.
        """
        half = (draws + 1) // 2
        steps = np.searchsorted(self.weight.cumsum(), (np.arange(half) + 0.5) / half)
        cell = steps.clip(max=len(self.weight) - 1)
        sigma: Floats = np.sqrt(self.squares[cell] / rng.chisquare(self.degrees, half))
        off: Floats = np.empty((half, self.centres.shape[1]))
        for at in np.unique(cell):
            mine = cell == at
            normal = rng.standard_normal((off.shape[1], int(mine.sum())))
            off[mine] = np.linalg.solve(self.roots[at].T, normal).T
        off *= sigma[:, None]
        centres: Floats = self.centres[cell]
        return np.concatenate([centres + off, centres - off]), np.concatenate([sigma, sigma])


def _sizes(grids: Sequence[Floats]) -> tuple[Floats, Floats]:
    """Return every choice of the parts' sizes, shape (choices, parts), and its chance beforehand."""
    sizes, chances = [], []
    for at, values in enumerate(grids):
        usual = values / (1 + (values / _USUAL) ** 2)  # even steps of the logarithm
        none = _NO_MORE if at else 0.0
        sizes.append(np.concatenate([[_NONE], values]) if at else values)
        chances.append(np.concatenate([[none] if at else [], (1 - none) * usual / usual.sum()]))
    every = [np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, len(grids)) for axes in (sizes, chances)]
    return every[0], every[1].prod(axis=1)


def _basis(grid: Floats, degree: str) -> tuple[Floats, Integers]:
    """Return surfaces of size 1 on average over a grid, and the part of each: 0 the level, then 1, 2 and 3.

    Shape (terms, terms): a column holds the coefficients of one. Those of the special cubic are independent over the
    grid. Lopsided ones of the full cubic are none at stocks, halves and thirds: what is tasted shows little of them, so
    they widen what lies between.
    """
    terms = scheffe_terms(grid, degree)
    columns = np.column_stack(list(terms.values())) / np.sqrt(len(grid))
    part = np.array([min(term.count(":"), 2) + 1 for term in terms])
    even = np.array(["(" not in term for term in terms])
    basis: Floats = np.diag(1 / np.maximum(np.sqrt((columns**2).sum(axis=0)), 1e-12))
    level = np.eye(int(even.sum()))
    level[:, 0] = part[even] == 1  # the shares sum to one, so this is the same everywhere
    part[0] = 0
    _, upper = np.linalg.qr(columns[:, even] @ level)
    basis[np.ix_(even, even)] = level @ np.linalg.inv(upper)
    return basis, part


def _of_free(points: Floats, least: Floats) -> Floats:
    """Return shares of what is free beyond the least shares."""
    free: Floats = (points - least) / (1 - least.sum())
    return free

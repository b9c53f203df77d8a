"""Surfaces that agree with the scores: drawn from what a fit leaves possible.

The best of many blends looks better than it is, so a fit alone promises too much of it. Here differences are drawn
towards none by how much of them the scores bear out: the linear part, what pairs add to it and what threes add to that
are each as large as they are on average over the region, and how large that is follows from the scores themselves. The
error of a glass is integrated out, so surfaces have the tails of Student's t. Source: Lindley and Smith 1972, Journal of
the Royal Statistical Society B 34, 1-41; Gelman 2006, Bayesian Analysis 1, 515-534, for the half-Cauchy.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from cooperage.blending.mixture.exchange import Integers
from cooperage.blending.mixture.region import Region
from cooperage.blending.mixture.scheffe import Given, ScheffeFit
from cooperage.blending.mixture.terms import glasses_of, model_matrix, scheffe_terms
from cooperage.blending.stocks.pool import Floats

DRAWS = 2000
_SIZES = (np.geomspace(0.03, 10.0, 12), np.geomspace(0.03, 10.0, 12), np.geomspace(0.03, 10.0, 8))
"""What each part of the surface may amount to in a direction, in errors of a glass, on average over the region."""
_USUAL = 0.5
"""What it usually amounts to (common practice, no source): the middle of a half-Cauchy, which allows much more."""
_NONE, _NO_MORE = 1e-3, 0.25
"""A size that is none, and the chance beforehand that pairs, or threes, add nothing (common practice, no source)."""
_MOST_FOR_THREES = 6
"""With more components than this, what threes add is left out: there are more of them than anybody tastes."""


@dataclass(frozen=True)
class Surfaces:
    """Drawn surfaces of one model: `coefficients` of shape (draws, terms); `sigma` the error of a glass, (draws,)."""

    degree: str
    coefficients: Floats
    sigma: Floats

    @property
    def mean(self) -> Floats:
        """The coefficients of the surface expected, shape (terms,)."""
        found: Floats = self.coefficients.mean(axis=0)
        return found

    def at(self, points: ArrayLike) -> Floats:
        """Return each surface at points of shape (m, q): shape (draws, m)."""
        values: Floats = self.coefficients @ model_matrix(points, self.degree).T
        return values


def draw_surfaces(fit: ScheffeFit, region: Region | None = None, *, draws: int = DRAWS, seed: int = 0) -> Surfaces:
    """Return surfaces drawn from what the glasses of a fit leave possible over a region; a seed gives the same ones.

    Whatever the fit's degree is, surfaces are of the special cubic (of the quadratic with more than six components), so
    that they include the doubt about the degree. Without a region it is that of all mixtures.
    """
    rng = np.random.default_rng(seed)
    within = region or Region.whole(fit.given.points.shape[1])
    degree = "special cubic" if within.components <= _MOST_FOR_THREES else "quadratic"
    basis, part = _basis(within, degree)
    level = float(fit.given.response.mean())
    posterior = _Posterior(fit.given, level, degree, basis, part)
    cell = rng.choice(len(posterior.weight), draws, p=posterior.weight)
    sigma = np.sqrt(posterior.squares[cell] / rng.chisquare(posterior.degrees, draws))
    coefficients = np.empty((draws, len(part)))
    for at in np.unique(cell):
        mine = cell == at
        off = np.linalg.solve(posterior.roots[at].T, rng.standard_normal((len(part), int(mine.sum())))).T
        coefficients[mine] = posterior.centres[at] + sigma[mine, None] * off
    raw = coefficients @ basis.T
    raw[:, : within.components] += level
    return Surfaces(degree, raw, sigma)


class _Posterior:
    """For each choice of the parts' sizes: its weight, and the centre and spread of the coefficients."""

    def __init__(self, given: Given, level: float, degree: str, basis: Floats, part: Integers) -> None:
        glasses = glasses_of(given.points, degree, given.blocks)
        columns, response = glasses.matrix @ basis, glasses.within(given.response - level)
        sizes, before = _sizes(int(part.max()))
        held = np.concatenate([np.zeros((len(sizes), 1)), 1 / sizes**2], axis=1)[:, part]
        precision = columns.T @ columns + held[:, :, None] * np.eye(len(part))
        aim = columns.T @ response
        self.roots = np.linalg.cholesky(precision)
        self.centres = np.linalg.solve(precision, np.tile(aim, (len(sizes), 1))[:, :, None])[:, :, 0]
        self.squares = np.maximum(response @ response - self.centres @ aim, 1e-9)
        self.degrees = len(response) - glasses.between.shape[1] - 1
        logs = 0.5 * np.log(held[:, 1:]).sum(axis=1) - np.log(np.diagonal(self.roots, axis1=1, axis2=2)).sum(axis=1)
        logs += np.log(before) - 0.5 * self.degrees * np.log(self.squares)
        weight = np.exp(logs - logs.max())
        self.weight = weight / weight.sum()


def _sizes(parts: int) -> tuple[Floats, Floats]:
    """Return every choice of the parts' sizes, shape (choices, parts), and its chance beforehand."""
    sizes, chances = [], []
    for at, values in enumerate(_SIZES[:parts]):
        usual = values / (1 + (values / _USUAL) ** 2)  # even steps of the logarithm
        none = _NO_MORE if at else 0.0
        sizes.append(np.concatenate([[_NONE], values]) if at else values)
        chances.append(np.concatenate([[none] if at else [], (1 - none) * usual / usual.sum()]))
    every = [np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, parts) for axes in (sizes, chances)]
    return every[0], every[1].prod(axis=1)


def _basis(region: Region, degree: str) -> tuple[Floats, Integers]:
    """Return surfaces that are independent over a region and of size 1 on average there, and the part of each.

    Shape (terms, terms): a column holds the coefficients of one. Parts are 0 for the level, then 1 linear, 2 what pairs
    add, 3 what threes add.
    """
    terms = scheffe_terms(region.grid(), degree)
    columns = np.column_stack(list(terms.values()))
    part = np.array([term.count(":") + 1 for term in terms])
    level = np.eye(len(part))
    level[:, 0] = part == 1  # the shares sum to one, so this is the same everywhere
    part[0] = 0
    _, upper = np.linalg.qr(columns @ level / np.sqrt(len(columns)))
    basis: Floats = level @ np.linalg.inv(upper)
    return basis, part

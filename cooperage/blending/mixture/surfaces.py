"""Surfaces that agree with the scores: drawn from what a fit leaves possible."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from cooperage.blending.mixture.scheffe import ScheffeFit
from cooperage.blending.mixture.terms import CannotFit, model_matrix
from cooperage.blending.stocks.pool import Floats

DRAWS = 2000


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


def draw_surfaces(fit: ScheffeFit, *, draws: int = DRAWS, seed: int = 0) -> Surfaces:
    """Return surfaces drawn from Student's t about a fit; the same seed gives the same ones.

    Raises CannotFit where no glass is left for the error.
    """
    if not fit.residual_df:
        raise CannotFit(f"the {fit.degree} model leaves no glass for the error; taste one blend twice, or more")
    rng = np.random.default_rng(seed)
    sigma = np.sqrt(fit.residual_ss / rng.chisquare(fit.residual_df, draws))
    root = np.linalg.cholesky(fit.unscaled)
    off = rng.standard_normal((draws, len(root))) @ root.T
    return Surfaces(fit.degree, np.array(list(fit.coefficients.values())) + sigma[:, None] * off, sigma)

"""What a design can show, before a glass is poured: in standard deviations of one glass."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from cooperage.blending.mixture.exchange import Integers
from cooperage.blending.mixture.region import Region
from cooperage.blending.mixture.terms import CannotFit, Degree, glasses_of, model_matrix, model_name
from cooperage.blending.stocks.pool import Floats
from cooperage.tasting.statistics.quantiles import student


@dataclass(frozen=True)
class Precision:
    """How precisely a design fits a model; standard errors are shares of the standard deviation of one glass.

    `unscaled` is the covariance of the coefficients by the variance of a glass, shape (terms, terms); `leverage` that
    of each blend's glasses of one taster, shape (n,); `residual_df` what is left over for the error.
    """

    degree: str
    unscaled: Floats
    leverage: Floats
    residual_df: int

    def standard_error(self, points: ArrayLike) -> Floats:
        """Return the standard error of the surface at points, shape (m, q): shape (m,)."""
        rows = model_matrix(points, self.degree)
        return _root(rows, self.unscaled)

    def difference_error(self, points: ArrayLike, others: ArrayLike) -> Floats:
        """Return the standard error of the difference between points and others, each of shape (m, q): shape (m,)."""
        return _root(model_matrix(points, self.degree) - model_matrix(others, self.degree), self.unscaled)

    def chance_found(self, gain: float, points: ArrayLike, others: ArrayLike, alpha: float = 0.05) -> Floats:
        """Return the chance that a true difference is found at a significance level, two-sided: shape (m,).

        `gain` is the difference in standard deviations of one glass; NaN where nothing is left for the error, or the
        two are one blend.
        """
        from scipy.special import nctdtr  # scipy stays out of start-up

        error = self.difference_error(points, others)
        if self.residual_df < 1:
            return np.full(len(error), np.nan)
        beyond = student(self.residual_df, alpha / 2)
        away = abs(gain) / np.where(error > 0, error, np.nan)
        chance: Floats = 1 - nctdtr(self.residual_df, away, beyond) + nctdtr(self.residual_df, away, -beyond)
        return chance

    def over(self, region: Region) -> tuple[float, float]:
        """Return the middle and the greatest standard error of the surface over a region."""
        errors = self.standard_error(region.grid())
        return float(np.median(errors)), float(errors.max())


def precision_of(
    points: ArrayLike, degree: Degree = 2, *, session: Integers | None = None, tasters: int = 1
) -> Precision:
    """Return what blends, shape (n, q), tasted by so many tasters each, can show of a model.

    `session` is that of each blend, from 0. Tasters and sessions differ by an effect each. Raises CannotFit where the
    blends cannot separate the terms.

    >>> from cooperage.blending import precision_of, simplex_lattice
    >>> precision_of(simplex_lattice(3, 2), tasters=4).standard_error([[1, 0, 0]]).tolist()
    [0.5]
    """
    x = np.atleast_2d(np.asarray(points, dtype=np.float64))
    sessions = np.zeros(len(x), dtype=np.int64) if session is None else np.asarray(session)
    blocks = {"taster": np.repeat(np.arange(tasters), len(x)).tolist(), "session": np.tile(sessions, tasters).tolist()}
    glasses = glasses_of(np.tile(x, (tasters, 1)), degree, blocks)
    if lost := glasses.confounded():
        raise CannotFit(
            f"these {len(x)} blends cannot separate {', '.join(lost)}; taste more, or a simpler model", lost
        )
    return Precision(model_name(degree), glasses.unscaled, glasses.leverage[: len(x)], glasses.residual_df)


def _root(rows: Floats, unscaled: Floats) -> Floats:
    errors: Floats = np.sqrt(np.maximum(((rows @ unscaled) * rows).sum(axis=1), 0.0))
    return errors

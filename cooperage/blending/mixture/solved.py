"""Least squares on the glasses of a trial, and the intervals that follow."""

from dataclasses import dataclass

import numpy as np

from cooperage.blending.mixture.terms import Glasses
from cooperage.blending.stocks.pool import Floats
from cooperage.tasting.statistics.quantiles import student


@dataclass(frozen=True)
class Solved:
    """Coefficients, shape (p,); their covariance by the variance of a glass, (p, p); what is left over, (n,)."""

    coefficients: Floats
    unscaled: Floats
    residual: Floats
    residual_df: int

    @property
    def residual_ss(self) -> float:
        """The sum of squares of what is left over."""
        return float(self.residual @ self.residual)

    @property
    def mean_square(self) -> float:
        """The variance of a glass, in squares of the response's unit; NaN where nothing is left for it."""
        return self.residual_ss / self.residual_df if self.residual_df else float("nan")

    @property
    def standard_errors(self) -> Floats:
        """Those of the coefficients, shape (p,)."""
        errors: Floats = np.sqrt(self.mean_square * np.diag(self.unscaled))
        return errors

    def leverage(self, rows: Floats) -> Floats:
        """Return the variance of what is fitted at rows of the model, (m, p), by that of one glass: shape (m,)."""
        leverage: Floats = ((rows @ self.unscaled) * rows).sum(axis=1)
        return leverage

    def confidence(self, rows: Floats, level: float) -> Floats:
        """Return the interval of what is fitted at rows of the model, (m, p): shape (m, 2); NaN without an error."""
        return self._interval(rows, self.leverage(rows), level)

    def prediction(self, rows: Floats, level: float, glasses: int) -> Floats:
        """Return the interval of the mean of so many new glasses at rows of the model, (m, p): shape (m, 2)."""
        return self._interval(rows, self.leverage(rows) + 1 / glasses, level)

    def _interval(self, rows: Floats, variance: Floats, level: float) -> Floats:
        away = student(self.residual_df, (1 - level) / 2) * np.sqrt(variance * self.mean_square)
        interval: Floats = (rows @ self.coefficients)[:, None] + np.stack([-away, away], axis=1)
        return interval


def solve_glasses(glasses: Glasses, response: Floats) -> Solved:
    """Return the least squares of a response of shape (n,) on the columns of glasses, which are separate."""
    within = glasses.within(response)
    coefficients = np.asarray(np.linalg.lstsq(glasses.matrix, within)[0], dtype=np.float64)
    return Solved(coefficients, glasses.unscaled, within - glasses.matrix @ coefficients, glasses.residual_df)

"""Mixed models by restricted maximum likelihood: fixed effects, and groups whose effects are drawn from a population.

score = X b + effects of groups + error, each kind of group with a variance of its own. Small panels make variances that
come out at zero, which is an ending and no fault. Fisher's steps, halved until the likelihood rises, which in balanced
tables arrive at once. Dense matrices: for hundreds of scores, not for thousands.

Sources: Patterson and Thompson (1971), Biometrika 58, 545-554; Searle, Casella and McCulloch, Variance Components
(1992), ch. 6 and 8; degrees of freedom: Satterthwaite (1946), Biometrics Bulletin 2, 110-114, for several at once Fai
and Cornelius (1996), J. Stat. Comput. Simul. 54, 363-378.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from cooperage.tasting.statistics.quantiles import f_tail
from cooperage.tasting.statistics.tables import Floats, Integers

_MOST_STEPS = 100
_MOST_HALVINGS = 30
_CLOSE = 1e-10


@dataclass(frozen=True)
class MixedFit:
    """A fitted mixed model; `variances` are those of the groups, in the order they were given, then the error's."""

    estimates: Floats  # (columns,)
    covariance: Floats  # (columns, columns)
    variances: Floats  # (groups + 1,)
    log_likelihood: float  # restricted
    ended: bool  # False if it still moved after the most steps that are made
    slopes: Floats = field(repr=False)  # (groups + 1, columns, columns) of the covariance by each variance
    of_variances: Floats = field(repr=False)  # (groups + 1, groups + 1) covariance of the variances; zero at zero

    def degrees(self, contrast: Floats) -> float:
        """Return the degrees of freedom of one contrast of the estimates (Satterthwaite)."""
        slope = np.einsum("i,kij,j->k", contrast, self.slopes, contrast)
        doubt = float(slope @ self.of_variances @ slope)
        variance = float(contrast @ self.covariance @ contrast)
        return 2 * variance**2 / doubt if doubt > 0 else math.inf

    def test(self, contrasts: Floats) -> tuple[float, float, float]:
        """Return F, its lower degrees of freedom and p, that none of these contrasts (rows) differs from zero."""
        sizes, turned = np.linalg.eigh(contrasts @ self.covariance @ contrasts.T)
        rows = turned.T @ contrasts
        squares = (rows @ self.estimates) ** 2 / sizes
        own = np.array([self.degrees(row) for row in rows])
        f = float(squares.mean())
        below = float(own[0]) if len(own) == 1 else _of_several(own)
        return f, below, f_tail(f, len(own), below)


def _of_several(degrees: Floats) -> float:
    """Degrees of freedom of an F of several contrasts that have degrees of their own (Fai and Cornelius)."""
    counted = sum(each / (each - 2) if math.isfinite(each) else 1.0 for each in degrees.tolist() if each > 2)
    return 2 * counted / (counted - len(degrees)) if counted > len(degrees) else math.inf


def fit_mixed(response: Floats, design: Floats, groups: Sequence[Integers]) -> MixedFit:
    """Fit response (n,) by the columns of `design` (n, columns) and random effects of each of `groups` (n,)."""
    kinds = [np.equal.outer(group, np.unique(group)).astype(np.float64) for group in groups]
    residual = response - design @ np.linalg.lstsq(design, response, rcond=None)[0]
    spread = max(float(np.var(residual)), np.finfo(float).tiny)
    variances = np.full(len(kinds) + 1, spread / (len(kinds) + 1))
    least = np.append(np.zeros(len(kinds)), _CLOSE * spread)
    at = _At(response, design, kinds, variances)
    for _ in range(_MOST_STEPS):
        step = at.step((at.variances > least) | (at.score > 0))
        moved = at.tried(step, least)
        change = float(np.abs(moved.variances - at.variances).max())
        at = moved
        if change <= _CLOSE * float(at.variances.sum()):
            return at.fit(ended=True)
    return at.fit(ended=False)


class _At:
    """The restricted likelihood and its slopes at given variances."""

    def __init__(self, response: Floats, design: Floats, kinds: list[Floats], variances: Floats) -> None:
        self.response, self.design, self.kinds, self.variances = response, design, kinds, variances
        spread = variances[-1] * np.eye(len(response))
        for variance, kind in zip(variances, kinds, strict=False):
            spread += variance * kind @ kind.T
        self.inverse = np.linalg.inv(spread)
        self.weighted = self.inverse @ design
        self.covariance = np.linalg.inv(design.T @ self.weighted)
        projected = self.inverse - self.weighted @ self.covariance @ self.weighted.T
        left = projected @ response
        sizes = float(np.linalg.slogdet(spread)[1] - np.linalg.slogdet(self.covariance)[1])
        freedom = len(response) - design.shape[1]
        self.log_likelihood = -0.5 * (sizes + float(response @ left) + freedom * math.log(2 * math.pi))
        rows = [*(kind.T @ projected for kind in kinds), projected]
        blocks = [[*(row @ kind for kind in kinds), row] for row in rows]
        self.information = np.array([[0.5 * np.sum(block**2) for block in row] for row in blocks])
        drawn = [*(kind.T @ left for kind in kinds), left]
        traces = [float(np.trace(row[at])) for at, row in enumerate(blocks)]
        self.score = np.array([0.5 * (float(one @ one) - trace) for one, trace in zip(drawn, traces, strict=True)])

    def step(self, free: NDArray[np.bool_]) -> Floats:
        """Fisher's step of the variances that may move."""
        step = np.zeros(len(free))
        step[free] = np.linalg.lstsq(self.information[np.ix_(free, free)], self.score[free], rcond=None)[0]
        return step

    def tried(self, step: Floats, least: Floats) -> _At:
        """Go as much of a step as raises the likelihood; stay where none of it does."""
        for halvings in range(_MOST_HALVINGS):
            variances = np.maximum(self.variances + step / 2**halvings, least)
            moved = _At(self.response, self.design, self.kinds, variances)
            if moved.log_likelihood > self.log_likelihood:
                return moved
        return self

    def fit(self, *, ended: bool) -> MixedFit:
        size = len(self.variances)
        above = np.flatnonzero(self.variances > 0)
        of_variances = np.zeros((size, size))
        of_variances[np.ix_(above, above)] = np.linalg.pinv(self.information[np.ix_(above, above)])
        estimates = self.covariance @ (self.weighted.T @ self.response)
        weighted = self.weighted @ self.covariance
        drawn = [*(weighted.T @ kind for kind in self.kinds), weighted.T]
        slopes = np.array([each @ each.T for each in drawn])
        covariance: Floats = self.covariance.astype(np.float64)
        return MixedFit(estimates, covariance, self.variances, self.log_likelihood, ended, slopes, of_variances)

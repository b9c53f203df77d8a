"""Tails and quantiles of the distributions that a panel's figures are held against.

The studentized range is integrated here: SciPy has it in `scipy.stats` alone, whose import costs more than any panel.
Source: Lund and Lund (1983), Applied Statistics 32, 204-210, for the double integral.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from cooperage.tasting.statistics.tables import Floats

_WIDE = 8.0
"""Normal values farther from zero than this do not count."""
_NODES = 128
_NEGLIGIBLE = 1e-16
"""Chances smaller than this at either end do not count."""


def student(degrees: float, beyond: float) -> float:
    """Return the quantile of Student's t that is passed with chance `beyond`; NaN without degrees of freedom."""
    from scipy.special import stdtrit  # scipy stays out of start-up

    return float(-stdtrit(degrees, beyond)) if degrees > 0 else math.nan


def student_tails(statistic: float, degrees: float) -> float:
    """Return the chance of a t this far from zero on either side; NaN without degrees of freedom."""
    from scipy.special import stdtr

    return float(2 * stdtr(degrees, -abs(statistic))) if degrees > 0 else math.nan


def f_tail(statistic: float, above: float, below: float) -> float:
    """Return the chance of this F or more with `above` and `below` degrees of freedom; NaN where it is not known."""
    from scipy.special import fdtrc

    if math.isnan(statistic) or above <= 0 or below <= 0:
        return math.nan
    return float(fdtrc(above, below, statistic))


def chi2_tail(statistic: float, degrees: float) -> float:
    """Return the chance of this chi-square or more."""
    from scipy.special import chdtrc

    return float(chdtrc(degrees, statistic))


def range_tail(q: float, groups: int, degrees: float = math.inf) -> float:
    """Return the chance that the studentized range of `groups` means is q or more; NaN without degrees of freedom.

    `degrees` are those of the standard deviation it is divided by; infinite where that is known.
    """
    if math.isnan(q) or groups < 2 or degrees <= 0:
        return math.nan
    scales, weights = _scales(degrees)
    return float(np.clip(1 - weights @ _range_within(q * scales, groups), 0, 1))


@lru_cache(maxsize=4096)
def range_quantile(beyond: float, groups: int, degrees: float = math.inf) -> float:
    """Return the studentized range that is passed with chance `beyond`; NaN without degrees of freedom."""
    if groups < 2 or degrees <= 0:
        return math.nan
    low, high = 0.0, 4.0
    while range_tail(high, groups, degrees) > beyond:
        low, high = high, 2 * high
    while high - low > 1e-10 * high:
        middle = (low + high) / 2
        low, high = (middle, high) if range_tail(middle, groups, degrees) > beyond else (low, middle)
    return high


def _range_within(widths: Floats, groups: int) -> Floats:
    """Chance that `groups` standard normal values lie within each of these widths."""
    from scipy.special import ndtr

    nodes, weights = legendre()
    # the smallest value z, and all others between it and z + width
    z = _WIDE * nodes
    density = np.exp(-z * z / 2) / math.sqrt(2 * math.pi) * _WIDE * weights
    between = ndtr(z[:, None] + widths) - ndtr(z)[:, None]
    within: Floats = groups * (density @ between ** (groups - 1))
    return within


@lru_cache(maxsize=256)
def _scales(degrees: float) -> tuple[Floats, Floats]:
    """Values of an estimated standard deviation about a true one of 1, and the weight of each: they sum to one."""
    if math.isinf(degrees):
        return np.ones(1), np.ones(1)
    from scipy.special import gammainccinv, gammaincinv

    # even steps of the logarithm: the chance falls off smoothly at both ends, where equal steps sum exactly
    half = degrees / 2
    least, most = (float(end(half, _NEGLIGIBLE)) / half for end in (gammaincinv, gammainccinv))
    squares = np.linspace(math.log(least), math.log(most), _NODES)
    weights = np.exp(half * (squares - np.exp(squares)))
    return np.exp(squares / 2), weights / weights.sum()


@lru_cache(maxsize=1)
def legendre() -> tuple[Floats, Floats]:
    """Return nodes from -1 to 1 and weights of Gauss and Legendre's rule, fine enough for products of normal tails."""
    from numpy.polynomial.legendre import leggauss

    nodes, weights = leggauss(_NODES)
    return nodes, weights

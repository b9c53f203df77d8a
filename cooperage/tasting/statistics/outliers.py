"""Grubbs' test for one value that stands apart.

It shows that a value is odd for a normal sample, never that it is wrong: look at the glass before striking a
score. Source: Grubbs (1969), Technometrics 11, 1-21; critical values from Student's t as in NIST/SEMATECH
e-Handbook 1.3.5.17.1.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from cooperage.errors import BadInput


class TooFewToJudge(BadInput):
    """Fewer than three values, or values all alike: nothing can stand apart."""

    def __init__(self, n: int) -> None:
        self.n = n
        super().__init__(f"{n} values cannot show an outlier; give three or more that are not all alike")


class Outlier(NamedTuple):
    """The value farthest from the mean: its place, Grubbs' G, and at most how likely it is (two-sided)."""

    place: int
    g: float
    p: float


def grubbs_critical(n: int, alpha: float, *, two_sided: bool = True) -> float:
    """G that the farthest of n normal values passes with chance `alpha`; one-sided for one end only."""
    from scipy.special import stdtrit  # scipy stays out of start-up

    if n < 3:
        raise TooFewToJudge(n)
    t2 = float(stdtrit(n - 2, alpha / (n * (2 if two_sided else 1)))) ** 2
    return (n - 1) / math.sqrt(n) * math.sqrt(t2 / (n - 2 + t2))


def grubbs(values: ArrayLike) -> Outlier:
    """Find the value farthest from the mean of a one-dimensional sample, and how odd it is there."""
    from scipy.special import stdtr

    sample = np.asarray(values, dtype=np.float64).ravel()
    n = len(sample)
    if n < 3 or not np.isfinite(sample).all() or np.ptp(sample) == 0:
        raise TooFewToJudge(n)
    distance = np.abs(sample - sample.mean()) / sample.std(ddof=1)
    place = int(distance.argmax())
    g = float(distance[place])
    spare = (n - 1) ** 2 - n * g * g  # zero when all the other values are alike: then t is infinite
    t = math.sqrt(n * (n - 2) * g * g / spare) if spare > 1e-12 * n * n else math.inf
    return Outlier(place, g, min(1.0, 2 * n * float(stdtr(n - 2, -t))))

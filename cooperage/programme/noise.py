"""How visits scatter about their barrel's rate, learnt from all barrels of the cellar together.

A visit's loss is off by the levels at its two ends, which the next visit pays back, and by a share of its own. What two
visits in a row have in common gives the first, what is left the second (method of moments). Visits further off than
three deviations (a slip, a leak) are left out; of ordinary noise that leaves out a little too, by a known factor.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cooperage.programme.leaks import USUAL_NOISE, Noise

Floats = NDArray[np.float64]

LEAST_VISITS = 3
_LEAST_LEVEL_ML, _LEAST_SHARE = 30.0, 0.05
_REACH = 3.0
_KEPT = 0.9733  # variance of a normal cut off at three deviations: 1 - 6 phi(3) / (2 Phi(3) - 1)
_ROUNDS = 4


@dataclass(frozen=True, slots=True)
class Scatter:
    """Residuals of visits [ml], what was expected of each [ml], and whether the next one begins where it ends."""

    residual: Floats
    expected: Floats
    is_followed: NDArray[np.bool_]

    def pairs(self, reach: Floats) -> tuple[NDArray[np.bool_], Floats]:
        """Say which visits lie within reach, and give the products of those that follow each other."""
        kept = np.abs(self.residual) <= reach
        both = self.is_followed[:-1] & kept[:-1] & kept[1:]
        return kept, (self.residual[:-1] * self.residual[1:])[both]


def scatter(lost: Floats, exposure: Floats, began: Floats, ended: Floats) -> Scatter:
    """Hold one barrel's visits, three or more, against its middling rate."""
    expected = middling(lost, exposure) * exposure
    residual = (lost - expected) * (len(lost) / (len(lost) - 1)) ** 0.5
    return Scatter(residual, expected, np.append(began[1:] == ended[:-1], False))


def middling(lost: Floats, exposure: Floats) -> float:
    """Return a barrel's middling rate: a leak in part of its record does not shift it."""
    ordered = np.sort(lost / exposure)  # np.median takes ten times as long on so few
    middle = len(ordered) // 2
    return max(float(ordered[middle] + ordered[~middle]) / 2, 1e-9)


def learn_noise(barrels: Sequence[Scatter]) -> Noise:
    """Learn the cellar's noise; the usual one while no barrel has three visits."""
    if not barrels:
        return USUAL_NOISE
    every = Scatter(*(np.concatenate(each) for each in zip(*map(_columns, barrels), strict=True)))
    reach = np.full(len(every.residual), _REACH * 1.4826 * float(np.median(np.abs(every.residual))) + _LEAST_LEVEL_ML)
    noise = _moments(every, reach)
    for _ in range(_ROUNDS):
        noise = _moments(every, _REACH * (2 * noise.level_ml**2 + (noise.share * every.expected) ** 2) ** 0.5)
    return noise


def _columns(barrel: Scatter) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    return barrel.residual, barrel.expected, barrel.is_followed


def _moments(every: Scatter, reach: Floats) -> Noise:
    kept, products = every.pairs(reach)
    level = max(_LEAST_LEVEL_ML, max(0.0, -float(products.mean()) if len(products) else 0.0) ** 0.5)
    squares, expected = every.residual[kept] ** 2 / _KEPT, every.expected[kept]
    share = max(0.0, float((squares - 2 * level**2).sum() / (expected**2).sum())) ** 0.5
    return Noise(level, max(share, _LEAST_SHARE))

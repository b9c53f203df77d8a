"""How visits scatter about their barrel's rate, learnt from all barrels of the cellar together.

A visit's loss is off by the levels at its two ends, which the next visit pays back, and by a share of its own. What two
visits in a row have in common separates the two (method of moments, the barrels' rates being fitted too).
Visits further off than three deviations (a slip, a leak) are left out; of ordinary noise that leaves out a little too,
by a known factor. Each barrel's rate begins at its middling visit, which a leak in part of the record does not move.

A jug is read to its step, which the toppings themselves show: nearly all are multiples of it. That rounds each by
step^2/12 (Sheppard (1898), Proc. London Math. Soc. 29, 353-380). Where only whole steps are poured, what was left short
is paid back by the next visit: it is then part of the level's error, and is not counted twice.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import median

import numpy as np
from numpy.typing import NDArray

from cooperage.programme.losses.loss_rate import USUAL_NOISE, Noise

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

LEAST_VISITS = 3
LEAST = (30.0, 0.05)
"""What a level [ml] and a share err by at least where one visit may be held against others: so sure is no cellar."""
LEAST_TO_COME = (10.0, 0.03)
"""The same where visits to come are foretold, as near as those before have come (all common practice, no source)."""
_REACH = 3.0
_KEPT = 0.9733  # variance of a normal cut off at three deviations: 1 - 6 phi(3) / (2 Phi(3) - 1)
_ROUNDS = 4
_USUAL_VISITS = 20.0  # so many ordinary visits are added, so that the first few do not decide alone (no source)


STEPS_ML = (500, 250, 100, 50)
"""What jugs show (common practice, no source)."""
_OF_STEP, _LEAST_POURED = 0.95, 8  # share of toppings that are multiples of a step, and the least toppings that show it


def jug_step(poured: Floats) -> float:
    """Return the step that a jug was read to [ml], from what was poured with it [ml]; 0 where none shows."""
    poured = poured[poured > 0]
    if len(poured) < _LEAST_POURED:
        return 0.0
    return next((float(step) for step in STEPS_ML if np.mean(poured % step == 0) >= _OF_STEP), 0.0)


@dataclass(frozen=True, slots=True)
class Visited:
    """One barrel's visits: lost [ml], exposure (rate x exposure is expected), whether the next begins where it ends.

    `steps` are those of the jugs [ml].
    """

    lost: Floats
    exposure: Floats
    is_followed: Bools
    steps: Floats


def visited(lost: Floats, exposure: Floats, began: Floats, ended: Floats, steps: Floats | None = None) -> Visited:
    """A barrel's visits, for learning."""
    is_followed = np.zeros(len(lost), dtype=bool)
    is_followed[:-1] = began[1:] == ended[:-1]
    return Visited(lost, exposure, is_followed, np.zeros(len(lost)) if steps is None else steps)


def middle_rate(lost: Floats, exposure: Floats) -> float:
    """Return a barrel's middling rate: a leak in part of its record does not shift it."""
    return max(float(median((lost / exposure).tolist())), 1e-9)


def learn_noise(barrels: Sequence[Visited], least: tuple[float, float] = LEAST) -> Noise:
    """Learn the cellar's noise from barrels of three visits or more; the usual one while there are none.

    `least` are the least that level [ml] and share err by.
    """
    if not barrels:
        return USUAL_NOISE
    every = _Every.of(barrels)
    rate = np.array([middle_rate(each.lost, each.exposure) for each in barrels])
    residual = every.residual(rate)
    reach = np.full(len(residual), _REACH * 1.4826 * median(np.abs(residual).tolist()) + LEAST[0])
    noise = USUAL_NOISE
    for _ in range(_ROUNDS):
        kept = np.abs(residual) <= reach
        rate = every.rates(kept, rate)
        residual, expected = every.residual(rate), rate[every.barrel] * every.exposure
        noise = every.moments(residual, expected, kept, noise, least)
        reach = _REACH * noise.variance(expected, every.steps) ** 0.5
    return noise


@dataclass(frozen=True, slots=True)
class _Every:
    """All barrels' visits one after the other, and to which barrel each belongs."""

    lost: Floats
    exposure: Floats
    is_followed: Bools
    steps: Floats
    barrel: NDArray[np.int64]

    @classmethod
    def of(cls, barrels: Sequence[Visited]) -> "_Every":
        lost, exposure = (np.concatenate([getattr(each, name) for each in barrels]) for name in ("lost", "exposure"))
        followed = np.concatenate([each.is_followed for each in barrels])
        steps = np.concatenate([each.steps for each in barrels])
        return cls(
            lost, exposure, followed, steps, np.repeat(np.arange(len(barrels)), [len(each.lost) for each in barrels])
        )

    def residual(self, rate: Floats) -> Floats:
        return np.asarray(self.lost - rate[self.barrel] * self.exposure)

    def rates(self, kept: Bools, before: Floats) -> Floats:
        """Return what each barrel's kept visits lost over what they were exposed; as before where none is kept."""
        lost, exposed = (np.bincount(self.barrel, each * kept, len(before)) for each in (self.lost, self.exposure))
        return np.divide(lost, exposed, out=before.copy(), where=exposed > 0)

    def moments(
        self, residual: Floats, expected: Floats, kept: Bools, before: Noise, least: tuple[float, float] = LEAST
    ) -> Noise:
        """Solve squares = 2 level^2 + (1 - 1/n) own^2, products = - level^2 - own^2 / n, summed over kept visits.

        From the squares is taken what the jugs' steps add to them, as far as the level found before does not hold it.
        """
        fitted = kept / np.bincount(self.barrel, kept)[self.barrel].clip(1)  # 1/n: what fitting the rate takes away
        both = self.is_followed[:-1] & kept[:-1] & kept[1:]
        squares, products = (
            residual[kept] ** 2 / _KEPT - before.of_step(self.steps[kept]),
            (residual[:-1] * residual[1:])[both] / _KEPT,
        )
        own = float((expected**2 * (kept - fitted)).sum())
        own_beside = float((expected[:-1] * expected[1:] * fitted[:-1])[both].sum())
        matrix = np.array([[2.0 * kept.sum(), own], [-float(both.sum()), -own_beside]])
        usual = _USUAL_VISITS * np.array([[2.0, median(expected.tolist()) ** 2], [-1.0, 0.0]])
        sums = np.array([squares.sum(), products.sum()]) + usual @ (USUAL_NOISE.level_ml**2, USUAL_NOISE.share**2)
        level, share = _solved(matrix + usual, sums, least[0])
        found = Noise(max(least[0], level**0.5), max(least[1], share**0.5))
        return replace(found, rounding=_unpaid(level, float(np.mean(self.steps**2)) / 12))


def _unpaid(level: float, of_step: float) -> float:
    """Return the share of the rounding that the levels do not hold: what they err by beyond the usual is rounding."""
    if of_step <= 0:
        return 1.0
    return min(1.0, max(0.0, 1.0 - (level - USUAL_NOISE.level_ml**2) / of_step))


def _solved(matrix: Floats, sums: Floats, least_ml: float) -> tuple[float, float]:
    """Return level^2 and share^2, neither below what a cellar can have; the share follows from the level kept."""
    level = float(np.linalg.lstsq(matrix, sums, rcond=None)[0][0])
    level = max(least_ml**2, level)
    if matrix[0, 1] <= 0:  # nothing was expected to be lost: there is no share of it
        return level, 0.0
    return level, max(0.0, float((sums[0] - matrix[0, 0] * level) / matrix[0, 1]))

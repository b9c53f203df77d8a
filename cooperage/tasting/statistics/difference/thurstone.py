"""How far apart two liquids taste, whatever the test: d', the distance in standard deviations of one tasting.

A glass is perceived with a normal error of standard deviation 1; two liquids differ by d'. Each test turns d' into a
chance of a right answer of its own, so tests of different kinds are comparable by d' and not by right answers.

Source: Ennis (1993), Journal of Sensory Studies 8, 353-370; the tetrad: Ennis and Jesionka (2011), ibid. 26, 371-382;
standard error: Bi, Ennis and O'Mahony (1997), ibid. 12, 87-104.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from cooperage.tasting.statistics.difference.counts import DifferenceTest, NotAChance, checked_counts
from cooperage.tasting.statistics.quantiles import legendre
from cooperage.tasting.statistics.tables import Floats

_FARTHEST = 12.0
"""Liquids farther apart than this are right for certain in every test, to the last digit."""


@dataclass(frozen=True, slots=True)
class Distinguished:
    """What right answers show: estimates, and the ends of their exact intervals.

    `right` is the share of right answers, no less than guessing gives; `share` that of tasters who truly taste the
    difference; `d_prime` the distance [standard deviations of one tasting]. The ends of each are exact at least at the
    `level` asked for (Clopper and Pearson 1934, Biometrika 26, 404-413). `error` is the standard error of `d_prime`,
    infinite where guessing alone gives as many right.
    """

    right: float
    right_between: tuple[float, float]
    share: float
    share_between: tuple[float, float]
    d_prime: float
    d_prime_between: tuple[float, float]
    error: float
    level: float


def right_answers(test: DifferenceTest, d_prime: float) -> float:
    """Return the chance of a right answer when two liquids are `d_prime` apart.

    >>> from cooperage.tasting.statistics.difference.counts import TESTS
    >>> round(right_answers(TESTS["triangle"], 1.0), 6)
    0.418047
    """
    return float(_CHANCES[test.name](d_prime))


def d_prime_of(test: DifferenceTest, right: float) -> float:
    """Return how far apart two liquids are when answers are right so often; 0 at guessing or less, infinite at 1."""
    if not 0 <= right <= 1:
        raise NotAChance(right)
    if right <= float(test.guess):
        return 0.0
    low, high = 0.0, _FARTHEST
    if right >= right_answers(test, high):
        return math.inf
    while high - low > 1e-12:
        middle = (low + high) / 2
        low, high = (middle, high) if right_answers(test, middle) < right else (low, middle)
    return (low + high) / 2


def distinguished(test: DifferenceTest, correct: int, trials: int, level: float = 0.95) -> Distinguished:
    """Estimate from right answers how many tasters taste a difference and how large it is, with exact intervals.

    >>> from cooperage.tasting import difference_test, distinguished
    >>> found = distinguished(difference_test("triangle"), 10, 15)
    >>> round(found.share, 2), round(found.d_prime, 2), [round(end, 2) for end in found.d_prime_between]
    (0.5, 2.32, [0.76, 3.82])
    """
    if not 0 < level < 1:
        raise NotAChance(level)
    correct, trials = checked_counts(correct, trials)
    guess = float(test.guess)
    right = max(guess, correct / trials)
    ends = [max(guess, end) for end in exact_interval(correct, trials, level)]
    apart = d_prime_of(test, right)
    shares = [(end - guess) / (1 - guess) for end in (right, *ends)]
    return Distinguished(
        right,
        (ends[0], ends[1]),
        shares[0],
        (shares[1], shares[2]),
        apart,
        (d_prime_of(test, ends[0]), d_prime_of(test, ends[1])),
        _error(test, right, apart, trials),
        level,
    )


def exact_interval(correct: int, trials: int, level: float) -> tuple[float, float]:
    """Return the exact interval of a share, given so many of so many (Clopper and Pearson)."""
    from scipy.special import betaincinv

    beyond = (1 - level) / 2
    low = float(betaincinv(correct, trials - correct + 1, beyond)) if correct else 0.0
    high = float(betaincinv(correct + 1, trials - correct, 1 - beyond)) if correct < trials else 1.0
    return low, high


def _error(test: DifferenceTest, right: float, d_prime: float, trials: int) -> float:
    step = 1e-4
    if d_prime <= step or math.isinf(d_prime):
        return math.inf
    slope = (right_answers(test, d_prime + step) - right_answers(test, d_prime - step)) / (2 * step)
    return math.sqrt(right * (1 - right) / trials) / slope if slope > 0 else math.inf


def _normal(z: Floats | float) -> Floats:
    from scipy.special import ndtr

    return np.asarray(ndtr(z), dtype=np.float64)


_Z = np.linspace(-9.0, 9.0, 181)
"""Even steps over a normal density: their sum is the integral to the last digits."""
_DENSITY = np.exp(-_Z * _Z / 2) / math.sqrt(2 * math.pi) * (_Z[1] - _Z[0])


def _paired(d: float) -> float:
    return float(_normal(d / math.sqrt(2)))


def _three_afc(d: float) -> float:
    return float(_DENSITY @ _normal(_Z + d) ** 2)


def _duo_trio(d: float) -> float:
    near, far = float(_normal(d / math.sqrt(2))), float(_normal(d / math.sqrt(6)))
    return 1 - near - far + 2 * near * far


def _triangle(d: float) -> float:
    nodes, weights = legendre()
    z = 4.5 * (1 + nodes)  # the like two lie z apart on either side of their middle
    density = 9 * weights * np.exp(-z * z / 2) / math.sqrt(2 * math.pi)
    farther, half = d * math.sqrt(2 / 3), z * math.sqrt(3)
    return float(density @ (_normal(farther - half) + _normal(-farther - half)))


def _tetrad(d: float) -> float:
    lower = _normal(_Z - d)
    return float(1 - 2 * _DENSITY @ (2 * _normal(_Z) * lower - lower**2))


_CHANCES: dict[str, Callable[[float], float]] = {
    "paired": _paired,
    "3-afc": _three_afc,
    "duo-trio": _duo_trio,
    "triangle": _triangle,
    "tetrad": _tetrad,
}

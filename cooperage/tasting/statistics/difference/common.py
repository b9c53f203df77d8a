"""How far apart two liquids taste by several difference tests of them together, of whatever kinds.

Each test gives right answers of its own from one distance d', so the likeliest d' of all of them is sought, each taster
having answered once in each. Whether one d' explains them all is held against chi-square by the likelihood ratio: where
it does not, the tests were not of the same two, or not of like panels, and a common d' is no answer.

Sources: Brockhoff and Christensen (2010), Food Quality and Preference 21, 330-338, for the likelihood; Wilks (1938),
Annals of Mathematical Statistics 9, 60-62, for its ratio.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from cooperage.errors import BadInput
from cooperage.tasting.statistics.difference.counts import DifferenceTest, NotAChance, checked_counts
from cooperage.tasting.statistics.difference.thurstone import d_prime_of, right_answers
from cooperage.tasting.statistics.quantiles import chi2_tail

_FARTHEST = 12.0
"""Beyond it all answers are right, as far as any panel could taste."""
_NEAR = 1e-7
_STEP = 1e-4
_EDGE = 1e-12

CountedTest = tuple[DifferenceTest, int, int]
"""A test, how many answered right, and how many answered."""


class NoTestGiven(BadInput):
    """No difference test to find a common distance from."""

    def __init__(self) -> None:
        super().__init__("no difference test was given; give at least one with its right answers")


@dataclass(frozen=True, slots=True)
class CommonDistance:
    """The likeliest d' of several tests [standard deviations of one tasting], infinite where all answers are right.

    `between` are the ends at `level` by the profile likelihood, `error` its standard error, infinite at no distance.
    `p_alike` is the chance of tests so far apart if one d' gave them all; NaN for a single test.
    """

    d_prime: float
    error: float
    between: tuple[float, float]
    level: float
    p_alike: float
    tests: int
    answers: int


def common_distance(tests: Sequence[CountedTest], level: float = 0.95) -> CommonDistance:
    """Find the distance that several tests of the same two liquids have in common.

    Raises NoTestGiven, NotACount, NotAChance.

    >>> from cooperage.tasting import common_distance, difference_test
    >>> found = common_distance([(difference_test("triangle"), 25, 40), (difference_test("paired"), 35, 40)])
    >>> round(found.d_prime, 2), round(found.error, 2), round(found.p_alike, 2)
    (1.85, 0.28, 0.38)
    """
    if not 0 < level < 1:
        raise NotAChance(level)
    counted = [(test, *checked_counts(correct, trials)) for test, correct, trials in tests]
    if not counted:
        raise NoTestGiven
    fitted = _Likelihood(counted)
    best = fitted.best
    return CommonDistance(
        best,
        fitted.error(best),
        fitted.ends(best, level),
        level,
        fitted.p_alike(best),
        len(counted),
        sum(trials for _, _, trials in counted),
    )


class _Likelihood:
    """The log-likelihood of one distance for all tests."""

    def __init__(self, counted: Sequence[CountedTest]) -> None:
        self._counted = counted

    def __call__(self, d_prime: float) -> float:
        chances = [1.0 if math.isinf(d_prime) else right_answers(test, d_prime) for test, _, _ in self._counted]
        return sum(_log(chance, right, of) for chance, (_, right, of) in zip(chances, self._counted, strict=True))

    @property
    def best(self) -> float:
        """The likeliest distance; where each test has its own it lies between the nearest and the farthest."""
        own = [d_prime_of(test, right / of) for test, right, of in self._counted]
        low, high = min(own), min(max(own), _FARTHEST)
        if math.isinf(low):
            return math.inf
        return low if high - low < _NEAR or self._slope(low) <= 0 else _root(self._slope, low, high)

    def _slope(self, d_prime: float) -> float:
        at = max(d_prime, _STEP)
        return self(at + _STEP) - self(at - _STEP)

    def error(self, d_prime: float) -> float:
        """The standard error by what is expected of the answers (Fisher's information)."""
        if d_prime < _NEAR or math.isinf(d_prime):
            return math.inf
        known = sum(of * _known_by_one(test, d_prime) for test, _, of in self._counted)
        return 1 / math.sqrt(known) if known > 0 else math.inf

    def ends(self, d_prime: float, level: float) -> tuple[float, float]:
        """The distances on either side whose log-likelihood is less by half of chi-square's quantile."""
        from scipy.special import chdtri  # scipy stays out of start-up

        top = min(d_prime, _FARTHEST)
        least = self(top) - float(chdtri(1, 1 - level)) / 2

        def spare(at: float) -> float:
            return self(at) - least

        low = 0.0 if spare(0.0) >= 0 else _root(lambda at: -spare(at), 0.0, top)
        if math.isinf(d_prime) or spare(_FARTHEST) >= 0:
            return low, math.inf
        return low, _root(spare, top, _FARTHEST)

    def p_alike(self, d_prime: float) -> float:
        """The chance of a likelihood ratio so large, if one distance gave all; NaN for one test."""
        if len(self._counted) < 2:
            return math.nan
        apart = sum(_log(max(float(test.guess), right / of), right, of) for test, right, of in self._counted)
        return chi2_tail(max(0.0, 2 * (apart - self(d_prime))), len(self._counted) - 1)


def _known_by_one(test: DifferenceTest, d_prime: float) -> float:
    """Return what one answer is expected to show of a distance (Fisher's information)."""
    low, high = max(0.0, d_prime - _STEP), d_prime + _STEP
    slope = (right_answers(test, high) - right_answers(test, low)) / (high - low)
    chance = right_answers(test, d_prime)
    return slope**2 / max(chance * (1 - chance), _EDGE)


def _log(chance: float, right: int, of: int) -> float:
    """Return the log-likelihood of so many right, but for what does not hang on the chance."""
    return right * math.log(max(chance, _EDGE)) + (of - right) * math.log(max(1 - chance, _EDGE))


def _root(falling: Callable[[float], float], low: float, high: float) -> float:
    """Return where a function passes from more than nought to less."""
    while high - low > _NEAR:
        middle = (low + high) / 2
        low, high = (middle, high) if falling(middle) > 0 else (low, middle)
    return (low + high) / 2

"""Difference tests in which tasters answer more than once: their answers resemble each other.

That all of them guess is still tested by the plain binomial over all answers: guesses are independent whoever makes
them (Kunert and Meyners 1999, Food Quality and Preference 10, 477-482). How many taste it is not: a taster who does
tastes it again. So the share of sets in which a taster tastes it varies between tasters by a beta distribution, and
guessing comes on top: the chance-corrected beta-binomial (Brockhoff 2003, Food Quality and Preference 14, 405-417).

Ends are those of the profile likelihood; as so few tasters are not the many that its usual limit supposes, the limit is
that of F with as many degrees of freedom as there are tasters less one (common practice; tried by simulation in
tests/benchmarks/bench_repeated_tasters.py).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from cooperage.tasting.statistics.difference.counts import DifferenceTest, NotAChance, by_guessing, checked_counts
from cooperage.tasting.statistics.difference.thurstone import d_prime_of
from cooperage.tasting.statistics.quantiles import chi2_tail, student
from cooperage.tasting.statistics.tables import Floats

_MOST_SPREAD = 1 - 1e-9
_EDGE = 1e-9
_NEAR = 2e-5
"""A share or a spread is sought as near as this; the likelihood near its peak is flatter than that."""
Right = Sequence[tuple[int, int]]
"""Of each taster: how many right, of how many answers."""


@dataclass(frozen=True, slots=True)
class RepeatedAnswers:
    """What repeated answers show: `p` by guessing, and estimates of the chance-corrected beta-binomial.

    `share` is the mean share of sets in which a taster tastes the difference, `spread` how far tasters are apart in it
    (0: all alike, 1: each always or never), `d_prime` the distance for that share. The ends hold at about `level`.
    `log_likelihood` is that of the fit; `p_spread` the chance of tasters so far apart if all were alike.
    """

    tasters: int
    answers: int
    right: int
    p: float
    share: float
    spread: float
    share_between: tuple[float, float]
    d_prime: float
    d_prime_between: tuple[float, float]
    log_likelihood: float
    p_spread: float
    level: float


def repeated_answers(test: DifferenceTest, right: Right, level: float = 0.95) -> RepeatedAnswers | None:
    """Return what answers of tasters show of whom some answered more than once; None for fewer than two tasters.

    Raises NotACount, NotAChance.
    """
    if not 0 < level < 1:
        raise NotAChance(level)
    counts = [checked_counts(*each) for each in right]
    if len(counts) < 2:
        return None
    fitted = _Fit(counts, float(test.guess))
    share, best = fitted.best
    spread, _ = fitted.spread_at(share)
    reach = student(len(counts) - 1, (1 - level) / 2) ** 2 / 2
    ends = fitted.ends(share, best - reach)
    alike = max(fitted.log_likelihood(mean, 0.0) for mean in (share, _binomial_share(counts, float(test.guess))))
    correct, answers = (sum(each[at] for each in counts) for at in (0, 1))
    apart = [d_prime_of(test, float(test.guess) + (1 - float(test.guess)) * end) for end in (share, *ends)]
    return RepeatedAnswers(
        tasters=len(counts),
        answers=answers,
        right=correct,
        p=by_guessing(test, correct, answers),
        share=share,
        spread=spread,
        share_between=ends,
        d_prime=apart[0],
        d_prime_between=(apart[1], apart[2]),
        log_likelihood=best,
        p_spread=chi2_tail(2 * max(0.0, best - alike), 1),
        level=level,
    )


def _binomial_share(counts: Right, guess: float) -> float:
    right, answers = (sum(each[at] for each in counts) for at in (0, 1))
    return max(0.0, (right / answers - guess) / (1 - guess))


class _Fit:
    """The likelihood of a mean share and a spread, and where it is highest."""

    def __init__(self, counts: Right, guess: float) -> None:
        self._terms = [(_Terms(right, of, guess), times) for (right, of), times in Counter(counts).items()]
        self._start = _binomial_share(counts, guess)

    def log_likelihood(self, share: float, spread: float) -> float:
        chances = [(terms.chance(share, spread), times) for terms, times in self._terms]
        return sum(times * math.log(max(chance, 1e-300)) for chance, times in chances)

    def spread_at(self, share: float) -> tuple[float, float]:
        """Return the likeliest spread for a share, and its log-likelihood."""
        return _highest(lambda spread: self.log_likelihood(share, spread), 0.0, _MOST_SPREAD)

    @property
    def best(self) -> tuple[float, float]:
        """The likeliest share, and its log-likelihood."""
        return _highest(self._profile, 0.0, 1.0)

    def _profile(self, share: float) -> float:
        return self.spread_at(share)[1]

    def ends(self, share: float, least: float) -> tuple[float, float]:
        """Return the shares on either side whose log-likelihood is no less."""
        return self._end(share, 0.0, least), self._end(share, 1.0, least)

    def _end(self, inside: float, edge: float, least: float) -> float:
        if abs(edge - inside) <= _EDGE or self._profile(edge) >= least:
            return edge
        outside = edge
        while abs(outside - inside) > _NEAR:
            middle = (inside + outside) / 2
            inside, outside = (middle, outside) if self._profile(middle) >= least else (inside, middle)
        return inside


class _Terms:
    """The chance of so many right of so many answers: a sum over how many of the right ones were tasted."""

    def __init__(self, right: int, of: int, guess: float) -> None:
        tasted = np.arange(right + 1)
        self._wrong, self._right = of - right, right
        ways = [math.comb(of, right) * math.comb(right, each) for each in tasted.tolist()]
        self._weights = np.array(ways, dtype=float) * guess ** (right - tasted) * (1 - guess) ** (tasted + of - right)

    def chance(self, share: float, spread: float) -> float:
        steps: Floats = np.arange(self._right + self._wrong, dtype=np.float64) * spread
        taste = _products(share * (1 - spread) + steps[: self._right])
        miss = _products((1 - share) * (1 - spread) + steps[: self._wrong])[-1]
        whole = _products(1 - spread + steps)[self._wrong :]
        return float(self._weights @ (taste * miss / whole))


def _products(factors: Floats) -> Floats:
    """Return 1 and the products of the first one, two, ... factors."""
    return np.concatenate(([1.0], np.cumprod(factors)))


def _highest(of: Callable[[float], float], low: float, high: float) -> tuple[float, float]:
    """Return where a function with one peak is highest, and how high: a coarse look, then golden sections."""
    places = np.linspace(low, high, 7).tolist()
    heights = [of(place) for place in places]
    at = int(np.argmax(heights))
    found = _golden(of, places[max(at - 1, 0)], places[min(at + 1, len(places) - 1)])
    return max(found, (places[at], heights[at]), key=lambda each: each[1])


def _golden(of: Callable[[float], float], low: float, high: float) -> tuple[float, float]:
    ratio = (math.sqrt(5) - 1) / 2
    left, right = high - ratio * (high - low), low + ratio * (high - low)
    at_left, at_right = of(left), of(right)
    while high - low > _NEAR:
        if at_left >= at_right:
            high, right, at_right = right, left, at_left
            left = high - ratio * (high - low)
            at_left = of(left)
        else:
            low, left, at_left = left, right, at_right
            right = low + ratio * (high - low)
            at_right = of(right)
    return max((left, at_left), (right, at_right), key=lambda each: each[1])

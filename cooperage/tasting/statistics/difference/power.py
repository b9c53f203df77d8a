"""How many tasters a difference test needs, and when right answers are few enough to call two liquids alike.

A share of the tasters truly tastes the difference and the others guess, so an answer is right with chance
share + (1 - share) x guess. Power rises with the number of tasters in a saw, because right answers are whole: the
fewest tasters that reach it are not always enough a few tasters on. Both numbers are given.

Rules: ISO 4120 (tables A.2 and A.3) and ISO 10399.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from cooperage.tasting.statistics.difference.counts import (
    DifferenceTest,
    NotAChance,
    checked_counts,
    fewest_correct,
    tail_of,
)
from cooperage.tasting.statistics.tables import Floats, Integers

_SLACK = 1e-12
"""A tail that meets a level exactly may come out a little beyond it."""
MOST_TASTERS_IN_A_TEST = 5000
"""No panel larger than this is thought of."""


@dataclass(frozen=True, slots=True)
class TastersNeeded:
    """How many tasters, one trial each, a difference test needs.

    `first` is the smallest number that reaches the power, with `correct` right answers needed and the `power` it has;
    from `stable` on no larger number falls short of it.
    """

    first: int
    correct: int
    power: float
    stable: int


def right_share(test: DifferenceTest, share: float) -> float:
    """Return the chance of a right answer when a share [0 to 1] of the tasters can truly taste the difference."""
    if not 0 <= share <= 1:
        raise NotAChance(share)
    return share + (1 - share) * float(test.guess)


def power(test: DifferenceTest, trials: int, alpha: float, share: float) -> float:
    """Return the chance that a test is significant at `alpha` when a share [0 to 1] truly tastes the difference."""
    needed = fewest_correct(test, trials, alpha)
    if not 0 <= share <= 1:
        raise NotAChance(share)
    return 0.0 if needed is None else float(tail_of(needed, trials, _right(test, share)))


def chance_of_so_few(test: DifferenceTest, correct: int, trials: int, share: float) -> float:
    """Return the chance of this many right answers or fewer if a share [0 to 1] truly tasted the difference."""
    if not 0 <= share <= 1:
        raise NotAChance(share)
    correct, trials = checked_counts(correct, trials)
    return float(1 - tail_of(correct + 1, trials, _right(test, share)))


def most_correct(test: DifferenceTest, trials: int, beta: float, share: float) -> int | None:
    """Return the most right answers that still show, at `beta`, that fewer than `share` of the tasters taste it.

    None where only as few right answers as guessing gives would show it: then the panel is too small for the question.
    """
    if not 0 < beta < 1 or not 0 < share < 1:
        raise NotAChance(share if 0 < beta < 1 else beta)
    _, trials = checked_counts(0, trials)
    right = _right(test, share)
    least = math.floor(trials * test.guess) + 1
    for correct in range(trials, least - 1, -1):
        if float(1 - tail_of(correct + 1, trials, right)) <= beta:
            return correct
    return None


def tasters_needed(test: DifferenceTest, share: float, alpha: float = 0.05, beta: float = 0.2) -> TastersNeeded | None:
    """Return how many tasters find, with chance 1 - beta, a difference that a share of them truly tastes.

    None where more than `MOST_TASTERS_IN_A_TEST` would be needed.

    >>> from cooperage.tasting import difference_test, tasters_needed
    >>> needed = tasters_needed(difference_test("triangle"), 0.5, beta=0.05)
    >>> needed.first, needed.stable
    (23, 29)
    """
    _check_chances(share, alpha, beta)
    guess, right = float(test.guess), right_share(test, share)
    trials = _panels(guess, right, alpha, beta)
    return _reaching(trials, *_powers(trials, alpha, guess, right), 1 - beta)


def tasters_to_show_alike(
    test: DifferenceTest, share: float, *, truly: float = 0.0, alpha: float = 0.05, beta: float = 0.2
) -> TastersNeeded | None:
    """Return how many tasters show, with chance 1 - beta, that fewer than `share` of them taste a difference.

    `truly` is the share that does taste it; `alpha` the chance to call two liquids alike though `share` taste them
    apart. `correct` of the answer is the most right answers then. None as in `tasters_needed`.
    """
    _check_chances(share, alpha, beta)
    if not 0 <= truly < share:
        raise NotAChance(truly)
    # a wrong answer is to the share as a right one is to guessing: the same test, seen from the other side
    wrong, seldom = 1 - right_share(test, share), 1 - right_share(test, truly)
    trials = _panels(wrong, seldom, alpha, beta)
    needed, powers = _powers(trials, alpha, wrong, seldom)
    return _reaching(trials, trials - needed, powers, 1 - beta)


def _check_chances(*chances: float) -> None:
    for chance in chances:
        if not 0 < chance < 1:
            raise NotAChance(chance)


def _panels(guess: float, right: float, alpha: float, beta: float) -> Integers:
    """Numbers of tasters to look at: twice what the normal distribution asks for, and some."""
    from scipy.special import ndtri

    spread = ndtri(1 - alpha) * math.sqrt(guess * (1 - guess)) + ndtri(1 - beta) * math.sqrt(right * (1 - right))
    about = math.ceil((spread / (right - guess)) ** 2)
    return np.arange(1, min(MOST_TASTERS_IN_A_TEST, 2 * about + 100) + 1)


def _powers(trials: Integers, alpha: float, guess: float, right: float) -> tuple[Integers, Floats]:
    """Fewest right answers significant at `alpha` for each number of tasters, and the chance of so many or more."""
    from scipy.special import bdtrc, bdtrik

    needed = np.ceil(bdtrik(1 - alpha, trials, guess)) + 1
    needed -= bdtrc(needed - 2, trials, guess) <= alpha + _SLACK  # where a tail meets the level exactly
    needed += bdtrc(needed - 1, trials, guess) > alpha + _SLACK
    powers: Floats = np.where(needed > trials, 0.0, bdtrc(np.minimum(needed, trials) - 1, trials, right))
    return needed.astype(np.int64), powers


def _reaching(trials: Integers, counts: Integers, powers: Floats, wanted: float) -> TastersNeeded | None:
    enough = powers >= wanted - _SLACK
    if not enough[-1]:
        return None
    first = int(enough.argmax())
    stable = int(np.flatnonzero(~enough).max(initial=-1)) + 1
    return TastersNeeded(int(trials[first]), int(counts[first]), float(powers[first]), int(trials[stable]))


def _right(test: DifferenceTest, share: float) -> Fraction:
    """Chance of a right answer, exact: 0.3 is three tenths."""
    known = Fraction(share).limit_denominator(10**6)
    return known + (1 - known) * test.guess

"""Can the panel distinguish two liquids? Triangle, duo-trio, paired, 3-AFC and tetrad tests.

All count right answers against guessing, so all are one binomial tail. Tails are summed as exact fractions. Designs as
in ISO 4120 (triangle), ISO 10399 (duo-trio) and ISO 5495 (paired comparison); the 3-AFC and the tetrad as in Ennis
(1993), Journal of Sensory Studies 8, 353-370, and Ennis and Jesionka (2011), ibid. 26, 371-382.
"""

from __future__ import annotations

import operator
from dataclasses import dataclass
from fractions import Fraction
from math import comb

from cooperage.errors import BadInput, OutOfRange, choose_from

_ONE_IN_THREE = Fraction(1, 3)
_ONE_IN_TWO = Fraction(1, 2)


class NotACount(BadInput):
    """A number of answers that is not whole, or not between none and all."""

    def __init__(self, correct: object, trials: object) -> None:
        self.correct, self.trials = correct, trials
        super().__init__(
            f"{correct} right answers of {trials} cannot be; give whole numbers, "
            "at least one trial, and from none to all right"
        )


class NotAChance(OutOfRange):
    """A level or share outside the range a chance can have."""

    def __init__(self, value: float) -> None:
        self.value = value
        super().__init__(f"{value} is not a chance; give a number above 0 and below 1, such as 0.05")


class NoSuchTest(BadInput):
    """A difference test that is not known."""

    def __init__(self, name: str) -> None:
        self.name = name
        super().__init__(f"there is no test '{name}'{choose_from(name, TESTS)}")


@dataclass(frozen=True, slots=True)
class DifferenceTest:
    """A test that counts right answers: how many glasses it takes, how often a guess is right, what is asked."""

    name: str
    glasses: int
    guess: Fraction
    question: str


TESTS = {
    test.name: test
    for test in (
        DifferenceTest("triangle", 3, _ONE_IN_THREE, "two glasses are the same; which is the odd one?"),
        DifferenceTest("duo-trio", 3, _ONE_IN_TWO, "which of two glasses is the same as the first?"),
        DifferenceTest("paired", 2, _ONE_IN_TWO, "which of two glasses has more of what was named beforehand?"),
        DifferenceTest("3-afc", 3, _ONE_IN_THREE, "which of three glasses has more of what was named beforehand?"),
        DifferenceTest("tetrad", 4, _ONE_IN_THREE, "which two of four glasses are the same, and which other two?"),
    )
}
"""The difference tests by name."""


def difference_test(name: str) -> DifferenceTest:
    """Find a test by its name in any case; raises NoSuchTest.

    >>> from cooperage.tasting import difference_test
    >>> difference_test("duo-trio").question
    'which of two glasses is the same as the first?'
    """
    found = TESTS.get(name.strip().lower())
    if found is None:
        raise NoSuchTest(name)
    return found


def by_guessing(test: DifferenceTest, correct: int, trials: int) -> float:
    """Return the chance of this many right answers or more if every taster guessed.

    >>> from cooperage.tasting.statistics.difference.counts import TESTS, by_guessing
    >>> round(by_guessing(TESTS["tetrad"], 9, 15), 3)
    0.031
    """
    return float(tail_of(*checked_counts(correct, trials), test.guess))


def fewest_correct(test: DifferenceTest, trials: int, alpha: float) -> int | None:
    """Return the fewest right answers of `trials` significant at `alpha`; None if even all right would not be."""
    return _critical(trials, alpha, test.guess)


def triangle_test(correct: int, trials: int) -> float:
    """Chance of this many right answers or more by guessing, one guess in three being right (ISO 4120).

    >>> from cooperage.tasting import triangle_test
    >>> round(triangle_test(13, 24), 3)
    0.028
    """
    return float(tail_of(*checked_counts(correct, trials), _ONE_IN_THREE))


def triangle_critical(trials: int, alpha: float) -> int | None:
    """Fewest right answers of `trials` significant at `alpha`; None if even all right would not be.

    >>> from cooperage.tasting import triangle_critical
    >>> triangle_critical(24, 0.05)
    13
    """
    return _critical(trials, alpha, _ONE_IN_THREE)


def triangle_power(trials: int, alpha: float, discriminating_share: float) -> float:
    """Chance that a triangle test is significant at `alpha` when a share `discriminating_share` can distinguish.

    The others guess, so an answer is right with chance tell_apart + (1 - tell_apart) / 3 (ISO 4120, annex).
    `discriminating_share` is from 0 to 1.
    """
    if not 0 <= discriminating_share <= 1:
        raise NotAChance(discriminating_share)
    needed = triangle_critical(trials, alpha)
    right = Fraction(discriminating_share).limit_denominator(10**6)
    return 0.0 if needed is None else float(tail_of(needed, trials, right + (1 - right) * _ONE_IN_THREE))


def duo_trio_test(correct: int, trials: int) -> float:
    """Chance of this many right answers or more by guessing, one guess in two being right (ISO 10399)."""
    return float(tail_of(*checked_counts(correct, trials), _ONE_IN_TWO))


def duo_trio_critical(trials: int, alpha: float) -> int | None:
    """Fewest right answers of `trials` significant at `alpha`; None if even all right would not be."""
    return _critical(trials, alpha, _ONE_IN_TWO)


def paired_test(chosen: int, trials: int, *, two_sided: bool = True) -> float:
    """Chance of a choice this lopsided if both glasses were chosen alike (ISO 5495).

    One-sided when it was settled beforehand which glass should be chosen (which is sweeter?), two-sided when
    either could be (which is preferred?). `chosen` counts the choices of the one glass.
    """
    chosen, trials = checked_counts(chosen, trials)
    if not two_sided:
        return float(tail_of(chosen, trials, _ONE_IN_TWO))
    return float(min(Fraction(1), 2 * tail_of(max(chosen, trials - chosen), trials, _ONE_IN_TWO)))


def paired_critical(trials: int, alpha: float, *, two_sided: bool = True) -> int | None:
    """Fewest choices of one glass (either, when two-sided) significant at `alpha`; None if none are."""
    return _critical(trials, alpha, _ONE_IN_TWO, sides=2 if two_sided else 1)


def checked_counts(correct: int, trials: int) -> tuple[int, int]:
    """Return right answers and trials as whole numbers; raises NotACount."""
    try:
        right, tried = operator.index(correct), operator.index(trials)
    except TypeError:
        raise NotACount(correct, trials) from None
    if not 0 <= right <= tried or tried < 1:
        raise NotACount(correct, trials)
    return right, tried


def tail_of(correct: int, trials: int, guess: Fraction) -> Fraction:
    """Exact chance of `correct` or more right answers, each right with chance `guess`."""
    right, wrong = guess.numerator, guess.denominator - guess.numerator
    ways = sum(comb(trials, i) * right**i * wrong ** (trials - i) for i in range(correct, trials + 1))
    return Fraction(ways, guess.denominator**trials)


def _critical(trials: int, alpha: float, guess: Fraction, sides: int = 1) -> int | None:
    """Walk down from all right, adding one term at a time, while the chance stays within alpha."""
    _, trials = checked_counts(0, trials)
    if not 0 < alpha < 1:
        raise NotAChance(alpha)
    right, wrong = guess.numerator, guess.denominator - guess.numerator
    every = guess.denominator**trials
    ways, fewest = 0, None
    for correct in range(trials, -1, -1):
        ways += comb(trials, correct) * right**correct * wrong ** (trials - correct)
        if sides * ways / every > alpha:  # the chance as the tests report it, so that the two never disagree
            break
        fewest = correct
    return fewest

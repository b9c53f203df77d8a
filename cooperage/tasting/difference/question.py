"""What a difference test asks, and how surely it is to be answered."""

from dataclasses import dataclass

from cooperage.tasting.difference.errors import NotAskedSo
from cooperage.tasting.statistics.difference.counts import DifferenceTest, NotAChance, difference_test

DIFFER, ALIKE = "differ", "alike"
SAMPLES = ("A", "B")
"""The two samples, as the `role` of their glasses."""
MOST_ROUNDS = 12
"""No taster tastes more sets than this in one flight: the tongue tires sooner (common practice, no source)."""
_ASKED = {
    "triangle": "Two glasses are the same: which is the odd one?",
    "duo-trio": "The first glass is the reference: which of the other two is the same?",
    "tetrad": "Two glasses are of one kind, two of another: which two are the same?",
}


@dataclass(frozen=True, slots=True)
class DifferenceQuestion:
    """A test by name, what it aims at, and the risks: `alpha` to be wrong, `power` to find what a `share` tastes.

    `asked` is what one has more of, `expected` the sample that was named for it beforehand, `reference` the known
    glass of a duo-trio where it is always the same sample.
    """

    test: str
    aim: str = DIFFER
    asked: str = ""
    expected: str = ""
    reference: str = ""
    rounds: int = 1
    alpha: float = 0.05
    share: float = 0.5
    power: float = 0.8

    @property
    def counted(self) -> DifferenceTest:
        """The test as the statistics count it."""
        return difference_test(self.test)

    @property
    def is_two_sided(self) -> bool:
        """Return True if either sample may be chosen: nothing was expected of a paired test."""
        return self.test == "paired" and not self.expected

    @property
    def is_preference(self) -> bool:
        """Return True if it is asked which is preferred."""
        return self.test == "paired" and not self.asked

    @property
    def level(self) -> float:
        """The level of a one-sided test that is the same: half of `alpha` where either sample may be chosen."""
        return self.alpha / 2 if self.is_two_sided else self.alpha

    @property
    def named(self) -> int:
        """How many glasses of a set an answer names."""
        return 2 if self.test == "tetrad" else 1

    @property
    def words(self) -> str:
        """What each taster is asked of a set."""
        if self.test in _ASKED:
            return _ASKED[self.test]
        return f"Which glass has more {self.asked}?" if self.asked else "Which glass do you prefer?"


def checked_question(question: DifferenceQuestion) -> DifferenceQuestion:
    """Return a question that can be asked. Raises NoSuchTest, NotAChance, NotAskedSo."""
    test = difference_test(question.test).name
    for chance in (question.alpha, question.share, question.power):
        if not 0 < chance < 1:
            raise NotAChance(chance)
    if not 1 <= question.rounds <= MOST_ROUNDS:
        raise NotAskedSo(f"{question.rounds} rounds cannot be; give from 1 to {MOST_ROUNDS} sets a taster")
    if why := _misfit(question, test):
        raise NotAskedSo(f"{why} ({test})")
    return question


def _misfit(question: DifferenceQuestion, test: str) -> str:
    """Return why what is asked does not go with the test; empty where it does."""
    directed = test in ("paired", "3-afc")
    if question.asked and not directed:
        return "what one has more of is asked in a paired test or a 3-AFC alone; leave it out"
    if question.expected and not question.asked:
        return "one is expected to have more of something; name of what"
    if test == "3-afc" and not question.expected:
        return "name what one has more of, and which one is expected to"
    if question.reference and test != "duo-trio":
        return "only a duo-trio has a reference; leave it out"
    if question.aim == ALIKE and question.is_two_sided:
        return "two are shown alike by right answers alone; name which is expected, or take a triangle or a tetrad"
    return ""

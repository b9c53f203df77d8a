"""What so many answers can show of a question, shown before anything is poured."""

from dataclasses import dataclass

from cooperage.tasting.difference.question import ALIKE, DifferenceQuestion
from cooperage.tasting.statistics.difference.found import per_cent
from cooperage.tasting.statistics.difference.power import (
    MOST_TASTERS_IN_A_TEST,
    TastersNeeded,
    chance_of_so_few,
    most_correct,
    power,
    tasters_needed,
    tasters_to_show_alike,
)
from cooperage.units import DEFAULT, Units, counted


@dataclass(frozen=True, slots=True)
class PlannedTest:
    """So many answers, the chance that they show what is asked, and how many do so with the chance that is wanted.

    Each answer counts as one of a taster of its own. `needed` is None where no panel that is thought of is enough.
    """

    question: DifferenceQuestion
    answers: int
    power: float
    needed: TastersNeeded | None

    @property
    def is_enough(self) -> bool:
        """Return True if so many answers show it with the chance that is wanted."""
        return self.power >= self.question.power - 1e-12

    def words(self, units: Units = DEFAULT) -> str:
        """What so many answers can show, and how many the question needs."""
        question = self.question
        share, chance = per_cent(question.share, units), per_cent(self.power, units)
        who = f"a test of {counted(self.answers, 'answer')}"
        if question.aim == ALIKE:
            shown = f"Where no taster tastes a difference, {who} shows that fewer than {share} do {chance} of the time"
        elif question.is_two_sided:
            shown = f"Where {share} more choose the one than the other, {who} shows it {chance} of the time"
        else:
            shown = f"Where {share} taste a difference, {who} finds it {chance} of the time"
        wanted = per_cent(question.power, units)
        if self.needed is None:
            return f"{shown}; for {wanted} more than {MOST_TASTERS_IN_A_TEST} tasters are needed."
        return f"{shown}; for {wanted} at least {self.needed.first} tasters are needed, with one answer each."


def planned_test(question: DifferenceQuestion, answers: int) -> PlannedTest:
    """Return what so many answers can show of a question; raises NotAChance."""
    test, missed = question.counted, 1 - question.power
    if question.aim == ALIKE:
        most = most_correct(test, answers, question.alpha, question.share)
        reached = 0.0 if most is None else chance_of_so_few(test, most, answers, 0.0)
        needed = tasters_to_show_alike(test, question.share, alpha=question.alpha, beta=missed)
        return PlannedTest(question, answers, reached, needed)
    reached = power(test, answers, question.level, question.share)
    return PlannedTest(question, answers, reached, tasters_needed(test, question.share, question.level, missed))

"""A difference test as it is read from the book: its two samples, the sets of glasses, and what was answered."""

from dataclasses import dataclass, field
from datetime import datetime

from cooperage.book.declared.spelling import folded
from cooperage.tasting.difference.designs import is_right
from cooperage.tasting.difference.errors import AnswersToCome, NoSetDrawn
from cooperage.tasting.difference.question import DifferenceQuestion
from cooperage.tasting.flights.shape import Glass, Peek


@dataclass(slots=True)
class PresentedSet:
    """One set of glasses: whose, in which round, their codes as they are tasted, and the codes that were answered.

    `order` are the samples in the glasses, as "AAB"; it ties codes to each other and is shown only when revealed.
    """

    id: str
    taster: str
    round: int
    codes: list[str]
    order: str
    drawn_at: datetime
    answer: list[str] = field(default_factory=list)
    answered_at: datetime | None = None

    def is_right(self, question: DifferenceQuestion) -> bool:
        """Return True if the answer counts as right (see `designs.is_right`); False without one."""
        return bool(self.answer) and is_right(question, self.order, [self.codes.index(code) for code in self.answer])


@dataclass(slots=True)
class DifferenceFlight:
    """A difference test: what it asks, its glasses in the order of the sets, the sets by taster and round.

    `named` are the tasters who were named when it was poured, `departed` those who left before the end.
    """

    id: str
    code: str
    name: str
    question: DifferenceQuestion
    poured_at: datetime
    revealed_at: datetime | None
    revealed_by: str = ""
    glasses: list[Glass] = field(default_factory=list)
    sets: list[PresentedSet] = field(default_factory=list)
    peeks: list[Peek] = field(default_factory=list)
    named: list[str] = field(default_factory=list)
    departed: dict[str, datetime] = field(default_factory=dict)

    @property
    def is_blind(self) -> bool:
        """Return True if the codes have not been lifted yet."""
        return self.revealed_at is None

    @property
    def panel(self) -> list[str]:
        """Everyone for whom glasses are poured, in that order."""
        return list(dict.fromkeys(each.taster for each in self.sets))

    @property
    def tasters(self) -> list[str]:
        """Everyone who has answered a set, by name."""
        return sorted({each.taster for each in self.sets if each.answer})

    @property
    def samples(self) -> dict[str, Glass]:
        """A glass of each sample by its letter."""
        found = {glass.role: glass for glass in reversed(self.glasses)}
        return {letter: found[letter] for letter in sorted(found)}

    def called(self, sample: str) -> str:
        """Return what a sample is called, "A" or "B" where no glass of it is known."""
        glass = self.samples.get(sample)
        return sample if glass is None else glass.called

    @property
    def answered(self) -> list[PresentedSet]:
        """The sets that have an answer."""
        return [each for each in self.sets if each.answer]

    def sets_of(self, taster: str) -> list[PresentedSet]:
        """Return a taster's sets, in the order of the rounds. Raises NoSetDrawn."""
        name = self.taster_named(taster)
        found = [each for each in self.sets if each.taster == name]
        if not found:
            raise NoSetDrawn(self.code, name, self.panel)
        return found

    def left_to_give(self) -> list[tuple[str, int]]:
        """Return who has sets left to answer and did not leave, with how many."""
        left = {taster: sum(not each.answer for each in self.sets if each.taster == taster) for taster in self.panel}
        return [(taster, count) for taster, count in left.items() if count and taster not in self.departed]

    def check_all_in(self) -> None:
        """Ask back whether to close a test with sets left to answer, or that has no answer; raises AnswersToCome."""
        left = self.left_to_give()
        if left or not self.answered:
            raise AnswersToCome(self.code, left)

    def taster_named(self, name: str) -> str:
        """Return a taster's name as the flight has it, whatever its capitals; a new one as it is."""
        wanted = folded(name)
        return next((taster for taster in self.panel if folded(taster) == wanted), name.strip())

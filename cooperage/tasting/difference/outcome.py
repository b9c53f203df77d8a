"""What a revealed difference test shows, and several of the same two samples together: one distance, if it fits all."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from cooperage.book import Book, Cellar
from cooperage.tasting.difference.planned import PlannedTest, planned_test
from cooperage.tasting.difference.question import ALIKE
from cooperage.tasting.difference.shape import DifferenceFlight
from cooperage.tasting.difference.stored import difference_flights_in
from cooperage.tasting.flights.errors import StillBlind
from cooperage.tasting.panel import p_words
from cooperage.tasting.statistics.difference.common import CommonDistance, common_distance
from cooperage.tasting.statistics.difference.counts import by_guessing, paired_test
from cooperage.tasting.statistics.difference.found import DifferenceFound, difference_found, per_cent
from cooperage.tasting.statistics.difference.replicated import RepeatedAnswers, repeated_answers
from cooperage.tasting.statistics.difference.thurstone import exact_interval
from cooperage.units import DEFAULT, Units


@dataclass(frozen=True)
class DifferenceOutcome:
    """A revealed test: of each taster who answered how many counted, and how many there were.

    An answer counts that is right, or where nothing was expected of a paired test, that chose the second sample, B.
    """

    flight: DifferenceFlight
    by_taster: dict[str, tuple[int, int]]

    @property
    def right(self) -> int:
        """How many answers count."""
        return sum(right for right, _ in self.by_taster.values())

    @property
    def answers(self) -> int:
        """How many answers there are."""
        return sum(of for _, of in self.by_taster.values())

    @property
    def is_repeated(self) -> bool:
        """Return True if a taster answered more than once."""
        return self.answers > len(self.by_taster)

    @property
    def p(self) -> float:
        """The chance of as many or more right answers if everybody guessed; of a choice so uneven, of a paired test."""
        question = self.flight.question
        if question.is_two_sided:
            return paired_test(self.right, self.answers)
        return by_guessing(question.counted, self.right, self.answers)

    @property
    def sure(self) -> float:
        """The level of the intervals: their end lies at guessing just where the test is significant."""
        return max(1 - 2 * self.flight.question.level, 0.5)

    @property
    def is_shown(self) -> bool:
        """Return True if more answers count than guessing explains."""
        return self.p <= self.flight.question.alpha

    @cached_property
    def found(self) -> DifferenceFound | None:
        """What right answers show where each taster answered once; None of repeated answers, and of a mere choice."""
        question = self.flight.question
        if not self.answers or self.is_repeated or question.is_two_sided:
            return None
        asked = {"alpha": question.alpha, "share": question.share, "wanted": question.power}
        return difference_found(question.counted, self.right, self.answers, **asked)

    @cached_property
    def repeated(self) -> RepeatedAnswers | None:
        """What repeated answers show; None where none are, all are of one taster, or of a mere choice."""
        question = self.flight.question
        if not self.is_repeated or question.is_two_sided:
            return None
        return repeated_answers(question.counted, tuple(self.by_taster.values()), self.sure)

    @cached_property
    def planned(self) -> PlannedTest:
        """What so many answers could show."""
        return planned_test(self.flight.question, self.answers)

    @property
    def chosen_between(self) -> tuple[float, float] | None:
        """The exact ends of the share who choose the second sample, each taster having chosen once; else None."""
        if not self.flight.question.is_two_sided or self.is_repeated or not self.answers:
            return None
        return exact_interval(self.right, self.answers, self.sure)

    @property
    def shares(self) -> tuple[float, float, float] | None:
        """The share of tasters who taste the difference and its ends; None where answers do not show it."""
        if self.found is not None:
            return (self.found.estimate.share, *self.found.estimate.share_between)
        return None if self.repeated is None else (self.repeated.share, *self.repeated.share_between)

    @property
    def distances(self) -> tuple[float, float, float] | None:
        """D' and its ends; None where answers do not show it."""
        if self.found is not None:
            return (self.found.estimate.d_prime, *self.found.estimate.d_prime_between)
        return None if self.repeated is None else (self.repeated.d_prime, *self.repeated.d_prime_between)

    @property
    def is_shown_alike(self) -> bool:
        """Return True if too few were right for the share that is asked about to taste a difference, at `alpha`."""
        if self.found is not None:
            return self.found.is_shown_alike
        if self.repeated is None or self.right * self.flight.question.counted.guess.denominator < self.answers:
            return False  # fewer right than guessing gives is a reason to look at how it was poured
        return self.repeated.share_between[1] < self.flight.question.share

    def brief(self, units: Units = DEFAULT) -> str:
        """The result in a few words: "13 of 24 right, p = 0.028"."""
        question, flight = self.flight.question, self.flight
        if not self.answers:
            return "no answers"
        if question.is_two_sided:
            chose = f"{self.right} of {self.answers} chose {flight.called('B')}"
            return f"{chose}, p {p_words(self.p, units)}"
        sure = f"; fewer than {per_cent(question.share, units)} taste it" if self._is_wanted_and_shown else ""
        return f"{self.right} of {self.answers} right, p {p_words(self.p, units)}{sure}"

    @property
    def _is_wanted_and_shown(self) -> bool:
        return self.flight.question.aim == ALIKE and self.is_shown_alike


def difference_outcome(poured: DifferenceFlight) -> DifferenceOutcome:
    """Return what a revealed difference test shows; raises StillBlind."""
    if poured.is_blind:
        raise StillBlind(poured.code)
    by_taster: dict[str, tuple[int, int]] = {}
    for each in poured.answered:
        right, of = by_taster.get(each.taster, (0, 0))
        by_taster[each.taster] = right + each.is_right(poured.question), of + 1
    return DifferenceOutcome(poured, by_taster)


Sample = tuple[str, float | None]
"""What a sample is called, and when its vessel was filled with what it held then."""


@dataclass(frozen=True)
class Together:
    """Tests of the same two samples by code, oldest first, and the distance that they have in common."""

    codes: tuple[str, ...]
    found: CommonDistance


def taken_together(book: Book, poured: DifferenceFlight) -> Together | None:
    """Return what a revealed test shows with the others of the same two; None where there is no other.

    The two are the same where vessels hold the fill they held then. Tests count in which each taster answered once and
    right answers could be given.
    """
    with book.reading() as connection:
        others = [each for each in reversed(difference_flights_in(connection)) if _names(each) == _names(poured)]
        outcomes = [difference_outcome(each) for each in others if not each.is_blind]
        counted = [each for each in outcomes if each.found is not None]
        if len(counted) < 2:
            return None
        cellars = book.cellars_in(connection, [each.flight.poured_at for each in counted])  # each good until the next
        samples = {each.flight.id: _samples(each.flight, cellar) for each, cellar in zip(counted, cellars, strict=True)}
    own = samples.get(poured.id)
    same = [each for each in counted if samples[each.flight.id] == own]
    return _together(same) if len(same) > 1 else None


def _together(outcomes: Sequence[DifferenceOutcome]) -> Together:
    counted = [(each.flight.question.counted, each.right, each.answers) for each in outcomes]
    level = min(each.sure for each in outcomes)
    return Together(tuple(each.flight.code for each in outcomes), common_distance(counted, level))


def _names(poured: DifferenceFlight) -> set[str]:
    return {glass.vessel or glass.what for glass in poured.samples.values()}


def _samples(poured: DifferenceFlight, cellar: Cellar) -> set[Sample]:
    """Return the two samples, each with the fill its vessel held when it was poured."""
    found: set[Sample] = set()
    for glass in poured.samples.values():
        there = glass.vessel is not None and glass.vessel in cellar
        filled = cellar[glass.vessel].state.filled_at if there and glass.vessel else None
        found.add((glass.vessel or glass.what, filled))
    return found

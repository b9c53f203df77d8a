"""What difference tests showed of a vessel: beside its scores, never among them."""

from dataclasses import dataclass
from datetime import datetime

from cooperage.book import Book
from cooperage.tasting.difference.question import SAMPLES
from cooperage.tasting.difference.stored import difference_flights


@dataclass(frozen=True, slots=True)
class VesselDifference:
    """A revealed difference test of a vessel: which flight and test, against what, and its result in a few words."""

    flight: str
    test: str
    against: str
    at: datetime
    right: int
    answers: int
    p: float
    result: str

    @property
    def words(self) -> str:
        """The test in one line: "triangle against B-012: 13 of 24 right, p = 0.028"."""
        return f"{self.test} against {self.against}: {self.result}"


def vessel_differences(book: Book, tag: str) -> list[VesselDifference]:
    """List the revealed difference tests of a vessel that were answered, oldest first."""
    poured = [each for each in reversed(difference_flights(book)) if not each.is_blind and each.answered]
    found = []
    for flight in poured:
        letters = {glass.vessel: letter for letter, glass in flight.samples.items()}
        if tag in letters:
            from cooperage.tasting.difference.outcome import difference_outcome  # NumPy comes with it

            outcome = difference_outcome(flight)
            other = flight.called(next(letter for letter in SAMPLES if letter != letters[tag]))
            about = flight.code, flight.question.test, other, flight.poured_at
            found.append(VesselDifference(*about, outcome.right, outcome.answers, outcome.p, outcome.brief()))
    return found

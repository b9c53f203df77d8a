"""What several revealed difference tests of the same two samples show together: one distance, if it explains them."""

from collections.abc import Sequence
from dataclasses import dataclass

from cooperage.book import Book, Cellar
from cooperage.tasting.difference.outcome import DifferenceOutcome, difference_outcome
from cooperage.tasting.difference.shape import DifferenceFlight
from cooperage.tasting.difference.stored import difference_flights_in
from cooperage.tasting.statistics.difference.common import CommonDistance, common_distance

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

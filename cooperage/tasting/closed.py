"""A closed flight as it is read: its figures by attribute, the faults that were tasted, what the panel would do."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from cooperage.book import Book
from cooperage.tasting.flights import Flight, PanelVerdict, Results, all_results, panel_verdicts
from cooperage.tasting.flights.closing import departed_words, peeked_words
from cooperage.tasting.flights.vocabulary import Term, vocabulary, words_of
from cooperage.units import DEFAULT, Units


@dataclass(frozen=True, slots=True)
class ClosedFlight:
    """All that a closed flight shows: results by attribute and overall, faults by glass, verdicts by vessel."""

    flight: Flight
    results: Mapping[str, Results]
    faults: Mapping[str, Sequence[str]]
    verdicts: Sequence[PanelVerdict]

    @property
    def about(self) -> list[str]:
        """Who closed it, and who looked its codes up before, a line each."""
        by = f"Revealed by {self.flight.revealed_by}. " if self.flight.revealed_by else ""
        left = departed_words(self.flight)
        return (
            [*left, *peeked_words(self.flight.peeks)]
            if self.flight.peeks
            else [*left, f"{by}Whoever poured had the list; no codes were looked up later."]
        )


def closed_flight(book: Book, poured: Flight, units: Units = DEFAULT) -> ClosedFlight:
    """Return all that a closed flight shows, its words in `units`; raises StillBlind."""
    terms = vocabulary(book, with_retired=True)
    return ClosedFlight(poured, all_results(poured, units), faults_in(poured, terms), panel_verdicts(poured))


def faults_in(poured: Flight, terms: Sequence[Term]) -> dict[str, list[str]]:
    """Return the faults of each glass in which at least half of its tasters found one, by its code."""
    found = {}
    for glass in poured.glasses:
        given = [each.words for (code, _), each in sorted(poured.scores.items()) if code == glass.code]
        faults = [
            [term.name for term in words_of(terms, words) if isinstance(term, Term) and term.is_fault]
            for words in given
        ]
        if given and 2 * sum(map(bool, faults)) >= len(given):
            found[glass.code] = [name for name, _ in Counter(name for each in faults for name in each).most_common()]
    return found


def by_verdict(verdicts: Sequence[PanelVerdict]) -> dict[str, list[str]]:
    """Return the vessels by the verdict that most gave them, those without a majority by their votes."""
    grouped: dict[str, list[str]] = {}
    for each in verdicts:
        words = each.proposed.words if each.proposed is not None else f"no majority ({each.words})"
        grouped.setdefault(words, []).append(each.vessel)
    return grouped

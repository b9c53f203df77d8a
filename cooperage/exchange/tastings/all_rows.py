"""The files of tasting in the order in which an import writes them."""

from collections.abc import Callable, Mapping

from cooperage.book import Writing
from cooperage.exchange.tables.cells import Clock
from cooperage.exchange.tables.sheets import Row
from cooperage.exchange.tastings.difference_sets import DifferenceSets
from cooperage.exchange.tastings.flights_and_scores import Tastings
from cooperage.exchange.tastings.servings_and_peeks import ServingsAndPeeks
from cooperage.exchange.tastings.terms import Terms

RowWriter = Callable[[Row], bool]
"""Writes a row; returns whether it was new."""


def row_writers(session: Writing, clock: Clock) -> tuple[Mapping[str, RowWriter], Callable[[], None]]:
    """Return what writes a row of each file, in the order of the files, and what is to be called after the last.

    Vocabulary is written before the flights that use it, scores before orders and sets that name their glasses, and
    flights are revealed last: then they stand.
    """
    tastings = Tastings(session, clock)
    others, sets = ServingsAndPeeks(session, clock, tastings), DifferenceSets(session, clock, tastings)
    writers: dict[str, RowWriter] = {
        "vocabulary": Terms(session, clock).add,
        "flights": tastings.add_flight,
        "scores": tastings.add_score,
        "servings": others.add_serving,
        "peeks": others.add_peek,
        "sets": sets.add_set,
        "departures": sets.add_departure,
    }
    return writers, tastings.reveal

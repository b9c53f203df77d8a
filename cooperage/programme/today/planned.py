"""Flights that the day asks for: of trials across barrels, and of barrels whose next look has come; poured in one step.

Loads no arrays before a flight is poured.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from cooperage.programme.compared.brief import SittingDue, sittings_due
from cooperage.programme.several.named import shown_tags
from cooperage.programme.upkeep.looks import INTERVAL, next_look
from cooperage.tasting.under_way import vessels_under_way
from cooperage.units import counted, local_day

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy import Connection

    from cooperage.book import Book, Cellar
    from cooperage.programme.rounds.due import Looks
    from cooperage.tasting.flights import Flight

MOST_LOOKED_AT = 8
"""Glasses of one flight of looks: more tire a panel (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class PlannedFlight:
    """A flight to pour: since which day, of which vessels, by their tags; `trial` is the code of the trial it is for.

    `sitting` of `sittings` numbers it there, from 1; of looks that have come `trial` is empty.
    """

    day: date
    tags: tuple[str, ...]
    trial: str = ""
    sitting: int = 0
    sittings: int = 0

    @property
    def words(self) -> str:
        """What is to be done: "pour flight 1 of 2 of trial TOP: 8 barrels"."""
        barrels = counted(len(self.tags), "barrel")
        if self.trial:
            return f"pour flight {self.sitting} of {self.sittings} of trial {self.trial}: {barrels}"
        return f"pour a flight of {barrels} to look at again: {shown_tags(list(self.tags))}"


def planned_flights(connection: Connection, cellar: Cellar, looks: Looks) -> tuple[PlannedFlight, ...]:
    """List the flights to pour by now: those of trials, then one of looks that were decided or foreseen.

    A look at a single barrel, at one in an open flight and at one that a trial's flight has is left to the walk.
    """
    tasted = [each for each in sittings_due(connection, local_day(cellar.at)) if each.tags]
    of_trials = [_of_trial(each) for each in tasted]
    busy = {*vessels_under_way(connection), *(tag for each in of_trials for tag in each.tags)}
    return (*of_trials, *_of_looks(cellar, looks, busy))


def _of_trial(due: SittingDue) -> PlannedFlight:
    return PlannedFlight(due.day, due.tags, due.trial, due.sitting, due.sittings)


def _of_looks(cellar: Cellar, looks: Looks, busy: Iterable[str]) -> Sequence[PlannedFlight]:
    wanted = []
    for standing in cellar.barrels:
        if not standing.ml or standing.tag in busy:
            continue
        look = next_look(standing, looks.get(standing.tag, (None, ""))[0])
        if look.by != INTERVAL and look.at <= cellar.at:
            wanted.append((look.at, standing.tag))
    if len(wanted) < 2:
        return ()
    chosen = {tag for _, tag in sorted(wanted)[:MOST_LOOKED_AT]}
    tags = tuple(standing.tag for standing in cellar.in_walking_order() if standing.tag in chosen)
    return (PlannedFlight(local_day(cellar.at), tags),)


def pour_planned(book: Book, planned: PlannedFlight, each_ml: int, *, hand: str = "", sure: bool = False) -> Flight:
    """Pour a flight that is asked for, blind, with a sample of `each_ml` from each barrel.

    One of looks is scored as the last flight was, by its tasters. Raises what `pour_sitting` and `pull_flight` do.
    """
    if planned.trial:
        from cooperage.programme.compared.pouring import pour_sitting  # brings NumPy

        return pour_sitting(book, planned.trial, each_ml, hand=hand, sure=sure)[2]
    from cooperage.tasting.flights import flights
    from cooperage.tasting.pulling import pull_flight, usual_flight

    usual = usual_flight(flights(book))
    return pull_flight(
        book,
        planned.tags,
        each_ml,
        hand=hand,
        sure=sure,
        name=f"looks of {planned.day.day} {planned.day:%b}",
        scale=usual.scale,
        attributes=usual.attributes,
        tasters=usual.tasters,
    )

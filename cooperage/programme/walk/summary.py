"""What a walk came to: litres by keg, what was not reached or skipped, and barrels that want looking at."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field

from cooperage.book import Book, Cellar
from cooperage.book.declared.places import OUTSIDE_IDS
from cooperage.book.log import entries
from cooperage.programme.rounds.due import Task
from cooperage.programme.signs.all_signs import Sign, signs
from cooperage.programme.walk.progress import Walk
from cooperage.programme.walk.stops import Stop
from cooperage.units import DEFAULT, Units


@dataclass(frozen=True, slots=True)
class WalkSummary:
    """A walk at its end; volumes in ml, stops by what became of them.

    `short` are the kegs that hold less than the stops still open want of them, with what they lack.
    """

    toppings: int
    by_keg: dict[str, int]
    states: dict[str, list[Stop]]
    flagged: list[Sign]
    short: dict[str, int] = field(default_factory=dict)


def summarise_walk(book: Book, walk: Walk, stops: Sequence[Stop], units: Units = DEFAULT) -> WalkSummary:
    """Sum up a walk from what was written since it began; struck toppings do not count. Signs are worded in `units`."""
    with book.reading() as connection:
        toppings = entries(connection, kind="top", since=walk.since, until=walk.walked_at)
    standing = [entry for entry in toppings if entry.struck_by is None]
    by_keg: dict[str, int] = defaultdict(int)
    for entry in standing:
        for move in entry.moves:
            if move.destination == entry.vessel and move.source not in OUTSIDE_IDS:
                by_keg[move.source] += move.ml
    states: dict[str, list[Stop]] = defaultdict(list)
    for stop in stops:
        states[stop.state].append(stop)
    walked, cellar = {stop.tag for stop in stops}, book.cellar()
    flagged = [sign for sign in signs(book, cellar, units=units) if sign.vessel in walked]
    return WalkSummary(len(standing), dict(by_keg), dict(states), flagged, _short(stops, cellar))


def _short(stops: Sequence[Stop], cellar: Cellar) -> dict[str, int]:
    wanted: dict[str, int] = defaultdict(int)
    for stop in stops:
        if Task.TOP in stop.open_tasks and stop.keg is not None:
            wanted[stop.keg] += stop.expected_ml or 0
    return {keg: ml - cellar[keg].ml for keg, ml in wanted.items() if ml > cellar[keg].ml}

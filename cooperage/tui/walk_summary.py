"""What a walk came to: litres by keg, what was not reached or skipped, and barrels that want looking at."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from cooperage.book import Book
from cooperage.book.log import entries
from cooperage.book.places import Outside
from cooperage.programme.signs import Sign, signs
from cooperage.programme.walk import Walk
from cooperage.tui.stops import Stop


@dataclass(frozen=True, slots=True)
class WalkSummary:
    """A walk at its end; volumes in ml, stops by what became of them."""

    toppings: int
    by_keg: dict[str, int]
    states: dict[str, list[Stop]]
    flagged: list[Sign]


def summarise(book: Book, walk: Walk, stops: Sequence[Stop]) -> WalkSummary:
    """Sum up a walk from what was written since it began; struck toppings do not count."""
    with book.reading() as connection:
        told = entries(connection, kind="top", since=walk.began_at)
    outside = {place.value for place in Outside}
    standing = [entry for entry in told if entry.struck_by is None]
    by_keg: dict[str, int] = defaultdict(int)
    for entry in standing:
        for move in entry.moves:
            if move.destination == entry.vessel and move.source not in outside:
                by_keg[move.source] += move.ml
    states: dict[str, list[Stop]] = defaultdict(list)
    for stop in stops:
        states[stop.state].append(stop)
    walked = {stop.tag for stop in stops}
    return WalkSummary(len(standing), dict(by_keg), dict(states), [s for s in signs(book) if s.vessel in walked])

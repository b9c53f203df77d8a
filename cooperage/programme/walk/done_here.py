"""What a walk has written at each vessel so far, in a few words and when: the rows of stops that are done."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from cooperage.book import Book
from cooperage.book.log import Entry, entries
from cooperage.book.words import what_was_done
from cooperage.plaintext import visible
from cooperage.programme.walk.progress import Walk
from cooperage.units import DEFAULT, Quantity, Units, show


@dataclass(frozen=True, slots=True)
class DoneHere:
    """What was written at one vessel on a walk, and when the last of it was done."""

    words: str
    at: datetime


def done_on(book: Book, walk: Walk, units: Units = DEFAULT) -> dict[str, DoneHere]:
    """Return by tag what stands in the book since a walk began; of a sheet, what is dated when it was walked."""
    with book.reading() as connection:
        found = entries(connection, since=walk.since, until=walk.walked_at, standing=True)
    return done_by(found, units)


def done_by(found: Iterable[Entry], units: Units = DEFAULT) -> dict[str, DoneHere]:
    """Return by tag the words for what was done: "1.1 L · free SO2 24 mg/L"."""
    of_vessel: Mapping[str, list[Entry]] = defaultdict(list)
    for entry in found:
        if entry.vessel and not entry.strikes:
            of_vessel[entry.vessel].append(entry)
    return {
        tag: DoneHere(" · ".join(_words(each, units) for each in done), max(each.happened_at for each in done))
        for tag, done in of_vessel.items()
    }


def _words(entry: Entry, units: Units) -> str:
    if entry.kind == "top":
        ml = sum(move.ml for move in entry.moves if move.destination == entry.vessel)
        return show(Quantity.VOLUME, ml, units)
    return what_was_done(entry, units, short=True) or visible(entry.note) or entry.kind

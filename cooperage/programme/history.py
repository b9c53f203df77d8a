"""A vessel's figures over time, for charts."""

from collections import defaultdict
from datetime import datetime

from cooperage.book import Book
from cooperage.book.log import Entry, entries
from cooperage.book.store.registry import Registry
from cooperage.tasting.vessels import vessel_scores

Series = dict[str, list[tuple[datetime, float]]]


def series(book: Book, tag: str) -> Series:
    """Return each property's readings, the litres held after each entry, and the panels' scores, oldest first.

    A topping has two points in `litres`: how low the barrel was found, and how full it was left. Keys are property
    names, `litres` and `score` (adjusted means).
    """
    points: Series = defaultdict(list)
    ml = 0
    with book.reading() as connection:
        vessel = Registry(connection).vessel(tag)
        tag, text = vessel.tag, entries(connection, vessel_id=vessel.id)
    for entry in text:
        if entry.struck_by or entry.strikes:
            continue
        come, lost = _flows(entry, tag)
        if come and lost:
            points["litres"].append((entry.happened_at, (ml - lost) / 1000))
        if come or lost or entry.kind == "gauge":
            ml += come - lost
            points["litres"].append((entry.happened_at, ml / 1000))
        for read in entry.readings:
            if read.vessel == tag:
                points[read.property].append((entry.happened_at, read.value))
    points["score"] = [(score.at, score.mean) for score in vessel_scores(book, tag) if score.mean is not None]
    return {name: found for name, found in points.items() if found}


def _flows(entry: Entry, tag: str) -> tuple[int, int]:
    """Return what an entry brought into a vessel and what it took out [ml]."""
    come = sum(move.ml for move in entry.moves if move.destination == tag)
    return come, sum(move.ml for move in entry.moves if move.source == tag)

"""The tasters' records over all closed flights, scale by scale: points of different scales are never put together."""

from collections import defaultdict
from dataclasses import dataclass

from cooperage.book import Book
from cooperage.tasting.flights import Flight, flights, score_table_of
from cooperage.tasting.flights.line import asked_of, scale_of
from cooperage.tasting.flights.outcome import duplicates_of, scorers
from cooperage.tasting.flights.scales import OVERALL, bounds
from cooperage.tasting.statistics.records import Between, TastedTable, TasterRecord, taster_records
from cooperage.units import DEFAULT, Quantity, Units, counted, show, show_signed


@dataclass(frozen=True, slots=True)
class ScaleRecords:
    """What was scored on one scale, in how many closed flights, and the record of each taster in its points."""

    what: str
    scale: str
    flights: int
    records: list[TasterRecord]


def records_over_years(book: Book, what: str = OVERALL, level: float = 0.95) -> list[ScaleRecords]:
    """Return the records of everyone who scored an attribute, or overall, in closed flights, one a scale.

    Flights that are still blind are left out. The scale with the most flights stands first.
    """
    tables: dict[str, list[TastedTable]] = defaultdict(list)
    for poured in flights(book):
        if not poured.is_blind and what in asked_of(poured) and (table := _table_of(poured, what)) is not None:
            tables[scale_of(poured, what)].append(table)
    found = [
        ScaleRecords(what, scale, len(given), taster_records(given, level, width=_width(scale)))
        for scale, given in tables.items()
    ]
    return sorted(found, key=lambda each: (-each.flights, each.scale))


def _width(scale: str) -> float:
    low, high = bounds(scale)
    return high - low


def _table_of(poured: Flight, what: str) -> TastedTable | None:
    scores = score_table_of(poured, what)
    if not scores.size:
        return None
    return TastedTable(scores, tuple(scorers(poured, what)), tuple(duplicates_of(poured.glasses)))


def bias_words(record: TasterRecord, units: Units = DEFAULT) -> str:
    """Return what is known of how high a taster scores: only what the interval leaves no doubt of."""
    bias = record.bias
    if not bias.low <= bias.high:
        return f"{record.taster}: {counted(record.flights, 'flight')} cannot show a bias."
    if bias.low <= 0 <= bias.high:
        return f"{record.taster} scores as the others do, for all that can be known ({_between(bias, units)})."
    higher = "higher" if bias.value > 0 else "lower"
    points = show(Quantity.NUMBER, abs(bias.value), units, digits=1)
    return f"{record.taster} scores {points} points {higher} than the others ({_between(bias, units)})."


def scale_use_words(record: TasterRecord, units: Units = DEFAULT) -> str:
    """Return how much of the scale a taster uses, where the interval leaves no doubt that it differs; else nothing."""
    use = record.scale_use
    if not use.low <= use.high or use.low <= 1 <= use.high:
        return ""
    low, high, times = (show(Quantity.NUMBER, each, units, digits=1) for each in (use.low, use.high, use.value))
    return f"{record.taster} sets glasses apart {times} times as widely as the others ({low} to {high})."


def _between(known: Between, units: Units) -> str:
    return f"{show_signed(known.low, units)} to {show_signed(known.high, units)}"

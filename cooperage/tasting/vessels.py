"""What the panel gave each vessel, flight by flight: the one place that knows, for every door.

A vessel's mean is that of its glasses adjusted for who tasted them, as the flight's own results give it (panel.py).
Flights use scales of their own, so a blend reads the means as shares of their scales, 0 to 100. Nothing is shown of a
flight before it is revealed.
"""

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from cooperage.book import Book
from cooperage.tasting.flights import Flight, bounds, flights, score_table_of
from cooperage.tasting.flights.closing import panel_verdicts
from cooperage.tasting.flights.line import asked_of, scale_of
from cooperage.tasting.flights.scales import OVERALL
from cooperage.tasting.statistics.additive import fit_additive


@dataclass(frozen=True, slots=True)
class AttributeScore:
    """What a panel gave a vessel on one attribute: the adjusted mean of its glasses, in points of that scale."""

    name: str
    mean: float
    scale: str


@dataclass(frozen=True, slots=True)
class VesselScore:
    """What a panel gave a vessel in one flight: how many tasters, when, and their words.

    `mean` is the adjusted mean of its glasses in points of the flight's scale, `of_100` the same as a share of that
    scale [0 to 100]. Both are None where no glass links all the tasters, so that scores have no common footing.
    `attributes` are what else was scored, each on its own scale; `verdicts` how often which was given, the most first.
    """

    mean: float | None
    of_100: float | None
    tasters: int
    at: datetime
    words: list[str]
    flight: str
    scale: str
    attributes: Sequence[AttributeScore] = ()
    verdicts: str = ""


def vessel_scores(book: Book, tag: str) -> list[VesselScore]:
    """List a vessel's scores in revealed flights, oldest first."""
    return [given[tag] for poured in reversed(flights(book)) if tag in (given := of_flight(poured))]


def last_scores(book: Book) -> dict[str, VesselScore]:
    """Return each vessel's latest score by tag, of the mead that is in it now."""
    latest: dict[str, VesselScore] = {}
    for poured in reversed(flights(book)):
        latest |= of_flight(poured)
    began = {standing.tag: standing.state.filled_at for standing in book.cellar()}
    return {
        tag: given for tag, given in latest.items() if (at := began.get(tag)) is not None and given.at.timestamp() >= at
    }


def on_one_scale(scores: Mapping[str, VesselScore]) -> dict[str, float]:
    """Return the scores that are known by tag, from 0 to 100 whatever the scale of the flight."""
    return {tag: given.of_100 for tag, given in scores.items() if given.of_100 is not None}


def of_flight(poured: Flight) -> dict[str, VesselScore]:
    """Return what a flight's panel gave each vessel that anybody gave a number; nothing while it is blind."""
    if poured.is_blind:
        return {}
    by_name = {name: adjusted_means(poured, name) for name in asked_of(poured)}
    votes = {each.vessel: each.words for each in panel_verdicts(poured)}
    scores = {
        tag: _score_vessel(poured, places, {name: [each[place] for place in places] for name, each in by_name.items()})
        for tag, places in places_of(poured).items()
    }
    return {tag: replace(given, verdicts=votes.get(tag, "")) for tag, given in scores.items() if given is not None}


def places_of(poured: Flight) -> dict[str, list[int]]:
    """Return the places of each vessel's glasses among those of a flight, by tag; bench glasses have none."""
    places: dict[str, list[int]] = defaultdict(list)
    for place, glass in enumerate(poured.glasses):
        if glass.vessel is not None:
            places[glass.vessel].append(place)
    return dict(places)


def adjusted_means(poured: Flight, name: str) -> list[float]:
    """Return each glass's mean for an attribute, or overall, adjusted for who tasted it; NaN where there is none."""
    table = score_table_of(poured, name)
    return [float(mean) for mean in fit_additive(table).glass] if table.size else [math.nan] * len(poured.glasses)


def _mean(adjusted: list[float]) -> float | None:
    known = [value for value in adjusted if not math.isnan(value)]
    return sum(known) / len(known) if known else None


def _score_vessel(poured: Flight, places: list[int], adjusted: Mapping[str, list[float]]) -> VesselScore | None:
    """Return the scores of one vessel; None if none of its glasses was given a number overall."""
    codes = {poured.glasses[place].code for place in places}
    given = {key: found for key, found in sorted(poured.scores.items()) if key[0] in codes}
    if all(found.value is None for found in given.values()):
        return None
    mean = _mean(adjusted[OVERALL])
    low, high = bounds(poured.scale)
    return VesselScore(
        mean,
        None if mean is None else 100 * (mean - low) / (high - low),
        len({taster for _, taster in given}),
        poured.poured_at,
        [found.words for found in given.values() if found.words],
        poured.code,
        poured.scale,
        [
            AttributeScore(name, known, scale_of(poured, name))
            for name, own in adjusted.items()
            if name != OVERALL and (known := _mean(own)) is not None
        ],
    )

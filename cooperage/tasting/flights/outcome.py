"""What a closed flight shows: the overall score or one attribute of it, each on its own scale."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cooperage.tasting.flights.errors import StillBlind
from cooperage.tasting.flights.line import asked_of, scale_of
from cooperage.tasting.flights.scales import OVERALL, bounds
from cooperage.tasting.flights.shape import Flight, Glass, Score
from cooperage.tasting.panel import PanelSummary, summarise
from cooperage.tasting.tasters import TasterResult, tasters_of
from cooperage.units import DEFAULT, Units


@dataclass(frozen=True, slots=True)
class GlassResult:
    """How the panel saw one glass: mean, mean adjusted for who tasted, standard error, number of scores, words.

    `band` are the points on each side of the adjusted mean that hold the true one 90 times in 100; NaN if not known.
    """

    glass: Glass
    mean: float
    adjusted: float
    standard_error: float
    tasted: int
    words: list[str]
    band: float

    @property
    def most_said(self) -> str:
        """What most tasters said of it; of words said as often, those given first."""
        return max(self.words, key=self.words.count, default="")


@dataclass(frozen=True, slots=True)
class Results:
    """A flight's results, best glass first, and what so small a panel can and cannot show."""

    rows: list[GlassResult]
    words: list[str]
    summary: PanelSummary
    tasters: list[TasterResult]


def score_table_of(poured: Flight, what: str = OVERALL) -> NDArray[np.float64]:
    """Return the scores of an attribute, or overall, of shape (glasses, tasters), glasses as poured; NaN: not given.

    Raises StillBlind, NotInThisFlight.
    """
    if poured.is_blind:
        raise StillBlind(poured.code)
    scale_of(poured, what)
    tasters, blank = scorers(poured, what), Score(None)
    scores = [
        [_figure(poured.scores.get((glass.code, name), blank), what) for name in tasters] for glass in poured.glasses
    ]
    return np.array(scores, dtype=float).reshape(len(poured.glasses), len(tasters))


def scorers(poured: Flight, what: str = OVERALL) -> list[str]:
    """Return everyone who gave a glass a number for an attribute, or overall, by name."""
    return sorted({taster for (_, taster), given in poured.scores.items() if not np.isnan(_figure(given, what))})


def results(poured: Flight, what: str = OVERALL, units: Units = DEFAULT) -> Results | None:
    """Summarise a revealed flight's scores of an attribute, or overall; None where no number was given.

    All of it is in points of that attribute's own scale, the words in `units`. Raises StillBlind, NotInThisFlight.
    """
    table, tasters = score_table_of(poured, what), scorers(poured, what)
    if not table.size:
        return None
    low, high = bounds(scale_of(poured, what))
    summary = summarise(table, duplicates=duplicates_of(poured.glasses), width=high - low, units=units)
    rows = [
        GlassResult(
            glass,
            float(summary.mean[place]),
            float(summary.adjusted[place]),
            float(summary.standard_error[place]),
            int(summary.tasted[place]),
            [given.words for (code, _), given in sorted(poured.scores.items()) if code == glass.code and given.words],
            float(summary.band[place]),
        )
        for place, glass in enumerate(poured.glasses)
    ]
    rows.sort(key=lambda row: (np.isnan(row.adjusted), -row.adjusted, row.glass.position))
    return Results(rows, list(summary.words), summary, tasters_of(tasters, table, summary))


def all_results(poured: Flight, units: Units = DEFAULT) -> dict[str, Results]:
    """Return the results of every attribute that was scored and of the overall score, by name. Raises StillBlind."""
    found = {what: results(poured, what, units) for what in asked_of(poured)}
    return {what: each for what, each in found.items() if each is not None}


def _figure(given: Score, what: str) -> float:
    figure = given.figure(what)
    return float("nan") if figure is None else figure


def duplicates_of(glasses: Sequence[Glass]) -> list[tuple[int, int]]:
    """Return the places, from 0, of two glasses of each vessel that was poured more than once."""
    places: dict[str, list[int]] = defaultdict(list)
    for place, glass in enumerate(glasses):
        if glass.vessel is not None:
            places[glass.vessel].append(place)
    return [(found[0], found[1]) for found in places.values() if len(found) > 1]

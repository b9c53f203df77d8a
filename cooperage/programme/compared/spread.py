"""How far like barrels differ and how far one taster strays, learned from the cellar's revealed flights.

Barrels are alike that held the same lot in the same wood when they were poured together. Where little was seen, what is
learned leans on what is usual: like barrels differ by 5 % of the scale and one score strays by 7.5 % of it, both as
well known as by four degrees of freedom (common practice, no source). What is seen counts by how surely it is known. A
figure that is read has its instrument's own spread, and like barrels differ by twice that where nothing is seen.
"""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from statistics import variance

import numpy as np
from sqlalchemy import Connection

from cooperage.book import Book, Cellar
from cooperage.book.declared.properties import PROPERTIES
from cooperage.programme.compared.power import BarrelSpread
from cooperage.programme.ready.looks import cask_of
from cooperage.tasting.flights.line import asked_of, scale_of
from cooperage.tasting.flights.outcome import score_table_of
from cooperage.tasting.flights.scales import bounds
from cooperage.tasting.flights.shape import Flight
from cooperage.tasting.flights.stored import flights_in
from cooperage.tasting.statistics.additive import AdditiveFit, fit_in_steps
from cooperage.tasting.vessels import places_of
from cooperage.units import counted

USUAL_BARREL, USUAL_SCORE = 0.05, 0.075
"""How far like barrels differ, and one score strays, as shares of the scale (common practice, no source)."""
USUAL_DEGREES = 4.0
"""How well both are known before anything is seen (common practice, no source)."""
_READING_DEGREES = 30.0
_ROUNDS = 20
UNSEEN = "what is usual elsewhere; common practice, no source"


@dataclass(frozen=True, slots=True)
class AlikeGroup:
    """Barrels that were alike: the variance of their means, its degrees, and what share of a score's is in it."""

    variance: float
    degrees: int
    of_score: float


def spread_of_scores(book: Book, connection: Connection, measure: str, scale: str) -> BarrelSpread:
    """Learn the spread of an attribute, or overall, in points of `scale`, from every revealed flight that scored it."""
    fitted: list[tuple[Flight, AdditiveFit]] = []
    squares, degrees = 0.0, 0
    for poured in reversed(flights_in(connection)):
        if poured.is_blind or measure not in asked_of(poured):
            continue
        table = _shares(poured, measure)
        if not table.size:
            continue
        fit = fit_in_steps(table, 1.0)
        if not fit.degrees:
            continue
        squares, degrees = squares + max(fit.residual_ss, fit.degrees * fit.rounding), degrees + fit.degrees
        fitted.append((poured, fit))
    cellars = book.cellars_in(connection, [poured.poured_at for poured, _ in fitted])
    by_flight = [list(_alike(*of_flight, cellar)) for of_flight, cellar in zip(fitted, cellars, strict=True)]
    groups = [group for found in by_flight for group in found]
    seen = sum(map(bool, by_flight))
    low, high = bounds(scale)
    one = (USUAL_DEGREES * USUAL_SCORE**2 + squares) / (USUAL_DEGREES + degrees)
    between, known = between_barrels(groups, one, USUAL_DEGREES + degrees, USUAL_BARREL**2)
    of = f"{counted(seen, 'revealed flight')} with barrels alike, and {UNSEEN}" if seen else UNSEEN
    width = high - low
    return BarrelSpread(between**0.5 * width, one**0.5 * width, known, USUAL_DEGREES + degrees, of)


def between_barrels(groups: Iterable[AlikeGroup], one: float, one_degrees: float, usual: float) -> tuple[float, float]:
    """Return the variance between like barrels, and by how many degrees of freedom it is known.

    `one` is the variance of one score, `usual` what is expected of like barrels. What was seen and what is usual are
    weighed by the degrees of freedom of each; how many those are hangs on the variance itself, so that is repeated.
    """
    seen = list(groups)
    degrees = sum(each.degrees for each in seen)
    if not degrees:
        return usual, USUAL_DEGREES
    of_means = sum(each.degrees * each.variance for each in seen) / degrees
    by_scores = one * sum(each.degrees * each.of_score for each in seen) / degrees
    found = usual
    for _ in range(_ROUNDS):
        seen_by = 2 * found**2 / (2 * (found + by_scores) ** 2 / degrees + 2 * by_scores**2 / one_degrees)
        together = seen_by * (of_means - by_scores) + USUAL_DEGREES * usual
        found = max(together / (seen_by + USUAL_DEGREES), usual / 100)
    return found, USUAL_DEGREES + seen_by


def _shares(poured: Flight, measure: str) -> "np.ndarray[tuple[int, ...], np.dtype[np.float64]]":
    """Return a flight's scores as shares of their scale, so that scales can be put together."""
    low, high = bounds(scale_of(poured, measure))
    table = score_table_of(poured, measure)
    return (table - low) / (high - low)


def _alike(poured: Flight, fit: AdditiveFit, cellar: Cellar) -> Iterator[AlikeGroup]:
    """Yield the groups of like barrels of a flight, by lot and wood."""
    groups: dict[Hashable, list[list[int]]] = defaultdict(list)
    for tag, places in places_of(poured).items():
        cask = cask_of(cellar[tag]) if tag in cellar else None
        known = [place for place in places if np.isfinite(fit.glass[place])]
        if cask is not None and known:
            groups[cask.lot, cask.wood].append(known)
    for each in groups.values():
        if len(each) > 1:
            yield _group(each, fit)


def _group(barrels: list[list[int]], fit: AdditiveFit) -> AlikeGroup:
    """Return how far the means of like barrels differ; two glasses of a barrel are one mean."""
    rows = np.zeros((len(barrels), len(fit.glass)))
    for at, places in enumerate(barrels):
        rows[at, places] = 1 / len(places)
    glass, shared = np.nan_to_num(fit.glass), np.nan_to_num(fit.per_variance)
    means, between = rows @ glass, rows @ shared @ rows.T
    size = len(barrels)
    of_score = (float(np.trace(between)) - float(between.sum()) / size) / (size - 1)
    return AlikeGroup(variance(means.tolist()), size - 1, of_score)


def spread_of_readings(cellar: Cellar, name: str) -> BarrelSpread:
    """Learn the spread of a property that is read, in its own unit, from what barrels of one lot and wood read last.

    `cellar` is that of `cellar_now`, which knows what was last measured.
    """
    by_kind: Mapping[Hashable, list[float]] = defaultdict(list)
    for standing in cellar.barrels:
        cask, figure = cask_of(standing), standing.figure(name)
        if cask is not None and figure.measured is not None:
            by_kind[cask.lot, cask.wood].append(figure.measured)
    one = PROPERTIES[name].uncertainty ** 2
    groups = [AlikeGroup(variance(each), len(each) - 1, 1.0) for each in by_kind.values() if len(each) > 1]
    between, known = between_barrels(groups, one, _READING_DEGREES, 4 * one)
    count = sum(each.degrees + 1 for each in groups)
    of = f"the last readings of {counted(count, 'barrel')} of like lot and wood" if count else UNSEEN
    return BarrelSpread(between**0.5, one**0.5, known, _READING_DEGREES, of)

"""What panels scored of the mead in each barrel, as observations of its wood.

Where flights scored oak by itself (an attribute of the family "oak") those scores count alone; else the overall ones,
which may follow the wood or not.
"""

from collections.abc import Iterator, Mapping
from math import isnan

import numpy as np

from cooperage.book import Book, Cellar
from cooperage.book.replay.state import DAY
from cooperage.programme.wood.effect import FEWEST_SCORES, WoodScore
from cooperage.programme.wood.history import BarrelHistory
from cooperage.tasting.flights import Flight, flights, score_table_of
from cooperage.tasting.flights.line import scale_of
from cooperage.tasting.flights.scales import OVERALL, bounds
from cooperage.tasting.statistics.additive import fit_in_steps

OAK = "oak"
"""The family of attributes that measure wood."""
ONE_TASTER_SD = 12.0
"""How far one taster's score may be off, of 100, where a flight does not show it (common practice, no source)."""
LEAST_SD = 2.0
"""No panel's mean is surer than this, of 100: scores come in steps."""


def wood_scores(book: Book, cellar: Cellar, past: Mapping[str, BarrelHistory]) -> list[WoodScore]:
    """Return every score of revealed flights that a barrel got, by the fill it was of and its days in wood."""
    closed = [poured for poured in flights(book) if not poured.is_blind and poured.poured_at <= cellar.at]
    of_oak = [score for poured in closed for score in _of_flight(poured, _oak(poured), cellar, past)]
    if len(of_oak) >= FEWEST_SCORES:
        return of_oak
    return [score for poured in closed for score in _of_flight(poured, OVERALL, cellar, past)]


def _oak(poured: Flight) -> str | None:
    return next((attribute.name for attribute in poured.attributes if attribute.family == OAK), None)


def _of_flight(
    poured: Flight, what: str | None, cellar: Cellar, past: Mapping[str, BarrelHistory]
) -> Iterator[WoodScore]:
    if what is None:
        return
    low, high = bounds(scale_of(poured, what))
    table = score_table_of(poured, what)
    fit = fit_in_steps(table, high - low)
    errors = np.sqrt(np.diag(fit.covariance))  # without SciPy, which a whole summary would load
    for glass, adjusted, error, tasted in zip(
        poured.glasses, fit.glass, errors, np.isfinite(table).sum(axis=1), strict=True
    ):
        tag = glass.vessel
        if tag is None or tag not in past or tag not in cellar or isnan(adjusted):
            continue
        sd = ONE_TASTER_SD / max(1, tasted) ** 0.5 if isnan(error) else float(error) * 100 / (high - low)
        at = _at_fill(cellar, tag, past[tag], poured.poured_at.timestamp())
        if at is not None:
            yield WoodScore(tag, *at, float(adjusted - low) * 100 / (high - low), max(LEAST_SD, sd))


def _at_fill(cellar: Cellar, tag: str, past: BarrelHistory, at: float) -> tuple[int, float] | None:
    """Return which fill of its life a barrel was at in a moment, and for how many days; None where it is not known."""
    barrel = cellar[tag].vessel.barrel
    if barrel is None or barrel.fills_before is None:
        return None
    for place, fill in enumerate(past.fills, 1):
        if fill.began <= at and (fill.ended is None or at <= fill.ended):
            return barrel.fills_before + place, (at - fill.began) / DAY
    return None

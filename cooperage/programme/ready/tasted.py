"""What panels have scored, gathered from every revealed flight: who was in which wood then, and what it was given."""

import math
from collections import Counter
from collections.abc import Iterator
from datetime import datetime
from statistics import fmean

from sqlalchemy import Connection

from cooperage.book import Book, Cellar
from cooperage.programme.ready.looks import Cask, PanelLook, cask_of
from cooperage.tasting.flights import Flight
from cooperage.tasting.flights.line import asked_of, scale_of
from cooperage.tasting.flights.stored import flights_in
from cooperage.tasting.vessels import adjusted_means, places_of


def panel_looks(book: Book, connection: Connection, until: datetime | None = None) -> list[PanelLook]:
    """List what every flight that was revealed `until` then gave every barrel, oldest first.

    Bench glasses and tanks are left out.
    """
    found: list[PanelLook] = []
    revealed = [
        poured
        for poured in reversed(flights_in(connection))
        if poured.revealed_at is not None and (until is None or poured.revealed_at <= until)
    ]
    cellars = book.cellars_in(connection, [poured.poured_at for poured in revealed])
    for poured, cellar in zip(revealed, cellars, strict=True):
        found += _of_flight(poured, _casks(cellar))
    return found


def _casks(cellar: Cellar) -> dict[str, Cask]:
    casks = (cask_of(standing) for standing in cellar.barrels)
    return {cask.tag: cask for cask in casks if cask is not None}


def _of_flight(poured: Flight, casks: dict[str, Cask]) -> Iterator[PanelLook]:
    """Yield what one flight gave, of each barrel and attribute one: adjusted for who tasted."""
    for name in asked_of(poured):
        means, tasters, scale = adjusted_means(poured, name), _tasters(poured, name), scale_of(poured, name)
        for tag, places in places_of(poured).items():
            known = [means[place] for place in places if not math.isnan(means[place])]
            if known and tag in casks:
                count = max(tasters[poured.glasses[place].code] for place in places)
                yield PanelLook(casks[tag], name, scale, poured.code, poured.poured_at, fmean(known), count)


def _tasters(poured: Flight, name: str) -> Counter[str]:
    """Return how many gave each glass a number for an attribute, or overall."""
    return Counter(code for (code, _), given in poured.scores.items() if given.figure(name) is not None)

"""What panels have scored, gathered from every revealed flight: who was in which wood then, and what it was given."""

import math
from collections import defaultdict
from collections.abc import Iterator
from datetime import datetime

from sqlalchemy import Connection

from cooperage.book import Book, Cellar
from cooperage.programme.ready.looks import Cask, PanelLook, cask_of
from cooperage.tasting.flights import Flight, score_table_of
from cooperage.tasting.flights.line import asked_of, scale_of
from cooperage.tasting.flights.stored import flights_in
from cooperage.tasting.panel import fit_additive


def panel_looks(book: Book, connection: Connection, until: datetime | None = None) -> list[PanelLook]:
    """List what every flight that was revealed `until` then gave every barrel, oldest first.

    Bench glasses and tanks are left out.
    """
    found: list[PanelLook] = []
    for poured in reversed(flights_in(connection)):
        if poured.revealed_at is not None and (until is None or poured.revealed_at <= until):
            found += _of_flight(poured, _casks(book.cellar_in(connection, poured.poured_at)))
    return found


def _casks(cellar: Cellar) -> dict[str, Cask]:
    casks = (cask_of(standing) for standing in cellar.barrels)
    return {cask.tag: cask for cask in casks if cask is not None}


def _of_flight(poured: Flight, casks: dict[str, Cask]) -> Iterator[PanelLook]:
    """Yield what one flight gave, of each barrel and attribute one: adjusted for who tasted."""
    places: dict[str, list[int]] = defaultdict(list)
    for place, glass in enumerate(poured.glasses):
        if glass.vessel in casks:
            places[glass.vessel].append(place)
    for name in asked_of(poured):
        table = score_table_of(poured, name)
        if not table.size:
            continue
        adjusted = fit_additive(table).glass
        for tag, own in places.items():
            known = [float(adjusted[place]) for place in own if not math.isnan(adjusted[place])]
            if known:
                tasters = int((~(table[own] != table[own])).any(axis=0).sum())
                value, scale = sum(known) / len(known), scale_of(poured, name)
                yield PanelLook(casks[tag], name, scale, poured.code, poured.poured_at, value, tasters)

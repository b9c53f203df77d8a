"""Visits: the stretches between two moments at which a barrel's level was known, and what it lost in each.

A level is known when a barrel is filled, topped to the bung, gauged, or its headspace is read. What the book calls
evaporated, soaked, leaked or a gauging difference in between is what the barrel lost; samples and racking are not.
A topping that stopped short of the bung closes nothing: what it shows is counted with the next known level.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from cooperage.book import Book, Cellar, Vessel
from cooperage.book.declared.places import EVAPORATION_PLACES, OUTSIDE_IDS
from cooperage.book.replay.events import Event, events
from cooperage.book.replay.state import DAY
from cooperage.book.store.gauging import volume_at_headspace

_SAME_VISIT_DAYS = 0.5


@dataclass(frozen=True, slots=True)
class LossVisit:
    """What a barrel lost [ml] between two known levels; times in seconds since 1970, `filled_at` of that fill.

    `room` is where it lay when the visit began, `keg` what it was topped from at its end (None where it was dipped or
    gauged) and `poured_ml` how much; left out, all that it lost.
    """

    began: float
    ended: float
    lost_ml: float
    filled_at: float
    room: str = ""
    keg: str | None = ""
    poured_ml: float | None = None

    @property
    def days(self) -> float:
        """How long it was [days]."""
        return (self.ended - self.began) / DAY

    @property
    def days_in_fill(self) -> float:
        """Age of the fill at its end [days]."""
        return (self.ended - self.filled_at) / DAY


class _Ledger:
    """One barrel's level as the book has it, while its entries pass by."""

    def __init__(self, vessel: Vessel) -> None:
        self.vessel = vessel
        self.visits: list[LossVisit] = []
        self.ml = 0
        self._room = self._room_now = vessel.position[0] or ""
        self._known_at = self._filled_at = 0.0
        self._pending = 0.0  # lost since the last known level and already written
        self._ahead = 0.0  # what the book had too much at the last known level

    def passes(self, event: Event) -> None:
        """Take one entry in."""
        if event.kind == "shift":
            self._room_now = str((event.said or {}).get("room") or "")
        was_empty, gap = self.ml == 0, self._moved(event)
        if self.ml == 0 or was_empty:
            self._room = self._room_now
            self._known_at = self._filled_at = event.at
            self._pending = self._ahead = 0.0
            return
        self._pending += gap
        is_topped_full = event.kind == "top" and event.vessel == self.vessel.id and not (event.said or {})["not_full"]
        if is_topped_full:
            poured = [move for move in event.moves if move.destination == self.vessel.id]
            inside = [move for move in poured if move.source not in OUTSIDE_IDS]
            self._known(event.at, 0.0, inside[0].source if inside else None, float(sum(move.ml for move in inside)))
            return
        if event.kind == "gauge":
            self._known(event.at, 0.0)
            return
        for read in event.readings:
            if read.property == "headspace_mm" and read.vessel == self.vessel.id:
                self._known(event.at, float(self.ml - volume_at_headspace(self.vessel, read.value)))

    def _moved(self, event: Event) -> int:
        gap = 0
        for move in event.moves:
            if move.source == self.vessel.id:
                self.ml -= move.ml
                gap += move.ml if move.destination in EVAPORATION_PLACES else 0
            elif move.destination == self.vessel.id:
                self.ml += move.ml
                gap -= move.ml if move.source in EVAPORATION_PLACES else 0
        return gap

    def _known(self, at: float, ahead: float, keg: str | None = None, poured_ml: float | None = None) -> None:
        lost = self._pending + ahead - self._ahead
        if (at - self._known_at) / DAY >= _SAME_VISIT_DAYS:
            self.visits.append(LossVisit(self._known_at, at, lost, self._filled_at, self._room, keg, poured_ml))
            lost = 0.0
        self._known_at, self._pending, self._ahead, self._room = at, lost, ahead, self._room_now


def visits(book: Book, cellar: Cellar) -> dict[str, list[LossVisit]]:
    """List each barrel's visits up to the cellar's moment, oldest first, by tag; barrels without any are left out."""
    ledgers = {standing.vessel.id: _Ledger(standing.vessel) for standing in cellar if standing.vessel.is_barrel}
    with book.reading() as connection:
        for event in events(connection, until=cellar.at, of_levels=True):
            for vessel_id in _touched(event):
                if vessel_id in ledgers:
                    ledgers[vessel_id].passes(event)
    return {ledger.vessel.tag: ledger.visits for ledger in ledgers.values() if ledger.visits}


def _touched(event: Event) -> Iterable[str]:
    touched = {end for move in event.moves for end in (move.source, move.destination)}
    return touched if event.vessel is None else touched | {event.vessel}

"""Stays: how long each vessel held mead, in which room it lay then, and which lot it mostly held.

Losses are grouped by where the vessel lay and what it held when they happened, not by where it is now.
"""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime

from cooperage.book import Book, Vessel
from cooperage.book.replay.cache import States
from cooperage.book.replay.events import Event, events, vessels_in
from cooperage.book.replay.replay import Replay
from cooperage.book.replay.state import VesselState
from cooperage.book.store.registry import Registry


@dataclass(frozen=True, slots=True)
class Stay:
    """One vessel holding mostly one lot in one room, from `began` to `ended` [seconds since 1970]."""

    tag: str
    began: float
    ended: float
    room: str
    lot: str

    def within(self, began: float, ended: float) -> "Stay":
        """Return the part of it between two moments; of no length when it lies outside."""
        first = min(max(self.began, began), ended)
        return replace(self, began=first, ended=max(first, min(self.ended, ended)))


class Stays:
    """Every stay by vessel, in order of time."""

    def __init__(self, found: list[Stay]) -> None:
        self._by_tag: dict[str, list[Stay]] = defaultdict(list)
        for stay in sorted(found, key=lambda stay: stay.began):
            self._by_tag[stay.tag].append(stay)
        self._ended = {tag: [stay.ended for stay in stays] for tag, stays in self._by_tag.items()}

    def __iter__(self) -> Iterator[Stay]:
        return (stay for stays in self._by_tag.values() for stay in stays)

    def at(self, tag: str, moment: float) -> Stay | None:
        """Return the stay during which something happened to a vessel; what ends a stay belongs to it."""
        stays = self._by_tag.get(tag, [])
        place = bisect_left(self._ended.get(tag, []), moment)
        found = stays[place] if place < len(stays) else None
        return found if found is not None and found.began <= moment else None


def stays(book: Book, until: datetime | None = None) -> Stays:
    """Calculate every vessel's stays up to a moment, now unless said otherwise."""
    ended = (until or book.now()).timestamp()
    with book.reading() as connection:
        registry = Registry(connection)
        keeper = _Keeper(registry)
        for event in events(connection, until=until):
            keeper.take(event)
    return Stays([*keeper.closed, *(replace(stay, ended=ended) for stay in keeper.open.values())])


class _Keeper:
    """Replays the book, and notes where each vessel's stay ends and the next begins."""

    def __init__(self, registry: Registry) -> None:
        self._registry = registry
        self._vessels = {vessel.id: vessel for vessel in registry.load()}
        self._states = States({id_: VesselState(v.barrel_ml) for id_, v in self._vessels.items()})
        self._replay = Replay(self._states.state_of, registry.lot_by_id)
        self.open: dict[str, Stay] = {}
        self.closed: list[Stay] = []

    def take(self, event: Event) -> None:
        self._replay.apply(event)
        touched = vessels_in(event.moves) | ({event.vessel} if event.vessel else set())
        for vessel_id in touched:
            self._note(self._vessels[vessel_id], self._states.state_of(vessel_id), event.at)

    def _note(self, vessel: Vessel, state: VesselState, at: float) -> None:
        there = self.open.get(vessel.tag)
        now = self._stay(vessel, state, at)
        if there is not None and now is not None and (there.room, there.lot) == (now.room, now.lot):
            return
        if there is not None:
            self.closed.append(replace(self.open.pop(vessel.tag), ended=at))
        if now is not None:
            self.open[vessel.tag] = now

    def _stay(self, vessel: Vessel, state: VesselState, at: float) -> Stay | None:
        if state.ml == 0:
            return None
        room = (state.position or vessel.position)[0] or ""
        return Stay(vessel.tag, at, at, room, self._lot(state))

    def _lot(self, state: VesselState) -> str:
        origins = state.contents.origins
        mostly = max(sorted(origins), key=lambda origin: origins[origin])
        lots = self._registry.lots
        return lots[mostly].code if mostly in lots else mostly

"""Back: what a bottling or a vessel holds, followed against time to where it came from.

Of every vessel on the way it is known how many millilitres of what is asked about were in it. What came in by a move
had its part of that by its part of what the vessel held just after it; a move into an empty vessel brought all.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from heapq import heappop, heappush
from typing import NamedTuple

from cooperage.book.declared.places import OUTSIDE_IDS
from cooperage.book.replay.contents import UNKNOWN_ORIGIN
from cooperage.book.replay.state import DAY
from cooperage.book.store.registry import Registry
from cooperage.book.tracing.flows import Edges, flowed
from cooperage.book.tracing.histories import Dose, Histories, Key, Passage, VesselHistory


class Strand(NamedTuple):
    """What a part of the liquid has in common: the last barrel's id (None: none) and the woods it rested in."""

    barrel: str | None = None
    woods: frozenset[str] = frozenset()


@dataclass(slots=True)
class Rested:
    """What of it was in a vessel: millilitre-days, all that came through [ml], from when until when."""

    ml_days: float = 0.0
    ml: float = 0.0
    since: datetime | None = None
    until: datetime | None = None


class DoseShare(NamedTuple):
    """An addition on the way, and the fraction of it that is in what is asked about."""

    dose: Dose
    fraction: float


@dataclass(slots=True)
class Origins:
    """Where liquid came from: `parts` [ml] by (lot id or substance, strand), `stays` by vessel id, additions, edges.

    `least_wood_days` is the fewest days in barrels that any part of it had, None where nothing came from anywhere.
    """

    ml: int = 0
    parts: dict[tuple[str, Strand], float] = field(default_factory=dict)
    received: dict[str, tuple[datetime, datetime]] = field(default_factory=dict)
    stays: dict[str, Rested] = field(default_factory=dict)
    doses: list[DoseShare] = field(default_factory=list)
    edges: Edges = field(default_factory=dict)
    least_wood_days: float | None = None
    wood_ml_days: float = 0.0


@dataclass(slots=True)
class _Held:
    """What of it is in a vessel at a time: by strand, the fewest days in wood from there on, and until when."""

    at: datetime
    least: float
    parts: dict[Strand, float] = field(default_factory=dict)

    @property
    def ml(self) -> float:
        return sum(self.parts.values())


class _Before(NamedTuple):
    """A thing that happened, ordered so that the latest comes first."""

    key: Key
    vessel: str
    place: int
    dose: Dose | None

    def __lt__(self, other: object) -> bool:
        return isinstance(other, _Before) and self.key > other.key


class Back:
    """Liquid followed back: what each vessel holds of it, and the move before."""

    def __init__(self, histories: Histories, registry: Registry) -> None:
        self._histories, self._registry = histories, registry
        self._held: dict[str, _Held] = {}
        self._waiting: list[_Before] = []
        self.found = Origins()

    def of_moves(self, passages: Iterable[Passage], name: str) -> Origins:
        """Follow back what moves took out of vessels: a bottling, by the id of its entry."""
        for passage in sorted(passages, key=lambda each: each.key, reverse=True):
            self.found.ml += passage.ml
            flowed(self.found.edges, passage.source, name, passage, passage.ml)
            self._came_out(passage, {Strand(): float(passage.ml)}, 0.0)
        return self._run()

    def of_vessel(self, vessel: str, key: Key, at: datetime | None = None, *, counts_its_wood: bool = False) -> Origins:
        """Follow back what a vessel holds just before a key; days there count to a time, else to its last move.

        Where `counts_its_wood`, what lies in a barrel rested in that barrel too.
        """
        history = self._histories.of(vessel)
        ml = history.ml_at(key)
        if ml:
            self.found.ml = ml
            last = history.passages[history.first_from(key) - 1].at
            in_it = {Strand(): float(ml)}
            if counts_its_wood:
                in_it = self._marked(vessel, in_it)
            self._held[vessel] = _Held(last if at is None else max(at, last), 0.0, in_it)
            self._wait_before(vessel, key)
        return self._run()

    def _run(self) -> Origins:
        while self._waiting:
            before = heappop(self._waiting)
            held = self._held.get(before.vessel)
            if held is None:
                continue
            if before.dose is not None:
                self._dosed(before.dose, held)
            else:
                self._came_in(before, held)
        return self.found

    # --- what happened, latest first --------------------------------------------------------------------------------

    def _came_in(self, before: _Before, held: _Held) -> None:
        vessel = before.vessel
        history = self._histories.of(vessel)
        passage, there = history.passages[before.place], history.before[before.place]
        if passage.is_found and there:  # the same mead, more of it
            self._wait_for(vessel, before.place - 1)
            return
        self._rest_until(vessel, held, passage.at)
        if there <= 0:
            brought = held.parts
            del self._held[vessel]
        else:
            share, rest = passage.ml / (there + passage.ml), there / (there + passage.ml)
            brought = {strand: ml * share for strand, ml in held.parts.items()}
            held.parts = {strand: ml * rest for strand, ml in held.parts.items()}
            self._wait_for(vessel, before.place - 1)
        if passage.source in OUTSIDE_IDS:
            self._began(passage, brought, held.least)
        else:
            flowed(self.found.edges, passage.source, vessel, passage, sum(brought.values()))
            self._came_out(passage, brought, held.least)

    def _came_out(self, passage: Passage, brought: dict[Strand, float], least: float) -> None:
        """Put what a move took back into its source, marked with the last barrel and the woods."""
        source = passage.source
        if not self._histories.is_poured_back(source):
            brought = self._marked(source, brought)
            stay = self.found.stays.setdefault(source, Rested(until=passage.at))
            stay.ml += sum(brought.values())
        held = self._held.get(source)
        if held is None:
            self._held[source] = _Held(passage.at, least, brought)
            self._wait_before(source, passage.key)
            return
        self._rest_until(source, held, passage.at)
        held.least = min(held.least, least)
        held.parts = _joined((*held.parts.items(), *brought.items()))

    def _marked(self, vessel: str, brought: dict[Strand, float]) -> dict[Strand, float]:
        """Mark what comes out of a barrel with it and its wood; of other vessels it is as it was."""
        barrel = self._registry.by_id(vessel)
        if not barrel.is_barrel:
            return brought
        wood = (barrel.barrel.wood if barrel.barrel else None) or ""
        return _joined((Strand(strand.barrel or vessel, strand.woods | {wood}), ml) for strand, ml in brought.items())

    def _began(self, passage: Passage, brought: dict[Strand, float], least: float) -> None:
        origin = passage.lot or passage.substance or UNKNOWN_ORIGIN
        for strand, ml in brought.items():
            part = (origin, strand)
            self.found.parts[part] = self.found.parts.get(part, 0.0) + ml
        first, last = self.found.received.get(origin, (passage.at, passage.at))
        self.found.received[origin] = (min(first, passage.at), max(last, passage.at))
        flowed(self.found.edges, origin, passage.destination, passage, sum(brought.values()))
        known = self.found.least_wood_days
        self.found.least_wood_days = least if known is None else min(known, least)

    def _dosed(self, dose: Dose, held: _Held) -> None:
        whole = self._histories.of(dose.vessel).ml_at(dose.key)
        self.found.doses.append(DoseShare(dose, held.ml / whole if whole else 0.0))

    # --- time ---------------------------------------------------------------------------------------------------------

    def _rest_until(self, vessel: str, held: _Held, at: datetime) -> None:
        """Let it rest in a vessel, backward until a time: its days there are counted, those in bottles are not."""
        if self._histories.is_poured_back(vessel):
            return
        days = (held.at - at).total_seconds() / DAY
        stay = self.found.stays.setdefault(vessel, Rested(until=held.at))
        ml_days = held.ml * days
        stay.ml_days += ml_days
        stay.since = at
        if self._registry.by_id(vessel).is_barrel:
            held.least += days
            self.found.wood_ml_days += ml_days
        held.at = at

    def _wait_before(self, vessel: str, key: Key) -> None:
        history = self._histories.of(vessel)
        self._wait_for(vessel, history.first_from(key) - 1)
        since = self._emptied_before(history, key)
        for dose in self._histories.doses(vessel):
            if since <= dose.key < key:
                heappush(self._waiting, _Before(dose.key, vessel, 0, dose))

    def _emptied_before(self, history: VesselHistory, key: Key) -> Key:
        """Return the key of the move that filled the vessel last, before a key."""
        index = history.first_from(key) - 1
        while index > 0 and history.before[index]:
            index -= 1
        return history.keys[index] if index >= 0 else key

    def _wait_for(self, vessel: str, index: int) -> None:
        """Wait for the move into a vessel that is the last one up to an index."""
        history = self._histories.of(vessel)
        while index >= 0:
            if history.passages[index].destination == vessel:
                heappush(self._waiting, _Before(history.keys[index], vessel, index, None))
                return
            index -= 1


def _joined(parts: Iterable[tuple[Strand, float]]) -> dict[Strand, float]:
    summed: dict[Strand, float] = {}
    for strand, ml in parts:
        summed[strand] = summed.get(strand, 0.0) + ml
    return summed

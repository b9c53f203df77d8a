"""Forward: marked liquid followed from where it begins, through every vessel it reaches, to where it is now."""

from collections import deque
from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import datetime
from heapq import heappop, heappush
from typing import NamedTuple

from cooperage.book.declared.places import OUTSIDE_IDS
from cooperage.book.tracing.flows import Edges, flowed
from cooperage.book.tracing.histories import LAST, Histories, Key, Passage, VesselHistory

_AT_ONCE = 200
"""Vessels whose histories are read in one question."""


class Begins(NamedTuple):
    """Where marked liquid begins: a move, whose liquid is marked, or all that a vessel holds at a key.

    `vessel` is where it begins, which is where the move goes; of bottles that are poured back it is their bottling, and
    `share` [1] is the part of them that is meant.
    """

    key: Key
    vessel: str
    passage: Passage | None = None
    share: float = 1.0


@dataclass(slots=True)
class FoundOnward:
    """What marked liquid reached [ml]: where it is `now`, the `bottled` by entry id, the `lost` by outside place.

    `began` is what was marked, `gained` what gauges found more of it; `wholes` are the volumes of the vessels that hold
    it now, `into` all of it that ever came into a vessel. `edges` has what went from where to where. What was poured
    back is bottled no more: `bottled_whole` is what is left of each bottling, which may be sold, stowed or broken, and
    `bottled_share` its part of whatever bottles there are, those that a count found among them [1].
    """

    began: float = 0.0
    gained: float = 0.0
    now: dict[str, float] = field(default_factory=dict)
    wholes: dict[str, int] = field(default_factory=dict)
    bottled: dict[str, float] = field(default_factory=dict)
    bottled_whole: dict[str, int] = field(default_factory=dict)
    bottled_share: dict[str, float] = field(default_factory=dict)
    lost: dict[str, float] = field(default_factory=dict)
    into: dict[str, float] = field(default_factory=dict)
    edges: Edges = field(default_factory=dict)
    starts: dict[str, float] = field(default_factory=dict)


class Onward:
    """Marked liquid on its way: what each vessel holds of it, and the next move out of each."""

    def __init__(self, histories: Histories, begins: Collection[Begins]) -> None:
        self._histories = histories
        self._held: dict[str, float] = {}
        self._in_bottles: dict[str, float] = {}
        self._next: list[tuple[Key, int, str]] = []
        self._marked = {each.passage.key for each in begins if each.passage is not None}
        self._begins = sorted(begins, key=lambda each: each.key)
        self._since: dict[str, datetime] = {}
        self._coming = deque(dict.fromkeys(each.vessel for each in self._begins))
        self._at = LAST[0]
        self.reach = FoundOnward()

    def run(self) -> FoundOnward:
        """Follow it to the end."""
        ahead = self._begins[::-1]
        while ahead or self._next:
            if ahead and (not self._next or ahead[-1].key <= self._next[0][0]):
                self._at = ahead[-1].key[0]
                self._begin(ahead.pop())
            else:
                self._at = self._next[0][0][0]
                self._go_on(*heappop(self._next))
        self.reach.now = dict(sorted(self._held.items(), key=lambda held: -held[1]))
        self.reach.wholes = {vessel: self._history(vessel).ml for vessel in self._held}
        return self.reach

    def _history(self, vessel: str) -> VesselHistory:
        """Return the history of a vessel from when it is reached; with it those are read in which more begins soon."""
        if vessel in self._since:
            return self._histories.since(vessel, self._since[vessel])
        self._since[vessel] = self._at
        also: list[str] = []
        while self._coming and len(also) < _AT_ONCE:
            coming = self._coming.popleft()
            if coming not in self._since and coming not in OUTSIDE_IDS:
                self._since[coming] = self._at
                also.append(coming)
        return self._histories.since(vessel, self._at, also)

    def _begin(self, start: Begins) -> None:
        if start.passage is not None:
            self._mark_move(start, start.passage)
            return
        whole = self._history(start.vessel).ml_at(start.key)
        more = whole - self._held.get(start.vessel, 0.0)
        if whole and more > 0:
            self._starts_in(start.vessel, more)
            self._comes_into(start.vessel, more, start.key)
            self._held[start.vessel] = float(whole)

    def _starts_in(self, place: str, ml: float) -> None:
        self.reach.began += ml
        self.reach.starts[place] = self.reach.starts.get(place, 0.0) + ml

    def _mark_move(self, start: Begins, passage: Passage) -> None:
        """Mark a move: what was marked before goes on, its share of the rest begins here."""
        portion = self._out_of(passage) if passage.source in self._held or passage.source in self._in_bottles else 0.0
        more = start.share * (passage.ml - portion)
        self._starts_in(start.vessel, more)
        self._arrives(passage, portion + more, followed=portion)

    def _go_on(self, key: Key, index: int, vessel: str) -> None:
        """Follow the next move of a vessel, unless it gave all of it away, or the move is marked and was followed."""
        if vessel not in self._held and vessel not in self._in_bottles:
            return
        history = self._history(vessel)
        passage = history.passages[index]
        if passage.source == vessel and key not in self._marked:
            portion = self._out_of(passage)
            self._arrives(passage, portion, followed=portion)
        elif passage.is_found and history.before[index] and key not in self._marked:
            more = self._held[vessel] * passage.ml / history.before[index]  # the same mead, more of it
            self._held[vessel] += more
            self.reach.gained += more
        if vessel in self._held or vessel in self._in_bottles:
            self._wait_for(vessel, index + 1)

    def _wait_for(self, vessel: str, index: int) -> None:
        """Wait for the next move that changes how much of it there is: one out of the vessel, or a gain."""
        passages = self._history(vessel).passages
        while index < len(passages):
            passage = passages[index]
            if passage.source == vessel or passage.is_found:
                heappush(self._next, (passage.key, index, vessel))
                return
            index += 1

    def _out_of(self, passage: Passage) -> float:
        """Take a move's part out of its source: all of it with the last of the vessel."""
        if passage.source in self._in_bottles:
            return self._out_of_bottles(passage)
        held, history = self._held[passage.source], self._history(passage.source)
        whole = history.before[history.first_from(passage.key)]
        if whole <= passage.ml:
            del self._held[passage.source]
            return held
        portion = float(passage.ml) if held == whole else held * passage.ml / whole
        self._held[passage.source] = held - portion if held == whole else held * (whole - passage.ml) / whole
        return portion

    def _out_of_bottles(self, passage: Passage) -> float:
        """Take what is poured back off what is bottled; bottles that a count found hold the same mead."""
        bottling, reach, part = passage.source, self.reach, self._in_bottles[passage.source]
        whole = reach.bottled_whole.get(bottling, 0)
        if whole > passage.ml:
            reach.bottled[bottling] -= part * passage.ml
            reach.bottled_whole[bottling] -= passage.ml
            return part * passage.ml
        reach.bottled_whole.pop(bottling, None)
        more = part * (passage.ml - whole)
        reach.gained += more
        return reach.bottled.pop(bottling, 0.0) + more

    def _arrives(self, passage: Passage, ml: float, *, followed: float) -> None:
        """Let marked liquid arrive; `followed` is what of it came from a vessel that a trace was in."""
        destination = passage.destination
        if passage.is_bottled:
            self.reach.bottled[destination] = ml
            self.reach.bottled_whole[destination] = passage.ml
            self.reach.bottled_share[destination] = ml / passage.ml
            if self._histories.is_poured_back(destination):
                self._in_bottles[destination] = ml / passage.ml
                self._wait_for(destination, 1)
        elif destination in OUTSIDE_IDS:
            self.reach.lost[destination] = self.reach.lost.get(destination, 0.0) + ml
        else:
            self._comes_into(destination, ml, passage.key)
            self._held[destination] = self._held.get(destination, 0.0) + ml
        source = passage.lot or passage.source if not followed else passage.source
        flowed(self.reach.edges, source, destination, passage, ml)

    def _comes_into(self, vessel: str, ml: float, key: Key) -> None:
        self.reach.into[vessel] = self.reach.into.get(vessel, 0.0) + ml
        if vessel not in self._held:
            history = self._history(vessel)
            self._wait_for(vessel, history.first_after(key))

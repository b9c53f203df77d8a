"""The bottles as a writing transaction knows them: which bottling a code names, and how many are where at a moment.

Each bottling's moves are read once. An act later than all of them asks sums that are kept; only a late one looks back.
"""

from bisect import insort
from collections import Counter
from dataclasses import dataclass, field
from datetime import datetime
from typing import NamedTuple

from sqlalchemy import Connection, select

from cooperage.book.bottles import MAY_OWE, NOT_NAMED, BottleMove, moves_of_bottling
from cooperage.book.declared.places import BOTTLE_PLACES
from cooperage.book.declared.spelling import folded
from cooperage.book.errors import NoSuchBottling, NotAStore, NotBottledYet, StoreHoldsFewer
from cooperage.book.replay.events import STANDS
from cooperage.book.store.tables import BOTTLE_MOVE, BOTTLING, ENTRY

Moment = tuple[datetime, str]


class Bottled(NamedTuple):
    """A bottling that stands: its entry's id, its code, what a bottle holds [ml], and when it was."""

    id: str
    code: str
    bottle_ml: int
    at: datetime


class BottlesCarried(NamedTuple):
    """Bottles that an act carries: of which bottling (by its id), how many, from where, to where, whose, which paper.

    Where as many were counted as the book has, none are carried.
    """

    bottling_id: str
    bottles: int
    source: str
    destination: str
    party: str = ""
    document: str = ""


class BottleStep(NamedTuple):
    """One move of bottles in the order of the book; `party` is who got them or gave them back, blank without a name."""

    at: datetime
    entry_id: str
    source: str
    destination: str
    bottles: int
    party: str = ""

    @property
    def moment(self) -> Moment:
        """Where it stands in the order of the book."""
        return self.at, self.entry_id


@dataclass(slots=True)
class _Ledger:
    """The steps of one bottling in order, and what they come to."""

    steps: list[BottleStep] = field(default_factory=list)
    held: Counter[str] = field(default_factory=Counter)

    def take(self, step: BottleStep) -> None:
        insort(self.steps, step)
        _carry(self.held, step)

    def until(self, moment: Moment) -> Counter[str]:
        """Return how many bottles are where just before a moment."""
        if not self.steps or self.steps[-1].moment < moment:
            return self.held
        held: Counter[str] = Counter()
        for step in self.steps:
            if step.moment >= moment:
                break
            _carry(held, step)
        return held


def _carry(held: Counter[str], step: BottleStep) -> None:
    held[step.source] -= step.bottles
    held[step.destination] += step.bottles


class Bottles:
    """The bottles in a writing transaction."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._ledgers: dict[str, _Ledger] = {}
        self._stores: dict[str, str] | None = None

    def bottling(self, code: str, moment: Moment) -> Bottled:
        """Find the standing bottling of a code, in either case; raises NoSuchBottling, NotBottledYet."""
        standing = select(BOTTLING.c.entry_id, BOTTLING.c.code, BOTTLING.c.bottle_ml, ENTRY.c.happened_at)
        standing = standing.join(ENTRY, ENTRY.c.id == BOTTLING.c.entry_id).where(STANDS)
        found = self._connection.execute(standing.where(BOTTLING.c.code == code.strip())).first()
        if found is None:
            rows = self._connection.execute(standing).all()
            alike = [row for row in rows if row.code.casefold() == code.strip().casefold()]
            if len(alike) != 1:
                raise NoSuchBottling(code, [row.code for row in rows])
            found = alike[0]
        bottled = Bottled(*found)
        if moment < (bottled.at, bottled.id):
            raise NotBottledYet(bottled.code, bottled.at)
        return bottled

    def held(self, bottling_id: str, moment: Moment) -> Counter[str]:
        """Return how many bottles of a bottling are in each place just before a moment."""
        return self._ledger(bottling_id).until(moment)

    def with_whom(self, bottling_id: str, went: str, moment: Moment) -> Counter[str]:
        """Return how many bottles of an outside place each has there ("" without a name) just before a moment."""
        found: Counter[str] = Counter()
        for step in self._ledger(bottling_id).steps:
            if step.moment < moment and went in (step.source, step.destination):
                found[step.party] += step.bottles if step.destination == went else -step.bottles
        return found

    def store_named(self, name: str) -> str:
        """Return the store as it is called already, in either case, or a new one. Raises NotAStore."""
        if folded(name) in BOTTLE_PLACES:
            raise NotAStore(name)
        if self._stores is None:
            ends = (BOTTLE_MOVE.c.source, BOTTLE_MOVE.c.destination)
            found = {store for end in ends for store in self._connection.scalars(select(end).distinct())}
            self._stores = {folded(store): store for store in sorted(found - BOTTLE_PLACES)}
        return self._stores.setdefault(folded(name), " ".join(name.split()))

    def store_with(self, bottled: Bottled, name: str, asked: int, moment: Moment) -> str:
        """Return the store that bottles come out of: the named one; else the unnamed, or the only one with any.

        Raises NotAStore, and StoreHoldsFewer where it does not hold as many as are asked.
        """
        held = self.held(bottled.id, moment)
        stores = {place: there for place, there in held.items() if place not in BOTTLE_PLACES and there > 0}
        store = self.store_named(name) if name.strip() else NOT_NAMED
        if not name.strip() and held[store] < asked and len(stores) == 1:
            [store] = stores
        if held[store] < asked:
            raise StoreHoldsFewer(bottled.code, store, asked, held[store], stores)
        return store

    def first_short(
        self, bottling_id: str, without: Moment | None = None, more: BottleStep | None = None
    ) -> BottleStep | None:
        """Return the first step that a place has too few bottles for, once one is left out or one comes in."""
        ledger = self._ledger(bottling_id)
        if without is None and more is not None and ledger.until(more.moment) is ledger.held:
            return more if not _is_possible(Counter(ledger.held), more) else None
        steps = [step for step in ledger.steps if step.moment != without]
        held: Counter[str] = Counter()
        for step in sorted([*steps, *([] if more is None else [more])]):
            if not _is_possible(held, step):
                return step
        return None

    def code_of(self, bottling_id: str) -> str:
        """Return the code of a bottling by its entry's id."""
        return str(self._connection.scalar(select(BOTTLING.c.code).where(BOTTLING.c.entry_id == bottling_id)))

    def write(self, bottling_id: str, step: BottleStep) -> None:
        """Take in a step that was written."""
        self._ledger(bottling_id).take(step)

    def copied(self) -> "Bottles":
        """Return a copy that what is written from here on does not change."""
        copy = Bottles(self._connection)
        copy._ledgers = {
            bottling_id: _Ledger(list(ledger.steps), Counter(ledger.held))
            for bottling_id, ledger in self._ledgers.items()
        }
        return copy

    def forget(self, bottling_id: str) -> None:
        """Read the moves of a bottling again when they are next asked for: one of them was struck."""
        self._ledgers.pop(bottling_id, None)

    def _ledger(self, bottling_id: str) -> _Ledger:
        if bottling_id not in self._ledgers:
            ledger = self._ledgers[bottling_id] = _Ledger()
            for move in moves_of_bottling(self._connection, bottling_id):
                ledger.take(_step(move))
        return self._ledgers[bottling_id]


class BottlesThen:
    """The bottles as they were at the moment of an act, for its plan."""

    def __init__(self, bottles: Bottles, moment: Moment) -> None:
        self._bottles, self._moment = bottles, moment
        self.store_named = bottles.store_named

    def bottling(self, code: str) -> Bottled:
        """Find a bottling by code; raises NoSuchBottling, NotBottledYet."""
        return self._bottles.bottling(code, self._moment)

    def held(self, bottled: Bottled) -> Counter[str]:
        """Return how many of its bottles were where."""
        return self._bottles.held(bottled.id, self._moment)

    def with_whom(self, bottled: Bottled, went: str) -> Counter[str]:
        """Return how many of its bottles of an outside place each had there."""
        return self._bottles.with_whom(bottled.id, went, self._moment)

    def store_with(self, bottled: Bottled, name: str, asked: int) -> str:
        """Return the store that so many bottles come out of; raises NotAStore, StoreHoldsFewer."""
        return self._bottles.store_with(bottled, name, asked, self._moment)


def _step(move: BottleMove) -> BottleStep:
    return BottleStep(move.at, move.entry_id, move.source, move.destination, move.bottles, move.to)


def _is_possible(held: Counter[str], step: BottleStep) -> bool:
    _carry(held, step)
    return held[step.source] >= 0 or step.source in MAY_OWE

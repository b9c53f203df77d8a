"""What a barrel went through by the book: its fills, what it lost, what was found wrong with it and done about it."""

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, field, replace
from datetime import UTC, date, datetime
from typing import Any

from cooperage.book import Book, Cellar, Lot, Vessel
from cooperage.book.cellar import cost_of
from cooperage.book.declared.looks import smells_in
from cooperage.book.declared.places import Outside
from cooperage.book.declared.substances import TREATMENTS
from cooperage.book.replay.cache import States
from cooperage.book.replay.events import Event, Move, events, vessels_in
from cooperage.book.replay.replay import Replay
from cooperage.book.replay.state import DAY, VesselState
from cooperage.book.store.registry import Registry
from cooperage.errors import BadInput
from cooperage.programme.kept import kept
from cooperage.units import local_day

TAKES = (Outside.EVAPORATED.value, Outside.SOAKED.value)
"""The places where a barrel's wood takes mead to."""
REPAIR = "repair"
SOUR_SMELLS = frozenset({"vinegar", "solvent"})
"""Smells that stay in the wood: mead in it turns again (common practice, no source)."""
TAINT_SMELLS = frozenset({"mould", "horse"})
"""Smells that spread to whatever goes in, and to barrels near by (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class BarrelFill:
    """One fill: from `began` to `ended` [seconds since 1970], None while it lasts; what it held meanwhile."""

    began: float
    ended: float | None
    litre_days: float = 0.0

    def days(self, now: float) -> float:
        """Return how long it lasted by now."""
        return max(0.0, ((now if self.ended is None else self.ended) - self.began) / DAY)


@dataclass(frozen=True, slots=True)
class WoodLoss:
    """What wood and air took [ml], and what that mead had cost; `unpriced_ml` is of lots whose cost is unknown."""

    ml: int = 0
    cost: float = 0.0
    unpriced_ml: int = 0

    def more(self, ml: int, per_l: float | None) -> "WoodLoss":
        """Return it with more of a cost per litre; what came back is less."""
        if per_l is None:
            return replace(self, ml=self.ml + ml, unpriced_ml=self.unpriced_ml + abs(ml))
        return replace(self, ml=self.ml + ml, cost=self.cost + per_l * ml / 1000)


@dataclass(frozen=True, slots=True)
class Faults:
    """How often each thing was found or done: sour and tainted smells, leaks, repairs, other treatments."""

    sour: int = 0
    taint: int = 0
    leaks: int = 0
    repairs: int = 0
    treatments: int = 0


@dataclass(frozen=True, slots=True)
class BarrelHistory:
    """One barrel's past by the book; `days_worked` are the days on which something was written about it."""

    fills: tuple[BarrelFill, ...] = ()
    lost: WoodLoss = WoodLoss()
    faults: Faults = Faults()
    days_worked: int = 0

    @property
    def litre_days(self) -> float:
        """What it held, summed over days [L days]."""
        return sum(fill.litre_days for fill in self.fills)


def histories(book: Book, cellar: Cellar) -> dict[str, BarrelHistory]:
    """Return each barrel's past by tag, kept as long as the book does not change; retired ones too."""
    found = kept(cellar.mark, "wood_histories", lambda: _replayed(book, cellar.at), _as_json, _from_json)
    now = cellar.at.timestamp()
    return {tag: _up_to(history, cellar[tag].ml, now) for tag, history in found.items() if tag in cellar}


def _up_to(history: BarrelHistory, ml: int, now: float) -> BarrelHistory:
    """Add what the open fill held since its last entry: the kept history ends there, so that it stays true."""
    if not history.fills or history.fills[-1].ended is not None:
        return history
    *before, last = history.fills
    since = last.litre_days + ml / 1000 * now / DAY
    return replace(history, fills=(*before, replace(last, litre_days=since)))


@dataclass(slots=True)
class _Barrel:
    """A barrel while its past is replayed; the litres of the open fill count from the beginning of time."""

    vessel: Vessel
    fills: list[BarrelFill] = field(default_factory=list)
    lost: WoodLoss = WoodLoss()
    counted: Counter[str] = field(default_factory=Counter)
    days: set[date] = field(default_factory=set)
    held_ml: int = 0

    def stands_at(self, ml: int, at: float) -> None:
        """Note what it holds from now on: a fill begins, goes on or ends."""
        if ml and not self.held_ml:
            self.fills.append(BarrelFill(at, None, -ml / 1000 * at / DAY))
        elif self.held_ml:
            last = self.fills[-1]
            litre_days = last.litre_days + (self.held_ml - ml) / 1000 * at / DAY
            self.fills[-1] = replace(last, litre_days=litre_days, ended=None if ml else at)
        self.held_ml = ml

    def past(self) -> BarrelHistory:
        named = {name: self.counted[name] for name in Faults.__dataclass_fields__}
        return BarrelHistory(tuple(self.fills), self.lost, Faults(**named), len(self.days))


def _replayed(book: Book, until: datetime) -> dict[str, BarrelHistory]:
    with book.reading() as connection:
        registry = Registry(connection)
        barrels = {vessel.id: _Barrel(vessel) for vessel in registry.load() if vessel.is_barrel}
        states = States({vessel.id: VesselState(vessel.barrel_ml) for vessel in registry.load()})
        replay = Replay(states.state_of, registry.lot_by_id)
        for event in events(connection, until=until):
            for barrel, move in _losses(event, barrels):
                _note_loss(barrel, move, states.state_of(barrel.vessel.id), registry.lots)
            replay.apply(event)
            _note(event, barrels, states)
    return {barrel.vessel.tag: barrel.past() for barrel in barrels.values()}


def _losses(event: Event, barrels: Mapping[str, _Barrel]) -> Iterator[tuple[_Barrel, Move]]:
    for move in event.moves:
        if move.destination in TAKES and move.source in barrels:
            yield barrels[move.source], move
        elif move.source in TAKES and move.destination in barrels:
            yield barrels[move.destination], move


def _note_loss(barrel: _Barrel, move: Move, state: VesselState, lots: Mapping[str, Lot]) -> None:
    ml = move.ml if move.destination in TAKES else -move.ml
    barrel.lost = barrel.lost.more(ml, cost_of(state.contents.origins, lots))


def _note(event: Event, barrels: Mapping[str, _Barrel], states: States) -> None:
    touched = vessels_in(event.moves) | ({event.vessel} if event.vessel else set())
    for barrel in (barrels[each] for each in touched if each in barrels):
        barrel.stands_at(states.state_of(barrel.vessel.id).ml, event.at)
        if barrel.vessel.id == event.vessel:
            barrel.days.add(local_day(datetime.fromtimestamp(event.at, UTC)))
            barrel.counted.update(_found(event))
        if any(move.source == barrel.vessel.id and move.destination == Outside.LEAK for move in event.moves):
            barrel.counted["leaks"] += 1


def _found(event: Event) -> Iterator[str]:
    """Yield what an entry counts as: a sour or tainted smell, a leak, a repair, another treatment."""
    said = event.said or {}
    if (treatment := said.get("treatment")) in TREATMENTS and TREATMENTS[str(treatment)].is_care:
        yield "treatments"
    if treatment == REPAIR:
        yield "repairs"
    smells = _smells(str(said.get("smell") or ""))
    if smells & SOUR_SMELLS:
        yield "sour"
    if smells & TAINT_SMELLS:
        yield "taint"


def _smells(text: str) -> set[str]:
    try:
        return set(smells_in(text)) if text else set()
    except BadInput:  # an old look may hold any words
        return set()


def _as_json(found: Mapping[str, BarrelHistory]) -> dict[str, Any]:
    return {tag: asdict(history) for tag, history in found.items()}


def _from_json(value: Mapping[str, Any]) -> dict[str, BarrelHistory]:
    return {
        tag: BarrelHistory(
            tuple(BarrelFill(**fill) for fill in each["fills"]),
            WoodLoss(**each["lost"]),
            Faults(**each["faults"]),
            each["days_worked"],
        )
        for tag, each in value.items()
    }

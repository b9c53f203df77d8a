"""Trace both ways: from a bottling back to lots and barrels, and from a lot on to bottlings.

The standing moves are followed once, in order. Every millilitre carries the lot it was received as and the last barrel
it rested in; liquid in one vessel is mixed, so what leaves takes every part in proportion. What a vessel holds is
counted in whole millilitres beside its parts, so the last of it takes every part along: an empty vessel hands nothing
on, and only what a path of moves joins is listed, however little of it there is.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime

from sqlalchemy import Connection, select

from cooperage.book.declared.places import Outside
from cooperage.book.errors import NothingToTrace
from cooperage.book.replay.contents import UNKNOWN_ORIGIN
from cooperage.book.replay.events import Event, Move, events
from cooperage.book.replay.state import moment
from cooperage.book.store.registry import Lot, Registry
from cooperage.book.store.tables import BOTTLING
from cooperage.units import DEFAULT, Quantity, Units, show

Strand = tuple[str, str | None]
"""Where a part of the liquid comes from: (lot id or substance, the last barrel's id or None)."""
Strands = dict[Strand, float]


@dataclass(frozen=True, slots=True)
class Share:
    """One part of a whole: its name (None: it was in no barrel), the fraction, the litres."""

    name: str | None
    fraction: float
    litres: float


def share_words(fraction: float, units: Units = DEFAULT, digits: int = 1) -> str:
    """Format a fraction as per cent. Above zero but below the last digit shown, it is "a trace"."""
    text = show(Quantity.PERCENT, 100 * fraction, units, digits=digits)
    return "a trace" if fraction > 0 and text == show(Quantity.PERCENT, 0.0, units, digits=digits) else text


@dataclass(slots=True)
class Trace:
    """What a code turns out to be, and its shares: `lots` and `barrels` each sum to one.

    Of a lot, `now` lists where it is: bottlings, vessels and outside places, summing to one.
    """

    code: str
    kind: str
    at: datetime | None
    litres: float
    bottles: int | None = None
    lots: list[Share] = field(default_factory=list)
    barrels: list[Share] = field(default_factory=list)
    now: list[Share] = field(default_factory=list)


def barrel_words(share: Share, traced: Trace) -> str:
    """Return the barrel of a share, or that its mead was in none (before this one, where a barrel is traced)."""
    return share.name or ("no barrel before this one" if traced.kind == "barrel" else "no barrel")


@dataclass(slots=True)
class _Bottled:
    code: str
    bottles: int
    at: float = 0.0
    ml: int = 0
    strands: Strands = field(default_factory=dict)
    poured_back_ml: int = 0

    @property
    def in_bottles(self) -> Strands:
        """The strands that were not poured back."""
        return _scaled(self.strands, 1 - self.poured_back_ml / self.ml) if self.poured_back_ml < self.ml else {}


class _Flow:
    """The strands in every vessel, bottling and outside place, followed through the moves."""

    def __init__(self, connection: Connection, registry: Registry) -> None:
        self.held: dict[str, Strands] = defaultdict(dict)
        self.ml: dict[str, int] = defaultdict(int)
        self.bottled: dict[str, _Bottled] = {
            row.entry_id: _Bottled(row.code, row.bottles) for row in connection.execute(select(BOTTLING))
        }
        self.standing: list[_Bottled] = []
        vessels = registry.load()
        self._barrels = {vessel.id for vessel in vessels if vessel.is_barrel}
        self._vessels = {vessel.id for vessel in vessels}
        for event in events(connection):
            self._follow(event)

    def _follow(self, event: Event) -> None:
        for move in event.moves:
            portion = self._out_of_bottles(move, event) if move.source == Outside.BOTTLED else self._out_of(move)
            if move.destination == Outside.BOTTLED:
                bottled = self.bottled[event.id]
                bottled.at, bottled.ml = event.at, move.ml
                _add(bottled.strands, portion)
                self.standing.append(bottled)
            else:
                self.ml[move.destination] += move.ml
                _add(self.held[move.destination], portion)

    def _out_of_bottles(self, move: Move, event: Event) -> Strands:
        """Return what bottles that are poured back bring: their part of all that their bottling is made of."""
        code = str((event.said or {}).get("code", ""))
        bottled = next(each for each in self.standing if each.code == code)
        bottled.poured_back_ml += move.ml
        return _scaled(bottled.strands, move.ml / bottled.ml)

    def _out_of(self, move: Move) -> Strands:
        if move.source not in self._vessels:
            return self._from_outside(move)
        there, whole = self.held[move.source], self.ml[move.source]
        self.ml[move.source] = rest = whole - move.ml
        if rest <= 0:
            self.held[move.source] = {}
            portion = there
        else:
            self.held[move.source] = _scaled(there, rest / whole)
            portion = _scaled(there, move.ml / whole)
        return self._marked(portion, move.source) if move.source in self._barrels else portion

    def _from_outside(self, move: Move) -> Strands:
        if move.lot is not None or move.substance is not None:
            return {(move.lot or str(move.substance), None): float(move.ml)}
        whole = self.ml[move.destination]  # a gauge found more: the same mead, more of it
        if not whole:
            return {(UNKNOWN_ORIGIN, None): float(move.ml)}
        return _scaled(self.held[move.destination], move.ml / whole)

    def _marked(self, portion: Strands, barrel: str) -> Strands:
        marked: Strands = defaultdict(float)
        for (origin, _), ml in portion.items():
            marked[origin, barrel] += ml
        return marked


def _scaled(strands: Strands, factor: float) -> Strands:
    return {strand: ml * factor for strand, ml in strands.items()}


def _add(there: Strands, portion: Mapping[Strand, float]) -> None:
    for strand, ml in portion.items():
        there[strand] = there.get(strand, 0.0) + ml


def trace(connection: Connection, code: str) -> Trace:
    """Trace a bottling, a lot or a vessel by its code; raises NothingToTrace."""
    registry = Registry(connection)
    flow = _Flow(connection, registry)
    wanted = code.strip().upper()
    for bottled in flow.standing:
        if bottled.code.upper() == wanted:
            return _of_bottling(bottled, registry)
    for lot in registry.lots.values():
        if lot.code.upper() == wanted:
            return _onwards(lot, flow, registry)
    if registry.has(code):
        vessel = registry.vessel(code)
        return _backwards(vessel.tag, vessel.kind, flow.ml[vessel.id], flow.held[vessel.id], registry)
    lots = (lot.code for lot in registry.lots.values())
    raise NothingToTrace(code, [*(each.code for each in flow.standing), *lots, *(each.tag for each in registry.load())])


def all_bottlings(connection: Connection) -> list[Trace]:
    """Trace every standing bottling, oldest first."""
    registry = Registry(connection)
    flow = _Flow(connection, registry)
    return [_of_bottling(bottled, registry) for bottled in flow.standing]


def _of_bottling(bottled: _Bottled, registry: Registry) -> Trace:
    traced = _backwards(bottled.code, "bottling", bottled.ml, bottled.strands, registry)
    traced.at, traced.bottles = moment(bottled.at), bottled.bottles
    return traced


def _backwards(code: str, kind: str, ml: int, strands: Strands, registry: Registry) -> Trace:
    lots = _shares((_origin(origin, registry), part) for (origin, _), part in strands.items())
    barrels = _shares((_barrel(barrel, registry), part) for (_, barrel), part in strands.items())
    return Trace(code, kind, None, ml / 1000, lots=lots, barrels=barrels)


def _onwards(lot: Lot, flow: _Flow, registry: Registry) -> Trace:
    places = {f"bottling {bottled.code}": bottled.in_bottles for bottled in flow.standing}
    places |= {_place(place, registry): strands for place, strands in flow.held.items()}
    now = _shares(
        (place, part) for place, strands in places.items() for (origin, _), part in strands.items() if origin == lot.id
    )
    return Trace(lot.code, "lot", lot.pitched_on, sum(share.litres for share in now), now=now)


def _shares(parts: Iterable[tuple[str | None, float]]) -> list[Share]:
    summed: dict[str | None, float] = defaultdict(float)
    for name, ml in parts:
        summed[name] += ml
    whole = sum(summed.values())
    shares = [Share(name, ml / whole, ml / 1000) for name, ml in summed.items()]
    return sorted(shares, key=lambda share: (-share.fraction, share.name or ""))


def _origin(origin: str, registry: Registry) -> str:
    return registry.lots[origin].code if origin in registry.lots else origin


def _barrel(barrel: str | None, registry: Registry) -> str | None:
    return None if barrel is None else registry.by_id(barrel).tag


def _place(place: str, registry: Registry) -> str:
    return place if place in set(Outside) else registry.by_id(place).tag

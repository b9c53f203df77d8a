"""Trace both ways in shares: from a bottling back to lots and barrels, and from a lot on to where it is.

What is followed, and how, is in `tracing`; here it is summed by lot, by the last barrel, and by place.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from sqlalchemy import Connection

from cooperage.book.errors import NothingToTrace
from cooperage.book.store.registry import Registry
from cooperage.book.store.tables import MOVE
from cooperage.book.tracing.back import Back, Origins
from cooperage.book.tracing.histories import LAST, Histories, passages_in
from cooperage.book.tracing.names import Names
from cooperage.book.tracing.onward import Begins, FoundOnward, Onward
from cooperage.book.tracing.starts import Narrowed, begins
from cooperage.book.tracing.subject import Filled, Subject, bottlings, subject_of
from cooperage.units import DEFAULT, Quantity, Units, show


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


def trace(connection: Connection, code: str) -> Trace:
    """Trace a bottling or a vessel back, a lot on; raises NothingToTrace."""
    registry, histories = Registry(connection), Histories(connection)
    subject = subject_of(connection, registry, code)
    if subject.kind == "lot":
        return lot_trace(subject, onward(connection, histories, subject, Narrowed()), Names(connection, registry))
    if subject.is_vessel:
        origins = Back(histories, registry).of_vessel(subject.id, LAST)
        return back_trace(subject.code, subject.kind, origins, Names(connection, registry))
    if subject.kind == "entry":
        raise NothingToTrace(code)
    return _bottled(connection, subject.filled, histories, registry)


def all_bottlings(connection: Connection) -> list[Trace]:
    """Trace every standing bottling, oldest first."""
    registry, histories = Registry(connection), Histories(connection)
    return [_bottled(connection, [each], histories, registry) for each in bottlings(connection)]


def onward(
    connection: Connection,
    histories: Histories,
    subject: Subject | None,
    meant: Narrowed,
    poured: Sequence[Begins] = (),
) -> FoundOnward:
    """Follow what a lot, a vessel, an entry, a hand or a span is about, forward to where it is now.

    `poured` are bottles that were meant, where they went back into a vessel; what is all meant is not marked again.
    """
    begun = begins(connection, histories, subject, meant)
    moves = {each.passage.key for each in begun if each.passage is not None}
    begun += [each for each in poured if each.key not in moves]
    return Onward(histories, begun).run()


def bottled_back(connection: Connection, filled: Sequence[Filled], histories: Histories, registry: Registry) -> Origins:
    """Follow back the bottlings of one code."""
    moved = passages_in(connection, MOVE.c.entry_id.in_([each.entry for each in filled]))
    moved = [each for each in moved if each.is_bottled]
    return Back(histories, registry).of_moves(moved, filled[0].entry)


def _bottled(connection: Connection, filled: Sequence[Filled], histories: Histories, registry: Registry) -> Trace:
    origins = bottled_back(connection, filled, histories, registry)
    traced = back_trace(filled[0].code, "bottling", origins, Names(connection, registry))
    traced.at, traced.bottles = filled[0].at, sum(each.bottles for each in filled)
    return traced


def back_trace(code: str, kind: str, origins: Origins, names: Names) -> Trace:
    """Sum what was followed back by lot, and by the last barrel."""
    parts = origins.parts.items()
    lots = shares((names.of(origin), ml) for (origin, _), ml in parts)
    barrels = shares((None if strand.barrel is None else names.of(strand.barrel), ml) for (_, strand), ml in parts)
    return Trace(code, kind, None, origins.ml / 1000, lots=lots, barrels=barrels)


def lot_trace(subject: Subject, reach: FoundOnward, names: Names) -> Trace:
    """Sum where a lot is now, by bottling, vessel and outside place."""
    bottled = ((f"bottling {names.of(entry)}", ml) for entry, ml in reach.bottled.items())
    placed = ((names.of(place), ml) for place, ml in (*reach.now.items(), *reach.lost.items()))
    now = shares([*bottled, *placed])
    pitched = names.lot(subject.id).pitched_on
    return Trace(subject.code, "lot", pitched, sum(share.litres for share in now), now=now)


def shares(parts: Iterable[tuple[str | None, float]]) -> list[Share]:
    """Sum parts [ml] by name, as fractions of the whole, the largest first."""
    summed: dict[str | None, float] = defaultdict(float)
    for name, ml in parts:
        summed[name] += ml
    whole = sum(summed.values())
    found = [Share(name, ml / whole, ml / 1000) for name, ml in summed.items()]
    return sorted(found, key=lambda share: (-share.fraction, share.name or ""))

"""The book passed over once, up to the end of a span: running totals at both ends, and how the vessels stood then."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import Connection, select

from cooperage.book.bottles import BottleMove, bottle_moves
from cooperage.book.replay.events import events
from cooperage.book.replay.snapshots import replay_to, replayed_on
from cooperage.book.replay.state import VesselState
from cooperage.book.store.registry import Registry
from cooperage.book.store.tables import ENTRY, READING
from cooperage.programme.kept import book_mark, kept
from cooperage.programme.periods.classes import StrengthClasses
from cooperage.programme.periods.lines import A_MEASUREMENT, BOTTLED, BULK
from cooperage.programme.periods.postings import Crossing, Ledger, Totals
from cooperage.units import Span


@dataclass(frozen=True, slots=True)
class Left:
    """What a filed period leaves to the next: its end, its classes, and the running totals as it was filed.

    `bottlings` has the strength with which each bottling was filled [% vol], None where that is not known. `ethanol` is
    what was there of it at the end, by part and class [ml].
    """

    end: datetime
    classes: StrengthClasses
    totals: Totals
    bottlings: dict[str, float | None]
    ethanol: dict[tuple[str, str], int] = field(default_factory=dict)


class Stood(NamedTuple):
    """What a vessel held, or the stores of a bottling, at the end of a span [ml], its class, and its ethanol [ml].

    The ethanol is 0 where the strength is not known.
    """

    ml: int
    strength_class: str
    ethanol_ml: int

    @classmethod
    def of(cls, ml: int, abv: float | None, classes: StrengthClasses) -> "Stood":
        """Return it of a strength [% vol]."""
        return cls(ml, classes.of(abv), round(ml * (abv or 0.0) / 100))


@dataclass(frozen=True, slots=True)
class BookPassed:
    """Running totals as a span begins and as it ends, by the book as it is now, and what was there at its end.

    `vessels` are by vessel id. By the id of a bottling: `stores`, `codes`, and in `bottlings` the strength with which
    it was filled [% vol], None where that is not known.
    """

    before: Totals
    after: Totals
    vessels: dict[str, Stood]
    stores: dict[str, Stood]
    codes: dict[str, str]
    bottlings: dict[str, float | None]

    @property
    def ethanol(self) -> dict[tuple[str, str], int]:
        """What was there of it at the end, by part and class [ml]."""
        found: dict[tuple[str, str], int] = defaultdict(int)
        for part, stock in ((BULK, self.vessels), (BOTTLED, self.stores)):
            for each in stock.values():
                found[part, each.strength_class] += each.ethanol_ml
        return {key: ml for key, ml in found.items() if ml}


def pass_over(
    connection: Connection, span: Span, classes: StrengthClasses, filed: Sequence[Left] = (), *, is_unchanged: bool
) -> BookPassed:
    """Pass over the book up to the end of a span that begins no earlier than what was filed ends.

    Each filed period counts by its own classes, the span by `classes`. Where nothing of what was filed has changed
    since (`is_unchanged`), it begins with what the last one left, and reads only what came after. It is kept as long as
    the book does not change.
    """
    begins_with = filed[-1:] if is_unchanged else [(each.end, each.classes) for each in filed]
    mark = f"{book_mark(connection, Registry(connection))} {classes} {begins_with} {is_unchanged}"
    name = "-".join(f"{end:%Y%m%d%H%M%S}" for end in (span.start, span.end) if end is not None)
    return kept(
        mark,
        f"period-{name}",
        lambda: _passed(connection, span, classes, filed, is_unchanged=is_unchanged),
        _as_json,
        _from_json,
    )


def _as_json(passed: BookPassed) -> list[Any]:
    totals = [[[*key, ml] for key, ml in each.items()] for each in (passed.before, passed.after)]
    return [*totals, passed.vessels, passed.stores, passed.codes, passed.bottlings]


def _from_json(kept: list[Any]) -> BookPassed:
    before, after, vessels, stores, codes, bottlings = kept
    return BookPassed(_totals(before), _totals(after), _stood(vessels), _stood(stores), codes, bottlings)


def _totals(kept: list[Any]) -> Totals:
    return {(part, line, name): ml for part, line, name, ml in kept}


def _stood(kept: dict[str, Any]) -> dict[str, Stood]:
    return {key: Stood(*row) for key, row in kept.items()}


def _passed(
    connection: Connection, span: Span, classes: StrengthClasses, filed: Sequence[Left], *, is_unchanged: bool
) -> BookPassed:
    moves = bottle_moves(connection, until=span.last)
    if filed and is_unchanged:
        ledger, since = _from_filed(connection, filed[-1], moves), filed[-1].end
        eras: list[Left] = []
    else:
        ledger, since = _from_nothing(connection, filed[0].classes if filed else classes, moves), None
        eras = list(filed)
    for era in eras:
        ledger.change_classes(era.classes)
        ledger.run(events(connection, since=since, until=Span(end=era.end).last))
        since = era.end
    if span.start is not None:
        ledger.run(events(connection, since=since, until=span.last_before))
        since = span.start
    before = dict(ledger.totals)
    ledger.change_classes(classes)
    ledger.run(events(connection, since=since, until=span.last))
    vessels = {id_: Stood.of(each.ml, ledger.strength_of(id_), classes) for id_, each in ledger.states.items()}
    stores = {id_: Stood.of(ml, ledger.bottlings.get(id_), classes) for id_, ml in ledger.bottle_ml.items()}
    return BookPassed(before, ledger.totals, vessels, stores, ledger.codes, ledger.bottlings)


def crossings_of(connection: Connection, ids: Iterable[str], filed: Sequence[Left]) -> dict[str, list[Crossing]]:
    """Return what entries brought from class to class by the book as it is now, by their ids; it is kept, too."""
    wanted = sorted(ids)
    eras = [(each.end, each.classes) for each in filed]
    mark = f"{book_mark(connection, Registry(connection))} {eras} {wanted}"
    return kept(mark, "crossings", lambda: _crossed(connection, wanted, filed), dict, _crossings)


def _crossings(kept: dict[str, Any]) -> dict[str, list[Crossing]]:
    return {id_: [(why, old, new, ml) for why, old, new, ml in rows] for id_, rows in kept.items()}


def _crossed(connection: Connection, ids: Sequence[str], filed: Sequence[Left]) -> dict[str, list[Crossing]]:
    moves = bottle_moves(connection, until=Span(end=filed[-1].end).last)
    ledger, since = _from_nothing(connection, filed[0].classes, moves), None
    ledger.crossings, struck = {each: [] for each in ids}, _struck_strengths(connection, ids)
    for era in filed:
        ledger.change_classes(era.classes)
        for event in events(connection, since=since, until=Span(end=era.end).last):
            _cross_back(ledger, struck, (event.at, event.id))
            ledger.run((event,))
        _cross_back(ledger, struck, (era.end.timestamp(), ""))
        since = era.end
    return ledger.crossings


class _Struck(NamedTuple):
    """A strength that was measured and is struck: when, by which entry, the strike, the vessel and the strength."""

    at: float
    entry: str
    strike: str
    vessel: str
    abv: float


def _struck_strengths(connection: Connection, strikes: Sequence[str]) -> list[_Struck]:
    """List the measured strengths that strikes take back, in the order in which they were measured."""
    strike = ENTRY.alias()
    found = (
        select(ENTRY.c.happened_at, ENTRY.c.id, strike.c.id, READING.c.vessel_id, READING.c.value)
        .join(strike, strike.c.strikes_id == ENTRY.c.id)
        .join(READING, READING.c.entry_id == ENTRY.c.id)
        .where(READING.c.property == "abv", strike.c.id.in_(strikes))
    )
    return sorted(_Struck(row[0].timestamp(), *row[1:]) for row in connection.execute(found))


def _cross_back(ledger: Ledger, struck: list[_Struck], until: tuple[float, str]) -> None:
    """Note for each strength that was struck what goes back from its class, as things stood when it was measured."""
    while struck and (struck[0].at, struck[0].entry) < until:
        taken = struck.pop(0)
        measured, now, ml = ledger.classes.of(taken.abv), ledger.class_of(taken.vessel), ledger.states[taken.vessel].ml
        if ml and measured != now:
            ledger.crossings[taken.strike].append((A_MEASUREMENT, measured, now, ml))


def _from_nothing(connection: Connection, classes: StrengthClasses, moves: Sequence[BottleMove]) -> Ledger:
    registry = Registry(connection)
    states = {vessel.id: VesselState(vessel.barrel_ml) for vessel in registry.load()}
    replay = replayed_on(connection, registry, states.__getitem__)
    return Ledger(states, registry.lot_by_id, replay, classes, _by_entry(moves))


def _from_filed(connection: Connection, left: Left, moves: Sequence[BottleMove]) -> Ledger:
    registry = Registry(connection)
    states = replay_to(connection, registry, until=Span(end=left.end).last)
    replay, totals = replayed_on(connection, registry, states.__getitem__), dict(left.totals)
    ledger = Ledger(
        states, registry.lot_by_id, replay, left.classes, _by_entry(moves), totals, bottlings=dict(left.bottlings)
    )
    for move in moves:
        if move.at < left.end:
            ledger.count_bottles(move)
    return ledger


def _by_entry(moves: Sequence[BottleMove]) -> dict[str, list[BottleMove]]:
    found: dict[str, list[BottleMove]] = defaultdict(list)
    for move in moves:
        found[move.entry_id].append(move)
    return dict(found)

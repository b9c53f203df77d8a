"""The standing moves of one vessel in order, with what it held before each: read when a trace reaches it."""

from bisect import bisect_left
from collections import OrderedDict
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import UTC, datetime
from operator import itemgetter
from sys import intern
from typing import Any, NamedTuple

from sqlalchemy import (
    BindParameter,
    ColumnElement,
    CompoundSelect,
    Connection,
    Select,
    and_,
    bindparam,
    case,
    cast,
    exists,
    func,
    literal,
    null,
    select,
    union_all,
)

from cooperage.book.declared.acts import KINDS
from cooperage.book.declared.places import OUTSIDE_IDS, Outside
from cooperage.book.store.tables import BOTTLE_MOVE, ENTRY, MOVE

Key = tuple[datetime, str, int]
"""What orders moves: when the entry happened, its id, the move's number in it."""

LAST: Key = (datetime.max.replace(tzinfo=UTC), "", 0)
"""After every move."""

AFTER_ITS_MOVES = 1 << 30
"""A number in an entry that comes after all of its moves."""

_KEPT = 200_000
"""Moves that are kept in memory at once; histories that were used longest ago are read again when they are wanted."""

_STRIKE = ENTRY.alias("strike")
NOT_STRUCK = and_(ENTRY.c.kind != "strike", ~exists().where(_STRIKE.c.strikes_id == ENTRY.c.id))
"""True of an entry that stands, asked entry by entry: few are looked at, and each has its index."""


class Passage(NamedTuple):
    """A standing move of `ml` between two place ids, with its entry's kind and hand.

    A bottling is a place by itself, by the id of its entry: liquid is bottled into it, and poured back out of it.
    """

    at: datetime
    entry: str
    seq: int
    source: str
    destination: str
    ml: int
    lot: str | None
    substance: str | None
    kind: str
    hand: str

    @property
    def key(self) -> Key:
        """Its place in the order of moves."""
        return self.at, self.entry, self.seq

    @property
    def is_found(self) -> bool:
        """Return True if a gauge found more of what was there."""
        is_named = self.source == Outside.BOTTLED or self.lot is not None or self.substance is not None
        return self.source in OUTSIDE_IDS and not is_named

    @property
    def is_bottled(self) -> bool:
        """Return True if it went into bottles: the bottling is the entry that moved it."""
        return self.destination == self.entry


class Dose(NamedTuple):
    """An addition to a vessel: what, how much in the substance's own unit, when and by whom; `key` orders it."""

    at: datetime
    entry: str
    vessel: str
    substance: str
    amount: float
    hand: str

    @property
    def key(self) -> Key:
        """Its place in the order of moves: after those of its own entry."""
        return self.at, self.entry, AFTER_ITS_MOVES


_POURED_FROM = select(BOTTLE_MOVE.c.bottling_id).where(BOTTLE_MOVE.c.entry_id == MOVE.c.entry_id).scalar_subquery()
_SOURCE = case(
    (MOVE.c.source_id == Outside.BOTTLED, func.coalesce(_POURED_FROM, MOVE.c.source_id)), else_=MOVE.c.source_id
)
_DESTINATION = case((MOVE.c.destination_id == Outside.BOTTLED, MOVE.c.entry_id), else_=MOVE.c.destination_id)
_COLUMNS = (
    *(ENTRY.c.happened_at, MOVE.c.entry_id, MOVE.c.seq, _SOURCE, _DESTINATION),
    *(MOVE.c.ml, MOVE.c.lot_id, MOVE.c.substance, ENTRY.c.kind, ENTRY.c.hand),
)


def passages_where(*conditions: ColumnElement[bool]) -> Select[Any]:
    """Select standing moves as `passages_of` takes them."""
    joined = select(*_COLUMNS).join(ENTRY, ENTRY.c.id == MOVE.c.entry_id)
    return joined.where(*conditions, NOT_STRUCK)


_OF_VESSEL = union_all(  # each part has its index
    passages_where(MOVE.c.source_id == bindparam("vessel")),
    passages_where(MOVE.c.destination_id == bindparam("vessel")),
)
_SINCE = bindparam("since", type_=ENTRY.c.happened_at.type)
_VESSELS: BindParameter[str] = bindparam("vessels", expanding=True)
_ENDS = (MOVE.c.source_id, -1), (MOVE.c.destination_id, 1)


def _later(end: ColumnElement[str], is_meant: ColumnElement[bool]) -> Select[Any]:
    return passages_where(is_meant, ENTRY.c.happened_at >= _SINCE).add_columns(end)


def _all(end: ColumnElement[str], sign: int, is_meant: ColumnElement[bool]) -> Select[Any]:
    """Select all that was moved: a strike moves back what it strikes, so no entry needs to be looked up for it."""
    blanks = (null(), null(), literal(""), literal(""))
    columns = (
        _SINCE,
        literal(""),
        literal(0),
        end,
        end,
        cast(sign * func.sum(MOVE.c.ml), MOVE.c.ml.type),
        *blanks,
        end,
    )
    return select(*columns).where(is_meant).group_by(end)


def _since(is_meant: Callable[[ColumnElement[str]], ColumnElement[bool]]) -> CompoundSelect[Any]:
    """Select the moves from a time on as `passages_of` takes them, then the sums of all moves, which have no entry."""
    later = (_later(end, is_meant(end)) for end, _ in _ENDS)
    return union_all(*later, *(_all(end, sign, is_meant(end)) for end, sign in _ENDS))


_OF_ONE_SINCE = _since(lambda end: end == bindparam("vessel"))
_OF_VESSELS_SINCE = _since(lambda end: end.in_(_VESSELS))
_DOSING = tuple(kind for kind, act in KINDS.items() if act.brings_substances)
_DOSES = select(ENTRY.c.happened_at, ENTRY.c.id, ENTRY.c.vessel_id, ENTRY.c.said, ENTRY.c.hand).where(
    ENTRY.c.vessel_id == bindparam("vessel"), ENTRY.c.kind.in_(_DOSING), NOT_STRUCK
)
_KEY = itemgetter(0, 1, 2)


def passages_of(rows: Iterable[Any]) -> list[Passage]:
    """Make passages of rows, in order; the names of places, which repeat, are kept once."""
    made = [
        Passage(at, intern(entry), seq, intern(source), intern(destination), ml, lot, substance, kind, intern(hand))
        for at, entry, seq, source, destination, ml, lot, substance, kind, hand in rows
    ]
    return sorted(made, key=_KEY)


class VesselHistory:
    """The moves of one vessel, or of one bottling, in order; what it held before each [ml], to the millilitre.

    Those from a time on, where it held `opening` before the first of them [ml].
    """

    __slots__ = ("before", "keys", "ml", "passages", "vessel")

    def __init__(self, vessel: str, passages: list[Passage], opening: int = 0) -> None:
        self.vessel, self.passages = vessel, passages
        self.keys = [_KEY(passage) for passage in passages]
        self.before: list[int] = []
        self.ml = opening
        for passage in passages:
            self.before.append(self.ml)
            self.ml += passage.ml if passage.destination == vessel else -passage.ml

    def first_from(self, key: Key) -> int:
        """Return the index of the first move at a key or after it."""
        return bisect_left(self.keys, key)

    def first_after(self, key: Key) -> int:
        """Return the index of the first move after a key."""
        return bisect_left(self.keys, (*key[:2], key[2] + 1))

    def ml_at(self, key: Key) -> int:
        """Return what it held just before a key [ml]."""
        index = self.first_from(key)
        return self.before[index] if index < len(self.before) else self.ml


class Histories:
    """The histories of the vessels that are reached, read one by one and kept while there is room for them."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._kept: OrderedDict[str | tuple[str, datetime], VesselHistory] = OrderedDict()
        self._doses: dict[str, list[Dose]] = {}
        self._rows = 0
        self._poured_back: dict[str, list[Passage]] | None = None

    def of(self, vessel: str) -> VesselHistory:
        """Return the history of a vessel by its id, or of a bottling that was poured back by its entry's."""
        found = self._kept.get(vessel)
        if found is None:
            found = VesselHistory(vessel, self._passages(vessel))
            self._keep(vessel, found)
        else:
            self._kept.move_to_end(vessel)
        return found

    def _keep(self, key: str | tuple[str, datetime], history: VesselHistory) -> None:
        self._kept[key] = history
        self._rows += len(history.passages)
        while self._rows > _KEPT and len(self._kept) > 1:
            self._rows -= len(self._kept.popitem(last=False)[1].passages)

    def since(self, vessel: str, at: datetime, also: Iterable[str] = ()) -> VesselHistory:
        """Return the history of a vessel from a time on; those of others that are wanted next are read with it."""
        found = self._kept.get((vessel, at))
        if found is not None:
            self._kept.move_to_end((vessel, at))
            return found
        if self.is_poured_back(vessel):
            return self.of(vessel)
        others = [each for each in also if not self.is_poured_back(each) and (each, at) not in self._kept]
        for found in self._read_since([*others, vessel], at):
            self._keep((found.vessel, at), found)
        return self._kept[vessel, at]

    def _read_since(self, vessels: Sequence[str], at: datetime) -> Iterator[VesselHistory]:
        passages: dict[str, list[Any]] = {vessel: [] for vessel in vessels}
        opening = dict.fromkeys(vessels, 0)  # what it holds now, less what came later
        query, given = (
            (_OF_ONE_SINCE, {"vessel": vessels[0]}) if len(vessels) == 1 else (_OF_VESSELS_SINCE, {"vessels": vessels})
        )
        for *row, vessel in self._connection.execute(query, given | {"since": at}):
            if row[1]:
                passages[vessel].append(row)
                opening[vessel] += row[5] if row[3] == vessel else -row[5]
            else:
                opening[vessel] += int(row[5])
        for vessel, rows in passages.items():
            yield VesselHistory(vessel, passages_of(rows), opening[vessel])

    def _passages(self, vessel: str) -> list[Passage]:
        if not self.is_poured_back(vessel):
            return passages_of(self._connection.execute(_OF_VESSEL, {"vessel": vessel}))
        filled = passages_in(self._connection, MOVE.c.entry_id == vessel, MOVE.c.destination_id == Outside.BOTTLED)
        return [*filled, *self._pourings[vessel]]

    def is_poured_back(self, place: str) -> bool:
        """Return True of a bottling of which bottles were poured back into a vessel."""
        return place in self._pourings

    @property
    def _pourings(self) -> dict[str, list[Passage]]:
        """What was poured back, by the bottling: rare, so all of it is read at once."""
        if self._poured_back is None:
            self._poured_back = {}
            for passage in passages_in(self._connection, MOVE.c.source_id == Outside.BOTTLED):
                self._poured_back.setdefault(passage.source, []).append(passage)
        return self._poured_back

    def doses(self, vessel: str) -> list[Dose]:
        """Return the additions to a vessel, in order."""
        if vessel not in self._doses:
            rows = self._connection.execute(_DOSES, {"vessel": vessel})
            self._doses[vessel] = sorted((dose for row in rows for dose in _doses(row)), key=lambda dose: dose.key)
        return self._doses[vessel]


def _doses(row: Any) -> list[Dose]:  # noqa: ANN401 - a row of the query above
    at, entry, vessel, said, hand = row
    given = [(said["substance"], said["amount"])] if "substance" in said else (said.get("doses") or [])
    return [Dose(at, entry, vessel, str(name), float(amount), hand) for name, amount in given]


def passages_in(connection: Connection, *conditions: ColumnElement[bool]) -> list[Passage]:
    """List the standing moves for which conditions on moves and their entries hold, in order."""
    return passages_of(connection.execute(passages_where(*conditions)))

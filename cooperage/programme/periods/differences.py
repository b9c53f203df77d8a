"""What was written for a period after it was filed: late entries, and strikes of entries that were counted."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy import Connection, func, select

from cooperage.book import Book
from cooperage.book.declared.places import OUTSIDE_IDS, BottlePlace
from cooperage.book.log import Entry, entries
from cooperage.book.store.registry import Lot, Registry
from cooperage.book.store.tables import BOTTLE_MOVE, BOTTLING, ENTRY, FILED_ENTRY
from cooperage.programme.periods.classes import class_words
from cooperage.programme.periods.lines import from_store, to_store
from cooperage.programme.periods.passing import crossings_of
from cooperage.programme.periods.period import FiledPeriod
from cooperage.programme.periods.postings import Crossing, outside_line
from cooperage.programme.periods.stored import filed_in, find_period, not_counted, standing
from cooperage.units import DEFAULT, Quantity, Units, show

_CHUNK = 500
_OUTSIDE_BOTTLES = frozenset(place.value for place in BottlePlace)


@dataclass(frozen=True, slots=True)
class LateEntry:
    """An entry that fell into a filed period and is not counted by it; `lines` has what it changes [ml], by line.

    A strike takes off what it strikes. `crossed` is the mead that it brings from class to class, as a measurement does,
    or the strike of one. `carried_in` is the code of the period that counts it, None until one does.
    """

    entry: Entry
    lines: tuple[tuple[str, int], ...]
    period: str
    carried_in: str | None
    crossed: tuple[Crossing, ...] = ()

    @property
    def net_ml(self) -> int:
        """What it changes of all that is there [ml]."""
        return sum(
            move.ml * ((move.source in OUTSIDE_IDS) - (move.destination in OUTSIDE_IDS)) for move in self.entry.moves
        )


def differences(book: Book, code: str | None = None) -> list[LateEntry]:
    """List what came later for one filed period, or for all of them what no period counts yet, the oldest first.

    Raises NoSuchPeriod.
    """
    with book.reading() as connection:
        filed = filed_in(connection)
        late = differences_in(connection, code, filed)
        if not late:
            return late
        eras = [each.figures.left for each in standing(filed)]
        crossed = crossings_of(connection, (each.entry.id for each in late), eras)
        return [replace(each, crossed=tuple(crossed[each.entry.id])) for each in late]


def differences_in(
    connection: Connection, code: str | None = None, filed: Sequence[FiledPeriod] | None = None
) -> list[LateEntry]:
    """List the same in a view of the caller's, who may have read what is filed; what crossed is left out."""
    filed = filed_in(connection) if filed is None else filed
    chain = standing(filed)
    if code is None:
        return _late(connection, chain, chain, since=None) if chain else []
    of = find_period(filed, code)
    is_first = of.start == min(each.start for each in filed)
    return _late(connection, [of], chain, since=None if is_first else of.start)


def later_counts(connection: Connection, filed: Sequence[FiledPeriod]) -> dict[str, int]:
    """Return how many entries came later for each period of all that were filed, by its code; it reads none of them."""
    chain = standing(filed)
    first = min((each.start for each in chain), default=None)
    return {each.code: _later_count(connection, each, chain, is_first=each.start == first) for each in filed}


def _later_count(connection: Connection, of: FiledPeriod, chain: Sequence[FiledPeriod], *, is_first: bool) -> int:
    within = [ENTRY.c.happened_at < of.end, *(() if is_first else (ENTRY.c.happened_at >= of.start,))]
    ids = [of.id, *(each.id for each in chain if each.end < of.end)]
    happened = select(func.count()).select_from(ENTRY).where(*within)
    known = select(func.count(ENTRY.c.id.distinct())).join(FILED_ENTRY, ENTRY.c.id == FILED_ENTRY.c.entry_id)
    counted = known.where(FILED_ENTRY.c.period_id.in_(ids), *within)
    return int(connection.execute(happened).scalar_one() - connection.execute(counted).scalar_one())


def _late(
    connection: Connection, counting: Sequence[FiledPeriod], chain: Sequence[FiledPeriod], since: datetime | None
) -> list[LateEntry]:
    ends = {each.end for each in counting}
    earlier = [each for each in chain if each.end < max(ends)] if len(counting) == 1 else []
    ids = list(connection.execute(not_counted(max(ends), [*counting, *earlier])).scalars())
    found = [
        each
        for first in range(0, len(ids), _CHUNK)
        for each in entries(connection, ids=ids[first : first + _CHUNK], since=since)
    ]
    carried = _carried(connection, ids, chain)
    bottles = _bottle_lines(connection, found)
    lots = {lot.code: lot for lot in Registry(connection).lots.values()}
    return [
        LateEntry(
            each, (*_lines(each, lots), *bottles.get(each.id, ())), _fell_in(each, counting), carried.get(each.id)
        )
        for each in sorted(found, key=lambda each: (each.written_at, each.id))
    ]


def _fell_in(entry: Entry, chain: Sequence[FiledPeriod]) -> str:
    return next((each.code for each in chain if entry.happened_at < each.end), chain[-1].code)


def _carried(connection: Connection, ids: Collection[str], chain: Sequence[FiledPeriod]) -> dict[str, str]:
    """Return the code of the standing period that counts an entry, by its id."""
    codes = {each.id: each.code for each in chain}
    found: dict[str, str] = {}
    every = list(ids)
    for first in range(0, len(every), _CHUNK):
        query = select(FILED_ENTRY.c.entry_id, FILED_ENTRY.c.period_id)
        for entry_id, period_id in connection.execute(
            query.where(FILED_ENTRY.c.entry_id.in_(every[first : first + _CHUNK]))
        ):
            if period_id in codes:
                found[entry_id] = codes[period_id]
    return found


def _lines(entry: Entry, lots: Mapping[str, Lot]) -> tuple[tuple[str, int], ...]:
    summed: dict[str, int] = defaultdict(int)
    for move in entry.moves:
        sign, meant = 1, move
        if entry.strikes is not None:
            sign, meant = -1, move._replace(source=move.destination, destination=move.source)
        line = outside_line(meant, lots.__getitem__)
        if line is not None:
            summed[line] += sign * move.ml
    return tuple(summed.items())


def _bottle_lines(connection: Connection, found: Sequence[Entry]) -> dict[str, list[tuple[str, int]]]:
    """Return what entries change of the bottles in the stores, by line [ml], by the entry's id."""
    meant = {each.strikes or each.id: each for each in found}
    lines: dict[str, list[tuple[str, int]]] = defaultdict(list)
    every = list(meant)
    for first in range(0, len(every), _CHUNK):
        for entry_id, source, destination, ml in _bottles_of(connection, every[first : first + _CHUNK]):
            entry = meant[entry_id]
            sign = -1 if entry.strikes else 1
            if source in _OUTSIDE_BOTTLES:
                lines[entry.id].append((f"bottles: {to_store(BottlePlace(source))}", sign * ml))
            if destination in _OUTSIDE_BOTTLES:
                lines[entry.id].append((f"bottles: {from_store(BottlePlace(destination))}", sign * ml))
    return lines


def _bottles_of(connection: Connection, ids: Collection[str]) -> Iterator[tuple[str, str, str, int]]:
    """Yield (entry id, source, destination, ml) of bottles that entries moved, struck ones too."""
    filled = select(BOTTLING.c.entry_id, BOTTLING.c.bottles * BOTTLING.c.bottle_ml)
    for entry_id, filled_ml in connection.execute(filled.where(BOTTLING.c.entry_id.in_(ids))):
        yield entry_id, BottlePlace.FILLED.value, "", filled_ml
    ml = BOTTLE_MOVE.c.bottles * BOTTLING.c.bottle_ml
    moved = select(BOTTLE_MOVE.c.entry_id, BOTTLE_MOVE.c.source, BOTTLE_MOVE.c.destination, ml)
    joined = moved.join(BOTTLING, BOTTLING.c.entry_id == BOTTLE_MOVE.c.bottling_id)
    for row in connection.execute(joined.where(BOTTLE_MOVE.c.entry_id.in_(ids))):
        yield row[0], row[1], row[2], row[3]


def sum_by_line(late: Iterable[LateEntry]) -> dict[str, int]:
    """Sum what entries change, by line [ml]; what comes to nothing stays at 0."""
    summed: dict[str, int] = defaultdict(int)
    for each in late:
        for line, ml in each.lines:
            summed[line] += ml
    return dict(summed)


def changes_words(late: LateEntry, units: Units = DEFAULT) -> str:
    """Return what an entry changes: "samples +0.1 L"; "a measurement: 200.0 L from to 14 % to over 14 to 16 %"."""
    crossed = (
        f"{why}: {show(Quantity.VOLUME, ml, units)} from class “{class_words(old, units)}” to "
        f"“{class_words(new, units)}”"
        for why, old, new, ml in late.crossed
    )
    return ", ".join([*filter(None, [lines_words(late.lines, units)]), *crossed])


def lines_words(lines: Iterable[tuple[str, int]], units: Units = DEFAULT) -> str:
    """Return what lines change: "samples +0.1 L, lees -2.0 L"."""
    return ", ".join(f"{line} {'-' if ml < 0 else '+'}{show(Quantity.VOLUME, abs(ml), units)}" for line, ml in lines)

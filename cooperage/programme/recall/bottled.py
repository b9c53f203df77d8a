"""The bottles that a recall reaches: filled with what is traced, or moved by the entries that are meant."""

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from cooperage.book.bottles import BottleMove, moves_of_bottlings
from cooperage.book.tracing.flows import Edge, Edges
from cooperage.book.tracing.histories import Histories
from cooperage.book.tracing.names import Names
from cooperage.book.tracing.onward import Begins, FoundOnward
from cooperage.book.tracing.subject import in_chunks
from cooperage.programme.recall.found import BottleHolder, RecallRow
from cooperage.programme.recall.whereabouts import BottlesWith, shares_poured_back, whereabouts

_ALL_OF_IT = 1 - 1e-9
_DIGITS = 6
"""Of millilitres; what is left after them is the rounding of shares."""


@dataclass(frozen=True, slots=True)
class BottledPart:
    """What is reached of a bottling [ml], who has it, and when it came there, by whom.

    `began` is what the entries that are meant mark beyond what was filled with it [ml]; what of that went back into a
    vessel since is followed there. `gained` is what counts found more of it [ml].
    """

    entry: str
    code: str
    ml: float
    began: float
    gained: float
    holders: tuple[BottleHolder, ...]
    first: datetime
    last: datetime
    hands: tuple[str, ...]

    @property
    def bottles(self) -> int:
        """Bottles that have some of it."""
        return sum(each.bottles for each in self.holders)

    def row(self, whole: float) -> RecallRow:
        """Return it as a row; `whole` is all that is traced [ml]."""
        there = sum(each.ml_there for each in self.holders)
        share = self.ml / there if there else 0.0
        return RecallRow(
            "bottling",
            self.code,
            self.ml,
            self.ml / whole,
            share,
            self.first,
            self.last,
            self.hands,
            self.bottles,
            entry=self.entry,
            holders=self.holders,
        )


def bottled_parts(
    connection: Connection, reach: FoundOnward, names: Names, meant: Mapping[str, Collection[str]]
) -> list[BottledPart]:
    """Return what is reached in bottles; `meant` are the entries that moved bottles, by the bottling's entry."""
    wanted = sorted({*reach.bottled_share, *meant})
    names.learn_bottlings(wanted)
    moves: dict[str, list[BottleMove]] = {}
    for some in in_chunks(wanted):
        moves |= moves_of_bottlings(connection, some)
    parts = (_part(entry, moves[entry], reach, meant.get(entry, ()), names) for entry in wanted)
    return [part for part in parts if part is not None]


def poured_back(connection: Connection, histories: Histories, meant: Mapping[str, Collection[str]]) -> list[Begins]:
    """Return where bottles that are meant went back into a vessel; `meant` as for `bottled_parts`."""
    found: list[Begins] = []
    for some in in_chunks(sorted(entry for entry in meant if histories.is_poured_back(entry))):
        for entry, moves in moves_of_bottlings(connection, some).items():
            shares = shares_poured_back(moves, meant[entry])
            pourings = [each for each in histories.of(entry).passages if each.entry in shares]
            found += [Begins(each.key, entry, each, shares[each.entry]) for each in pourings]
    return found


def _part(
    entry: str, moves: list[BottleMove], reach: FoundOnward, meant: Collection[str], names: Names
) -> BottledPart | None:
    """Return what is reached of one bottling: filled with what is traced, or moved by the entries that are meant."""
    size, filled, share = moves[0].bottle_ml, names.filled(entry), reach.bottled_share.get(entry, 0.0)
    if share >= _ALL_OF_IT:
        meant = ()
    holders = tuple(_holders(whereabouts(moves, meant), share, size))
    if not holders:
        return None
    marked = [move for move in moves if move.entry_id in meant]
    ml = sum(each.ml for each in holders)
    began = sum(each.marked for each in whereabouts(moves, meant)) * (1 - share) * size
    gained = round(ml - began - reach.bottled.get(entry, 0.0), _DIGITS)
    came = [] if share else marked
    first, last = (came[0].at, came[-1].at) if came else (filled.at, filled.at)
    hands = {filled.hand} if share else set()
    hands |= {move.hand for move in marked}
    return BottledPart(entry, filled.code, ml, began, gained, holders, first, last, tuple(sorted(hands)))


def _holders(found: Iterable[BottlesWith], share: float, size: int) -> Iterator[BottleHolder]:
    for each in found:
        part = share + (1 - share) * each.marked_share
        if part > 0:
            yield BottleHolder(
                each.place, each.to, each.documents, each.bottles, part, each.bottles * size * part, each.is_away
            )


def with_holders(edges: Edges, parts: Iterable[BottledPart]) -> Edges:
    """Return edges that lead on from bottlings to whoever has their bottles."""
    found = dict(edges)
    for part in parts:
        for each in part.holders:
            if each.is_away:
                found[part.entry, each.words] = Edge(each.ml, part.last, part.last)
    return found

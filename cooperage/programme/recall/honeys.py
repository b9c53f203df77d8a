"""The honeys of what is traced back: of each lot by its batch sheet, in proportion, with mass and producer."""

from collections.abc import Iterable, Iterator, Mapping

from sqlalchemy import Connection

from cooperage.book.store.tables import MOVE
from cooperage.book.tracing.flows import Edge, Edges
from cooperage.book.tracing.histories import passages_in
from cooperage.book.tracing.names import Names
from cooperage.programme.batches.kept import standing_batches, standing_honeys
from cooperage.programme.batches.sheet import Batch, Honey
from cooperage.programme.recall.found import HoneyBehind


def honeys_behind(connection: Connection, lots: Mapping[str, float], names: Names, whole: float) -> list[HoneyBehind]:
    """Return the honeys of lots, of which so much is traced ([ml] by id, `whole` of all), the most honey first.

    What is traced of a lot has its part of the lot's honey, by what was received of the lot. A lot without a batch
    sheet is left out, and then no share of all the honey is known.
    """
    batches, honeys = standing_batches(connection), standing_honeys(connection)
    known = {lot: batches[names.of(lot)] for lot in lots if names.of(lot) in batches}
    found = [
        each
        for lot, batch in known.items()
        for each in _of_lot(batch, honeys, lots[lot], _received(connection, lot), whole)
    ]
    is_all_known = len(known) == len(lots)
    return sorted(_with_shares(found, is_all_known=is_all_known), key=lambda each: (-(each.grams or 0.0), each.honey))


def _received(connection: Connection, lot: str) -> int:
    return sum(passage.ml for passage in passages_in(connection, MOVE.c.lot_id == lot))


def _of_lot(batch: Batch, honeys: Mapping[str, Honey], ml: float, received: int, whole: float) -> Iterator[HoneyBehind]:
    for used in batch.honeys:
        part = used.grams / batch.honey_grams
        honey = honeys[used.code.upper()]
        yield HoneyBehind(
            batch.lot,
            honey.code,
            honey.floral,
            honey.producer,
            honey.harvest,
            honey.supplier_lot,
            batch.hand,
            ml * part,
            ml * part / whole,
            used.grams * ml / received if received else None,
            part,
        )


def _with_shares(found: Iterable[HoneyBehind], *, is_all_known: bool) -> list[HoneyBehind]:
    """Return honeys with their shares of all the honey, by mass; without, where the honey of a part is not known."""
    found = list(found)
    masses = [each.grams for each in found]
    known = [mass for mass in masses if mass is not None]
    if not is_all_known or len(known) < len(masses):
        return found
    return [each.with_share(mass / sum(known)) for each, mass in zip(found, known, strict=True)]


def honey_edges(found: Iterable[HoneyBehind], lots: Iterable[str], names: Names) -> Edges:
    """Return edges from each honey to its lot, as a tree has them."""
    ids = {names.of(lot): lot for lot in lots}
    return {(each.called, ids[each.lot]): Edge(each.ml, hands={each.hand}) for each in found}

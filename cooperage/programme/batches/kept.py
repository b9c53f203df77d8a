"""Honeys and batch sheets in the database. Rows are only added; of a honey, or of a lot's sheets, the last stands."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import fields, replace
from typing import Any, TypeVar

from sqlalchemy import Connection, insert, select

from cooperage.book import Book, Writing
from cooperage.book.declared.allowed import LONGEST_CODE, LONGEST_TEXT, check_text, tidied
from cooperage.book.store.tables import BATCH, HONEY, LOT
from cooperage.errors import BadInput
from cooperage.programme.batches.sheet import (
    Batch,
    Honey,
    HoneyUsed,
    Juice,
    NoSuchHoney,
    NotEnoughHoney,
)

_HONEY = tuple(declared.name for declared in fields(Honey))
_BATCH = tuple(declared.name for declared in fields(Batch) if declared.name != "lot")


def honeys_in(connection: Connection) -> list[Honey]:
    """List every row of every honey, in the order they were written."""
    rows = connection.execute(select(*(HONEY.c[name] for name in _HONEY)).order_by(HONEY.c.written_at, HONEY.c.id))
    return [Honey(**row) for row in rows.mappings()]


def standing_honeys(connection: Connection) -> dict[str, Honey]:
    """Return the honeys that stand, by code in capitals, in order of code."""
    latest = {each.code.upper(): each for each in honeys_in(connection)}
    return dict(sorted(latest.items()))


def batches_in(connection: Connection) -> list[Batch]:
    """List every batch sheet that was ever written, oldest first."""
    columns = [BATCH.c[name] for name in _BATCH]
    query = select(*columns, LOT.c.code.label("lot")).join(LOT, LOT.c.id == BATCH.c.lot_id)
    rows = connection.execute(query.order_by(BATCH.c.written_at, BATCH.c.id))
    return [batch_of_row(dict(row)) for row in rows.mappings()]


def batch_of_row(row: dict[str, Any]) -> Batch:
    """Return the sheet of a row; raises TypeError and ValueError where its lists are none."""
    honeys = tuple(HoneyUsed(str(code), int(grams)) for code, grams in row["honeys"])
    others = tuple(Juice(str(name), int(ml), float(sg)) for name, ml, sg in row["others"])
    return Batch(**row | {"honeys": honeys, "others": others})


def standing_batches(connection: Connection) -> dict[str, Batch]:
    """Return the batch sheets that stand, by the code of their lot."""
    return {each.lot: each for each in batches_in(connection)}


def used_grams(batches: Iterable[Batch]) -> dict[str, int]:
    """Return how much of each honey is in batches [g], by its code in capitals."""
    used: dict[str, int] = defaultdict(int)
    for batch in batches:
        for each in batch.honeys:
            used[each.code.upper()] += each.grams
    return used


def honey_named(honeys: Mapping[str, Honey], code: str) -> Honey:
    """Find a honey by its code, in any case; raises NoSuchHoney."""
    found = honeys.get(code.strip().upper())
    if found is None:
        raise NoSuchHoney(code.strip(), [each.code for each in honeys.values()])
    return found


def insert_honey(session: Writing, honey: Honey) -> Honey:
    """Write a honey as it is; raises NotAllowed, NotEnoughHoney."""
    honey = tidied(honey)
    check_text(honey.hand, "the name", LONGEST_TEXT)
    used = used_grams(standing_batches(session.connection).values()).get(honey.code.upper(), 0)
    if used > honey.grams:
        raise NotEnoughHoney(honey.code, _kg(honey.grams), _kg(used))
    known = standing_honeys(session.connection).get(honey.code.upper())
    honey = honey if known is None else replace(honey, code=known.code)
    session.connection.execute(insert(HONEY), {name: getattr(honey, name) for name in _HONEY})
    return honey


def insert_batch(session: Writing, batch: Batch) -> Batch:
    """Write a batch sheet as it is; raises NotAllowed, NoSuchLot, NoSuchHoney, NotEnoughHoney, BadInput."""
    batch = _checked(session, batch)
    lot = session.registry.lot(batch.lot)
    row = {name: getattr(batch, name) for name in _BATCH} | {"lot_id": lot.id}
    row |= {"honeys": [list(each) for each in batch.honeys], "others": [list(each) for each in batch.others]}
    session.connection.execute(insert(BATCH), row)
    return replace(batch, lot=lot.code)


def _checked(session: Writing, batch: Batch) -> Batch:
    batch = tidied(batch)
    check_text(batch.hand, "the name", LONGEST_TEXT)
    lot = session.registry.lot(batch.lot)
    honeys = standing_honeys(session.connection)
    known = tuple(HoneyUsed(honey_named(honeys, each.code).code, each.grams) for each in batch.honeys)
    for each in batch.others:
        if not check_text(each.name, "the juice's name", LONGEST_CODE).strip():
            raise BadInput("a juice has no name; write it as 'sour cherry=120 L at 1.055'")
    if any(amount <= 0 for amount in (*(each.grams for each in known), *(each.ml for each in batch.others))):
        raise BadInput("honey and juice must be more than nothing; leave out what is not in the batch")
    if batch.coolest is not None and batch.warmest is not None and batch.coolest >= batch.warmest:
        raise BadInput("the yeast's coolest lies above its warmest; were they exchanged?")
    batch = replace(batch, honeys=known)
    others = [each for code, each in standing_batches(session.connection).items() if code != lot.code]
    for code, used in used_grams([*others, batch]).items():
        if code in honeys and used > honeys[code].grams:
            raise NotEnoughHoney(honeys[code].code, _kg(honeys[code].grams), _kg(used))
    return batch


def _kg(grams: int) -> str:
    return f"{grams / 1000:g} kg"


_Row = TypeVar("_Row", Honey, Batch)
_CALCULATED = frozenset({"id", "target_sg", "target_l", "end_sg", "end_sd", "hand", "written_at"})


def completed(row: _Row, earlier: _Row | None) -> _Row:
    """Return a row with what it leaves open as in the one that it corrects, if there is one."""
    if earlier is None:
        return row
    left_open = (
        each.name for each in fields(row) if each.name not in _CALCULATED and getattr(row, each.name) in (None, (), "")
    )
    return replace(row, **{name: getattr(earlier, name) for name in left_open})


def keep_honey(book: Book, honey: Honey, *, hand: str = "") -> Honey:
    """Write a honey, or correct it, signed with the hand at work; raises NotAllowed, NotEnoughHoney.

    What a correction leaves open stays as it was.
    """
    with book.writing() as session:
        honey = completed(honey, standing_honeys(session.connection).get(honey.code.strip().upper()))
        return insert_honey(session, replace(honey, id=session.new_id(), hand=hand, written_at=session.now))


def keep_batch(book: Book, batch: Batch, *, hand: str = "") -> Batch:
    """Calculate a batch sheet and write it, or correct the lot's; raises what `insert_batch` does, and NoMust.

    What a correction leaves open stays as it was.
    """
    from cooperage.programme.batches.stated import calculated  # brings NumPy, so only when it is needed

    with book.writing() as session:
        known = standing_honeys(session.connection)
        batch = completed(batch, standing_batches(session.connection).get(session.registry.lot(batch.lot).code))
        named = [honey_named(known, each.code) for each in batch.honeys]
        batch = calculated(batch, {each.code.upper(): each for each in named})
        return insert_batch(session, replace(batch, id=session.new_id(), hand=hand, written_at=session.now))

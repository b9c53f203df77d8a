"""Rows of `honeys.csv` and `batches.csv`, both ways: honey as it came in, and the batch sheets of lots."""

from collections.abc import Iterator
from dataclasses import asdict, replace
from typing import Any

from sqlalchemy import Connection

from cooperage.book import Writing
from cooperage.book.declared.allowed import NotAllowed
from cooperage.book.errors import AlreadyThere
from cooperage.exchange.tables.cells import Clock, show_cell
from cooperage.exchange.tables.columns import BATCHES, HONEYS, Column
from cooperage.exchange.tables.sheets import Row
from cooperage.programme.batches.kept import (
    batches_in,
    honey_named,
    honeys_in,
    insert_batch,
    insert_honey,
    standing_honeys,
)
from cooperage.programme.batches.sheet import Batch, Honey, HoneyUsed
from cooperage.programme.batches.typed import parse_honeys, parse_juices

STATED = ("target_sg", "target_l", "end_sg", "end_sd")
_DIGITS = 9


class Batches:
    """The honeys and batch sheets of the book and those of the file, inside one writing transaction."""

    def __init__(self, session: Writing, clock: Clock) -> None:
        self._session, self._clock = session, clock
        self._honeys = {each.id: each for each in honeys_in(session.connection)}
        self._batches = {each.id: each for each in batches_in(session.connection)}

    def add_honey(self, row: Row) -> bool:
        """Write a honey; return whether it was new. Raises BadCell, AlreadyThere, NotEnoughHoney."""
        values = self._signed(row, HONEYS)
        values["grams"] = round(values["grams"])
        honey = Honey(**values)
        if (there := self._honeys.get(honey.id)) is not None:
            if there != honey:
                raise AlreadyThere("honey", there.code)
            return False
        try:
            insert_honey(self._session, honey)
        except NotAllowed as error:
            raise row.placed(error, _column(HONEYS, error.field)) from error
        return True

    def add_batch(self, row: Row) -> bool:
        """Write a batch sheet; return whether it was new. Raises BadCell, AlreadyThere, and what `insert_batch` does.

        What a file does not state of its target is calculated as for any new sheet.
        """
        values = self._signed(row, BATCHES)
        values["honeys"] = parse_honeys(_parts(values.get("honeys")))
        values["others"] = parse_juices(_parts(values.get("others")))
        values |= {name: round(values[name], _DIGITS) for name in STATED if values.get(name) is not None}
        batch = Batch(**values)
        batch = replace(batch, lot=self._session.registry.lot(batch.lot).code)
        if (there := self._batches.get(batch.id)) is not None:
            if there != batch:
                raise AlreadyThere("a batch sheet of the lot", there.lot)
            return False
        try:
            insert_batch(self._session, self._stated(batch))
        except NotAllowed as error:
            raise row.placed(error, _column(BATCHES, error.field)) from error
        return True

    def _stated(self, batch: Batch) -> Batch:
        if any(getattr(batch, name) is not None for name in STATED):
            return batch
        from cooperage.programme.batches.stated import calculated  # brings NumPy

        known = standing_honeys(self._session.connection)
        return calculated(batch, {each.code.upper(): honey_named(known, each.code) for each in batch.honeys})

    def _signed(self, row: Row, columns: tuple[Column, ...]) -> dict[str, Any]:
        values: dict[str, Any] = {"hand": "", "note": ""} | row.values(columns, self._clock)
        values["id"] = values.get("id") or self._session.new_id()
        values["written_at"] = values.get("written_at") or self._session.now
        return values


def _column(columns: tuple[Column, ...], field: str) -> str | None:
    return next((column.name for column in columns if column.fills == field), None)


def _parts(text: str | None) -> list[str]:
    return [part.strip() for part in (text or "").split(";") if part.strip()]


def show_honeys(connection: Connection) -> Iterator[dict[str, str]]:
    """Yield the cells of every honey that was ever written, in the order they were written."""
    for each in honeys_in(connection):
        yield _shown(HONEYS, asdict(each))


def show_batches(connection: Connection) -> Iterator[dict[str, str]]:
    """Yield the cells of every batch sheet that was ever written, in the order they were written."""
    for each in batches_in(connection):
        values = {column.fills: getattr(each, column.fills) for column in BATCHES}
        values["honeys"] = "; ".join(_mass(used) for used in each.honeys)
        values["others"] = "; ".join(f"{juice.name}={juice.ml} ml at {juice.sg!r} SG" for juice in each.others)
        yield _shown(BATCHES, values)


def _mass(used: HoneyUsed) -> str:
    return f"{used.code}={used.grams} g"


def _shown(columns: tuple[Column, ...], values: dict[str, Any]) -> dict[str, str]:
    return {column.name: show_cell(column, values[column.fills]) for column in columns}

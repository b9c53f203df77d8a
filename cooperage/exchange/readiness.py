"""Rows of `ready.csv`, the definitions of ready, both ways; limits stand in plain words, in the units of files."""

from collections.abc import Iterator
from typing import Any

from sqlalchemy import Connection

from cooperage.book import Writing
from cooperage.book.errors import AlreadyThere
from cooperage.exchange.tables.cells import Clock, show_cell
from cooperage.exchange.tables.columns import READY
from cooperage.exchange.tables.sheets import Row
from cooperage.programme.ready.definitions import (
    CHANCE,
    RISK,
    Definition,
    check_chances,
    definitions_in,
    insert_definition,
)
from cooperage.programme.ready.limits import limits_words, parse_limits


class Definitions:
    """The definitions in the book and those of the file, inside one writing transaction."""

    def __init__(self, session: Writing, clock: Clock) -> None:
        self._session, self._clock = session, clock
        self._there = {each.id: each for each in definitions_in(session.connection)}

    def add(self, row: Row) -> bool:
        """Write a definition; return whether it was new. Raises BadCell, BadInput, AlreadyThere."""
        made, lot_id = self._read(row)
        there = self._there.get(made.id)
        if there is not None:
            if there != made:
                raise AlreadyThere("definition", there.words())
            return False
        insert_definition(self._session.connection, made, lot_id)
        self._there[made.id] = made
        return True

    def _read(self, row: Row) -> tuple[Definition, str | None]:
        values = row.values(READY, self._clock)
        lot = self._session.registry.lot(values["lot"]) if values.get("lot") else None
        limits = values.get("limits", "")
        made = Definition(
            values.get("id") or self._session.new_id(),
            None if lot is None else lot.code,
            parse_limits(limits) if limits else (),
            round(values.get("chance", 100 * CHANCE) / 100, _DIGITS),
            round(values.get("risk", 100 * RISK) / 100, _DIGITS),
            values.get("hand", ""),
            values.get("written_at") or self._session.now,
        )
        check_chances(made.chance, made.risk)
        return made, None if lot is None else lot.id


_DIGITS = 12


def show_definitions(connection: Connection) -> Iterator[dict[str, str]]:
    """Yield the cells of every definition that was ever written, oldest first."""
    for each in definitions_in(connection):
        values: dict[str, Any] = {"lot": each.lot, "limits": limits_words(each.limits, exact=True), "id": each.id}
        values |= {
            "hand": each.hand,
            "chance": 100 * each.chance,
            "risk": 100 * each.risk,
            "written_at": each.written_at,
        }
        yield {column.name: show_cell(column, values[column.fills]) for column in READY}

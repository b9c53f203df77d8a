"""Rows of `risks_passed.csv`, the risks of bottlings that were passed with a reason, both ways."""

import json
from collections.abc import Iterator
from typing import Any

from sqlalchemy import Connection

from cooperage.book import Writing
from cooperage.book.errors import AlreadyThere
from cooperage.exchange.tables.cells import Clock, show_cell
from cooperage.exchange.tables.columns import RISKS_PASSED
from cooperage.exchange.tables.sheets import Row
from cooperage.programme.bottling_risks.passed import RisksPassed, insert_passed, risks_passed

_LISTS = {"vessels": list, "asked": dict, "figures": list, "reasons": dict}


class PassedRisks:
    """The risks that were passed, in the book and in the file, inside one writing transaction."""

    def __init__(self, session: Writing, clock: Clock) -> None:
        self._session, self._clock = session, clock
        self._there = {each.id: each for each in risks_passed(session.connection)}

    def add(self, row: Row) -> bool:
        """Write a row; return whether it was new. Raises BadCell, AlreadyThere."""
        values = row.values(RISKS_PASSED, self._clock)
        made = RisksPassed(
            id=values.get("id") or self._session.new_id(),
            hand=values.get("hand", ""),
            written_at=values.get("written_at") or self._session.now,
            **{name: _read(row, name, values[name]) for name in _LISTS},
        )
        there = self._there.get(made.id)
        if there is not None:
            if there != made:
                raise AlreadyThere("list of risks", ", ".join(there.vessels))
            return False
        insert_passed(self._session.connection, made)
        self._there[made.id] = made
        return True


def _read(row: Row, column: str, text: str) -> Any:  # noqa: ANN401 - a list or an object
    try:
        found = json.loads(text)
    except ValueError as error:
        raise row.bad("is not as an export writes it; leave this column as it was", column) from error
    if not isinstance(found, _LISTS[column]):
        raise row.bad("is not as an export writes it; leave this column as it was", column)
    return found


def show_risks_passed(connection: Connection) -> Iterator[dict[str, str]]:
    """Yield the cells of every list that was passed, oldest first."""
    for each in risks_passed(connection):
        values: dict[str, Any] = {name: json.dumps(getattr(each, name), ensure_ascii=False) for name in _LISTS}
        values |= {"hand": each.hand, "written_at": each.written_at, "id": each.id}
        yield {column.name: show_cell(column, values[column.fills]) for column in RISKS_PASSED}

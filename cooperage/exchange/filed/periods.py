"""Rows of `periods.csv` and `filed_entries.csv`, both ways: periods to the letter as they were filed."""

import json
from collections import defaultdict
from collections.abc import Iterator
from typing import Any

from sqlalchemy import Connection, select

from cooperage.book import Writing
from cooperage.book.errors import AlreadyThere
from cooperage.book.filed import FIGURE_COLUMNS, FILED_LAWS, digest_of, figures_by_period, filed_rows
from cooperage.book.store.tables import ENTRY, FILED_ENTRY, PERIOD
from cooperage.exchange.tables.cells import Clock, show_cell
from cooperage.exchange.tables.columns import FILED_ENTRIES, PERIODS
from cooperage.exchange.tables.sheets import Row
from cooperage.programme.periods.stored import insert_rows, period_of_row

_JSON = {"classes": dict, "totals": list, "bottlings": dict, "counted": dict, "figures": list}
_AS_EXPORTED = "is not as an export writes it; leave this column as it was"
_OF_A_ROW = tuple(column.name for column in PERIOD.columns if column.name != "corrects_id")


class FiledPeriods:
    """The filed periods of the book and those of the file, inside one writing transaction."""

    def __init__(self, session: Writing, clock: Clock) -> None:
        self._session, self._clock = session, clock
        self._there = {row["code"]: row for row in filed_rows(session.connection)}
        self._entries: dict[str, list[str]] = defaultdict(list)

    def note_entry(self, row: Row) -> str:
        """Remember an entry that a period counts; return the period's code. Raises BadCell."""
        values = row.values(FILED_ENTRIES, self._clock)
        self._entries[values["period"]].append(values["entry"])
        return str(values["period"])

    def has(self, code: str) -> bool:
        """Return True if the book has a period of a code already."""
        return code in self._there

    def add(self, row: Row) -> bool:
        """Write a period; return whether it was new. Raises BadCell, AlreadyThere."""
        if self._clock.shift:
            raise row.bad("a filed period cannot be moved to other days; leave the file out", "start")
        values = self._values(row)
        there = self._there.get(values["code"])
        if there is not None:
            if there["digest"] != values["digest"]:
                raise AlreadyThere("period", values["code"])
            return False
        self._write(row, values)
        self._there[values["code"]] = values
        return True

    def _values(self, row: Row) -> dict[str, Any]:
        values: dict[str, Any] = {"hand": "", "note": "", "counted": "{}", "bottlings": "{}", "corrects": None}
        values |= row.values(PERIODS, self._clock)
        for name, kind in _JSON.items():
            values[name] = _read_json(row, name, values[name], kind)
        return values

    def _write(self, row: Row, values: dict[str, Any]) -> None:
        corrects = values["corrects"]
        if corrects is not None and corrects not in self._there:
            raise row.bad("names a period that is not in the book", "corrects")
        period = {name: values[name] for name in _OF_A_ROW}
        period["corrects_id"] = None if corrects is None else self._there[corrects]["id"]
        entries = self._entries[values["code"]]
        try:
            named = [dict(zip(FIGURE_COLUMNS, each, strict=True)) for each in values["figures"]]
            period_of_row(period, named, len(entries), corrects)
            digest = digest_of(period, values["figures"], entries)
        except (KeyError, TypeError, ValueError, AttributeError) as error:
            raise row.bad(_AS_EXPORTED, "figures") from error
        if digest != period["digest"]:
            raise row.bad("is not as it was filed: its figures or the entries it counts were changed", "digest")
        self._check_entries(row, entries)
        insert_rows(self._session.connection, period, values["figures"], entries)
        broken = [line for law in FILED_LAWS for line in law(self._session.connection)[1]]
        if broken:
            raise row.bad(f"does not fit the book: {broken[0]}", "code")
        values["id"] = period["id"]

    def _check_entries(self, row: Row, entries: list[str]) -> None:
        there = set(self._session.connection.execute(select(ENTRY.c.id)).scalars())
        if missing := sorted(set(entries) - there):
            raise row.bad(f"counts entry {missing[0]}, which is not in the book; import its entries first", "code")


def _read_json(row: Row, column: str, text: str, kind: type) -> Any:  # noqa: ANN401 - a list or an object
    try:
        found = json.loads(text)
    except ValueError as error:
        raise row.bad(_AS_EXPORTED, column) from error
    if not isinstance(found, kind):
        raise row.bad(_AS_EXPORTED, column)
    return found


def show_periods(connection: Connection) -> Iterator[dict[str, str]]:
    """Yield the cells of every filed period, in the order they were filed."""
    rows = filed_rows(connection)
    figures = figures_by_period(connection) if rows else {}
    codes = {row["id"]: row["code"] for row in rows}
    for row in rows:
        made = [[each[name] for name in FIGURE_COLUMNS] for each in figures[row["id"]]]
        values = row | {"figures": made, "corrects": codes.get(row["corrects_id"])}
        values |= {name: json.dumps(values[name], ensure_ascii=False) for name in _JSON}
        yield {column.name: show_cell(column, values[column.fills]) for column in PERIODS}


def show_filed_entries(connection: Connection) -> Iterator[dict[str, str]]:
    """Yield the code of a period and the id of an entry that it counts."""
    query = select(PERIOD.c.code, FILED_ENTRY.c.entry_id).join(PERIOD, PERIOD.c.id == FILED_ENTRY.c.period_id)
    for code, entry_id in connection.execute(query.order_by(PERIOD.c.written_at, PERIOD.c.id, FILED_ENTRY.c.entry_id)):
        yield {"period": code, "entry": entry_id}

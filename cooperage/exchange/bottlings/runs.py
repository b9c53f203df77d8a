"""Rows of `runs.csv`, `run_lines.csv` and `run_closings.csv`, the bottling runs, both ways."""

import json
from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from sqlalchemy import Connection, select

from cooperage.book import Writing
from cooperage.book.errors import AlreadyThere
from cooperage.book.store.tables import ENTRY
from cooperage.exchange.tables.cells import Clock, show_cell
from cooperage.exchange.tables.columns import RUN_CLOSINGS, RUN_LINES, RUNS, Column
from cooperage.exchange.tables.sheets import Row
from cooperage.programme.bottling.run import BottlingRun, RunClosed, RunExpected, RunLine, RunLineKind
from cooperage.programme.bottling.stored import closings_in, insert_closed, insert_lines, insert_run, runs_in
from cooperage.programme.bottling_risks.passed import risks_passed

_AS_EXPORTED = "is not as an export writes it; leave this column as it was"


class Runs:
    """The runs, in the book and in the file, inside one writing transaction."""

    def __init__(self, session: Writing, clock: Clock) -> None:
        self._session, self._clock = session, clock
        self._there = {run.id: _row_of_run(run) for run in runs_in(session.connection)}
        self._codes = {run["code"].casefold() for run in self._there.values()}
        self._passed = {each.id for each in risks_passed(session.connection)}

    def add(self, row: Row) -> bool:
        """Write a row; return whether it was new. Raises BadCell, AlreadyThere."""
        values = row.values(RUNS, self._clock)
        run = _run_of(row, values)
        if (there := self._there.get(run.id)) is not None:
            if there != _row_of_run(run):
                raise AlreadyThere("bottling run", run.code)
            return False
        if run.code.casefold() in self._codes:
            raise AlreadyThere("bottling run", run.code)
        if run.risks_id not in self._passed:
            raise row.bad("is no list of risks that was passed; import risks_passed.csv with it", "risks")
        for tag in run.vessels:
            self._session.registry.vessel(tag)
        insert_run(self._session.connection, run)
        self._there[run.id] = _row_of_run(run)
        self._codes.add(run.code.casefold())
        return True


class RunLines:
    """The lines of runs."""

    def __init__(self, session: Writing, clock: Clock) -> None:
        self._session, self._clock = session, clock
        self._runs = {run.code.casefold(): run.id for run in runs_in(session.connection)}
        self._there = {(line.run_id, line.number): line for run in runs_in(session.connection) for line in run.lines}
        self._struck = {(line.run_id, line.strikes) for line in self._there.values() if line.strikes is not None}

    def add(self, row: Row) -> bool:
        """Write a row; return whether it was new. Raises BadCell, AlreadyThere."""
        values = row.values(RUN_LINES, self._clock)
        run_id = _run_id(row, self._runs, values.pop("run"))
        found = _json(row, "volumes_ml", values.pop("volumes_ml", None) or "[]", list)
        if not all(isinstance(each, float) for each in found):
            raise row.bad(_AS_EXPORTED, "volumes_ml")
        given = {name: value for name, value in values.items() if value is not None}
        line = RunLine(run_id, **given | {"kind": RunLineKind(given["kind"]), "volumes_ml": tuple(found)})
        if (there := self._there.get((run_id, line.number))) is not None:
            if there != line:
                raise AlreadyThere("line of the bottling run", str(line.number))
            return False
        self._check(row, line)
        insert_lines(self._session.connection, [line])
        self._there[run_id, line.number] = line
        return True

    def _check(self, row: Row, line: RunLine) -> None:
        for name, value in (("number", line.number), ("bottles", line.bottles), ("volume", line.ml)):
            if value is not None and value <= 0:
                raise row.bad("must be above zero", name)
        if line.strikes is not None:
            struck = line.run_id, line.strikes
            if struck not in self._there or struck in self._struck:
                raise row.bad("is no line of the run that could be struck", "strikes")
            self._struck.add(struck)


class RunClosings:
    """That runs were closed, and by which entries."""

    def __init__(self, session: Writing, clock: Clock) -> None:
        self._session, self._clock = session, clock
        self._runs = {run.code.casefold(): run.id for run in runs_in(session.connection)}
        self._there = {each.id: each for each in closings_in(session.connection)}

    def add(self, row: Row) -> bool:
        """Write a row; return whether it was new. Raises BadCell, AlreadyThere."""
        values = row.values(RUN_CLOSINGS, self._clock)
        code = values["run"]
        entries = _json(row, "entries", values["entries"], list)
        came_to = _json(row, "came_to", values["came_to"], dict)
        run_id = _run_id(row, self._runs, code)
        closed = RunClosed(values["id"], run_id, entries, came_to, values.get("hand") or "", values["at"])
        if (there := self._there.get(closed.id)) is not None:
            if there != closed:
                raise AlreadyThere("closing of the bottling run", code)
            return False
        stored = self._session.connection.execute(select(ENTRY.c.id).where(ENTRY.c.id.in_(entries))).scalars()
        if set(stored) != set(entries):
            raise row.bad("names entries that are not in the book; import entries.csv with it", "entries")
        insert_closed(self._session.connection, closed)
        self._there[closed.id] = closed
        return True


def _run_id(row: Row, runs: dict[str, str], code: str) -> str:
    if code.casefold() not in runs:
        raise row.bad("is no bottling run; import runs.csv with it", "run")
    return runs[code.casefold()]


def _json(row: Row, column: str, text: str, kind: type) -> Any:  # noqa: ANN401 - a list or an object
    try:
        found = json.loads(text)
    except ValueError as error:
        raise row.bad(_AS_EXPORTED, column) from error
    if not isinstance(found, kind):
        raise row.bad(_AS_EXPORTED, column)
    return found


def _run_of(row: Row, values: dict[str, Any]) -> BottlingRun:
    tags, sizes = (_json(row, name, values[name], list) for name in ("vessels", "sizes"))
    expected = _json(row, "expected", values["expected"], dict)
    try:
        pairs = {int(size): None if count is None else int(count) for size, count in sizes}
        awaited = RunExpected(**{name: int(ml) for name, ml in expected.items()})
    except (TypeError, ValueError) as error:
        raise row.bad(_AS_EXPORTED, "sizes") from error
    hand, label = values.get("hand") or "", values.get("label")
    tags = tuple(str(tag) for tag in tags)
    return BottlingRun(
        values["id"], values["code"], tags, pairs, label, awaited, values["risks_id"], hand, values["opened_at"]
    )


def _row_of_run(run: BottlingRun) -> dict[str, Any]:
    sizes = [[size, count] for size, count in run.sizes.items()]
    return {column.fills: getattr(run, column.fills) for column in RUNS} | {
        "vessels": json.dumps(run.vessels, ensure_ascii=False),
        "sizes": json.dumps(sizes),
        "expected": json.dumps(asdict(run.expected)),
    }


def _shown(columns: tuple[Column, ...], values: dict[str, Any]) -> dict[str, str]:
    return {column.name: show_cell(column, values[column.fills]) for column in columns}


def show_runs(connection: Connection) -> Iterator[dict[str, str]]:
    """Yield the cells of every run, oldest first."""
    for run in runs_in(connection):
        yield _shown(RUNS, _row_of_run(run))


def show_run_lines(connection: Connection) -> Iterator[dict[str, str]]:
    """Yield the cells of every line, by run and number."""
    for run in runs_in(connection):
        for line in run.lines:
            volumes = json.dumps(line.volumes_ml) if line.volumes_ml else ""
            values = asdict(line) | {"run": run.code, "volumes_ml": volumes, "kind": line.kind.value}
            yield _shown(RUN_LINES, values)


def show_run_closings(connection: Connection) -> Iterator[dict[str, str]]:
    """Yield the cells of every closing, those of runs that are open again too, oldest first."""
    codes = {run.id: run.code for run in runs_in(connection)}
    for each in closings_in(connection):
        lists = {name: json.dumps(getattr(each, name), ensure_ascii=False) for name in ("entries", "came_to")}
        yield _shown(RUN_CLOSINGS, asdict(each) | lists | {"run": codes[each.run_id]})

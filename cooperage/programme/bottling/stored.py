"""Reading and writing the rows of bottling runs, in transactions of the caller's."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import asdict, replace
from typing import Any

from sqlalchemy import Connection, insert, select

from cooperage.book.replay.events import STANDS
from cooperage.book.store.tables import BOTTLING, ENTRY, RUN, RUN_CLOSED, RUN_LINE
from cooperage.programme.bottling.errors import NoOpenRun, NoSuchRun, RunIsClosed
from cooperage.programme.bottling.run import BottlingRun, RunClosed, RunExpected, RunLine, RunLineKind


def runs_in(connection: Connection) -> list[BottlingRun]:
    """List every run, oldest first, with its lines."""
    lines = defaultdict(list)
    for row in connection.execute(select(RUN_LINE).order_by(RUN_LINE.c.run_id, RUN_LINE.c.number)):
        lines[row.run_id].append(_line(row))
    closed = _closed(connection)
    rows = connection.execute(select(RUN).order_by(RUN.c.opened_at, RUN.c.id))
    return [_run(row, lines[row.id], closed.get(row.id)) for row in rows]


def _run(row: Any, lines: Sequence[RunLine], closed: RunClosed | None) -> BottlingRun:  # noqa: ANN401 - a row
    values = dict(row._mapping)
    values["vessels"] = tuple(values["vessels"])
    values["sizes"] = {int(size): count for size, count in values["sizes"]}
    values["expected"] = RunExpected(**values["expected"])
    return BottlingRun(**values, lines=tuple(lines), closed=closed)


def _line(row: Any) -> RunLine:  # noqa: ANN401 - a row
    values = dict(row._mapping)
    return RunLine(**values | {"kind": RunLineKind(values["kind"]), "volumes_ml": tuple(values["volumes_ml"])})


def closings_in(connection: Connection) -> list[RunClosed]:
    """List every closing, oldest first, those of runs that are open again too."""
    rows = connection.execute(select(RUN_CLOSED).order_by(RUN_CLOSED.c.at, RUN_CLOSED.c.id))
    return [RunClosed(**row._mapping) for row in rows]


def _closed(connection: Connection) -> dict[str, RunClosed]:
    """Return the closing of each run that is closed: one all of whose entries were struck no longer counts."""
    closings = closings_in(connection)
    named = {each for closing in closings for each in closing.entries}
    stand = set(connection.execute(select(ENTRY.c.id).where(STANDS, ENTRY.c.id.in_(named))).scalars()) if named else {}
    return {closing.run_id: closing for closing in closings if any(each in stand for each in closing.entries)}


def open_runs(connection: Connection) -> list[BottlingRun]:
    """List the runs that are open, oldest first."""
    return [run for run in runs_in(connection) if run.is_open]


def find_run(connection: Connection, code: str) -> BottlingRun:
    """Find a run by its code, in either case. Raises NoSuchRun."""
    runs = runs_in(connection)
    for run in runs:
        if run.code.casefold() == code.strip().casefold():
            return run
    raise NoSuchRun(code, [run.code for run in runs])


def find_open_run(connection: Connection, code: str) -> BottlingRun:
    """Find an open run by its code; without one, the only open one. Raises NoSuchRun, NoOpenRun, RunIsClosed."""
    if not code.strip():
        found = open_runs(connection)
        if len(found) != 1:
            raise NoOpenRun([run.code for run in found])
        return found[0]
    run = find_run(connection, code)
    if not run.is_open:
        raise RunIsClosed(run.code, codes_of(connection, run))
    return run


def codes_of(connection: Connection, run: BottlingRun) -> list[str]:
    """List the codes of the bottlings that a run was closed into and that stand, in the order they were written."""
    if run.closed is None:
        return []
    rows = select(BOTTLING.c.code).join(ENTRY, ENTRY.c.id == BOTTLING.c.entry_id).where(STANDS)
    found = connection.execute(rows.where(BOTTLING.c.entry_id.in_(run.closed.entries)).order_by(BOTTLING.c.entry_id))
    return list(found.scalars())


def insert_run(connection: Connection, run: BottlingRun) -> None:
    """Write a run without its lines; sizes are a list of pairs, so that their order is kept."""
    row = {column.name: getattr(run, column.name) for column in RUN.columns}
    row |= {"vessels": list(run.vessels), "sizes": [[size, count] for size, count in run.sizes.items()]}
    connection.execute(insert(RUN), row | {"expected": asdict(run.expected)})


def insert_lines(connection: Connection, lines: Iterable[RunLine]) -> None:
    """Write lines of runs."""
    for line in lines:
        row = asdict(line) | {"kind": line.kind.value, "volumes_ml": list(line.volumes_ml)}
        connection.execute(insert(RUN_LINE), row)


def insert_closed(connection: Connection, closed: RunClosed) -> None:
    """Write that a run was closed."""
    connection.execute(insert(RUN_CLOSED), asdict(closed))


def next_line(run: BottlingRun, line: RunLine) -> RunLine:
    """Return a line with the number after the last of its run."""
    return replace(line, run_id=run.id, number=1 + max((each.number for each in run.lines), default=0))

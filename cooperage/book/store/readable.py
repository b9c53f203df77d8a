"""Whether every value of the book is what its column holds: a date a date, a number a number, words that are text."""

from collections.abc import Callable, Iterator, Mapping
from types import NoneType, UnionType
from typing import Any, Union, get_args, get_origin

from sqlalchemy import JSON, Column, Connection, Float, Integer, Numeric, Table, select
from sqlalchemy.exc import DBAPIError

from cooperage.book.declared.acts import KINDS, faces
from cooperage.book.declared.fields import is_required
from cooperage.book.store.tables import ENTRY, METADATA

Parse = Callable[[Any], Any]


def unreadable_in(connection: Connection) -> tuple[int, list[str]]:
    """Read every value once: how many rows there are, and a line for each value that cannot be read."""
    if connection.dialect.name != "sqlite":  # a server refuses what its columns cannot hold
        return _misfits_on_a_server(connection)
    counted, faults = 0, list[str]()
    for table in METADATA.sorted_tables:
        try:
            faults += _wrong_kinds(connection, table)
            for row, texts in _texts(connection, table):
                counted += 1
                faults += [f"table {table.name}, row {row}, {why}" for why in _unreadable(table, texts)]
        except DBAPIError as error:
            faults.append(f"table {table.name} cannot be read: {error.orig}")
    return counted, faults


def _is_number(column: Column[Any]) -> bool:
    return isinstance(column.type, Integer | Float | Numeric)


def _kinds(column: Column[Any]) -> tuple[str, ...]:
    """Name the storage classes of SQLite in which a column's values stand."""
    if isinstance(column.type, Integer):
        kinds: tuple[str, ...] = ("integer",)
    else:
        kinds = ("real", "integer") if _is_number(column) else ("text",)
    return (*kinds, "null") if column.nullable else kinds


def _wrong_kinds(connection: Connection, table: Table) -> list[str]:
    """Find NULL where none may be, blobs, numbers that are text."""
    faults = []
    for column in table.columns:
        allowed = ", ".join(f"'{kind}'" for kind in _kinds(column))
        query = f'SELECT rowid, typeof("{column.name}") FROM "{table.name}" WHERE typeof("{column.name}")'
        for row, kind in connection.exec_driver_sql(f"{query} NOT IN ({allowed})"):
            wanted = "a number" if _is_number(column) else "text"
            faults.append(
                f"table {table.name}, row {row}, column {column.name}: is {_named(kind)}, where {wanted} belongs"
            )
    return faults


def _named(kind: str) -> str:
    return {"null": "blank", "blob": "raw bytes", "text": "text"}.get(kind, f"a number ({kind})")


def _texts(connection: Connection, table: Table) -> Iterator[tuple[int, dict[str, bytes]]]:
    """Yield each row's texts as bytes, by column; what is no text is left out."""
    names = [column.name for column in table.columns if not _is_number(column)]
    raw = ", ".join(f'CASE typeof("{name}") WHEN \'text\' THEN CAST("{name}" AS BLOB) END' for name in names)
    for row, *texts in connection.exec_driver_sql(f'SELECT rowid, {raw} FROM "{table.name}"'):
        yield row, {name: text for name, text in zip(names, texts, strict=True) if text is not None}


def _unreadable(table: Table, texts: Mapping[str, bytes]) -> Iterator[str]:
    values: dict[str, Any] = {}
    for name, raw in texts.items():
        try:
            values[name] = _PARSE[table.name][name](raw.decode())
        except UnicodeDecodeError:
            yield f"column {name}: is no UTF-8 text"
        except (ValueError, TypeError):
            yield f"column {name}: '{raw.decode()[:40]}' is no {_WHAT[table.name][name]}"
    if table.name == ENTRY.name and values.keys() >= {"kind", "said"}:
        yield from (f"column said: {why}" for why in misfits(values["kind"], values["said"]))


def _parsers() -> dict[str, dict[str, Parse]]:
    """Make, by table and column, what turns a text into its value: the column's own type."""
    from sqlalchemy.dialects import sqlite

    dialect = sqlite.dialect()
    return {
        table.name: {
            column.name: column.type.dialect_impl(dialect).result_processor(dialect, None) or str
            for column in table.columns
        }
        for table in METADATA.sorted_tables
    }


_PARSE = _parsers()
_WHAT = {
    table.name: {column.name: "JSON" if isinstance(column.type, JSON) else "date" for column in table.columns}
    for table in METADATA.sorted_tables
}


def _misfits_on_a_server(connection: Connection) -> tuple[int, list[str]]:
    counted, faults = 0, []
    for entry_id, kind, values in connection.execute(select(ENTRY.c.id, ENTRY.c.kind, ENTRY.c.said)):
        counted += 1
        faults += [f"table entry, id {entry_id}, column said: {why}" for why in misfits(kind, values)]
    return counted, faults


def misfits(kind: str, values: object) -> Iterator[str]:
    """Yield the fields of an entry that do not fit the declaration of its kind, with the reason."""
    if kind not in KINDS:
        return
    if not isinstance(values, dict):
        yield f"'{str(values)[:40]}' is not what a {kind} holds"
        return
    declared = {field.name: (field, face) for field, face in faces(KINDS[kind])}
    for name in sorted(values.keys() - declared.keys()):
        yield f"a {kind} has no '{name}'"
    for name, (field, face) in declared.items():
        if name not in values and not is_required(field):
            continue
        value, choices = values.get(name), face.choices() if face.choices is not None else ()
        if not fits(value, field.type) or (choices and value and value not in choices):
            yield f"'{name}' of a {kind} cannot be {value!r}"


def fits(value: object, kind: Any) -> bool:  # noqa: ANN401 - a type, or a union of types
    """Return True if a value read from JSON can stand in a field declared as `kind`."""
    origin, parts = get_origin(kind), get_args(kind)
    if origin in (Union, UnionType):
        return any(fits(value, part) for part in parts)
    if origin is tuple:
        return isinstance(value, list) and _fits_each(value, parts)
    if kind is float:
        return isinstance(value, int | float) and not isinstance(value, bool)
    if kind is int:
        return isinstance(value, int) and not isinstance(value, bool)
    return value is None if kind is NoneType else isinstance(value, kind)


def _fits_each(values: list[object], parts: tuple[Any, ...]) -> bool:
    if parts[-1] is Ellipsis:
        return all(fits(value, parts[0]) for value in values)
    return len(values) == len(parts) and all(map(fits, values, parts))

"""Whether a cellar's file is whole, as the database itself reports."""

from sqlalchemy import Connection, ForeignKeyConstraint, and_, func, select
from sqlalchemy.exc import DBAPIError

from cooperage.book.store.tables import METADATA

MOST_LOOKED_FOR = 20
"""How many damaged places SQLite lists before it stops looking."""


def damage_in(connection: Connection) -> list[str]:
    """Yield what is damaged, one line each; nothing when the database finds itself whole.

    SQLite looks at every page, index and constraint, and at every row that names another; on a server only the latter
    is looked at, since it watches over its own pages.
    """
    if connection.dialect.name != "sqlite":
        return _rows_without_parents(connection)
    faults: list[str] = []
    try:
        for report in connection.exec_driver_sql(f"PRAGMA integrity_check({MOST_LOOKED_FOR})").scalars():
            faults += [line.strip() for line in str(report).splitlines() if line != "ok" and not line.startswith("***")]
        faults += _sqlite_orphans(connection)
    except DBAPIError as error:
        faults.append(f"SQLite cannot read on: {error.orig}")
    return faults


def _sqlite_orphans(connection: Connection) -> list[str]:
    faults = []
    found = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchmany(MOST_LOOKED_FOR)
    for table, row, parent, key in found:
        keys = connection.exec_driver_sql(f"PRAGMA foreign_key_list({table})").all()
        columns = ", ".join(each[3] for each in keys if each[0] == key)
        faults.append(f"table {table}, row {row}, column {columns}: names a row of {parent} that is not there")
    return faults


def _rows_without_parents(connection: Connection) -> list[str]:
    faults = []
    for table in METADATA.sorted_tables:
        for key in sorted(table.foreign_key_constraints, key=lambda key: list(key.column_keys)):
            if count := _orphans(connection, key):
                columns = ", ".join(key.column_keys)
                faults.append(f"table {table.name}, column {columns}: {count} name no row of {key.referred_table}")
    return faults


def _orphans(connection: Connection, key: ForeignKeyConstraint) -> int:
    parent = key.referred_table.alias()
    pairs = [(element.parent, parent.c[element.column.key]) for element in key.elements]
    is_there = select(1).where(and_(*(child == named for child, named in pairs))).select_from(parent).exists()
    query = select(func.count()).select_from(key.table)
    return int(connection.execute(query.where(*(child.is_not(None) for child, _ in pairs), ~is_there)).scalar_one())

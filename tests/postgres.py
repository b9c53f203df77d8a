"""Empty PostgreSQL cellars, each a schema of its own; where there is no server, tests are skipped with the reason."""

import os
import uuid
from collections.abc import Callable, Iterator, Sequence
from datetime import datetime
from typing import Any

import pytest
from psycopg import ClientCursor
from sqlalchemy import Connection, Engine, create_engine, event, text
from sqlalchemy.exc import DBAPIError

from cooperage.book.store.engine import migrate
from cooperage.book.store.naming import cellar_url

POSTGRES = os.environ.get("COOPERAGE_TEST_POSTGRES", "postgresql:///test")


@pytest.fixture(scope="session")
def postgres_refusal() -> str | None:
    """Why PostgreSQL cannot be used here, or None where it can."""
    try:
        engine = create_engine(cellar_url(POSTGRES))
        with engine.connect() as connection:
            connection.execute(text("SELECT 1"))
        engine.dispose()
    except Exception as error:  # noqa: BLE001 - whatever stands in the way is the reason
        return f"no PostgreSQL at {POSTGRES}: {str(error).splitlines()[0]}"
    return None


@pytest.fixture(scope="session")
def server() -> Iterator[Engine]:
    """One engine on the server, for whatever is done about schemas."""
    engine = create_engine(cellar_url(POSTGRES), connect_args={"options": "-csynchronous_commit=off"})
    yield engine
    engine.dispose()


def url_of(schema: str) -> str:
    """Return the URL of a schema as a cellar; no commit waits for the disk, for a test outlives no crash."""
    join = "&" if "?" in POSTGRES else "?"
    return f"{POSTGRES}{join}options=-csynchronous_commit%3Doff%09-csearch_path%3D{schema}"


def _new_schema(server: Engine) -> tuple[str, str]:
    """Make an empty schema; returns its name and its URL as a cellar."""
    schema = f"cooperage_{uuid.uuid4().hex[:12]}"
    with server.begin() as connection:
        connection.execute(text(f"CREATE SCHEMA {schema}"))
    return schema, url_of(schema)


def _drop(connection: Connection, schema: str) -> None:
    """Drop a schema; each in a transaction of its own, for a server has room for so many locks at once."""
    connection.execute(text(f"DROP SCHEMA {schema} CASCADE"))


@pytest.fixture
def new_postgres(postgres_refusal: str | None, request: pytest.FixtureRequest) -> Iterator[Callable[[], str]]:
    """Make empty PostgreSQL schemas, each its own cellar URL; all are dropped afterwards."""
    if postgres_refusal:
        pytest.skip(postgres_refusal)
    server = request.getfixturevalue("server")
    schemas: list[str] = []

    def make() -> str:
        schema, url = _new_schema(server)
        schemas.append(schema)
        return url

    yield make
    for schema in schemas:
        with server.begin() as connection:
            _drop(connection, schema)


@pytest.fixture(scope="session")
def migrated(server: Engine) -> str:
    """The statements by which the migrations fill an empty schema, with their parameters in them, noted down once."""
    noted: list[str] = []

    def note(connection: Any, cursor: Any, statement: Any, parameters: Any, context: Any, executemany: Any) -> None:
        if statement.lstrip().upper().startswith(("CREATE", "ALTER", "INSERT", "UPDATE", "DROP")):
            each_time = parameters if executemany else [parameters]
            noted.extend(ClientCursor(cursor.connection).mogrify(statement, each) for each in each_time)

    schema, url = _new_schema(server)
    engine = create_engine(cellar_url(url))
    event.listen(engine, "before_cursor_execute", note)
    migrate(engine)
    engine.dispose()
    with server.begin() as connection:
        _drop(connection, schema)
    return ";\n".join(noted)


# Everything that the migrations made in a schema, as one text: a test that takes a guard away leaves another.
_MADE = """
SELECT md5(string_agg(what, '|' ORDER BY what)) FROM (
    SELECT concat_ws(' ', attrelid::regclass, attname, atttypid, attnotnull) AS what FROM pg_attribute
        JOIN pg_class ON pg_class.oid = attrelid WHERE relnamespace = CAST(:schema AS regnamespace) AND attnum > 0
    UNION ALL SELECT concat_ws(' ', conrelid::regclass, pg_get_constraintdef(oid)) FROM pg_constraint
        WHERE connamespace = CAST(:schema AS regnamespace)
    UNION ALL SELECT concat_ws(' ', tgenabled, pg_get_triggerdef(pg_trigger.oid)) FROM pg_trigger
        JOIN pg_class ON pg_class.oid = tgrelid WHERE relnamespace = CAST(:schema AS regnamespace) AND NOT tgisinternal
    UNION ALL SELECT concat_ws(' ', proname, prosrc) FROM pg_proc WHERE pronamespace = CAST(:schema AS regnamespace)
) AS made
"""


class Schemas:
    """Migrated schemas that are used again: to make one takes the server half a second, to empty it a few milliseconds.

    `statements` fill a new schema. Those that are taken back are emptied; one in which a test has altered more than
    rows is dropped, and so is every one where the role may not pass over the guards.
    """

    def __init__(self, server: Engine, statements: str) -> None:
        self._server = server
        self._statements = statements
        self._free: list[str] = []
        self._taken: list[str] = []
        self._as_made: dict[str, object] = {}
        self._first_rows = ""
        self._written: dict[Callable[[str], datetime], tuple[str, datetime]] = {}

    def take(self) -> str:
        """Return the URL of a schema with nothing in it but what the migrations put there."""
        return url_of(self._take())

    def take_written(self, write: Callable[[str], datetime]) -> tuple[str, datetime]:
        """Return the URL of a schema as `write` leaves it, and what that returned; it writes once, then is copied."""
        schema = self._take()
        if write not in self._written:
            moment = write(url_of(schema))
            self._written[write] = self._rows(schema), moment
        else:
            rows, moment = self._written[write]
            try:
                with self._server.begin() as connection:
                    _refill(connection, schema, rows)
            except DBAPIError:  # this role may not
                moment = write(url_of(schema))
        return url_of(schema), moment

    def take_back(self) -> None:
        """Empty all that were taken, for the next test."""
        self._drop([schema for schema in self._taken if not self._is_empty_again(schema)])
        self._taken.clear()

    def close(self) -> None:
        """Drop all."""
        self._drop([*self._free, *self._taken])

    def _take(self) -> str:
        schema = self._free.pop() if self._free else self._new()
        self._taken.append(schema)
        return schema

    def _new(self) -> str:
        schema, _ = _new_schema(self._server)
        with self._server.begin() as connection:
            _run(connection, schema, self._statements)
            self._as_made[schema] = _made(connection, schema)
        self._first_rows = self._rows(schema)
        return schema

    def _is_empty_again(self, schema: str) -> bool:
        try:
            with self._server.begin() as connection:
                if _made(connection, schema) != self._as_made[schema]:
                    return False
                _refill(connection, schema, self._first_rows)
        except DBAPIError:
            return False
        self._free.append(schema)
        return True

    def _rows(self, schema: str) -> str:
        """Return the statements that put every row of a schema into another."""
        row = (
            "'INSERT INTO {0} SELECT * FROM json_populate_record(NULL::{0}, ' || quote_literal(row_to_json({0})) || ')'"
        )
        with self._server.begin() as connection:
            connection.execute(text(f"SET LOCAL search_path TO {schema}"))
            read = [f"SELECT {row.format(table)} FROM {table}" for table in _tables(connection, schema)]
            return "; ".join(each for rows in read for each in connection.exec_driver_sql(rows).scalars())

    def _drop(self, schemas: Sequence[str]) -> None:
        for schema in schemas:
            with self._server.begin() as connection:
                _drop(connection, schema)


def _made(connection: Connection, schema: str) -> object:
    connection.execute(text(f"SET LOCAL search_path TO {schema}"))  # names are told without it
    return connection.execute(text(_MADE), {"schema": schema}).scalar_one()


# Rows are taken away and put back past the guards, which only a superuser may do.
_UNGUARDED = "SET LOCAL session_replication_role = replica; SET LOCAL lock_timeout = '5s'"


def _tables(connection: Connection, schema: str) -> list[str]:
    named = text("SELECT tablename FROM pg_tables WHERE schemaname = :schema AND tablename <> 'alembic_version'")
    return list(connection.execute(named, {"schema": schema}).scalars())


def _refill(connection: Connection, schema: str, rows: str) -> None:
    """Put rows in the place of all that is in a schema."""
    emptied = (f"DELETE FROM {table}" for table in _tables(connection, schema))
    _run(connection, schema, "; ".join([_UNGUARDED, *emptied, rows]))


def _run(connection: Connection, schema: str, statements: str) -> None:
    """Run statements in a schema, all in one message."""
    connection.execute(text(f"SET LOCAL search_path TO {schema}"))
    connection.execution_options(no_parameters=True).exec_driver_sql(statements)


@pytest.fixture(scope="session")
def schemas(server: Engine, migrated: str) -> Iterator[Schemas]:
    """The migrated schemas of this process."""
    kept = Schemas(server, migrated)
    yield kept
    kept.close()


@pytest.fixture
def lent_schemas(postgres_refusal: str | None, request: pytest.FixtureRequest) -> Iterator[Schemas]:
    """The schemas of this process; those that the test takes are given back after it."""
    if postgres_refusal:
        pytest.skip(postgres_refusal)
    schemas: Schemas = request.getfixturevalue("schemas")
    yield schemas
    schemas.take_back()


@pytest.fixture
def empty_postgres(lent_schemas: Schemas) -> Callable[[], str]:
    """Make empty cellars on PostgreSQL, each its own cellar URL."""
    return lent_schemas.take


@pytest.fixture
def written_postgres(lent_schemas: Schemas) -> Callable[[Callable[[str], datetime]], tuple[str, datetime]]:
    """Make cellars as a function writes them at a URL; returns the URL, and the moment that the function returned."""
    return lent_schemas.take_written

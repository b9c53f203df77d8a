"""Empty PostgreSQL cellars, each a schema of its own; where there is no server, tests are skipped with the reason."""

import os
import uuid
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from psycopg import ClientCursor
from sqlalchemy import Connection, Engine, create_engine, event, text

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
    engine = create_engine(cellar_url(POSTGRES))
    yield engine
    engine.dispose()


def _new_schema(server: Engine) -> tuple[str, str]:
    """Make an empty schema; returns its name and its URL as a cellar."""
    schema = f"cooperage_{uuid.uuid4().hex[:12]}"
    with server.begin() as connection:
        connection.execute(text(f"CREATE SCHEMA {schema}"))
    join = "&" if "?" in POSTGRES else "?"
    return schema, f"{POSTGRES}{join}options=-csearch_path%3D{schema}"


def _drop(connection: Connection, schema: str) -> None:
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
    with server.begin() as connection:
        for schema in schemas:
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


@pytest.fixture
def empty_postgres(new_postgres: Callable[[], str], request: pytest.FixtureRequest) -> Callable[[], str]:
    """Make empty cellars on PostgreSQL by the statements of the migrations, without reading the migrations again."""
    server, statements = request.getfixturevalue("server"), request.getfixturevalue("migrated")

    def make() -> str:
        url = new_postgres()
        with server.begin() as connection:
            connection.execute(text(f"SET LOCAL search_path TO {url.rpartition('%3D')[2]}"))
            connection.execution_options(no_parameters=True).exec_driver_sql(statements)  # all in one message
        return url

    return make

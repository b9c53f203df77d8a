"""The one place that opens a cellar, begins, commits, rolls back, and turns driver errors into ours."""

import errno
import os
import re
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, inspect, text
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError

from cooperage.book.errors import CellarUnusable
from cooperage.resources import migrations_folder

SCHEMA = "0004_guards"
"""The migration this code works with; a test holds it against Alembic's own head."""

EMPTY = ""
"""What stands for the migration in a database without a table: a first import that was stopped leaves such a file."""

_WRITER_LOCK = 0x0C00_9E12  # any constant: all our writers on one PostgreSQL cellar queue for it


def cellar_url(place: str) -> URL:
    """Turn a path or a database URL, as a person types it, into a URL."""
    if "://" not in place:
        return URL.create("sqlite", database=str(Path(place).expanduser()))
    try:
        url = make_url(place)
    except (ArgumentError, ValueError) as error:  # a port that is no number is the latter
        secret = re.compile(r"//[^/]*@")
        raise CellarUnusable(f"'{secret.sub('//***@', place)}' is neither a path nor a database URL") from error
    if url.drivername in ("postgresql", "postgres"):
        return url.set(drivername="postgresql+psycopg")
    return url


def make_engine(url: URL) -> Engine:
    """Make an engine with our pragmas; nothing is touched on disk yet."""
    try:
        engine = create_engine(url)
    except (NoSuchModuleError, ModuleNotFoundError) as error:
        raise CellarUnusable(
            f"no driver for {url.drivername}; a cellar is a file, or postgresql://, whose driver is installed in "
            "Cooperage's folder by: pip install -e '.[postgres]'"
        ) from error
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _set_pragmas)
        event.listen(engine, "begin", _begin)
    return engine


def _set_pragmas(connection: sqlite3.Connection, _record: object) -> None:
    connection.isolation_level = None  # we say BEGIN ourselves
    for pragma in ("busy_timeout=5000", "foreign_keys=ON", "synchronous=FULL", "recursive_triggers=ON"):
        connection.execute(f"PRAGMA {pragma}")


def _begin(connection: Connection) -> None:
    connection.exec_driver_sql(f"BEGIN {connection.get_execution_options().get('begin', 'DEFERRED')}")


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """Open a connection on one consistent view of the cellar; nothing is written."""
    with told_plainly(engine), engine.connect() as connection, connection.begin():
        yield connection


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """Open the one writing transaction: committed at the end, rolled back on any error."""
    connecting = engine.connect().execution_options(begin="IMMEDIATE")
    with told_plainly(engine), connecting as connection, connection.begin():
        _queue(connection)
        yield connection


def _queue(connection: Connection) -> None:
    """Wait until whoever writes is done; on SQLite, BEGIN IMMEDIATE has seen to it."""
    if connection.dialect.name == "postgresql":
        connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _WRITER_LOCK})


# What the drivers say, and what a person needs to hear.
_PLAIN = (
    ("not a database", "is not a cellar (nor any SQLite file); name another with --cellar"),
    ("malformed", "is damaged; restore the last backup with `cooperage restore`"),
    ("readonly", "can only be read; check who may write the file and its folder"),
    ("read-only", "can only be read; check who may write it"),
    ("is full", "has no room left on its disk; nothing was written; free some space and do it again"),
    ("i/o error", "cannot be read or written (its disk is full, or reports an error); nothing was written"),
    ("locked", "is being written by someone else; nothing was written; do it again in a moment"),
    ("unable to open", "cannot be opened; check the path and who may read it"),
    ("does not exist", "does not exist; check the name"),
    ("connect", "does not answer; check the network and the address"),
)


@contextmanager
def told_plainly(engine: Engine) -> Iterator[None]:
    """Turn a driver's operational error into one line a person can act on."""
    try:
        yield
    except DBAPIError as error:
        said = str(error.orig).lower()
        for sign, advice in _PLAIN:
            if sign in said:
                raise CellarUnusable(f"{name_of(engine.url)} {advice}") from error
        raise


def name_of(url: URL) -> str:
    """Name a cellar for a message, without its password."""
    return url.database or "" if url.drivername == "sqlite" else url.render_as_string(hide_password=True)


def create(url: URL) -> Engine:
    """Make a new cellar at `url` (or fill an empty database) and return its engine."""
    if url.drivername == "sqlite" and url.database:
        _make_room(Path(url.database))
    engine = make_engine(url)
    with _kept_only_if_usable(engine):
        found = schema_of(engine)
        if found is None:
            raise CellarUnusable(f"{name_of(url)} holds tables that are no cellar's; name another place")
        _refuse_newer(engine, found)
        if engine.dialect.name == "sqlite":
            with engine.connect() as connection:
                connection.exec_driver_sql("ROLLBACK")  # journal_mode cannot change inside a transaction
                connection.exec_driver_sql("PRAGMA journal_mode=WAL")
        migrate(engine)
    return engine


def _make_room(path: Path) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        reason = os.strerror(error.errno or errno.EIO).lower()
        raise CellarUnusable(f"{path.parent} cannot be made: {reason}") from error


def migrate(engine: Engine) -> None:
    """Bring the cellar's tables up to this version of the code."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(migrations_folder()))
    with engine.connect().execution_options(begin="IMMEDIATE") as connection, connection.begin():
        _queue(connection)
        config.attributes["connection"] = connection
        command.upgrade(config, "head")


def open_cellar(url: URL) -> Engine:
    """Open an existing cellar, after making sure that it is one and that this code can read it."""
    is_path = url.drivername == "sqlite" and not (url.database or "").startswith("file:")
    if is_path and not Path(url.database or "").is_file():
        raise CellarUnusable(
            f"there is no cellar at {url.database}; `cooperage demo` makes one to try, `cooperage import` one of yours"
        )
    engine = make_engine(url)
    with _kept_only_if_usable(engine):
        _bring_up_to_date(engine, schema_of(engine))
    return engine


def _bring_up_to_date(engine: Engine, found: str | None) -> None:
    name = name_of(engine.url)
    if found is None:
        raise CellarUnusable(f"{name} is not a cellar; name another with --cellar")
    if found == EMPTY:
        raise CellarUnusable(f"{name} is empty; fill it with `cooperage import` or `cooperage add`")
    if found == SCHEMA:
        return
    _refuse_newer(engine, found)
    try:
        with told_plainly(engine):
            migrate(engine)
    except DBAPIError as error:
        raise CellarUnusable(
            f"{name} says that it is book '{found}', and its tables are another's; nothing was changed; "
            "restore the last backup with `cooperage restore`"
        ) from error


def _refuse_newer(engine: Engine, found: str) -> None:
    if found not in (EMPTY, SCHEMA) and not _knows(found):
        raise CellarUnusable(
            f"{name_of(engine.url)} was written by a newer cooperage (book '{found}', this one knows '{SCHEMA}'); "
            "update first"
        )


@contextmanager
def _kept_only_if_usable(engine: Engine) -> Iterator[None]:
    """Let go of the database's connections when it turns out that the cellar cannot be used."""
    try:
        with told_plainly(engine):
            yield
    except BaseException:
        engine.dispose()
        raise


def schema_of(engine: Engine) -> str | None:
    """Return the name of the migration a database stands at, EMPTY if it has no table, None if it is no cellar."""
    with reading(engine) as connection:
        tables = inspect(connection).get_table_names()
        if "alembic_version" not in tables:
            return None if tables else EMPTY
        found: Any = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
        return None if found is None else str(found)


def counts_as_new(url: URL) -> bool:
    """Say whether nothing has begun there yet: no file, an empty one, or a database without a table."""
    if url.drivername == "sqlite" and not Path(url.database or "").exists():
        return True
    engine = make_engine(url)
    try:
        return schema_of(engine) == EMPTY
    finally:
        engine.dispose()


def _knows(revision: str) -> bool:
    from alembic.config import Config
    from alembic.script import ScriptDirectory
    from alembic.util import CommandError

    config = Config()
    config.set_main_option("script_location", str(migrations_folder()))
    try:
        return ScriptDirectory.from_config(config).get_revision(revision) is not None
    except CommandError:
        return False

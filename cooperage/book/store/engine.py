"""The one place that opens a cellar, begins, commits, rolls back, and turns driver errors into ours."""

import errno
import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, inspect, text
from sqlalchemy.engine import URL
from sqlalchemy.exc import DBAPIError, NoSuchModuleError
from sqlalchemy.pool import ConnectionPoolEntry, StaticPool

from cooperage.book.errors import CellarUnusable, OutcomeUnknown
from cooperage.book.store.naming import cellar_name, file_of, kind_of_file
from cooperage.book.store.sqlite_file import WAL, OnlyReads, connect, mark_journal, new_database
from cooperage.resources import migrations_folder

SCHEMA = "0019_later_figures_of_lots"
"""The migration this code works with; a test holds it against Alembic's own head."""

EMPTY = ""
"""What stands for the migration in a database without a table: a first import that was stopped leaves such a file."""

_WRITER_LOCK = 0x0C00_9E12  # any constant: all our writers on one PostgreSQL cellar queue for it


def make_engine(url: URL) -> Engine:
    """Make an engine whose connections have our pragmas; nothing is touched on disk yet."""
    path = file_of(url)
    if path is None:
        return _server_engine(url)
    only_read = url.query.get("mode") == "ro"
    engine = create_engine(url.set(query={}), creator=lambda: connect(path, only_read=only_read))
    event.listen(engine, "begin", _begin)
    event.listen(engine, "checkin", _drop_read_only)
    return engine


def on_connection(connection: sqlite3.Connection) -> Engine:
    """Make an engine on one connection to a file that is open already, which stays whoever opened it's to close."""
    engine = create_engine("sqlite://", creator=lambda: connection, poolclass=StaticPool)
    event.listen(engine, "begin", _begin)
    return engine


def _server_engine(url: URL) -> Engine:
    try:
        return create_engine(url)
    except (NoSuchModuleError, ModuleNotFoundError) as error:
        raise CellarUnusable(
            f"no driver for {url.drivername}; a cellar is a file, or postgresql://, whose driver is installed in "
            "Cooperage's folder by: pip install -e '.[postgres]'"
        ) from error


def _drop_read_only(connection: sqlite3.Connection, record: ConnectionPoolEntry) -> None:
    """Keep no connection that can only read: the next one looks again whether the file can be written by then."""
    if isinstance(connection, OnlyReads):
        record.invalidate()


def _begin(connection: Connection) -> None:
    connection.exec_driver_sql(f"BEGIN {connection.get_execution_options().get('begin', 'DEFERRED')}")


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """Open a connection on one consistent view of the cellar; nothing is written."""
    with driver_errors_explained(engine), engine.connect() as connection, _single_view(connection):
        yield connection


@contextmanager
def _single_view(connection: Connection) -> Iterator[None]:
    """See one state of the cellar until the end; rolled back, since on a damaged file even committing nothing fails."""
    view = connection.begin()
    try:
        yield
    finally:
        view.rollback()


@contextmanager
def existing_view(connection: sqlite3.Connection) -> Iterator[Connection]:
    """Look at one consistent view of a file that is open already; errors of its driver pass as they are."""
    with on_connection(connection).connect() as ours, _single_view(ours):
        yield ours


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """Open the one writing transaction: committed at the end, rolled back on any error.

    Raises CellarUnusable where nothing was written for sure, OutcomeUnknown where that is not known.
    """
    with driver_errors_explained(engine, outcome="nothing was written"), engine.connect() as connecting:
        connection = connecting.execution_options(begin="IMMEDIATE")
        with connection.begin() as transaction:
            _queue(connection)
            yield connection
            with _unknown_outcome_reported(engine):
                transaction.commit()


def _queue(connection: Connection) -> None:
    """Wait until whoever writes is done; on SQLite, BEGIN IMMEDIATE has seen to it."""
    if connection.dialect.name == "postgresql":
        connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _WRITER_LOCK})


@contextmanager
def _unknown_outcome_reported(engine: Engine) -> Iterator[None]:
    """Raise UnknownOutcome when a COMMIT was sent and no answer came."""
    try:
        yield
    except DBAPIError as error:
        if _is_unanswered(error):
            raise OutcomeUnknown(cellar_name(engine.url)) from error
        raise


def _is_unanswered(error: DBAPIError) -> bool:
    """Distinguish a COMMIT without an answer from one that was refused.

    A server that refuses gives its reason, with a code; that it is going away (class 57) is no answer (PostgreSQL,
    Appendix A). A file that cannot be synced may keep what was written all the same, and it is found there when the
    cellar is next opened (SQLite, Write-Ahead Logging).
    """
    if isinstance(error.orig, sqlite3.Error):
        return "i/o error" in str(error.orig).lower()
    code = getattr(error.orig, "sqlstate", None) or ""
    return error.connection_invalidated or not code or code.startswith(("57", "08"))


# What the drivers report, and what a person needs to know.
_PLAIN = (
    ("not a database", "is not a cellar (nor any SQLite file); name another with --cellar"),
    ("malformed", "is damaged; put the last backup in its place with `cooperage restore BACKUP --force`"),
    ("readonly", "can only be read; check who may write the file and its folder, and the room on its disk"),
    ("read-only", "can only be read; check who may write it"),
    ("is full", "has no room left on its disk; nothing was written; free some space and do it again"),
    ("i/o error", "cannot be read or written (its disk is full, or reports an error)"),
    ("locked", "is being written by someone else; nothing was written; do it again in a moment"),
    ("unable to open", "cannot be opened; check the path and who may read it"),
    ("does not exist", "does not exist; check the name"),
    ("connect", "does not answer; check the network and the address"),
)


@contextmanager
def driver_errors_explained(engine: Engine, name: str = "", *, outcome: str = "") -> Iterator[None]:
    """Turn a driver's operational error into one line a person can act on.

    `name` stands for the cellar's own; the `outcome` is said too where it is known.
    """
    try:
        yield
    except DBAPIError as error:
        reason = str(error.orig).lower()
        for sign, advice in _PLAIN:
            if sign in reason:
                ending = f"; {outcome}" if outcome and outcome not in advice else ""
                raise CellarUnusable(f"{name or cellar_name(engine.url)} {advice}{ending}") from error
        raise


@contextmanager
def filling(url: URL) -> Iterator[Connection]:
    """Open one transaction on a new or empty cellar, its tables made in it: all of it is there at the end, or nothing.

    A new file is made beside its place and gets its name at the end.
    """
    path = file_of(url)
    if path is None or _refuse_what_is_no_file(path) == "file":
        with _filling_there(url) as connection:
            yield connection
        return
    with new_database(path) as half_done:
        with _filling_there(url.set(database=str(half_done)), cellar_name(url)) as connection:
            yield connection
        mark_journal(half_done, WAL)


@contextmanager
def _filling_there(url: URL, name: str = "") -> Iterator[Connection]:
    engine = make_engine(url)
    try:
        with driver_errors_explained(engine, name), engine.connect() as connecting:
            connection = connecting.execution_options(begin="IMMEDIATE")
            with connection.begin():
                _queue(connection)
                migrate_in(connection)
                yield connection
    finally:
        engine.dispose()


def create(url: URL) -> Engine:
    """Make a new cellar at `url` (or fill an empty database) and return its engine."""
    path = file_of(url)
    if path is not None:
        _refuse_what_is_no_file(path)
        _make_room(path)
    engine = make_engine(url)
    with _kept_only_if_usable(engine):
        found = schema_of(engine)
        if found is None:
            raise CellarUnusable(f"{cellar_name(url)} holds tables that are no cellar's; name another place")
        _refuse_newer(engine, found)
        if path is not None:
            with engine.connect() as connection:
                connection.exec_driver_sql("ROLLBACK")  # journal_mode cannot change inside a transaction
                connection.exec_driver_sql("PRAGMA journal_mode=WAL")
        migrate(engine)
    return engine


def _refuse_what_is_no_file(path: Path) -> str:
    kind = kind_of_file(path)
    if kind not in ("file", "nothing"):
        raise CellarUnusable(f"{path} is {kind}, not a cellar; name a file")
    return kind


def _make_room(path: Path) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        reason = os.strerror(error.errno or errno.EIO).lower()
        raise CellarUnusable(f"{path.parent} cannot be made: {reason}") from error


def migrate(engine: Engine) -> None:
    """Bring the cellar's tables up to this version of the code."""
    with engine.connect().execution_options(begin="IMMEDIATE") as connection, connection.begin():
        _queue(connection)
        migrate_in(connection)


def migrate_in(connection: Connection) -> None:
    """Bring the tables up to this version of the code in a transaction that is open."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(migrations_folder()))
    config.attributes["connection"] = connection
    command.upgrade(config, "head")


def open_cellar(url: URL) -> Engine:
    """Open an existing cellar, after making sure that it is one and that this code can read it."""
    engine = _engine_of_existing(url)
    with _kept_only_if_usable(engine):
        _bring_up_to_date(engine, schema_of(engine))
    return engine


@contextmanager
def reading_as_it_is(url: URL) -> Iterator[Connection]:
    """Read a cellar without bringing an older one up to date, and leave it closed; raises CellarUnusable."""
    engine = _engine_of_existing(url)
    try:
        with reading(engine) as connection:
            yield connection
    finally:
        engine.dispose()


def _engine_of_existing(url: URL) -> Engine:
    path = file_of(url)
    if path is not None and _refuse_what_is_no_file(path) == "nothing":
        raise CellarUnusable(
            f"there is no cellar at {path}; `cooperage demo` makes one to try; `cooperage add "
            "vessel` or `cooperage import` begins your own"
        )
    return make_engine(url)


def _bring_up_to_date(engine: Engine, found: str | None) -> None:
    name = cellar_name(engine.url)
    if found is None:
        raise CellarUnusable(f"{name} is not a cellar; name another with --cellar")
    if found == EMPTY:
        raise CellarUnusable(f"{name} is empty; fill it with `cooperage import` or `cooperage add`")
    if found == SCHEMA:
        return
    _refuse_newer(engine, found)
    try:
        with driver_errors_explained(engine):
            migrate(engine)
    except DBAPIError as error:
        raise CellarUnusable(
            f"{name} is marked as book '{found}', and its tables are another's; nothing was changed; "
            "put the last backup in its place with `cooperage restore BACKUP --force`"
        ) from error


def _refuse_newer(engine: Engine, found: str) -> None:
    if found not in (EMPTY, SCHEMA) and not knows(found):
        raise CellarUnusable(
            f"{cellar_name(engine.url)} was written by a newer cooperage (book '{found}', this one knows '{SCHEMA}'); "
            "update first"
        )


@contextmanager
def _kept_only_if_usable(engine: Engine) -> Iterator[None]:
    """Close the database's connections when the cellar turns out to be unusable."""
    try:
        with driver_errors_explained(engine):
            yield
    except BaseException:
        engine.dispose()
        raise


def schema_of(engine: Engine) -> str | None:
    """Return the name of the migration a database stands at, EMPTY if it has no table, None if it is no cellar."""
    with reading(engine) as connection:
        return schema_in(connection)


def schema_in(connection: Connection) -> str | None:
    """Return the name of the migration a database stands at, EMPTY if it has no table, None if it is no cellar."""
    tables = inspect(connection).get_table_names()
    if "alembic_version" not in tables:
        return None if tables else EMPTY
    found: Any = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    return None if found is None else str(found)


def counts_as_new(url: URL) -> bool:
    """Return True if nothing has begun there yet: no file, an empty one, or a database without a table."""
    path = file_of(url)
    if path is not None and _refuse_what_is_no_file(path) == "nothing":
        return True
    engine = make_engine(url)
    try:
        return schema_of(engine) == EMPTY
    finally:
        engine.dispose()


def knows(revision: str) -> bool:
    """Return True if a migration is one of ours, this code's own or an older one."""
    from alembic.config import Config
    from alembic.script import ScriptDirectory
    from alembic.util import CommandError

    config = Config()
    config.set_main_option("script_location", str(migrations_folder()))
    try:
        known = ScriptDirectory.from_config(config).get_revision(revision)
    except CommandError:
        return False
    return known is not None and known.revision == revision  # Alembic also takes the beginning of a name

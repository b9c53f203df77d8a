"""One SQLite file: opened with our pragmas, read where nothing can be written, copied whole into a single file.

Never open a cellar's file by other means while it may be open here: closing it releases all locks that this process
has on it (SQLite, How To Corrupt An SQLite Database File, 2.2).
"""

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from tempfile import TemporaryDirectory
from urllib.parse import quote

from cooperage.outfile import new_file

BUSY_S = 5.0
"""How long to wait for another writer [s]."""

WAL, JOURNAL, SHM = "-wal", "-journal", "-shm"
BESIDE = (WAL, JOURNAL, SHM)
"""What SQLite keeps beside a file that is in use."""

_UNWRITABLE = ("unable to open", "readonly", "read-only", "disk i/o error", "is full")
_FORMAT_AT = 18  # two bytes, 1 for a rollback journal, 2 for a write-ahead log (SQLite, Database File Format, 1.3.3)

_SHARED_LOCKS = (510, 0x40000002)  # how many bytes, from where (SQLite's os.h: SHARED_SIZE, SHARED_FIRST)


class OnlyReads(sqlite3.Connection):
    """A connection that cannot write."""


def companion_file(path: Path, suffix: str) -> Path:
    """Name what stands beside a file, such as its write-ahead log."""
    return path.with_name(path.name + suffix)


def connect(path: Path, *, only_read: bool = False) -> sqlite3.Connection:
    """Open a file to read and write; where its folder, medium or disk leaves no room for that, to read only."""
    if not only_read:
        try:
            return _probed(sqlite3.connect(path, isolation_level=None, check_same_thread=False))
        except sqlite3.OperationalError as error:
            if not path.is_file() or not any(sign in str(error).lower() for sign in _UNWRITABLE):
                raise
    return connect_reading(path)


def connect_reading(path: Path) -> sqlite3.Connection:
    """Open a file to read only, and make nothing beside it.

    Without a write-ahead log or journal the file is all there is, and is read as it is. With a log that another
    program shares, it is shared. What a program left behind when it was killed is only whole together with the file:
    both are read in a copy.
    """
    if companion_file(path, WAL).exists() and companion_file(path, SHM).exists():
        with suppress(sqlite3.OperationalError):
            return _only_reading(_opened(path, "mode=ro"))
    if any(_has_content(companion_file(path, suffix)) for suffix in (WAL, JOURNAL)):
        return _copy_in_memory(path)
    return _only_reading(_opened(path, "mode=ro&immutable=1"))


def _opened(path: Path, options: str) -> sqlite3.Connection:
    address = f"file:{quote(os.fsencode(path.absolute()))}?{options}"
    return sqlite3.connect(address, uri=True, isolation_level=None, check_same_thread=False, factory=OnlyReads)


def _probed(connection: sqlite3.Connection) -> sqlite3.Connection:
    """Set our pragmas and read once, since opening alone proves nothing."""
    try:
        for pragma in (f"busy_timeout={BUSY_S * 1000:.0f}", "foreign_keys=ON", "synchronous=FULL"):
            connection.execute(f"PRAGMA {pragma}")
        connection.execute("PRAGMA recursive_triggers=ON")
        connection.execute("PRAGMA schema_version").fetchone()
    except UnicodeDecodeError as error:  # SQLite's message has a damaged name in it
        connection.close()
        raise sqlite3.DatabaseError("database disk image is malformed") from error
    except sqlite3.Error:
        connection.close()
        raise
    return connection


def _only_reading(connection: sqlite3.Connection) -> sqlite3.Connection:
    _probed(connection).execute("PRAGMA query_only=ON")
    return connection


def _has_content(path: Path) -> bool:
    return path.is_file() and path.stat().st_size > 0


def _copy_in_memory(path: Path) -> sqlite3.Connection:
    memory = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False, factory=OnlyReads)
    with TemporaryDirectory() as folder:
        copied = Path(folder, "copy.db")
        for suffix in ("", WAL, JOURNAL):
            if companion_file(path, suffix).is_file():
                shutil.copyfile(companion_file(path, suffix), companion_file(copied, suffix))
        with closing(sqlite3.connect(copied)) as copy:
            copy.backup(memory)
    return _only_reading(memory)


@contextmanager
def sole_access(path: Path) -> Iterator[bool]:
    """Keep other programs from opening a file for a while; False where one has it open. Not while it is open here.

    Every connection holds a shared lock on these bytes while it has a write-ahead log open (SQLite, File Locking And
    Concurrency; WAL-mode File Format). On Windows a file that is open cannot be renamed.
    """
    try:
        import fcntl
    except ImportError:
        yield True
        return
    if not path.exists():
        yield True
        return
    with path.open("rb+") as file:
        try:
            fcntl.lockf(file, fcntl.LOCK_EX | fcntl.LOCK_NB, *_SHARED_LOCKS)
        except OSError:
            yield False
            return
        yield True


@contextmanager
def new_database(path: Path) -> Iterator[Path]:
    """Yield a new path to make a database at; it takes its place, alone, when all is written, else nothing is left.

    Raises what `outfile.new_file` raises.
    """
    with new_file(path) as half_done:
        try:
            yield half_done
        finally:
            for suffix in BESIDE:
                companion_file(half_done, suffix).unlink(missing_ok=True)


def copy_whole(source: sqlite3.Connection, to: Path) -> None:
    """Copy a database, as its connection sees it, into one new file that needs nothing beside it."""
    with closing(sqlite3.connect(to, isolation_level=None)) as there:
        there.execute("PRAGMA journal_mode=OFF")  # a half-written copy is thrown away, so it needs no way back
        there.execute("PRAGMA synchronous=OFF")  # it is synced as a whole before it gets its name
        source.backup(there)
    mark_journal(to, JOURNAL)


def mark_journal(path: Path, kind: str) -> None:
    """Write into a file's header which journal it is used with, WAL or JOURNAL; the file must not be open."""
    with path.open("rb+") as file:
        file.seek(_FORMAT_AT)
        file.write(b"\2\2" if kind == WAL else b"\1\1")

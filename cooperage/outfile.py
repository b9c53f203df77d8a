"""The one door to every file that a person asked for: whole or not there, and never in the place of something else.

A file is written beside its place and renamed there, so that a full disk or a power cut leaves what was there before.
"""

import errno
import os
import shutil
import sqlite3
import stat
import uuid
from collections.abc import Iterable, Iterator
from contextlib import ExitStack, closing, contextmanager, suppress
from pathlib import Path

from cooperage.errors import BadInput
from cooperage.infile import at_home

_SQLITE = b"SQLite format 3\x00"
"""How every SQLite file begins (SQLite, Database File Format, 1.3): a cellar, or a backup of one."""


class ThereAlready(BadInput):
    """A file that would be replaced unasked."""

    def __init__(self, path: Path) -> None:
        self.path = path
        super().__init__(f"{path} is there already; give another path, or --force to replace it")


class NotReplaced(BadInput):
    """What is there must not be replaced even when asked: a cellar, a folder, a device."""

    def __init__(self, path: Path, what: str) -> None:
        self.path = path
        super().__init__(f"{path} is {what} and is never replaced; give another path")


class NotWritten(BadInput):
    """The file could not be written; nothing of it is left behind."""

    def __init__(self, path: Path, error: OSError) -> None:
        self.path = path
        why = os.strerror(error.errno or errno.EIO).lower()
        super().__init__(f"{path} cannot be written ({why}); nothing was changed there")


class NoFolder(BadInput):
    """A file in a folder that is not there: more often a slip of the pen than a new folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        super().__init__(f"there is no folder {folder}; make it first, or give another path")


def check_folder(path: Path) -> None:
    """Raise NoFolder where the folder of a file is not there: a mistyped one is not made."""
    folder = at_home(path).absolute().parent
    if not folder.exists():
        raise NoFolder(folder)


@contextmanager
def new_file(path: Path, *, force: bool = False) -> Iterator[Path]:
    """Yield a new path beside `path` to write to; it takes the place of `path` only when all is written.

    Raises ThereAlready (without `force`), NotReplaced, NotWritten. A symbolic link is followed.
    """
    path = at_home(path).resolve()
    check_free(path, force=force)
    half_done = path.with_name(f".{path.name}.{uuid.uuid4().hex[:8]}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        yield half_done
        _sync(half_done)
        _put(half_done, path, force=force)
        sync_folder(path.parent)
    except OSError as error:
        raise NotWritten(path, error) from error
    finally:
        with suppress(OSError):
            half_done.unlink(missing_ok=True)


@contextmanager
def new_files(folder: Path, names: Iterable[str], *, force: bool = False) -> Iterator[Path]:
    """Yield a new folder to write files of these `names` in; all of them take their places in `folder`, or none does.

    A folder that is not there yet gets its name by one rename. In one that is there the files are renamed one by one
    when all are written, and should one fail those before it are taken back; only a power cut between two of these
    renames can leave new files beside old ones. Raises as `new_file` does.
    """
    folder, names = at_home(folder).resolve(), tuple(names)
    is_new = _is_new_folder(folder)
    for name in names:
        check_free(folder / name, force=force)
    half_done = (folder.parent if is_new else folder) / f".{folder.name}.{uuid.uuid4().hex[:8]}.part"
    try:
        half_done.mkdir(parents=True)
        yield half_done
        for name in names:
            _sync(half_done / name)
        if is_new:
            _put_folder(half_done, folder)
        else:
            _put_all(half_done, folder, names, force=force)
        for changed in (folder, folder.parent):
            sync_folder(changed)
    except OSError as error:
        raise NotWritten(folder, error) from error
    finally:
        shutil.rmtree(half_done, ignore_errors=True)


def _is_new_folder(folder: Path) -> bool:
    try:
        mode = folder.stat().st_mode
    except FileNotFoundError:
        return True
    except OSError as error:
        raise NotWritten(folder, error) from error
    if not stat.S_ISDIR(mode):
        raise NotReplaced(folder, "no folder")
    return False


def _put_folder(half_done: Path, folder: Path) -> None:
    sync_folder(half_done)
    try:
        half_done.rename(folder)
    except OSError:
        if folder.exists():  # another program was quicker
            raise ThereAlready(folder) from None
        raise


def _put_all(half_done: Path, folder: Path, names: Iterable[str], *, force: bool) -> None:
    with ExitStack() as taking_back:
        for name in names:
            place, before = (folder / name).resolve(), half_done / f"{name}.before"
            if place.exists() and force:
                shutil.copy2(place, before)
                taking_back.callback(before.replace, place)
                _put(half_done / name, place, force=True)
            else:
                _put(half_done / name, place, force=False)
                taking_back.callback(place.unlink)
        taking_back.pop_all()


def check_free(path: Path, *, force: bool = False) -> None:
    """Look before opening: raise ThereAlready or NotReplaced where `path` must not be written."""
    try:
        mode = path.stat().st_mode
    except FileNotFoundError:
        return
    except OSError as error:
        raise NotWritten(path, error) from error
    if not stat.S_ISREG(mode):
        raise NotReplaced(path, "a folder" if stat.S_ISDIR(mode) else "no ordinary file")
    if is_sqlite(path):
        raise NotReplaced(path, "a cellar")
    if not force:
        raise ThereAlready(path)


def is_sqlite(path: Path) -> bool:
    """Return True if an ordinary file is an SQLite database: a cellar, or a backup of one.

    SQLite itself looks first: opening the file by other means, and closing it, would release the locks on a cellar
    that this program has open (SQLite, How To Corrupt An SQLite Database File, 2.2).
    """
    if _opens_as_sqlite(path):
        return True
    try:
        with path.open("rb") as file:
            return file.read(len(_SQLITE)) == _SQLITE
    except OSError:
        return False


def _opens_as_sqlite(path: Path) -> bool:
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro&immutable=1", uri=True)) as connection:
            return bool(connection.execute("PRAGMA schema_version").fetchone()[0])
    except sqlite3.Error:
        return False


def _sync(path: Path) -> None:
    with path.open("rb+") as file:
        os.fsync(file.fileno())


def _put(half_done: Path, path: Path, *, force: bool) -> None:
    if force:
        check_free(path, force=True)
        half_done.replace(path)
        return
    try:
        os.link(half_done, path)  # unlike a rename, it fails where another program was quicker
    except FileExistsError:
        raise ThereAlready(path) from None
    except OSError:  # a medium without hard links
        check_free(path)
        half_done.replace(path)


def sync_folder(folder: Path) -> None:
    """Make the new name survive a power cut, where folders can be synced (not on Windows)."""
    with suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)

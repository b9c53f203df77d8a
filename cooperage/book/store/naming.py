"""The one door for cellar names: a path or a server's address as a person types it, and how it is named in messages."""

import os
import re
import stat
from pathlib import Path
from urllib.parse import unquote

from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

from cooperage.book.errors import CellarUnusable

_SCHEME = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*://")
_HALF_AN_ADDRESS = re.compile(r"(sqlite|postgres|postgresql)(\+\w*)?:/?(?!/)", re.IGNORECASE)


def cellar_url(place: str) -> URL:
    """Turn a path, an `sqlite:///` URL (a path too) or a postgresql URL, as a person types it, into a URL.

    Raises CellarUnusable: one line, without the password.
    """
    place = place.strip()
    if not place or "\0" in place:
        raise CellarUnusable("a cellar needs a name: the path of a file, or postgresql://SERVER/NAME")
    if _SCHEME.match(place):
        return _from_address(place)
    if _HALF_AN_ADDRESS.match(place):
        raise CellarUnusable(f"{_scrubbed(place)} is half an address; write sqlite:///PATH or postgresql://SERVER/NAME")
    return URL.create("sqlite", database=str(_at_home(place)))


def _from_address(place: str) -> URL:
    try:
        url = make_url(place)
    except (ArgumentError, ValueError) as error:
        raise CellarUnusable(
            f"{_scrubbed(place)} is neither a path nor a database URL; write postgresql://SERVER/NAME, or a path"
        ) from error
    if place.count("@") > 1:
        raise CellarUnusable(f"{_scrubbed(place)} is no address of a cellar; write an @ in the password as %40")
    backend, _, driver = url.drivername.lower().partition("+")
    if backend == "sqlite" and driver in ("", "pysqlite"):
        return _file_address(url, place)
    if backend in ("postgresql", "postgres") and driver in ("", "psycopg"):
        return url.set(drivername="postgresql+psycopg")
    raise CellarUnusable(f"'{url.drivername}' is no kind of cellar; a cellar is a file, or postgresql://SERVER/NAME")


def _file_address(url: URL, place: str) -> URL:
    path = url.database or ""
    if url.host or path in ("", ":memory:", "file:", "file::memory:"):
        raise CellarUnusable(f"{_scrubbed(place)} names no file; write sqlite:///PATH, or the path alone")
    if url.query.keys() - {"mode", "uri"} or url.query.get("mode", "ro") != "ro":
        raise CellarUnusable(f"{_scrubbed(place)}: the one option that a file takes is ?mode=ro")
    if path.startswith("file:"):
        path = unquote(path.removeprefix("file:"))
    query = {"mode": "ro"} if "mode" in url.query else {}
    return URL.create("sqlite", database=str(_at_home(path)), query=query)


def _at_home(path: str) -> Path:
    """Put the home folder for a leading `~`; raise CellarUnusable where there is none."""
    first = next(iter(Path(path).parts), "")
    if not path.startswith("~"):
        return Path(path).absolute() if first.startswith("~") else Path(path)  # ./~x is a file, for whoever reads on
    try:
        home = Path(first).expanduser()
    except RuntimeError:
        home = Path()
    if home == Path() or not home.is_dir():
        raise CellarUnusable(
            f"{path}: there is no home folder '{first}'; write ~/ for your own, or ./{path} for a file of that name"
        )
    return Path(path).expanduser()


def file_of(url: URL) -> Path | None:
    """Return the file of a cellar; None where it is on a server."""
    return Path(url.database or "") if url.drivername == "sqlite" else None


def cellar_file(place: str, instead: str) -> Path:
    """Return the file that a name means; raise CellarUnusable for a server, with what to do `instead`."""
    url = cellar_url(place)
    path = file_of(url)
    if path is None:
        raise CellarUnusable(f"{cellar_name(url)} is on a server; {instead}")
    return path


def cellar_name(url: URL) -> str:
    """Name a cellar for a message: its path, or its address without any password."""
    if url.drivername == "sqlite":
        return os.fsencode(url.database or "").decode("utf-8", "replace")
    plain = url.set(drivername=url.get_backend_name(), query={})  # its options may hold a password too
    return plain.render_as_string(hide_password=True)


def _scrubbed(place: str) -> str:
    """Take the passwords out of an address that could not be understood."""
    return re.sub(r"\?.*", "", re.sub(r"(//[^:/@]*):.*@", r"\1:***@", place))


def kind_of_file(path: Path) -> str:
    """Look before opening: "file", "nothing", or what else is there (a pipe would be waited on for ever)."""
    try:
        mode = path.stat().st_mode
    except (FileNotFoundError, NotADirectoryError):
        return "nothing"
    if stat.S_ISREG(mode):
        return "file"
    names = {stat.S_IFDIR: "a folder", stat.S_IFIFO: "a pipe", stat.S_IFSOCK: "a socket"}
    return names.get(stat.S_IFMT(mode), "a device")

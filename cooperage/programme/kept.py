"""What was learned from the book, kept in the person's cache folder until the book changes.

Learning the rates of a cellar takes longer than all else that a look at it does, and gives the same as long as nothing
is written. Files are named by a mark of everything the learning rests on, the code that learns included: a result is
found only by a cellar that would learn just that. Dropping them changes nothing; a folder that cannot be written, or a
file that is broken, means that it is learned again.
"""

import json
import os
import time
from collections.abc import Callable, Iterable
from contextlib import suppress
from functools import cache
from hashlib import blake2b
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import cooperage
from cooperage.book.replay.latest import mark_of_book

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from cooperage.book.store.registry import Registry

FOLDER = "COOPERAGE_CACHE"
"""Environment variable that names another folder; where it is empty, nothing is kept."""
_MOST_FILES = 90  # of the latest few states of a few cellars
_LEARNS = (
    "programme/ageing",
    "programme/ageing/scoring",
    "programme/ready",
    "tasting",
    "tasting/flights",
    "programme/losses",
    "programme/wood",
    "programme/signs",
    "programme/air",
    "programme/money",
    "programme/periods",
    "book",
    "book/replay",
    "book/declared",
    "book/store",
    "liquid",
    "units",
)
_BROKEN = (OSError, ValueError, KeyError, TypeError, IndexError, AttributeError)

Learned = TypeVar("Learned")


def kept(
    mark: str,
    name: str,
    learn: Callable[[], Learned],
    as_json: Callable[[Learned], Any],
    from_json: Callable[[Any], Learned],
) -> Learned:
    """Return what was learned under a name from a cellar with this mark, or learn it now and keep it.

    `as_json` turns it into what JSON holds, `from_json` makes it again from that. Without a mark nothing is kept.
    """
    folder = _folder()
    if not mark or folder is None:
        return learn()
    path = folder / f"{_digest(mark, _code())}-{name}.json"
    with suppress(*_BROKEN):
        return from_json(json.loads(path.read_bytes()))
    learned = learn()
    with suppress(OSError):
        _write(path, json.dumps(as_json(learned), separators=(",", ":")))
    return learned


def book_mark(connection: "Connection", registry: "Registry") -> str:
    """Return a mark of all that is in the book and of the local days it is read in, for what follows from entries."""
    return f"{mark_of_book(connection, registry)} {time.tzname} {time.timezone}"


def _folder() -> Path | None:
    given = os.environ.get(FOLDER)
    if given is not None:
        return Path(given) if given else None
    from platformdirs import user_cache_path

    return user_cache_path("cooperage")


def _digest(*parts: str) -> str:
    return blake2b("\n".join(parts).encode(), digest_size=16).hexdigest()


@cache
def _code() -> str:
    """Return what changes when the code that learns does."""
    package = Path(cooperage.__file__).parent
    with suppress(OSError):
        return "".join(f"{name} {size} {time};" for folder in _LEARNS for name, size, time in _files(package / folder))
    return cooperage.__version__


def _files(folder: Path) -> Iterable[tuple[str, int, int]]:
    with os.scandir(folder) as found:
        files = [(each.name, each.stat()) for each in found if each.name.endswith(".py")]
    return sorted((name, stat.st_size, stat.st_mtime_ns) for name, stat in files)


def _write(path: Path, text: str) -> None:
    """Write a private file, whole or not at all, and drop the oldest ones."""
    from tempfile import NamedTemporaryFile  # keeps start-up light

    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    with NamedTemporaryFile("w", dir=path.parent, suffix=".part", delete=False, encoding="utf-8") as half_done:
        half_done.write(text)
    Path(half_done.name).replace(path)
    _drop_oldest(path.parent)


def _drop_oldest(folder: Path) -> None:
    """Leave the newest files of a folder; how old they are is asked only where there are too many."""
    with os.scandir(folder) as found:
        files = [each for each in found if each.name.endswith(".json")]
    if len(files) > _MOST_FILES:
        for oldest in sorted(files, key=lambda each: each.stat().st_mtime_ns)[:-_MOST_FILES]:
            Path(oldest.path).unlink(missing_ok=True)

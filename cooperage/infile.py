"""The one door for reading a file that a person named: never more of it than is of use, whatever it turns out to be."""

import re
from pathlib import Path
from typing import Any

from cooperage.errors import BadInput

_BY_HAND = 1_000_000  # the most bytes of a file that a person writes by hand
_DEEP = re.compile(r"""(?:\s*\.\s*(?:[\w-]+|"[^"\n]*"|'[^'\n]*')){32}""")
"""A key of more than 32 parts, which `tomllib` takes time for by the square of them."""


class TooLong(BadInput):
    """A file that is longer than anything that could be meant."""

    def __init__(self, path: Path, most: int) -> None:
        self.path, self.most = path, most
        super().__init__(f"{path} is longer than {most / 1_000_000:g} MB; is it the right file?")


class NotToml(ValueError):
    """What a file holds instead of TOML; the message is the reason alone, in one line."""


def at_home(path: Path) -> Path:
    """Return the path with `~` made the home folder; a name that only begins so, and is no person's, stays a name."""
    try:
        return path.expanduser()
    except RuntimeError:
        return path


def read_at_most(path: Path, most: int) -> bytes:
    """Return what a file holds, at most so many bytes; raises TooLong for more, and OSError."""
    with path.open("rb") as file:
        raw = file.read(most + 1)
    if len(raw) > most:
        raise TooLong(path, most)
    return raw


def read_toml(path: Path) -> dict[str, Any]:
    """Read a TOML file as a person writes one; raises OSError, TooLong, NotToml."""
    import tomllib  # most commands find no file to read, and are spared it

    raw = read_at_most(path, _BY_HAND)
    try:
        text = raw.decode("utf-8-sig")
        if _DEEP.search(text):
            raise NotToml("a key of more than 32 parts")
        return tomllib.loads(text)
    except RecursionError:
        raise NotToml("tables or lists in each other without end") from None
    except ValueError as error:  # not UTF-8, not TOML, a number of thousands of digits
        raise NotToml(" ".join(str(error).split())) from error

"""Text pasted line by line, or as a table with a header: whose line it is, and the lines that were not understood."""

import csv
import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from cooperage.book import Cellar
from cooperage.errors import BadInput

LONGEST = 5_000_000
"""The most bytes of a list of vessels."""
Numbered = tuple[int, str]

_VESSEL = ("barrel", "vessel", "tag", "sample", "cask")


class NotUnderstood(BadInput):
    """A line of pasted text, or part of one, that is not understood."""


@dataclass(frozen=True, slots=True)
class Unread:
    """A line that gave nothing: its number from 1, its text, and why."""

    line: int
    text: str
    reason: str


class NotText(BadInput):
    """A file that holds something else than text."""

    def __init__(self, name: str) -> None:
        super().__init__(f"{name} is not UTF-8 text; save it as text or as CSV UTF-8")


class FileUnreadable(BadInput):
    """A file that cannot be opened, or is too long to be a list."""


class LinesUnread(BadInput):
    """Pasted text of which every line must be understood, and some were not."""

    def __init__(self, unread: Sequence[Unread]) -> None:
        self.unread = tuple(unread)
        first, more = unread[0], len(unread) - 1
        others = f" (and {more} more)" if more else ""
        super().__init__(
            f"nothing was written: line {first.line} was not understood{others}: {first.reason}; "
            "correct it or take it out"
        )


@dataclass(frozen=True, slots=True)
class Listed:
    """One row of a pasted table: the vessel's name, and (heading, cell) of every other cell that holds something."""

    line: int
    text: str
    vessel: str
    cells: tuple[tuple[str, str], ...]


class VesselNames:
    """Vessels by the names people write: the tag, or the tag without its dash and leading zeros if only one fits."""

    def __init__(self, cellar: Cellar) -> None:
        self._cellar = cellar
        self._alike: dict[str, list[str]] = defaultdict(list)
        for standing in cellar:
            self._alike[_bare(standing.tag)].append(standing.tag)

    def tag(self, written: str) -> str:
        """Return the tag that is meant; raises NoSuchVessel, and NotUnderstood where no name was written."""
        if not written:
            raise NotUnderstood("no vessel is named; begin the line with its tag")
        alike = self._alike.get(_bare(written), [])
        return alike[0] if written not in self._cellar and len(alike) == 1 else self._cellar[written].tag


def _bare(tag: str) -> str:
    return re.sub(r"0*(\d+)", r"\1", re.sub(r"[^A-Z0-9]", "", tag.upper()))


def decoded(raw: bytes, name: str) -> str:
    """Return the text of a file called `name`; raises NotText, FileUnreadable for one that is too long."""
    if len(raw) > LONGEST:
        raise FileUnreadable(f"{name} is too long for a list of vessels; name another file")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise NotText(name) from error
    if "\0" in text:
        raise NotText(name)
    return text


def read_text_file(path: Path) -> str:
    """Return the text of a file; raises FileUnreadable, NotText."""
    try:
        with path.open("rb") as file:
            raw = file.read(LONGEST + 1)
    except OSError as error:
        raise FileUnreadable(f"{path} cannot be read ({(error.strerror or str(error)).lower()})") from error
    return decoded(raw, path.name)


def numbered(text: str) -> list[Numbered]:
    """Return the lines that are not blank, numbered from 1."""
    return [(number, line) for number, line in enumerate(text.splitlines(), 1) if line.strip()]


def table(lines: Sequence[Numbered]) -> list[Listed] | None:
    """Read lines as a table if the first is a header that names the vessel; None where it is not."""
    if not lines:
        return []
    delimiter = next((mark for mark in ("\t", ";", ",") if mark in lines[0][1]), ",")
    header = [cell.lower() for cell in cells_of(lines[0][1], delimiter)]
    if not any(cell in _VESSEL for cell in header):
        return None
    return [_listed(number, line, header, delimiter) for number, line in lines[1:]]


def _listed(number: int, line: str, header: Sequence[str], delimiter: str) -> Listed:
    cells = cells_of(line, delimiter)
    headings = [*header, *[""] * (len(cells) - len(header))]
    vessel = next((cell for heading, cell in zip(headings, cells, strict=False) if heading in _VESSEL), "")
    others = _filled(zip(headings, cells, strict=False))
    return Listed(number, line.strip(), vessel, tuple(others))


def _filled(cells: Iterable[tuple[str, str]]) -> Iterable[tuple[str, str]]:
    return ((heading, cell) for heading, cell in cells if cell and heading not in _VESSEL)


def cells_of(line: str, delimiter: str) -> list[str]:
    """Part a line into its cells."""
    try:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter), [])]
    except csv.Error:  # longer than any cell can be
        return [line]


def with_unit(value: str, unit: str | None) -> str:
    """Give a bare number the unit that its heading names."""
    return value if not unit or re.search(r"[a-z%°]", value, re.IGNORECASE) else f"{value} {unit}"

"""Lab results pasted as text, matched to barrels: "B-017 free 24 pH 3.41" line by line, or a table with a header.

Nothing is dropped quietly: a line that is not understood to its last word comes back with the reason, and gives no
reading. Writing them is the book's business.
"""

import csv
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from cooperage.book import Cellar
from cooperage.book.acts import Reading
from cooperage.book.spoken import hear
from cooperage.errors import BadInput
from cooperage.units import DEFAULT, Units

SPELLINGS: dict[str, str] = {
    "free so2": "free_so2_mg_l",
    "free": "free_so2_mg_l",
    "fso2": "free_so2_mg_l",
    "total so2": "total_so2_mg_l",
    "total": "total_so2_mg_l",
    "tso2": "total_so2_mg_l",
    "ph": "ph",
    "volatile acidity": "va_g_l",
    "va": "va_g_l",
    "titratable acidity": "ta_g_l",
    "ta": "ta_g_l",
    "alcohol": "abv",
    "strength": "abv",
    "abv": "abv",
    "residual sugar": "sugar_g_l",
    "sugar": "sugar_g_l",
    "rs": "sugar_g_l",
    "gravity": "sg",
    "sg": "sg",
    "temperature": "temperature_c",
}
"""How laboratories name what they read, and the property it is."""
_VESSEL = ("barrel", "vessel", "tag", "sample", "cask")

_NAMES = "|".join(re.escape(name) for name in sorted((*SPELLINGS, *set(SPELLINGS.values())), key=len, reverse=True))
_UNIT = r"mg/l|g/l|g/100\s?ml|g/hl|ppm|%\s*vol|%\s*abv|%|°?\s?bx|brix|°c|°f"
_PAIR = re.compile(rf"\b({_NAMES})\b[\s:=]*([-−]?\d+(?:[.,]\d+)?\s*(?:(?:{_UNIT})(?![a-z]))?)", re.IGNORECASE)
_HEADING = re.compile(rf"\s*({_NAMES})\s*[\[(]?\s*({_UNIT})?\s*[\])]?\s*", re.IGNORECASE)


class _NotUnderstood(BadInput):
    """A line of a slip, or part of one, that is not understood."""


@dataclass(frozen=True, slots=True)
class Unread:
    """A line that gave nothing: its number from 1, its text, and why."""

    line: int
    text: str
    reason: str


@dataclass(frozen=True, slots=True)
class Slip:
    """What a pasted slip holds: readings ready for the book, and the lines that need a look."""

    readings: tuple[Reading, ...]
    unread: tuple[Unread, ...]


@dataclass(frozen=True, slots=True)
class _Row:
    """One line as found: the vessel's name and (spelling, value with unit) pairs; `rest` is what was left over."""

    line: int
    text: str
    vessel: str
    pairs: tuple[tuple[str, str], ...]
    rest: str = ""


def read_slip(text: str, cellar: Cellar, when: datetime | None = None, hand: str = "", units: Units = DEFAULT) -> Slip:
    """Match pasted lab results to vessels; bare numbers are in the person's units, readings bear `when` and `hand`."""
    readings: list[Reading] = []
    unread: list[Unread] = []
    for row in _rows(text):
        try:
            readings += _readings(row, cellar, when, hand, units)
        except BadInput as error:
            unread.append(Unread(row.line, row.text, error.words(units)))
    return Slip(tuple(readings), tuple(unread))


def _readings(row: _Row, cellar: Cellar, when: datetime | None, hand: str, units: Units) -> list[Reading]:
    tag = _vessel(row.vessel, cellar)
    if row.rest:
        raise _NotUnderstood(f"'{row.rest}' was not understood")
    if not row.pairs:
        raise _NotUnderstood("no reading was found; write such as 'free 24 pH 3.41'")
    found = []
    for spelling, value in row.pairs:
        named = SPELLINGS.get(spelling.lower(), spelling.lower())
        heard = hear("reading", {"vessel": tag, "property": named, "value": value, "how": "lab"}, cellar.at, units)
        if isinstance(heard, Reading):
            found.append(replace(heard, at=when, hand=hand))
    return found


def _vessel(written: str, cellar: Cellar) -> str:
    """Find the vessel meant: its tag, or the tag without its dash and leading zeros where that is only one."""
    if written in cellar:
        return cellar[written].tag
    alike = [standing.tag for standing in cellar if written and _bare(standing.tag) == _bare(written)]
    return alike[0] if len(alike) == 1 else cellar[written].tag


def _bare(tag: str) -> str:
    return re.sub(r"0*(\d+)", r"\1", re.sub(r"[^A-Z0-9]", "", tag.upper()))


def _rows(text: str) -> Iterator[_Row]:
    lines = [(number, line) for number, line in enumerate(text.splitlines(), 1) if line.strip()]
    table = _table(lines)
    yield from table if table is not None else (_said(number, line) for number, line in lines)


def _said(number: int, line: str) -> _Row:
    vessel, *others = line.split(None, 1)
    said = others[0] if others else ""
    pairs = tuple((match[1], match[2]) for match in _PAIR.finditer(said))
    rest = re.sub(r"[\s,;|]+", " ", _PAIR.sub(" ", said)).strip()
    return _Row(number, line.strip(), vessel.rstrip(":,;"), pairs, rest)


def _table(lines: Sequence[tuple[int, str]]) -> list[_Row] | None:
    """Read the lines as a table if the first is a header that names the vessel; None where it is not."""
    if not lines:
        return []
    delimiter = next((mark for mark in ("\t", ";", ",") if mark in lines[0][1]), ",")
    header = [cell.strip().lower() for cell in next(csv.reader([lines[0][1]], delimiter=delimiter))]
    column = next((place for place, cell in enumerate(header) if cell in _VESSEL), None)
    if column is None:
        return None
    return [_listed(number, line, header, column, delimiter) for number, line in lines[1:]]


def _listed(number: int, line: str, header: Sequence[str], column: int, delimiter: str) -> _Row:
    cells = [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter))]
    pairs, rest = [], [cell for cell in cells[len(header) :] if cell]
    for heading, cell in zip(header, cells, strict=False):
        named = _HEADING.fullmatch(heading)
        if not cell or heading in _VESSEL:
            continue
        if named is None:
            rest.append(f"{heading}: {cell}")
        else:
            pairs.append(
                (named[1], cell if named[2] is None or re.search(r"[a-z%]", cell, re.I) else f"{cell} {named[2]}")
            )
    vessel = cells[column] if column < len(cells) else ""
    return _Row(number, line.strip(), vessel, tuple(pairs), " ".join(rest))

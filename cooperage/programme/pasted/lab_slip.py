"""Lab results pasted as text, matched to barrels: "B-017 free 24 pH 3.41" line by line, or a table with a header.

Nothing is dropped quietly: a line that is not understood to its last word comes back with the reason, and gives no
reading.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from cooperage.book import Book, Cellar, Figure, Written
from cooperage.book.declared.acts import Reading
from cooperage.book.declared.from_text import parse_act
from cooperage.book.declared.properties import PROPERTIES, PROPERTY_SPELLINGS
from cooperage.book.declared.spelling import folded
from cooperage.book.errors import NotPossible
from cooperage.errors import BadInput, did_you_mean
from cooperage.programme.pasted.table import (
    LinesUnread,
    Listed,
    NotUnderstood,
    Unread,
    VesselNames,
    numbered,
    table,
    with_unit,
)
from cooperage.programme.together import write_together
from cooperage.units import DEFAULT, Units, counted

EXAMPLE = "B-017 free 24 pH 3.41"
"""A line that is understood, shown as an example."""
EMPTY = "empty in the book"

_NAMES = "|".join(re.escape(name) for name in sorted(PROPERTY_SPELLINGS, key=len, reverse=True))
_UNIT = r"mg/L|g/L|g/100\s?ml|g/hL|ppm|%\s*vol|%\s*abv|%|°?\s?bx|brix|°c|°f"
_PAIR = re.compile(rf"\b({_NAMES})\b[\s:=]*([-−]?\d+(?:[.,]\d+)?\s*(?:(?:{_UNIT})(?![a-z]))?)", re.IGNORECASE)
_HEADING = re.compile(rf"\s*({_NAMES})\s*[\[(]?\s*({_UNIT})?\s*[\])]?\s*", re.IGNORECASE)


class NothingRead(BadInput):
    """A slip without a single reading."""

    def __init__(self) -> None:
        super().__init__(f"there is no reading to write; paste lines such as '{EXAMPLE}'")


@dataclass(frozen=True, slots=True)
class Matched:
    """One reading of a slip beside what the book has: the figure as it stands. `doubt` is what is odd."""

    line: int
    reading: Reading
    last: Figure
    doubt: str


@dataclass(frozen=True, slots=True)
class Slip:
    """What a pasted slip holds: readings matched to their vessels, and the lines that need a look."""

    matched: tuple[Matched, ...]
    unread: tuple[Unread, ...]

    @property
    def readings(self) -> tuple[Reading, ...]:
        """The readings, ready for the book."""
        return tuple(each.reading for each in self.matched)

    @property
    def words(self) -> str:
        """How much was understood: "4 readings of 2 vessels"."""
        vessels = {reading.vessel for reading in self.readings}
        return f"{counted(len(self.matched), 'reading')} of {counted(len(vessels), 'vessel')}"


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
    names = VesselNames(cellar)
    matched: dict[tuple[str, str], Matched] = {}
    unread: list[Unread] = []
    for row in _rows(text):
        try:
            found = [_matched(row.line, each, cellar) for each in _readings(row, names, cellar.at, units)]
            _refuse_repeats(found, matched)
        except BadInput as error:
            unread.append(Unread(row.line, row.text, error.words(units)))
            continue
        for each in found:
            signed = replace(each, reading=replace(each.reading, at=when, hand=hand))
            matched[each.reading.vessel, each.reading.property] = signed
    return Slip(tuple(matched.values()), tuple(unread))


def write_slip(book: Book, slip: Slip, *, sure: bool = False, leave_unread: bool = False) -> list[Written]:
    """Write every reading of a slip, or none; raises LinesUnread, AskedTogether, and what the book refuses."""
    if slip.unread and not leave_unread:
        raise LinesUnread(slip.unread)
    if not slip.readings:
        raise NothingRead
    return write_together(book, slip.readings, sure=sure)


def _readings(row: _Row, names: VesselNames, now: datetime, units: Units) -> Iterator[Reading]:
    tag = names.tag(row.vessel)
    if row.rest:
        raise NotUnderstood(f"'{row.rest}' was not understood{_help(row.rest)}")
    if not row.pairs:
        raise NotUnderstood(f"no reading was found; write such as '{EXAMPLE.partition(' ')[2]}'")
    for name, value in row.pairs:
        parsed = parse_act("reading", {"vessel": tag, "property": name, "value": value, "how": "lab"}, now, units)
        if isinstance(parsed, Reading):
            yield parsed


def _help(rest: str) -> str:
    """Return what may have been meant by words that were left over: a reading without its figure, or misspelt."""
    first, *_ = folded(rest).split() or [""]
    if first in PROPERTY_SPELLINGS:
        return f"; give the figure after {first}"
    return did_you_mean(first, PROPERTY_SPELLINGS)


def _matched(line: int, reading: Reading, cellar: Cellar) -> Matched:
    """Put a reading beside what the book has; raises NotPossible for a value that no instrument could show."""
    read = PROPERTIES[reading.property]
    if not read.possible[0] <= reading.value <= read.possible[1]:
        raise NotPossible(read.label, *((read.quantity, value) for value in (reading.value, *read.possible)))
    standing = cellar[reading.vessel]
    is_unusual = not read.usual[0] <= reading.value <= read.usual[1]
    doubt = EMPTY if standing.ml == 0 else "unusual" if is_unusual else ""
    return Matched(line, reading, standing.figure(reading.property), doubt)


def _refuse_repeats(found: Sequence[Matched], matched: Mapping[tuple[str, str], Matched]) -> None:
    """Refuse a second reading of the same property of a vessel, be it on one line or on two."""
    seen = dict(matched)
    for each in found:
        there = seen.setdefault((each.reading.vessel, each.reading.property), each)
        if there is not each:
            label = PROPERTIES[each.reading.property].label
            raise NotUnderstood(f"{label} of {each.reading.vessel} stands already in line {there.line}; keep one")


def _rows(text: str) -> Iterator[_Row]:
    lines = numbered(text)
    listed = table(lines)
    yield from (_parse_line(*line) for line in lines) if listed is None else (_listed(row) for row in listed)


def _parse_line(number: int, line: str) -> _Row:
    vessel, *others = line.split(None, 1)
    rest_of_line = others[0] if others else ""
    pairs = tuple((match[1], match[2]) for match in _PAIR.finditer(rest_of_line))
    rest = re.sub(r"[\s,;|]+", " ", _PAIR.sub(" ", rest_of_line)).strip()
    return _Row(number, line.strip(), vessel.rstrip(":,;"), pairs, rest)


def _listed(row: Listed) -> _Row:
    pairs, rest = [], []
    for heading, cell in row.cells:
        named = _HEADING.fullmatch(heading)
        if named is None:
            rest.append(f"{heading}: {cell}" if heading else cell)
        else:
            pairs.append((named[1], with_unit(cell, named[2])))
    return _Row(row.line, row.text, row.vessel, tuple(pairs), " ".join(rest))

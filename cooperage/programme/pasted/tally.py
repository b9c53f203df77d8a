"""Counted volumes pasted as text: "B-017 224.1 L" line by line, or a table whose header names vessel and volume."""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from cooperage.book import Cellar
from cooperage.errors import BadInput
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
from cooperage.units import DEFAULT, Units, read_volume

EXAMPLE = "B-017 224.1 L"
"""A line that is understood, to be shown where one is asked for."""
_COUNTED = ("volume", "counted", "count", "found", "holds")


@dataclass(frozen=True, slots=True)
class Tally:
    """What a list of counted volumes holds: millilitres by tag, and the lines that need a look."""

    counted: dict[str, int]
    unread: tuple[Unread, ...]

    def whole(self, *, leave_unread: bool = False) -> dict[str, int]:
        """Return what was counted; raises LinesUnread for lines not understood, unless they may be left."""
        if self.unread and not leave_unread:
            raise LinesUnread(self.unread)
        return self.counted


def read_tally(text: str, cellar: Cellar, units: Units = DEFAULT) -> Tally:
    """Match counted volumes to vessels; bare numbers are in the person's units."""
    names = VesselNames(cellar)
    counted: dict[str, int] = {}
    lines: dict[str, int] = {}
    unread: list[Unread] = []
    for number, line, vessel, volume in _rows(text):
        try:
            tag = names.tag(vessel)
            ml = _read(volume, units)
            if (first := lines.setdefault(tag, number)) != number:
                raise NotUnderstood(f"{tag} was counted already in line {first}; keep one")
            counted[tag] = ml
        except BadInput as error:
            unread.append(Unread(number, line, error.words(units)))
    return Tally(counted, tuple(unread))


def _read(volume: str, units: Units) -> int:
    if not volume:
        raise NotUnderstood(f"no volume was found; write such as '{EXAMPLE}', or head the column volume")
    return read_volume(volume, units)


def _rows(text: str) -> Iterator[tuple[int, str, str, str]]:
    """Yield each line's number, its text, the vessel's name and the volume."""
    lines = numbered(text)
    listed = table(lines)
    if listed is not None:
        yield from ((row.line, row.text, row.vessel, _volume_in(row)) for row in listed)
        return
    for number, line in lines:
        vessel, *others = re.split(r"[\s,;:=]+", line.replace('"', "").strip(), maxsplit=1)
        yield number, line.strip(), vessel, others[0] if others else ""


def _volume_in(row: Listed) -> str:
    """Return the first cell under a heading that names a volume, with the heading's unit; the others are remarks."""
    for heading, cell in row.cells:
        unit = _unit_of(heading)
        if unit is not None:
            return with_unit(cell, unit)
    return ""


def _unit_of(heading: str) -> str | None:
    """Return the unit that a heading names ("litres", "volume (gal)"), blank for none, None if it is no volume."""
    first, *others = re.findall("[a-z]+", heading) or [""]
    if first in _COUNTED:
        return " ".join(others)
    try:
        read_volume(f"1 {heading}")
    except BadInput:
        return None
    return heading

"""A climate logger's file: one row a reading, turned into one climate entry a day and room."""

import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from statistics import fmean

from cooperage.book import Book, Written
from cooperage.book.declared.acts import Climate
from cooperage.errors import BadInput
from cooperage.programme.air.climate import airs_read
from cooperage.programme.pasted.table import LinesUnread, Unread, cells_of, numbered, with_unit
from cooperage.programme.together import write_together
from cooperage.units import DEFAULT, Quantity, Units, counted, read, read_when

_HEADINGS = {
    "when": r"(date|time|when|timestamp|date.?time)\b.*",
    "temperature": r"(temp|temperature|t|air temperature)\b[^a-z°]*(°?\s?[cf])?\b.*",
    "humidity": r"(rh|humidity|relative humidity|hum)\b.*",
    "room": r"(room|place|where)\b.*",
}


class NoLog(BadInput):
    """A file whose header names no time, temperature or humidity."""

    def __init__(self, missing: Sequence[str]) -> None:
        super().__init__(
            f"the first line must name the columns; {' and '.join(missing)} not found "
            "(such as: when, temperature, humidity)"
        )


class RoomMissing(BadInput):
    """A log without a column for the room, and none given."""

    def __init__(self) -> None:
        super().__init__("the file has no column 'room'; name the room with --room")


@dataclass(frozen=True, slots=True)
class ClimateLog:
    """What a logger's file holds: a climate entry for every room and day not in the book yet, and lines not read."""

    acts: tuple[Climate, ...]
    unread: tuple[Unread, ...]
    readings: int
    known_days: int

    @property
    def words(self) -> str:
        """Return in one line what the file comes to."""
        text = f"{counted(len(self.acts), 'day')} from {counted(self.readings, 'reading')}"
        return text + (f", {counted(self.known_days, 'day')} in the book already" if self.known_days else "")


def read_log(book: Book, text: str, room: str = "", hand: str = "", units: Units = DEFAULT) -> ClimateLog:
    """Read a logger's file; days that the book has for a room are left as they are. Raises NoLog, RoomMissing."""
    lines = numbered(text)
    delimiter = max(";\t,", key=lines[0][1].count) if lines else ","
    header = [cell.strip().casefold() for cell in cells_of(lines[0][1], delimiter)] if lines else []
    columns = {name: _column(header, pattern) for name, pattern in _HEADINGS.items()}
    if missing := [name for name, at in columns.items() if at is None and name != "room"]:
        raise NoLog(missing)
    if columns["room"] is None and not room:
        raise RoomMissing
    days: dict[tuple[str, date], list[tuple[datetime, float, float]]] = defaultdict(list)
    unread = []
    for number, line in lines[1:]:
        try:
            where, reading = _reading(cells_of(line, delimiter), columns, header, room, book.now(), units)
            days[where, reading[0].astimezone().date()].append(reading)
        except BadInput as error:
            unread.append(Unread(number, line.strip(), error.words(units)))
    known = {(air.room, air.at.astimezone().date()) for air in airs_read(book)}
    acts = [_of_day(key, days[key], hand) for key in sorted(days) if key not in known]
    return ClimateLog(tuple(acts), tuple(unread), sum(map(len, days.values())), len(days.keys() & known))


def write_log(book: Book, log: ClimateLog, *, sure: bool = False) -> list[Written]:
    """Write the days of a log, all or none; raises LinesUnread, and asks back what no cellar's air can be."""
    if log.unread:
        raise LinesUnread(log.unread)
    return write_together(book, log.acts, sure=sure)


def _column(header: Sequence[str], pattern: str) -> int | None:
    return next((at for at, cell in enumerate(header) if re.fullmatch(pattern, cell)), None)


def _reading(
    cells: Sequence[str],
    columns: dict[str, int | None],
    header: Sequence[str],
    room: str,
    now: datetime,
    units: Units,
) -> tuple[str, tuple[datetime, float, float]]:
    def cell(name: str) -> str:
        at = columns[name]
        return cells[at].strip() if at is not None and at < len(cells) else ""

    unit = re.fullmatch(_HEADINGS["temperature"], header[columns["temperature"] or 0])
    celsius = read(Quantity.TEMPERATURE, with_unit(cell("temperature"), unit[2] if unit else None), units)
    humidity = read(Quantity.PERCENT, cell("humidity"), units)
    return cell("room") or room, (read_when(cell("when"), now), float(celsius), float(humidity))


def _of_day(key: tuple[str, date], readings: Sequence[tuple[datetime, float, float]], hand: str) -> Climate:
    """Make a day's entry: the means, at noon or at the last reading if that is earlier."""
    room, day = key
    noon = datetime.combine(day, time(12)).astimezone()
    return Climate(
        at=min(noon, max(at for at, _, _ in readings)),
        hand=hand,
        note="" if len(readings) == 1 else f"mean of {len(readings)}",
        room=room,
        temperature=round(fmean(celsius for _, celsius, _ in readings), 2),
        humidity=round(fmean(humidity for _, _, humidity in readings), 1),
    )

"""The air of the rooms, from the climate entries of the book: what it was, and what it is likely to be.

Each room's year is kept as twelve means of daily means, so that a logger that writes every hour and a hand that writes
once a week count by days. What is ahead is taken to be like the same months before.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from statistics import fmean

import numpy as np
from sqlalchemy import select

from cooperage.book import Book
from cooperage.book.facts import facts_of
from cooperage.book.replay.events import STANDS
from cooperage.book.replay.state import DAY
from cooperage.book.store.tables import ENTRY
from cooperage.liquid import evaporation
from cooperage.programme.air.harmonic import season
from cooperage.programme.air.season import UNKNOWN_SEASON, Season
from cooperage.programme.air.warmth import DayRead

RECENT = timedelta(days=30)
_BARREL = (225.0, 13.5, 0.0, 1.0)  # litres, strength, extract, days: a season is a ratio, so any barrel does


@dataclass(frozen=True, slots=True)
class MeanAir:
    """A room's air: temperature [°C] and relative humidity [%], as means over the time looked ahead."""

    celsius: float = 14.0
    humidity: float = 75.0


USUAL_CLIMATE = MeanAir()
"""The middle of what cellars keep, 10 to 16 °C and 65 to 85 % (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class AirReading:
    """A room's temperature [°C] and relative humidity [%] at a moment."""

    room: str
    at: datetime
    celsius: float
    humidity: float


@dataclass(frozen=True, slots=True)
class RoomAir:
    """What is known of one room's air: its daily means by day [days since 1970], oldest first."""

    room: str
    days: tuple[int, ...]
    celsius: tuple[float, ...]
    humidity: tuple[float, ...]

    @property
    def latest(self) -> datetime:
        """The last day that was read."""
        return _begin(self.days[-1])

    def mean(self, since: datetime | None = None) -> MeanAir:
        """Return the mean of the days since then (all of them, if left out)."""
        first = 0 if since is None else int(since.timestamp() // DAY)
        kept = [at for at, day in enumerate(self.days) if day >= first] or range(len(self.days))
        return self._mean_of(kept)

    def _mean_of(self, places: Sequence[int]) -> MeanAir:
        return MeanAir(*(fmean(values[at] for at in places) for values in (self.celsius, self.humidity)))

    def between(self, began: datetime, ended: datetime) -> MeanAir:
        """Return the mean climate to expect between two moments: each day's is its month's, else the whole mean."""
        months, whole = self._months, self.mean()
        each = [months.get(day.month, whole) for day in _days(began, ended)]
        return MeanAir(fmean(c.celsius for c in each), fmean(c.humidity for c in each))

    @property
    def _months(self) -> Mapping[int, MeanAir]:
        found: dict[int, list[int]] = defaultdict(list)
        for at, day in enumerate(self.days):
            found[_begin(day).month].append(at)
        return {month: self._mean_of(places) for month, places in found.items()}

    def season(self) -> Season:
        """Return how evaporation goes with the year in this air; unknown until most of a year has been read."""
        lost = evaporation(*_BARREL, self.celsius, self.humidity, area_m2=1.9).lost_litres
        began = np.array(self.days, dtype=np.float64) * DAY
        if not lost.mean() > 0:
            return UNKNOWN_SEASON
        return season(began, began + DAY, np.asarray(lost / lost.mean()))


def airs_read(book: Book, until: datetime | None = None) -> list[AirReading]:
    """List the climate entries that stand, oldest first."""
    query = select(ENTRY.c.happened_at, ENTRY.c.said).where(STANDS, ENTRY.c.kind == "climate")
    if until is not None:
        query = query.where(ENTRY.c.happened_at <= until)
    with book.reading() as connection:
        rows = connection.execute(query.order_by(ENTRY.c.happened_at, ENTRY.c.id)).all()
    return [AirReading(values["room"], at, values["temperature"], values["humidity"]) for at, values in rows]


def room_airs(book: Book, until: datetime | None = None) -> dict[str, RoomAir]:
    """Gather the air of every room in which it was read."""
    rooms: dict[str, dict[int, list[AirReading]]] = defaultdict(lambda: defaultdict(list))
    for air in airs_read(book, until):
        rooms[air.room][int(air.at.timestamp() // DAY)].append(air)
    return {room: _room_air(room, days) for room, days in sorted(rooms.items())}


def days_read(airs: Mapping[str, RoomAir]) -> list[DayRead]:
    """List how warm each room was on each day that was read in it."""
    return [DayRead(air.room, *each) for air in airs.values() for each in zip(air.days, air.celsius, strict=True)]


def _room_air(room: str, days: Mapping[int, list[AirReading]]) -> RoomAir:
    ordered = sorted(days)
    celsius = tuple(fmean(air.celsius for air in days[day]) for day in ordered)
    humidity = tuple(fmean(air.humidity for air in days[day]) for day in ordered)
    return RoomAir(room, tuple(ordered), celsius, humidity)


def climate_between(
    airs: Mapping[str, RoomAir],
    room: str | None,
    began: datetime,
    ended: datetime,
    usual: MeanAir = USUAL_CLIMATE,
) -> MeanAir:
    """Return the climate to expect in a room between two moments; the usual one where none was read."""
    air = airs.get(room or "")
    return usual if air is None else air.between(began, ended)


def usual_climate(book: Book) -> MeanAir:
    """Return the climate that the cellar's settings call usual."""
    with book.reading() as connection:
        facts = facts_of(connection)
    return MeanAir(facts.celsius, facts.humidity)


def _begin(day: int) -> datetime:
    return datetime.fromtimestamp(day * DAY, UTC)


def _days(began: datetime, ended: datetime) -> Iterable[datetime]:
    count = max(1, round((ended - began) / timedelta(days=1)))
    return (began + timedelta(days=day) for day in range(count))

"""How warm each room is near a time, by the climate entries of the book, and how sure.

A room's day is its season, one cosine, and what it differs from that, which fades within weeks (an Ornstein-Uhlenbeck
process; between two days that were read it is the bridge: Gardiner, Handbook of Stochastic Methods, 3rd ed. 2004,
section 3.8.4). The cosine is weighed against what is usual (Bayesian linear regression; Bishop, Pattern Recognition and
Machine Learning, 2006, section 3.3): the cellar's against cellars, a room's against its cellar.

Nothing here loads NumPy: every look at the cellar asks.
"""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from itertools import groupby
from math import exp, sqrt
from statistics import fmean
from typing import Any, NamedTuple

from cooperage.book.facts import USUAL, Facts
from cooperage.book.replay.state import DAY
from cooperage.programme.air.season import mean_waves
from cooperage.units import counted

COOL = 15.0
"""[°C] Where no air was ever read a cellar is taken for a cool one (common practice, no source)."""
# All of these are common practice, no source [°C]: one standard deviation of a cellar's mean about `COOL`, or about
# the temperature it calls usual; of the two waves of its year; of a room about its cellar, mean and waves; of a day
# about its season, before the record shows that; and of the mean of a day about what was read in it.
_OF_CELLAR, _OF_CALLED_USUAL, _OF_WAVE = 2.5, 1.5, 2.0
_OF_ROOM, _OF_ROOM_WAVE = 1.5, 1.0
_OF_DAY, _OF_READING = 1.2, 0.5
_FADES_DAYS = 20.0  # what differs from the season (common practice, no source)
_MONTH_DAYS = 28
_USUAL_MONTHS = 4.0  # months' worth of trust in `_OF_DAY`
_KEPT_DAYS = 150  # of those that were read: no vessel looks further back than six of its time constants
_LOOKS_BACK = 6.0

Vector = tuple[float, float, float]
Matrix = tuple[Vector, Vector, Vector]


class DayRead(NamedTuple):
    """The mean temperature [°C] that was read in a room on a day [days since 1970]."""

    room: str
    day: int
    celsius: float


class Year(NamedTuple):
    """A year's temperature: mean, cosine and sine [°C], and their covariance."""

    of: Vector
    spread: Matrix

    def about(self, mean: float, wave: float) -> "Year":
        """Return what is to be expected of a room in a cellar that has this year."""
        (a, *b), (c, d, e), (*f, g) = self.spread
        return Year(self.of, ((a + mean**2, b[0], b[1]), (c, d + wave**2, e), (f[0], f[1], g + wave**2)))

    def with_read(self, waves: Vector, celsius: float, variance: float) -> "Year":
        """Return it corrected by a mean that was read."""
        along = _times(self.spread, waves)
        whole = _dot(along, waves) + variance
        error = celsius - _dot(self.of, waves)
        corrected = tuple(each + of * error / whole for each, of in zip(self.of, along, strict=True))
        rows = tuple(
            tuple(each - a * b / whole for each, b in zip(row, along, strict=True))
            for row, a in zip(self.spread, along, strict=True)
        )
        return Year(_vector(corrected), _matrix(rows))


@dataclass(frozen=True)
class RoomWarmth:
    """One room: its year, one standard deviation of a day about it, and the days that were read, oldest first.

    `how` is what that was learned by, as text.
    """

    year: Year
    of_day: float
    days: tuple[int, ...]
    celsius: tuple[float, ...]
    how: str
    _asked: dict[int, tuple[float, float]] = field(default_factory=dict, compare=False, repr=False)

    def on(self, day: int) -> tuple[float, float]:
        """Return the mean temperature of a day [°C] and one standard deviation of it."""
        if day not in self._asked:
            self._asked[day] = self._worked_out(day)
        return self._asked[day]

    def _worked_out(self, day: int) -> tuple[float, float]:
        """Carry what the days read nearest before and after showed to this one."""
        place = bisect_left(self.days, day)
        before, after = self.days[max(0, place - 1) : place], self.days[place : place + 1]
        a, b = (exp(-abs(day - near[0]) / _FADES_DAYS) if near else 0.0 for near in (before, after))
        rest = 1 - (a * b) ** 2
        weights = (a * (1 - b**2) / rest, b * (1 - a**2) / rest)
        value, waves = 0.0, _waves(day)
        for near, at, weight in zip((before, after), (place - 1, place), weights, strict=True):
            if near:
                value += weight * self.celsius[at]
                waves = _vector(x - weight * y for x, y in zip(waves, _waves(near[0]), strict=True))
        variance = self.of_day**2 * (1 - a**2) * (1 - b**2) / rest + _dot(_times(self.year.spread, waves), waves)
        return value + _dot(self.year.of, waves), sqrt(variance + _OF_READING**2)

    def near(self, began: float, ended: float, constant: float) -> tuple[float, float]:
        """Return what something nears between two moments [seconds since 1970], and one standard deviation [°C].

        It follows the room with a time constant [days], so that the last days count most. The errors of days are taken
        for one.
        """
        back = min(max(0.0, (ended - began) / DAY), _LOOKS_BACK * constant)
        end, day = ended / DAY, int(ended // DAY)
        value = doubt = weights = 0.0
        since = 0.0
        while True:
            until = min(back, end - day)
            weight = exp(-since / constant) - exp(-until / constant)
            celsius, sd = self.on(day)
            value, doubt, weights = value + weight * celsius, doubt + weight * sd, weights + weight
            if until >= back:
                return (value / weights, doubt / weights) if weights > 0 else (celsius, sd)
            since, day = until, day - 1


@dataclass(frozen=True)
class Warmth:
    """The rooms of a cellar by name, and what is to be expected of one that was never read."""

    rooms: Mapping[str, RoomWarmth]
    unread: RoomWarmth

    def of(self, room: str | None) -> RoomWarmth:
        """Return how warm a room is."""
        return self.rooms.get(room or "", self.unread)

    def recent(self) -> "Warmth":
        """Return what of it figures of now rest on."""
        return Warmth({name: _recent(room) for name, room in self.rooms.items()}, self.unread)

    def as_json(self) -> Any:  # noqa: ANN401 - whatever JSON holds
        """Return it as JSON holds it."""
        return {name: _as_json(room) for name, room in self.rooms.items()}, _as_json(self.unread)

    @classmethod
    def from_json(cls, kept: Any) -> "Warmth":  # noqa: ANN401 - a file holds anything
        """Return it from what JSON holds; raises TypeError or ValueError where that is no such thing."""
        rooms, unread = kept
        return cls({name: _from_json(room) for name, room in rooms.items()}, _from_json(unread))


def warmth_of(days: Iterable[DayRead], facts: Facts = USUAL) -> Warmth:
    """Learn how warm rooms are from the days that were read in them, in any order."""
    by_room: dict[str, list[DayRead]] = defaultdict(list)
    for each in sorted(days):
        by_room[each.room].append(each)
    called = "temperature" in facts.given
    mean, doubt = (facts.celsius, _OF_CALLED_USUAL) if called else (COOL, _OF_CELLAR)
    usual = Year((mean, 0.0, 0.0), ((doubt**2, 0.0, 0.0), (0.0, _OF_WAVE**2, 0.0), (0.0, 0.0, _OF_WAVE**2)))
    months = {room: _months(read) for room, read in by_room.items()}
    cellar = _fitted(usual, _of_all(months.values()), _OF_DAY**2 + _OF_ROOM**2 / max(1, len(months)))
    expected = cellar.about(_OF_ROOM, _OF_ROOM_WAVE) if months else usual
    rooms = {room: _room(expected, read, months[room]) for room, read in by_room.items()}
    if rooms:
        how = "by the air of other rooms"
    else:
        how = "by the cellar's usual temperature" if called else "taken for a cool one: no air was read"
    return Warmth(rooms, RoomWarmth(expected, _OF_DAY, (), (), how))


def _room(expected: Year, read: Sequence[DayRead], months: Mapping[int, float]) -> RoomWarmth:
    year = _fitted(expected, months, _OF_DAY**2)
    off = [(celsius - _dot(year.of, _waves_of_month(month))) ** 2 for month, celsius in months.items()]
    of_day = sqrt((_USUAL_MONTHS * _OF_DAY**2 + sum(off)) / (_USUAL_MONTHS + len(off)))
    days, celsius = tuple(each.day for each in read), tuple(each.celsius for each in read)
    return RoomWarmth(year, of_day, days, celsius, f"by {counted(len(days), 'day')} of its air")


def _fitted(expected: Year, months: Mapping[int, float], variance: float) -> Year:
    """Weigh a year against what months had; days of one month share its weather and count as one."""
    for month, celsius in months.items():
        expected = expected.with_read(_waves_of_month(month), celsius, variance)
    return expected


def _months(read: Sequence[DayRead]) -> dict[int, float]:
    """Return the mean of each span of four weeks in which something was read."""
    spans = groupby(read, lambda each: each.day // _MONTH_DAYS)
    return {month: fmean(each.celsius for each in those) for month, those in spans}


def _of_all(rooms: Iterable[Mapping[int, float]]) -> dict[int, float]:
    found: dict[int, list[float]] = defaultdict(list)
    for months in rooms:
        for month, celsius in months.items():
            found[month].append(celsius)
    return {month: fmean(those) for month, those in sorted(found.items())}


def _waves(day: float, days: float = 1.0) -> Vector:
    return 1.0, *mean_waves(day * DAY, (day + days) * DAY)


def _waves_of_month(month: int) -> Vector:
    return _waves(month * _MONTH_DAYS, _MONTH_DAYS)


def _recent(room: RoomWarmth) -> RoomWarmth:
    return RoomWarmth(room.year, room.of_day, room.days[-_KEPT_DAYS:], room.celsius[-_KEPT_DAYS:], room.how)


def _as_json(room: RoomWarmth) -> dict[str, Any]:
    kept = asdict(room)
    del kept["_asked"]
    return kept


def _from_json(kept: Mapping[str, Any]) -> RoomWarmth:
    of, spread = kept["year"]
    days, celsius = (tuple(kept[name]) for name in ("days", "celsius"))
    year = Year(_vector(of), _matrix(map(tuple, spread)))
    return RoomWarmth(year, kept["of_day"], days, celsius, kept["how"])


def _dot(a: Vector, b: Vector) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def _times(matrix: Matrix, vector: Vector) -> Vector:
    a, b, c = matrix
    return _dot(a, vector), _dot(b, vector), _dot(c, vector)


def _vector(of: Iterable[float]) -> Vector:
    a, b, c = of
    return a, b, c


def _matrix(rows: Iterable[Any]) -> Matrix:
    a, b, c = rows
    return a, b, c


UNREAD = warmth_of(())
"""Of rooms of which nothing is known."""

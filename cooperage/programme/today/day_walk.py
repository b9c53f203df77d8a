"""The day's walk summed up: by room, by keg, and what is carried."""

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from cooperage.book import Cellar
from cooperage.programme.rounds.due import Task
from cooperage.programme.upkeep.sulphite import dose
from cooperage.programme.walk.stops import Stop


@dataclass(frozen=True, slots=True)
class RoomWork:
    """What the day's walk asks for in one room: stops, litres to top with [mL], and how often each other task."""

    room: str
    stops: int
    top_ml: int
    besides: Mapping[Task, int]


@dataclass(frozen=True, slots=True)
class KegWork:
    """What the day's walk asks of one keg, and what it holds [mL]."""

    tag: str
    gives_ml: int
    holds_ml: int

    @property
    def is_short(self) -> bool:
        """Return True if it cannot give what it must."""
        return self.gives_ml > self.holds_ml


@dataclass(frozen=True, slots=True)
class DayWalk:
    """The stops still to do, by room in walking order and by keg; `sulphite_g` is metabisulphite for those in `low`."""

    rooms: tuple[RoomWork, ...]
    kegs: tuple[KegWork, ...]
    low: tuple[str, ...]
    sulphite_g: float

    @property
    def stops(self) -> int:
        """How many vessels the walk still stops at."""
        return sum(work.stops for work in self.rooms)

    @property
    def top_ml(self) -> int:
        """What all toppings are expected to take [ml]."""
        return sum(work.top_ml for work in self.rooms)


def day_walk(stops: Sequence[Stop], cellar: Cellar, low: Sequence[str]) -> DayWalk:
    """Sum up the stops that are still to do; `low` are the vessels whose sulphite is under its floor."""
    grams = sum(dose(cellar[tag]).grams or 0.0 for tag in low)
    return DayWalk(tuple(_by_room(stops)), tuple(_by_keg(stops, cellar)), tuple(low), grams)


def _by_room(stops: Sequence[Stop]) -> list[RoomWork]:
    rooms: dict[str, list[Stop]] = defaultdict(list)
    for stop in stops:
        rooms[stop.position[0] or ""].append(stop)
    return [
        RoomWork(
            room,
            len(found),
            sum(_top_ml(stop) for stop in found),
            Counter(task for stop in found for task in stop.open_tasks if task is not Task.TOP),
        )
        for room, found in rooms.items()
    ]


def _top_ml(stop: Stop) -> int:
    return stop.expected_ml or 0 if Task.TOP in stop.open_tasks else 0


def _by_keg(stops: Sequence[Stop], cellar: Cellar) -> list[KegWork]:
    wanted: Counter[str] = Counter()
    for stop in stops:
        if stop.keg is not None and Task.TOP in stop.open_tasks:
            wanted[stop.keg] += _top_ml(stop)
    return [KegWork(keg, ml, cellar[keg].ml) for keg, ml in sorted(wanted.items())]

"""The day at a glance: what is wrong, worst first; orders; the walk, room by room; what to carry; the last entry."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from cooperage.book import Book, Cellar
from cooperage.book.log import Entry, entries
from cooperage.programme.losses.ledger import loss_rates
from cooperage.programme.losses.loss_rate import LossRate
from cooperage.programme.orders.checked import Checked, check_orders
from cooperage.programme.rounds.due import Due, Task, next_task, rounds
from cooperage.programme.signs.all_signs import Sign, signs
from cooperage.programme.upkeep.sulphite import dose
from cooperage.units import DEFAULT, Units

_WORST_FIRST = (
    "leak", "va", "smell", "sulphite", "bung", "dip", "litres", "partial", "sulphite loss", "gravity", "acidity",
    "class line", "empty", "strength",
)  # fmt: skip
"""Kinds of signs by what waiting costs: mead that is lost, mead that spoils, figures that are wrong, what can wait
(common practice, no source)."""


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


@dataclass(frozen=True, slots=True)
class Today:
    """The cellar at a glance at one moment; `sulphite_g` is metabisulphite for the barrels in `low`.

    `orders` are the open ones, checked, in the sequence in which they are to be done. `rates` are the loss rates it was
    calculated with, `coming` what comes due next.
    """

    at: datetime
    trouble: tuple[Sign, ...]
    orders: tuple[Checked, ...]
    rooms: tuple[RoomWork, ...]
    kegs: tuple[KegWork, ...]
    low: tuple[str, ...]
    sulphite_g: float
    full: int
    empty: tuple[str, ...]
    last: Entry | None
    coming: str
    rates: Mapping[str, LossRate]

    @property
    def stops(self) -> int:
        """How many vessels the walk stops at."""
        return sum(work.stops for work in self.rooms)


def today_of(book: Book, cellar: Cellar, units: Units = DEFAULT) -> Today:
    """Look over the whole cellar; reasons are worded in `units`."""
    rates = loss_rates(book, cellar)
    due = rounds(cellar, rates=rates, units=units)
    found = signs(book, cellar, rates, units)
    low = [sign.vessel for sign in found if sign.kind == "sulphite"]
    grams = sum(dose(cellar[tag]).grams or 0.0 for tag in low)
    with book.reading() as connection:
        last = entries(connection, newest=1, standing=True, in_written_order=True)
    there = [standing for standing in cellar.barrels if not standing.is_retired]
    return Today(
        at=cellar.at,
        trouble=tuple(worst_first(found)),
        orders=tuple(check_orders(book, units)),
        rooms=tuple(_by_room(due)),
        kegs=tuple(_by_keg(due, cellar)),
        low=tuple(low),
        sulphite_g=grams,
        full=sum(standing.ml > 0 for standing in there),
        empty=tuple(standing.tag for standing in there if standing.ml == 0),
        last=last[0] if last else None,
        coming=next_task(cellar, rates),
        rates=rates,
    )


def worst_first(found: Iterable[Sign]) -> list[Sign]:
    """Order signs by what waiting costs and then by how sure they are; alike, in walking order."""
    rank = {kind: nth for nth, kind in enumerate(_WORST_FIRST)}
    return sorted(found, key=lambda sign: (rank.get(sign.kind, len(rank)), -(1.0 if sign.sure is None else sign.sure)))


def _by_room(due: Sequence[Due]) -> list[RoomWork]:
    """Sum up the walk room by room, in walking order."""
    rooms: dict[str, list[Due]] = defaultdict(list)
    for each in due:
        rooms[each.position[0] or ""].append(each)
    return [
        RoomWork(
            room,
            len({each.barrel for each in tasks}),
            sum(each.expected_ml or 0 for each in tasks),
            Counter(each.task for each in tasks if each.task is not Task.TOP),
        )
        for room, tasks in rooms.items()
    ]


def _by_keg(due: Sequence[Due], cellar: Cellar) -> list[KegWork]:
    wanted: Counter[str] = Counter()
    for each in due:
        if each.keg is not None:
            wanted[each.keg] += each.expected_ml or 0
    return [KegWork(keg, ml, cellar[keg].ml) for keg, ml in sorted(wanted.items())]

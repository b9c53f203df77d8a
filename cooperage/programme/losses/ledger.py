"""Where litres went: losses by cause, barrel, room, lot, wood or month, and each barrel's own loss rate."""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from math import log
from weakref import WeakKeyDictionary

from cooperage.book import Barrel, Book, Cellar, Standing
from cooperage.book.declared.looks import SOUND_BUNG
from cooperage.book.declared.places import OUTSIDE, Outside
from cooperage.book.log import losses
from cooperage.errors import BadInput, choose_from
from cooperage.liquid import barrel_area_m2, barrel_shape
from cooperage.programme.air.climate import room_airs
from cooperage.programme.air.season import NO_SEASON, Season
from cooperage.programme.losses.leaks import USUAL_NOISE, Leak, Noise
from cooperage.programme.losses.rates import BarrelRate, estimate_rates
from cooperage.programme.losses.record import VisitRecord
from cooperage.programme.losses.stays import Stay, Stays, stays
from cooperage.programme.losses.visits import Visit, visits
from cooperage.units import show_month

TAKEN = (Outside.EVAPORATED.value, Outside.LEAK.value, Outside.GAUGING.value)
"""Causes that a barrel's loss rate explains; what new wood soaks up in its first weeks is beyond it."""


class UnknownGrouping(BadInput):
    """A way of grouping losses that there is not."""

    def __init__(self, by: str) -> None:
        self.by = by
        super().__init__(f"losses cannot be grouped by '{by}'{choose_from(by, GROUPINGS)}")


@dataclass(frozen=True, slots=True)
class LossRow:
    """What one group lost [ml], by cause and in all; a gain counts as a negative loss."""

    what: str
    causes: dict[str, int]
    total_ml: int

    @property
    def taken_ml(self) -> int:
        """What wood and air took of it, slips at the dip included [ml]: what the usual is held against."""
        return sum(self.causes.get(cause, 0) for cause in TAKEN)


OWN_VISITS, PEERS = "its own visits", "barrels like it"


@dataclass(frozen=True, slots=True)
class LossRate:
    """A barrel's loss rate [ml/day, mean of the year]: its own rate pooled with its peers', and one standard deviation.

    `own_ml_per_day` is what its own visits show (None without any), since a leak began where there is one; `days` and
    `visits` are what that rests on. `soaked_ml` is what new wood took in its first weeks beyond the rate. `known_at` is
    when its level was last known [seconds since 1970].
    """

    ml_per_day: float
    sd: float
    own_ml_per_day: float | None
    days: float
    capacity_ml: int
    own_sd: float | None = None
    peers_ml_per_day: float = 0.0
    peers_sd: float = 0.0
    visits: int = 0
    soaked_ml: float = 0.0
    noise: Noise = USUAL_NOISE
    season: Season = NO_SEASON
    leak: Leak | None = None
    known_at: float | None = None
    basis: str = OWN_VISITS
    """What it rests on, as text."""

    @property
    def per_year_percent(self) -> float:
        """The rate as per cent of the capacity a year."""
        return 100 * self.ml_per_day * 365.25 / self.capacity_ml


Grouping = Callable[[Standing, datetime, Stay | None], str]


def _room(_standing: Standing, _at: datetime, stay: Stay | None) -> str:
    return (stay.room if stay else "") or "no room"


def _lot(_standing: Standing, _at: datetime, stay: Stay | None) -> str:
    return stay.lot if stay else "empty then"


def _wood(standing: Standing, _at: datetime, _stay: Stay | None) -> str:
    barrel = standing.vessel.barrel
    return "no wood" if barrel is None else barrel.wood or "unknown wood"


GROUPINGS: dict[str, Grouping] = {
    "cause": lambda _standing, _at, _stay: "",
    "barrel": lambda standing, _at, _stay: standing.tag,
    "room": _room,
    "lot": _lot,
    "wood": _wood,
    "month": lambda _standing, at, _stay: show_month(at),
}
_NEEDS_STAYS = frozenset({"room", "lot"})


def grouping_named(by: str) -> Grouping:
    """Find a way of grouping; raises UnknownGrouping."""
    if by not in GROUPINGS:
        raise UnknownGrouping(by)
    return GROUPINGS[by]


def losses_by(
    book: Book, by: str, since: datetime | None = None, until: datetime | None = None, spent: Stays | None = None
) -> list[LossRow]:
    """Sum losses by a grouping, the largest first (months in order); raises UnknownGrouping.

    Rooms and lots are those in which the vessel lay, and which it mostly held, when it lost; `spent` are those
    stays, calculated here if they are left out.
    """
    group, cellar = grouping_named(by), book.cellar()
    spent = stays(book, until) if spent is None and by in _NEEDS_STAYS else spent or Stays([])
    summed: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    with book.reading() as connection:
        for at, tag, place, ml in losses(connection, since=since, until=until):
            if OUTSIDE[Outside(place)].is_loss:
                what = place if by == "cause" else group(cellar[tag], at, spent.at(tag, at.timestamp()))
                summed[what][place] += ml
    rows = [LossRow(what, dict(causes), sum(causes.values())) for what, causes in summed.items()]
    return sorted(rows, key=lambda row: (row.what,) if by == "month" else (-row.total_ml, row.what))


def total_ml(rows: Iterable[LossRow]) -> int:
    """Return everything that was lost [ml]."""
    return sum(row.total_ml for row in rows)


def loss_rates(book: Book, cellar: Cellar | None = None) -> dict[str, LossRate]:
    """Estimate each barrel's loss rate, pooled with barrels like it; see `cooperage.programme.losses.rates`.

    Barrels with fewer than two visits of their own are lent their peers' rate. Empty while no barrel has two. Of a
    cellar that is kept they are estimated once.
    """
    cellar = cellar or book.cellar()
    if cellar not in _OF_CELLAR:
        _OF_CELLAR[cellar] = _estimated(book, cellar)
    return _OF_CELLAR[cellar]


_OF_CELLAR: WeakKeyDictionary[Cellar, dict[str, LossRate]] = WeakKeyDictionary()


def _estimated(book: Book, cellar: Cellar) -> dict[str, LossRate]:
    seen = visits(book, cellar)
    standings = {standing.tag: standing for standing in cellar.barrels}
    records = [_record(standing, seen.get(tag, [])) for tag, standing in standings.items()]
    found = estimate_rates(records, {room: air.season() for room, air in room_airs(book, cellar.at).items()})
    return {
        record.tag: loss_rate(record, found[record.tag], standings[record.tag].vessel.capacity_ml)
        for record in records
        if found
    }


def _record(standing: Standing, seen: list[Visit]) -> VisitRecord:
    """Gather what the rate is learnt from; a barrel that was repaired or carried to another room begins again."""
    vessel, repaired = standing.vessel, standing.last("repair")
    room = standing.position[0] or ""
    elsewhere = max((visit.ended for visit in seen if visit.room != room), default=0.0)
    seen = [visit for visit in seen if visit.began >= elsewhere]
    if repaired is not None:
        seen = [visit for visit in seen if visit.began >= repaired.timestamp()]
    barrel, litres = vessel.barrel or Barrel(), vessel.capacity_ml / 1000
    fill = standing.fill_number
    return VisitRecord(
        standing.tag,
        wood_area_m2(litres),
        room,
        barrel.wood or "",
        log(litres / 225),
        None if fill is None else max(0, fill - 1),
        seen,
        soaks=barrel.fills_before == 0,
        looked_at=_found_tight(standing),
    )


def _found_tight(standing: Standing) -> float:
    """Return when the bung was last found tight [seconds since 1970]; 0 where the last look found something else."""
    seen = standing.seen("bung")
    return seen.at.timestamp() if seen is not None and seen.word == SOUND_BUNG else 0.0


@cache
def wood_area_m2(litres: float) -> float:
    """Return the inside surface of a barrel [m2]; a cellar has few sizes, so each is calculated once."""
    return float(barrel_area_m2(*barrel_shape(litres)))


def loss_rate(record: VisitRecord, found: BarrelRate, capacity_ml: int) -> LossRate:
    """Turn a loss per square metre of wood into the barrel's own loss rate."""
    area = record.area_m2
    soaked = sum(visit.lost_ml - found.rate * area * visit.days for visit in record.soaking)
    return LossRate(
        found.rate * area,
        found.sd * area,
        None if found.own is None else found.own * area,
        found.days,
        capacity_ml,
        None if found.own_sd is None else found.own_sd * area,
        found.peers * area,
        found.peers_sd * area,
        found.visits,
        max(0.0, soaked),
        found.noise,
        found.season,
        found.leak,
        record.visits[-1].ended if record.visits else None,
        PEERS if found.own is None else OWN_VISITS,
    )

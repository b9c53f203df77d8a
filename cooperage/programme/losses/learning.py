"""Learn each barrel's loss rate from the visits in the book and the air of its room."""

from functools import cache
from math import log

from cooperage.book import Barrel, Book, Cellar, Standing
from cooperage.book.declared.looks import SOUND_BUNG
from cooperage.liquid import barrel_area_m2, barrel_shape
from cooperage.programme.air.climate import room_airs
from cooperage.programme.losses.loss_rate import OWN_VISITS, PEERS, LossRate
from cooperage.programme.losses.rates import BarrelRate, estimate_rates
from cooperage.programme.losses.record import VisitRecord
from cooperage.programme.losses.visits import LossVisit, visits


def learn_loss_rates(book: Book, cellar: Cellar) -> dict[str, LossRate]:
    """Estimate the loss rate of each barrel in the cellar; see `cooperage.programme.losses.rates`."""
    seen = visits(book, cellar)
    standings = {standing.tag: standing for standing in cellar.barrels}
    records = [_record(standing, seen.get(tag, [])) for tag, standing in standings.items()]
    found = estimate_rates(records, {room: air.season() for room, air in room_airs(book, cellar.at).items()})
    return {
        record.tag: loss_rate(record, found[record.tag], standings[record.tag].vessel.capacity_ml)
        for record in records
        if found
    }


def _record(standing: Standing, seen: list[LossVisit]) -> VisitRecord:
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

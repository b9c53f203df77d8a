"""The barrels on a later day, each with its own thirst and its own room's air, and when each wants topping next."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from cooperage.book import Book, Cellar, Standing
from cooperage.programme.air import Climate
from cooperage.programme.climate import RoomAir, climate_between, room_airs, usual_climate
from cooperage.programme.forecast import Forecast, NotAhead, NothingToForecast, TopBy, forecast, next_topping
from cooperage.programme.losses import LossRate, loss_rates
from cooperage.programme.upkeep import upkeep_of


@dataclass(frozen=True, slots=True)
class Ahead:
    """A barrel's forecast, the climate it was reckoned with, and its next topping; None beyond ten years."""

    forecast: Forecast
    climate: Climate
    top_by: TopBy | None


def look_ahead(
    book: Book, on: datetime, tags: Sequence[str] = (), probability: float = 0.9, cellar: Cellar | None = None
) -> list[Ahead]:
    """Reckon barrels ahead to a day, in walking order: those named, or all that hold mead and have a rate.

    Raises NoSuchVessel, NothingToForecast, NotAhead.
    """
    cellar = cellar or book.cellar()
    rates, airs, usual = loss_rates(book, cellar), room_airs(book, cellar.at), usual_climate(book)
    wanted = {cellar[tag].tag for tag in tags}
    chosen = [s for s in cellar.in_walking_order() if s.tag in wanted or (not wanted and _can_be(s, rates))]
    return [_ahead(standing, rates, airs, usual, on, probability) for standing in chosen]


USUAL_DAYS = 30
"""How far ahead one looks unless told otherwise."""


def ahead_of_one(book: Book, cellar: Cellar, tag: str) -> Ahead | None:
    """Reckon one barrel ahead by the usual days; None where it holds nothing or too little is known of it."""
    try:
        return look_ahead(book, cellar.at + timedelta(days=USUAL_DAYS), [tag], cellar=cellar)[0]
    except (NothingToForecast, NotAhead):
        return None


def _can_be(standing: Standing, rates: Mapping[str, LossRate]) -> bool:
    return standing.vessel.is_barrel and standing.ml > 0 and standing.tag in rates


def _ahead(
    standing: Standing,
    rates: Mapping[str, LossRate],
    airs: Mapping[str, RoomAir],
    usual: Climate,
    on: datetime,
    probability: float,
) -> Ahead:
    if standing.tag not in rates:
        raise NothingToForecast(standing.tag)
    rate, climate = rates[standing.tag], climate_between(airs, standing.position[0], standing.at, on, usual)
    limit = upkeep_of(standing).top_below_ml or 0
    ahead = forecast(standing, rate, on, climate, probability)
    return Ahead(ahead, climate, next_topping(standing, rate, limit, probability))

"""The barrels on a later day, each with its own loss rate and room's air, and when each is low or due for topping."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from cooperage.book import Book, Cellar, Standing
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.ahead.forecast import (
    Forecast,
    LowBy,
    NotAhead,
    NothingToForecast,
    TooFarAhead,
    forecast,
    low_by,
)
from cooperage.programme.air.climate import MeanAir, RoomAir, climate_between, room_airs, usual_climate
from cooperage.programme.losses.ledger import loss_rates
from cooperage.programme.losses.level import rate_of
from cooperage.programme.losses.loss_rate import LossRate
from cooperage.programme.ready.readiness import looks_due
from cooperage.programme.rounds.due import Due, Task, next_due
from cooperage.programme.upkeep.defaults import upkeep_of
from cooperage.units import DEFAULT, Units


@dataclass(frozen=True, slots=True)
class Ahead:
    """A barrel's forecast and the climate it was calculated with.

    `top_due` is when the rounds top it next, by its policy; None where they never do. `low_by` is when it will be as
    short as counts as low there; None beyond ten years. `basis` is what its loss rate rests on.
    """

    forecast: Forecast
    climate: MeanAir
    top_due: datetime | None
    low_by: LowBy | None
    basis: str


def look_ahead(
    book: Book,
    on: datetime,
    tags: Sequence[str] = (),
    probability: float = 0.9,
    cellar: Cellar | None = None,
    rates: Mapping[str, LossRate] | None = None,
) -> list[Ahead]:
    """Calculate barrels ahead to a day, in walking order: those named, or all that hold mead.

    Raises NoSuchVessel, NothingToForecast, NotAhead, TooFarAhead.
    """
    cellar = cellar or cellar_now(book)
    if on > (farthest := cellar.at + timedelta(days=FARTHEST_DAYS)):
        raise TooFarAhead(on, farthest)
    rates = loss_rates(book, cellar) if rates is None else rates
    airs, usual = room_airs(book, cellar.at), usual_climate(book)
    wanted = {cellar[tag].tag for tag in tags}
    chosen = [s for s in cellar.in_walking_order() if s.tag in wanted or (not wanted and _can_be(s))]
    return [_ahead(standing, rates, airs, usual, on, probability) for standing in chosen]


FARTHEST_DAYS = 5 * 365
"""Nothing is left untouched so long, and what is learned of figures does not reach so far (common practice)."""
USUAL_DAYS = 30
"""How far ahead one looks by default."""


@dataclass(frozen=True, slots=True)
class Outlook:
    """One vessel's future: the loss rates it was calculated with, what comes due, how it will be; None of nothing."""

    tag: str
    rates: Mapping[str, LossRate]
    coming: list[Due]
    ahead: Ahead | None


def outlook_of(book: Book, cellar: Cellar, tag: str, units: Units = DEFAULT) -> Outlook:
    """Calculate what comes due at one vessel, and how it will be after the usual days, left alone."""
    rates = loss_rates(book, cellar)
    coming = next_due(cellar[tag], cellar, rates, units, looks_due(book, cellar))
    try:
        on = cellar.at + timedelta(days=USUAL_DAYS)
        ahead = look_ahead(book, on, [tag], cellar=cellar, rates=rates)[0]
    except (NothingToForecast, NotAhead):
        ahead = None
    return Outlook(tag, rates, coming, ahead)


def _can_be(standing: Standing) -> bool:
    return standing.vessel.is_barrel and standing.ml > 0


def _ahead(
    standing: Standing,
    rates: Mapping[str, LossRate],
    airs: Mapping[str, RoomAir],
    usual: MeanAir,
    on: datetime,
    probability: float,
) -> Ahead:
    rate, climate = rate_of(standing, rates), climate_between(airs, standing.position[0], standing.at, on, usual)
    limit = upkeep_of(standing).top_below_ml or 0
    ahead = forecast(standing, rate, on, climate, probability)
    top_due = next((due.due for due in next_due(standing, rates=rates) if due.task is Task.TOP), None)
    return Ahead(ahead, climate, top_due, low_by(standing, rate, limit, probability), rate.basis)

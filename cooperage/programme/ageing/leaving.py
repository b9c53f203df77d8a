"""What evaporates of each barrel, as the forecast has it: how strength drifts and what stays behind grows richer.

The book takes vapour off at the mead's own strength, when a topping shows it. What the air makes of the strength, and
of sugar and acids since the level was last known, is added to the figure of now.
"""

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime

import numpy as np

from cooperage.book import Book, Cellar, Standing
from cooperage.book.facts import Facts
from cooperage.programme.ageing.passage import AirDrift
from cooperage.programme.air.climate import MeanAir, RoomAir, climate_between, room_airs
from cooperage.programme.air.vapour import evaporated
from cooperage.programme.losses.learning import wood_area_m2
from cooperage.programme.losses.ledger import loss_rates
from cooperage.programme.losses.level import rate_of
from cooperage.programme.losses.loss_rate import LossRate

_DAYS = 30.0
_YEAR = (datetime(2001, 1, 1, tzinfo=UTC), datetime(2002, 1, 1, tzinfo=UTC))  # any: months count, as they were before
_STRONGEST, _SWEETEST, _LEAST_ML = 70.0, 600.0, 1000  # what the law of evaporation reaches to


def air_drifts(book: Book, cellar: Cellar, facts: Facts) -> dict[str, AirDrift]:
    """Calculate the drift of barrels by their loss rates and rooms' air, by tag; `cellar` has the book's figures."""
    rates, airs = loss_rates(book, cellar), room_airs(book, cellar.at)
    return drifts_of(list(cellar), rates, airs, MeanAir(facts.celsius, facts.humidity))


def drifts_of(
    standings: Sequence[Standing], rates: Mapping[str, LossRate], airs: Mapping[str, RoomAir], usual: MeanAir
) -> dict[str, AirDrift]:
    """Calculate the drift of barrels from what each loses in a day and the mean air of its room over a year."""
    barrels = [standing for standing in standings if _can_be(standing)]
    if not barrels:
        return {}
    rooms = {standing.position[0] for standing in barrels}
    climates = {room: climate_between(airs, room, *_YEAR, usual) for room in rooms}
    cells = np.array([_cells(standing, rate_of(standing, rates), climates) for standing in barrels])
    lost, litres, abv, sugar, celsius, humidity, area = cells.T
    left = evaporated(lost, litres, abv, sugar, _DAYS, celsius, humidity, area)
    strength, richer = (left.abv - abv) / _DAYS, (litres / left.litres - 1) / _DAYS
    pairs = zip(barrels, strength.tolist(), richer.tolist(), strict=True)
    return {standing.tag: AirDrift(*drift) for standing, *drift in pairs}


def _can_be(standing: Standing) -> bool:
    abv, sugar = standing.value("abv"), standing.value("sugar_g_l")
    is_known = abv is not None and 0 <= abv <= _STRONGEST and (sugar is None or sugar <= _SWEETEST)
    return standing.vessel.is_barrel and standing.ml >= _LEAST_ML and is_known


def _cells(standing: Standing, rate: LossRate, climates: Mapping[str | None, MeanAir]) -> tuple[float, ...]:
    lost = min(max(0.0, rate.vapour_share * rate.ml_per_day * _DAYS), standing.ml / 4)
    abv, sugar = standing.value("abv") or 0.0, standing.value("sugar_g_l") or 0.0
    climate = climates[standing.position[0]]
    area = wood_area_m2(standing.vessel.capacity_ml / 1000)
    return lost, standing.litres, abv, sugar, climate.celsius, climate.humidity, area

"""What evaporates of each barrel, as the forecast has it: how strength drifts and what stays behind grows richer.

The book takes vapour off at the mead's own strength, when a topping shows it. What the air makes of the strength, and
of sugar and acids since the level was last known, is added to the figure of now.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import timedelta
from typing import NamedTuple

import numpy as np

from cooperage.book import Book, Cellar, Standing
from cooperage.book.facts import Facts
from cooperage.programme.air.climate import MeanAir, RoomAir, climate_between, room_airs
from cooperage.programme.losses.ledger import LossRate, loss_rates, wood_area_m2
from cooperage.programme.losses.level import rate_of
from cooperage.programme.losses.vapour import evaporated, vapour_share

_DAYS = 30.0
_YEAR = timedelta(days=365)
_STRONGEST, _SWEETEST, _LEAST_ML = 70.0, 600.0, 1000  # what the law of evaporation reaches to


class AirDrift(NamedTuple):
    """What a room's air does to a barrel, as means of the year.

    `strength` is what it adds to that [% vol a day], `richer` by what share a day what stays behind grows.
    """

    strength: float = 0.0
    richer: float = 0.0


@dataclass(frozen=True)
class Leaving:
    """The drift that the air brings to each barrel, by tag; to others it brings none."""

    by_tag: Mapping[str, AirDrift] = field(default_factory=dict)

    def of(self, standing: Standing) -> AirDrift:
        """Return that of a vessel."""
        return self.by_tag.get(standing.tag, _NONE)


_NONE = AirDrift()
NOTHING_LEAVES = Leaving()


def leaving_of(book: Book, cellar: Cellar, standings: Sequence[Standing], facts: Facts) -> Leaving:
    """Calculate the drift of barrels by their loss rates and their rooms' air; `standings` have the book's figures."""
    rates, airs = loss_rates(book, cellar), room_airs(book, cellar.at)
    return leaving(standings, rates, airs, MeanAir(facts.celsius, facts.humidity))


def leaving(
    standings: Sequence[Standing], rates: Mapping[str, LossRate], airs: Mapping[str, RoomAir], usual: MeanAir
) -> Leaving:
    """Calculate the drift of barrels from what each loses in a day and the mean air of its room over a year."""
    barrels = [standing for standing in standings if _can_be(standing)]
    if not barrels:
        return NOTHING_LEAVES
    at = barrels[0].at
    rooms = {standing.position[0] for standing in barrels}
    climates = {room: climate_between(airs, room, at - _YEAR, at, usual) for room in rooms}
    cells = np.array([_cells(standing, rate_of(standing, rates), climates) for standing in barrels])
    lost, litres, abv, sugar, celsius, humidity, area = cells.T
    left = evaporated(lost, litres, abv, sugar, _DAYS, celsius, humidity, area)
    strength, richer = (left.abv - abv) / _DAYS, (litres / left.litres - 1) / _DAYS
    pairs = zip(barrels, strength.tolist(), richer.tolist(), strict=True)
    return Leaving({standing.tag: AirDrift(*drift) for standing, *drift in pairs})


def _can_be(standing: Standing) -> bool:
    abv, sugar = standing.value("abv"), standing.value("sugar_g_l")
    is_known = abv is not None and 0 <= abv <= _STRONGEST and (sugar is None or sugar <= _SWEETEST)
    return standing.vessel.is_barrel and standing.ml >= _LEAST_ML and is_known


def _cells(standing: Standing, rate: LossRate, climates: Mapping[str | None, MeanAir]) -> tuple[float, ...]:
    lost = min(max(0.0, vapour_share(rate) * rate.ml_per_day * _DAYS), standing.ml / 4)
    abv, sugar = standing.value("abv") or 0.0, standing.value("sugar_g_l") or 0.0
    climate = climates[standing.position[0]]
    area = wood_area_m2(standing.vessel.capacity_ml / 1000)
    return lost, standing.litres, abv, sugar, climate.celsius, climate.humidity, area

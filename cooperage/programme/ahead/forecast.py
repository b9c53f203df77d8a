"""What a barrel will be on a later day: level, volume, strength and sugar, each with an interval.

The volume follows from the barrel's own rate and its room's season. The mead that leaves is water and ethanol in the
proportion that `liquid.evaporation` gives for the room's climate, with a permeability that explains the loss; so
strength drifts and sugar rises. Intervals add the variances of the rate, of one visit's noise, of the last reading and
of the wood's selectivity (JCGM 100:2008, law of propagation), and are normal.
"""

from dataclasses import dataclass
from datetime import datetime
from statistics import NormalDist

import numpy as np

from cooperage.book import Figure, Standing
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.replay.state import DAY
from cooperage.book.store.gauging import expected_headspaces
from cooperage.errors import BadInput
from cooperage.liquid import barrel_area_m2, barrel_shape, evaporation, fitted_permeability
from cooperage.liquid.angels_share import PERMEABILITY, SELECTIVITY, SELECTIVITY_SPREAD
from cooperage.programme.air.climate import USUAL_CLIMATE, MeanAir
from cooperage.programme.losses.level import last_known, lost_by, short_on
from cooperage.programme.losses.loss_rate import LossRate
from cooperage.units import show_day

_MOST_PERMEABLE = 2 * PERMEABILITY  # the usual doubt about wood is a factor of two either way


class NothingToForecast(BadInput):
    """A forecast of a vessel that is empty or is no barrel."""

    def __init__(self, tag: str) -> None:
        self.tag = tag
        super().__init__(f"{tag} is not a barrel with mead in it; there is nothing to forecast")


class NotAhead(BadInput):
    """A forecast for a day before the barrel's level was last known."""

    def __init__(self, tag: str, on: datetime) -> None:
        self.tag, self.on = tag, on
        super().__init__(f"{tag} was visited after {show_day(on)}; give a later day")


@dataclass(frozen=True, slots=True)
class Band:
    """A forecast value and the interval it lies in with the probability asked for."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Forecast:
    """One barrel on one day: volume [ml], headspace [mm], strength [% vol] and sugar [g/L]; None is unknown."""

    barrel: str
    on: datetime
    ml: Band
    headspace_mm: Band
    abv: Band | None
    sugar_g_l: Band | None


def forecast(
    standing: Standing,
    rate: LossRate,
    on: datetime,
    climate: MeanAir = USUAL_CLIMATE,
    probability: float = 0.9,
) -> Forecast:
    """Calculate a barrel ahead to `on`, left alone until then. Raises NothingToForecast, NotAhead."""
    if standing.ml == 0 or not standing.vessel.is_barrel:
        raise NothingToForecast(standing.tag)
    known, held = last_known(standing)
    if on.timestamp() < known:
        raise NotAhead(standing.tag, on)
    lost, sd = lost_by(standing, rate, on.timestamp())
    lost = min(lost, held / 2)
    z = NormalDist().inv_cdf(0.5 + probability / 2)
    ml = _capped(standing, held - lost, z * sd)
    volumes = [round(volume) for volume in (ml.value, ml.low, ml.high)]
    deep, deeper, shallow = expected_headspaces(standing.vessel, volumes)
    days = (on.timestamp() - known) / DAY
    vapour = _vapour_share(rate)
    abv, sugar = _drift(standing, vapour * lost, vapour * sd, days, climate, z)
    return Forecast(standing.tag, on, ml, Band(deep, shallow, deeper), abv, sugar)


def _vapour_share(rate: LossRate) -> float:
    """Return how much of the loss goes as vapour: what leaks out takes its strength and sugar along."""
    if rate.leak is None or not rate.leak.is_likely or rate.ml_per_day <= 0:
        return 1.0
    return min(1.0, rate.peers_ml_per_day / rate.ml_per_day)


def _capped(standing: Standing, ml: float, reach: float) -> Band:
    capacity = float(standing.vessel.capacity_ml)
    return Band(min(capacity, ml), max(0.0, min(capacity, ml) - reach), min(capacity, ml + reach))


def _drift(
    standing: Standing, lost: float, sd: float, days: float, climate: MeanAir, z: float
) -> tuple[Band | None, Band | None]:
    """Return strength and sugar at the end, with their intervals."""
    abv, sugar = standing.figure("abv"), standing.figure("sugar_g_l")
    if abv.value is None or days <= 0:
        return _as_read(abv, z), _as_read(sugar, z)
    cases = np.array([[lost, SELECTIVITY], [lost + sd, SELECTIVITY], [lost, SELECTIVITY + SELECTIVITY_SPREAD]])
    left = _evaporated(standing, abv.value, sugar.value or 0.0, cases, days, climate)
    strength = _band(left[0], _doubt(abv), z)
    return strength, None if sugar.value is None else _band(left[1], _doubt(sugar), z)


def _evaporated(
    standing: Standing, abv: float, sugar: float, cases: np.ndarray, days: float, climate: MeanAir
) -> tuple[np.ndarray, np.ndarray]:
    """Return strength and sugar left for each case of (lost ml, selectivity).

    Wood lets only so much vapour through: in air too damp to draw out what was lost, the rest is taken to have seeped
    out as mead, which changes neither.
    """
    area = float(barrel_area_m2(*barrel_shape(standing.vessel.capacity_ml / 1000)))
    setting = (standing.litres, abv, sugar, min(days, 3650.0), climate.celsius, climate.humidity, area)
    selectivity = cases[:, 1]
    wood = fitted_permeability(cases[:, 0] / 1000, *setting, selectivity=selectivity)
    wood = np.minimum(np.nan_to_num(wood, nan=_MOST_PERMEABLE), _MOST_PERMEABLE)
    left = evaporation(*setting, permeability=wood, selectivity=selectivity)
    return left.abv, left.extract_g_l


def _doubt(figure: Figure) -> float:
    """Return one standard deviation of a figure; what was never read is no better known than an ordinary reading."""
    return PROPERTIES[figure.name].uncertainty if figure.uncertainty is None else figure.uncertainty


def _band(cases: np.ndarray, doubt: float, z: float) -> Band:
    """Return the first case with an interval: how far the others are from it, and the figure's own doubt."""
    value = float(cases[0])
    return _around(value, z * float(np.sqrt(((cases[1:] - value) ** 2).sum() + doubt**2)))


def _as_read(figure: Figure, z: float) -> Band | None:
    return None if figure.value is None else _around(figure.value, z * _doubt(figure))


def _around(value: float, reach: float) -> Band:
    return Band(value, max(0.0, value - reach), value + reach)


@dataclass(frozen=True, slots=True)
class LowBy:
    """When a barrel left alone will be short of full by `limit_ml`: the day to expect, and the earliest and latest.

    `latest` is None where that is more than ten years away.
    """

    barrel: str
    limit_ml: int
    expected: datetime
    earliest: datetime
    latest: datetime | None


def low_by(standing: Standing, rate: LossRate, limit_ml: int, probability: float = 0.9) -> LowBy | None:
    """Return when a barrel's headspace will pass `limit_ml`; None where that is more than ten years away.

    Raises NothingToForecast.
    """
    if standing.ml == 0 or not standing.vessel.is_barrel:
        raise NothingToForecast(standing.tag)
    z = NormalDist().inv_cdf(0.5 + probability / 2)
    expected, earliest, latest = (short_on(standing, rate, limit_ml, reach) for reach in (0.0, z, -z))
    return None if expected is None or earliest is None else LowBy(standing.tag, limit_ml, expected, earliest, latest)

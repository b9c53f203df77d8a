"""What a barrel will be on a later day: level, volume, strength and sugar, each with an interval.

The volume follows from the barrel's own rate and its room's season. Strength and sugar begin at what they are now; from
then on water and ethanol leave as `air.vapour` has it for the room's climate, so strength drifts and sugar rises,
and what this cellar's figures have been seen to do besides goes on. Intervals add the variances of the rate, of one
visit's noise, of the figure and of the wood's selectivity (JCGM 100:2008, law of propagation), and are normal.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from statistics import NormalDist

import numpy as np

from cooperage.book import Figure, Standing
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.store.gauging import expected_headspaces
from cooperage.errors import BadInput
from cooperage.liquid.angels_share import SELECTIVITY, SELECTIVITY_SPREAD
from cooperage.programme.air.climate import USUAL_CLIMATE, MeanAir
from cooperage.programme.air.vapour import evaporated
from cooperage.programme.losses.learning import wood_area_m2
from cooperage.programme.losses.level import expected_loss, last_known, level_now, lost_by, short_on
from cooperage.programme.losses.loss_rate import LossRate
from cooperage.units import show_day


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


class TooFarAhead(BadInput):
    """A forecast for a day so far off that nothing is known of it."""

    def __init__(self, on: datetime, farthest: datetime) -> None:
        self.on, self.farthest = on, farthest
        super().__init__(f"a forecast reaches to {show_day(farthest)} at the farthest; give an earlier day")


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
    abv, sugar = _drift(standing, rate, on, climate, z)
    return Forecast(standing.tag, on, ml, Band(deep, shallow, deeper), abv, sugar)


def _capped(standing: Standing, ml: float, reach: float) -> Band:
    capacity = float(standing.vessel.capacity_ml)
    return Band(min(capacity, ml), max(0.0, min(capacity, ml) - reach), min(capacity, ml + reach))


def _drift(
    standing: Standing, rate: LossRate, on: datetime, climate: MeanAir, z: float
) -> tuple[Band | None, Band | None]:
    """Return strength and sugar at the end, with their intervals: those of now, and what happens from now on."""
    abv, sugar = standing.figure("abv"), standing.figure("sugar_g_l")
    days = (on - standing.at) / timedelta(days=1)
    if abv.value is None or days <= 0:
        return _as_read(abv, z), _as_read(sugar, z)
    lost, sd = (rate.vapour_share * ml for ml in expected_loss(rate, standing.at.timestamp(), on.timestamp()))
    cases = np.array([[lost, SELECTIVITY], [lost + sd, SELECTIVITY], [lost, SELECTIVITY + SELECTIVITY_SPREAD]])
    litres = level_now(standing, rate).ml / 1000
    cases[:, 0] = np.minimum(cases[:, 0], litres * 1000 / 2)
    area = wood_area_m2(standing.vessel.capacity_ml / 1000)
    setting = (litres, abv.value, sugar.value or 0.0, days, climate.celsius, climate.humidity, area)
    left = evaporated(cases[:, 0], *setting, selectivity=cases[:, 1])
    strength = _band(left.abv, standing, abv, days, z)
    return strength, None if sugar.value is None else _band(left.extract_g_l, standing, sugar, days, z)


def _doubt(figure: Figure) -> float:
    """Return one standard deviation of a figure; what was never read is no better known than an ordinary reading."""
    return PROPERTIES[figure.name].uncertainty if figure.uncertainty is None else figure.uncertainty


def _band(cases: np.ndarray, standing: Standing, figure: Figure, days: float, z: float) -> Band:
    """Return the first case with an interval: how far the others are from it, and the figure's own doubt by then.

    Where the figure is known to drift besides, as this cellar's readings have shown, it goes on doing so.
    """
    value, doubt = float(cases[0]), _doubt(figure)
    course = standing.course(figure.name)
    if course is not None:
        value, doubt = value + course.besides_air(days), course.after(days)[1]
    spread = float(np.sqrt(((cases[1:] - cases[0]) ** 2).sum() + doubt**2))
    return _around(value, z * spread)


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

"""Intervals of the forecast cover as often as they say, on simulated cellars whose true rates are known."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from itertools import product
from statistics import NormalDist
from typing import Any

import numpy as np
import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.liquid import barrel_area_m2, barrel_shape, evaporation, fitted_permeability
from cooperage.liquid.angels_share import SELECTIVITY, SELECTIVITY_SPREAD
from cooperage.programme.ahead.forecast import forecast
from cooperage.programme.air.climate import MeanAir
from cooperage.programme.losses.learning import loss_rate
from cooperage.programme.losses.level import expected_loss
from cooperage.programme.losses.loss_rate import LossRate, Noise
from cooperage.programme.losses.rates import estimate_rates

LEVELS = (0.5, 0.8, 0.95)


def assert_covers(inside: Any, probability: Any, shared_by: Any = 1) -> None:
    """Three binomial deviations are allowed; forecasts that share what was learnt count for fewer."""
    inside = np.asarray(inside)
    assert inside.mean() == pytest.approx(
        probability, abs=3 * (probability * (1 - probability) * shared_by / inside.size) ** 0.5
    )


@pytest.mark.slow
@pytest.mark.parametrize("seasons", [False, True])
def test_the_next_visit_lies_in_the_interval_as_often_as_it_says(walks: Any, seasons: bool) -> None:
    """What the next visit finds, after twenty visits; with seasons, after 26: two full years. 60 cellars of 40 barrels.

    2400 forecasts: three binomial deviations are 3.1, 2.4 and 1.3 %. Barrels of one cellar share the noise that was
    learnt (its own error of 5 % moves the coverage by some 2 %), so each counts for half.
    """
    rng, z = np.random.default_rng(9), []
    for _ in range(60):
        cellar = walks.simulate(rng, 40, 26 if seasons else 20, seasons=seasons)
        known = [replace(each.record, visits=each.record.visits[:-1]) for each in cellar]
        rates = estimate_rates(known)
        for each, before in zip(cellar, known, strict=True):
            last = each.record.visits[-1]
            lost, sd = expected_loss(loss_rate(before, rates[before.tag], each.capacity_ml), last.began, last.ended)
            z.append((last.lost_ml - lost) / sd)
    print(f"standardised errors {np.std(z):.3f}")
    for probability in LEVELS:
        inside = np.abs(z) <= NormalDist().inv_cdf(0.5 + probability / 2)
        print(f"{probability:.0%} interval covers {inside.mean():.1%}")
        assert_covers(inside, probability, shared_by=2)


@pytest.mark.slow
def test_weather_to_come_is_in_the_interval(walks: Any) -> None:
    """A room whose months swing by a fifth in common: what spells did to past visits they may do to the next one.

    Every room and month has its own spell, which nobody can know ahead. 80 cellars of 36 barrels; all barrels of a room
    meet the same spell, so 12 of them count for one: three binomial deviations are then 9.7, 7.7 and 4.2 %.
    """
    rng, z = np.random.default_rng(10), []
    for _ in range(80):
        cellar = walks.simulate(rng, 36, 26, seasons=False)
        spells = {room: rng.normal(1, 0.2, 40) for room in walks.ROOMS}
        wet = [_with_spells(each, spells[each.record.room], walks) for each in cellar]
        known = [replace(record, visits=record.visits[:-1]) for record in wet]
        rates = estimate_rates(known)
        for each, record, before in zip(cellar, wet, known, strict=True):
            last = record.visits[-1]
            lost, sd = expected_loss(loss_rate(before, rates[before.tag], each.capacity_ml), last.began, last.ended)
            z.append((last.lost_ml - lost) / sd)
    for probability in LEVELS:
        inside = np.abs(z) <= NormalDist().inv_cdf(0.5 + probability / 2)
        print(f"{probability:.0%} interval covers {inside.mean():.1%} of visits in weather")
        assert_covers(inside, probability, shared_by=12)


def _with_spells(each: Any, spell: Any, walks: Any) -> Any:
    """Let a barrel lose more or less in each visit, by the spell of the four weeks in which it mostly lay."""
    area = each.record.area_m2

    def felt(visit: Any) -> Any:
        nth = int(((visit.began + visit.ended) / 2 - walks.BEGAN) / 86_400 / 28)
        return replace(visit, lost_ml=visit.lost_ml + (spell[nth] - 1) * each.rate * area * visit.days)

    return replace(each.record, visits=tuple(felt(visit) for visit in each.record.visits))


@pytest.fixture
def standing(fresh_sqlite: Callable[[], Book]) -> Any:
    book = fresh_sqlite()
    book.write(acts.Receive(lot="HEATHER", vessel="T-1", volume=900_000))
    book.write(acts.Fill(vessel="B-1", source="T-1"))
    book.write(acts.Reading(vessel="B-1", property="abv", value=13.0))
    book.write(acts.Reading(vessel="B-1", property="sugar_g_l", value=60.0))
    return book.cellar()["B-1"]


@pytest.mark.slow
def test_strength_and_sweetness_lie_in_the_interval_as_often_as_they_say(standing: Any) -> None:
    """A barrel read at 13.0 % vol and 60 g/L, reckoned ahead by one month to a year, 600 times.

    Its true figures lie about the readings by their uncertainty, its rate about what was learnt, the selectivity of its
    wood anywhere between 0.02 and 0.04, all as the model says; the room's air goes from month to month about the mean
    that the forecast is told. Three binomial deviations are 6.1, 4.9 and 2.7 %.
    """
    rng, draws = np.random.default_rng(12), 600
    months = rng.integers(1, 13, draws)
    climates = [MeanAir(*air) for air in zip(rng.uniform(10, 16, draws), rng.uniform(50, 80, draws), strict=True)]
    rates = [
        LossRate(ml, 3.0, None, 300.0, 225_000, noise=Noise(60.0, 0.1)) for ml in rng.uniform(10, 35, draws).tolist()
    ]
    doubt = {name: standing.figure(name).uncertainty for name in ("abv", "sugar_g_l")}
    truth = _truth(rng, rates, months, climates, doubt)
    z: dict[str, list[float]] = {name: [] for name in truth}
    for draw, (rate, climate) in enumerate(zip(rates, climates, strict=True)):
        on = standing.last("fill") + timedelta(days=30 * int(months[draw]))
        found = forecast(standing, rate, on, climate, 0.5)
        for name, values in truth.items():
            band = getattr(found, name)
            z[name].append((values[draw] - band.value) / (band.value - band.low) * NormalDist().inv_cdf(0.75))
    for name, probability in product(z, LEVELS):
        inside = np.abs(z[name]) <= NormalDist().inv_cdf(0.5 + probability / 2)
        print(f"{name}: {probability:.0%} interval covers {inside.mean():.1%}")
        assert_covers(inside, probability)


def _truth(rng: Any, rates: Any, months: Any, climates: Any, doubt: Any) -> Any:
    """Let barrels evaporate month by month, in air that changes with the month about its mean."""
    draws, days = len(rates), 30.0 * months
    per_day, rate_sd, share, level_ml = np.array(
        [(rate.ml_per_day, rate.sd, rate.noise.share, rate.noise.level_ml) for rate in rates]
    ).T
    lost = np.maximum(1.0, rng.normal(per_day, rate_sd)) * days * rng.normal(1, share)
    found = np.maximum(0.0, lost + rng.normal(0, level_ml * 2**0.5))
    spread = 3**0.5 * SELECTIVITY_SPREAD
    selectivity = rng.uniform(SELECTIVITY - spread, SELECTIVITY + spread, draws)
    litres, abv, sugar = (
        np.full(draws, 225.0),
        rng.normal(13.0, doubt["abv"], draws),
        rng.normal(60.0, doubt["sugar_g_l"], draws),
    )
    celsius, humidity = np.array([(climate.celsius, climate.humidity) for climate in climates]).T
    area = float(barrel_area_m2(*barrel_shape(225.0)))
    wood = fitted_permeability(lost / 1000, litres, abv, sugar, days, celsius, humidity, area, selectivity=selectivity)
    for month in range(12):
        swing = np.where(month % 2, -1.0, 1.0) * (month < months - months % 2)  # in pairs, so that the mean stays
        air = (celsius + 2.0 * swing, humidity + 5.0 * swing, area)
        left = evaporation(
            litres, abv, sugar, 30.0, *air, permeability=wood * (month < months), selectivity=selectivity
        )
        litres, abv, sugar = left.litres, left.abv, left.extract_g_l
    return {"abv": abv, "sugar_g_l": sugar, "ml": 225_000 - found}

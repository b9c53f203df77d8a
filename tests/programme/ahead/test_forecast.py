"""A barrel on a later day: level, volume, strength and sugar."""

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest

from cooperage.book import Book, Upkeep
from cooperage.book.cellar import Standing
from cooperage.book.declared import acts
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.ahead.forecast import (
    Band,
    NotAhead,
    NothingToForecast,
    TooFarAhead,
    forecast,
    low_by,
)
from cooperage.programme.ahead.outlook import look_ahead
from cooperage.programme.air.climate import USUAL_CLIMATE, MeanAir, RoomAir, climate_between
from cooperage.programme.losses.level import expected_loss
from cooperage.programme.losses.loss_rate import Leak, LossRate
from cooperage.programme.rounds.due import Task, next_due

if TYPE_CHECKING:
    from tests.conftest import Clock


DAY = 86_400.0


def rate(ml_per_day: Any = 20.0, sd: Any = 2.0, **more: Any) -> LossRate:
    """A used 225 L barrel that loses 20 ml a day, give or take 2."""
    return LossRate(ml_per_day, sd, ml_per_day, 300.0, 225_000, **more)


@pytest.fixture
def standing(cellar_book: Book) -> Standing:
    cellar_book.write(acts.Reading(vessel="B-1", property="abv", value=13.0))
    cellar_book.write(acts.Reading(vessel="B-1", property="sugar_g_l", value=60.0))
    return cellar_book.cellar()["B-1"]


def value(band: Band | None) -> float:
    """The middle of a band that must be there."""
    assert band is not None
    return band.value


def ahead(standing: Standing, days: float) -> datetime:
    filled = standing.last("fill")
    assert filled is not None
    return filled + timedelta(days=days)


def test_the_volume_falls_by_the_rate(standing: Standing) -> None:
    """100 days at 20 ml are 2 L; the variance is (2 x 100)^2 + 2 x 60^2 + (0.1 x 2000)^2, 1.645 deviations wide."""
    found = forecast(standing, rate(), ahead(standing, 100))
    reach = 1.6449 * (200**2 + 2 * 60**2 + 200**2) ** 0.5
    assert (found.ml.value, found.ml.low) == pytest.approx((223_000, 223_000 - reach), abs=2)
    assert found.ml.high == pytest.approx(223_000 + reach, abs=2)


def test_the_level_is_that_of_the_volume(standing: Standing) -> None:
    """2 L missing from 225 L stand some 32 mm under the bung: 1.72 L at 30 mm, 3.04 L at 40 (barrel_headspace.csv)."""
    found = forecast(standing, rate(), ahead(standing, 100))
    assert 30 < found.headspace_mm.value < 35
    assert found.headspace_mm.low < found.headspace_mm.value < found.headspace_mm.high


def test_sugar_rises_as_the_level_falls(standing: Standing) -> None:
    """Evaporation takes no sugar: litres x g/L stay the same."""
    found = forecast(standing, rate(), ahead(standing, 200))
    assert found.ml.value * value(found.sugar_g_l) == pytest.approx(225_000 * 60, rel=1e-4)


def test_dry_air_strengthens_and_damp_air_weakens(standing: Standing) -> None:
    """On either side of the humidity at which strength stands still, 65 to 80 % (common talk, no source)."""
    dry, damp = (
        value(forecast(standing, rate(), ahead(standing, 365), MeanAir(14.0, humidity)).abv) for humidity in (45, 95)
    )
    assert damp < 13.0 < dry
    assert dry - damp < 1.0  # order of 0.1 to 0.2 % vol a year (by mass balance)


@pytest.mark.parametrize(("peers", "as_vapour"), [(20.0, 20.0), (100.0, 100.0), (200.0, 200.0), (300.0, 200.0)])
def test_what_leaks_out_takes_strength_and_sugar_along(standing: Standing, peers: float, as_vapour: float) -> None:
    """A barrel that loses 200 ml a day sweetens and drifts by what its peers lose, at most by all it loses itself."""
    leak = Leak(0.99, 0.0, 0, 10.0, 0.0, 0.0, 0.0)
    sound = forecast(standing, rate(as_vapour), ahead(standing, 100))
    leaking = forecast(standing, rate(200.0, 2.0, peers_ml_per_day=peers, leak=leak), ahead(standing, 100))
    assert value(leaking.sugar_g_l) == pytest.approx(value(sound.sugar_g_l), rel=1e-6)
    assert value(leaking.abv) == pytest.approx(value(sound.abv), rel=1e-6)


def test_a_dip_that_was_read_is_where_the_forecast_begins(cellar_book: Book, clock: "Clock") -> None:
    """50 mm read in a barrel the book has full: 4.7 L are gone already (barrel_headspace.csv)."""
    clock.pass_days(10)
    cellar_book.write(acts.Reading(vessel="B-1", property="headspace_mm", value=50.0))
    standing = cellar_book.cellar()["B-1"]
    dipped = standing.last("headspace_mm")
    assert dipped is not None
    found = forecast(standing, rate(), dipped + timedelta(days=1))
    assert found.ml.value == pytest.approx(225_000 - 4_710 - 20, abs=30)


def test_the_next_topping_is_when_the_limit_is_reached(standing: Standing) -> None:
    """2 L at 20 ml a day are a hundred days; the interval holds it between."""
    found = low_by(standing, rate(), 2_000)
    assert found is not None
    assert found.earliest is not None
    assert found.latest is not None
    assert (found.expected - ahead(standing, 0)) / timedelta(days=1) == pytest.approx(100, abs=0.5)
    assert found.earliest < found.expected < found.latest
    assert low_by(standing, rate(0.0), 2_000) is None


def test_time_that_has_not_passed_loses_nothing() -> None:
    """Between a moment and itself there is only the noise of a level."""
    assert expected_loss(rate(), 5 * DAY, 5 * DAY)[0] == 0


def test_an_empty_barrel_and_a_day_gone_by_are_refused(cellar_book: Book, standing: Standing) -> None:
    """One line each, with the tag."""
    with pytest.raises(NothingToForecast, match="B-2"):
        forecast(cellar_book.cellar()["B-2"], rate(), ahead(standing, 10))
    with pytest.raises(NothingToForecast, match="T-1"):
        low_by(cellar_book.cellar()["T-1"], rate(), 100)
    with pytest.raises(NotAhead, match="B-1"):
        forecast(standing, rate(), ahead(standing, -3))
    with pytest.raises(TooFarAhead, match="at the farthest; give an earlier day"):
        look_ahead(cellar_book, datetime(9999, 12, 31, tzinfo=UTC))


def test_unknown_figures_stay_unknown(cellar_book: Book) -> None:
    """A lot without gravities: no strength, no sugar, but litres all the same."""
    from cooperage.book import Lot

    with cellar_book.writing() as session:
        session.add_lot(Lot("", "PLAIN", "Plain", "clover"))
    cellar_book.write(acts.Receive(lot="PLAIN", vessel="T-2", volume=300_000))
    cellar_book.write(acts.Fill(vessel="B-3", source="T-2"))
    standing = cellar_book.cellar()["B-3"]
    found = forecast(standing, rate(), ahead(standing, 30))
    assert (found.abv, found.sugar_g_l) == (None, None)
    assert found.ml.value < 200_000


def test_what_was_never_read_is_no_better_known_than_a_reading(cellar_book: Book) -> None:
    """Strength reckoned from the lot's gravities: the 95 % interval reaches 1.96 x 0.15 % vol, a reading's, or more."""
    standing = cellar_book.cellar()["B-1"]
    assert standing.figure("abv").uncertainty is None
    found = forecast(standing, rate(), ahead(standing, 30), probability=0.95)
    assert found.abv is not None
    assert found.sugar_g_l is not None
    assert found.abv.value - found.abv.low >= 1.9599 * 0.15
    assert found.sugar_g_l.high - found.sugar_g_l.value >= 1.9599 * 2.0


def test_a_room_has_its_climate_or_the_usual_one(standing: Standing) -> None:
    """By the name of the room."""
    cold, room, until = MeanAir(10.0, 85.0), standing.position[0], standing.at + timedelta(days=9)
    airs = {name: RoomAir(name, (20_000,), (10.0,), (85.0,)) for name in ("Low", "Loft")}
    assert climate_between({"Low": airs["Low"]}, room, standing.at, until) == cold
    assert climate_between({"Loft": airs["Loft"]}, room, standing.at, until) == USUAL_CLIMATE


@pytest.mark.parametrize("topping", ["interval", "level"])
def test_the_rounds_and_the_forecast_agree_when_to_top(cellar_book: Book, topping: str) -> None:
    """What is due is the rounds' own day; topped by level, that is the day on which it is expected to be low."""
    with cellar_book.writing() as session:
        session.set_upkeep("B-1", Upkeep(topping=topping, top_below_ml=2_000))
    cellar = cellar_now(cellar_book)
    (found,) = look_ahead(cellar_book, cellar.at + timedelta(days=30), ["B-1"], cellar=cellar)
    on_rounds = next(due.due for due in next_due(cellar["B-1"]) if due.task is Task.TOP)
    assert found.top_due == on_rounds
    assert found.low_by is not None
    assert found.low_by.limit_ml == 2_000
    assert (found.low_by.expected == on_rounds) is (topping == "level")

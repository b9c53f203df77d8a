"""The figure of now and the forecast are one: strength and sugar drift in both by what the room's air draws out."""

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from cooperage.book import Book, Cellar
from cooperage.book.declared import acts
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.ahead.forecast import Band, forecast
from cooperage.programme.ahead.outlook import look_ahead
from cooperage.programme.losses.level import prior_rate, rate_of

if TYPE_CHECKING:
    from tests.conftest import Clock

BOTH = ("abv", "sugar_g_l")


@pytest.fixture(params=[45.0, 95.0], ids=["dry", "damp"])
def humid_book(cellar_book: Book, request: pytest.FixtureRequest, clock: "Clock") -> Book:
    """B-1 of 13 % vol and 60 g/L, just read, in a room whose air is dry or damp."""
    room = cellar_book.cellar()["B-1"].position[0] or ""
    cellar_book.write(acts.Climate(room=room, temperature=15.0, humidity=request.param))
    cellar_book.write(acts.Reading(vessel="B-1", property="abv", value=13.0))
    cellar_book.write(acts.Reading(vessel="B-1", property="sugar_g_l", value=60.0))
    clock.pass_days(2)
    return cellar_book


def figures(cellar: Cellar) -> list[float]:
    """Return strength and sugar of B-1 as they are now."""
    return [cellar["B-1"].figure(name).value or 0.0 for name in BOTH]


def bands(book: Book, cellar: Cellar, days: float) -> list[float]:
    """Return strength and sugar of B-1 so many days ahead."""
    ahead = look_ahead(book, cellar.at + timedelta(days=days), ["B-1"], cellar=cellar)[0].forecast
    return [band.value for band in (ahead.abv, ahead.sugar_g_l) if band is not None]


def test_a_forecast_of_no_days_is_the_figure_of_now(humid_book: Book, clock: "Clock") -> None:
    """Half a year after they were read, with no topping since."""
    clock.pass_days(180)
    cellar = cellar_now(humid_book)
    assert bands(humid_book, cellar, 0) == pytest.approx(figures(cellar), rel=1e-12)


def test_the_figure_of_now_becomes_what_was_forecast(humid_book: Book, clock: "Clock") -> None:
    """What is forecast for half a year ahead is shown when it is over: to a tenth of how far both have come."""
    before = cellar_now(humid_book)
    ahead, then = bands(humid_book, before, 180), figures(before)
    clock.pass_days(180)
    now = figures(cellar_now(humid_book))
    for value, forecast_value, was in zip(now, ahead, then, strict=True):
        assert abs(forecast_value - was) > 0.02
        assert value - was == pytest.approx(forecast_value - was, rel=0.1)


def test_dry_air_strengthens_the_figure_of_now_and_damp_air_weakens_it(humid_book: Book, clock: "Clock") -> None:
    """On either side of the humidity at which strength stands still; sugar grows richer in both."""
    clock.pass_days(365)
    cellar = cellar_now(humid_book)
    abv, sugar = figures(cellar)
    is_dry = look_ahead(humid_book, cellar.at + timedelta(days=1), ["B-1"])[0].climate.humidity < 70
    assert (abv > 13.01) == is_dry
    assert (abv < 12.99) == (not is_dry)
    assert sugar > 60.5


@pytest.mark.parametrize("humid_book", [45.0], indirect=True)
def test_a_topping_books_what_the_figure_had_already(humid_book: Book, clock: "Clock") -> None:
    """Sugar that grew richer unseen is in the book once a topping shows the loss: the figure does not jump by it."""
    clock.pass_days(120)
    before = cellar_now(humid_book)["B-1"]
    lost = round(rate_of(before, {}).ml_per_day * 122)
    humid_book.write(acts.Gauge(vessel="B-1", volume=225_000 - lost, sure=True))
    after = cellar_now(humid_book)["B-1"]
    assert after.value("sugar_g_l") == pytest.approx(before.value("sugar_g_l"), abs=0.05)


@pytest.mark.parametrize("humid_book", [45.0], indirect=True)
def test_what_the_cellar_has_shown_besides_goes_on(humid_book: Book, clock: "Clock") -> None:
    """Strength that was read to fall by 0.3 % vol in each half year is forecast to fall on."""
    for value in (12.7, 12.4, 12.1, 11.8):
        clock.pass_days(180)
        humid_book.write(acts.Reading(vessel="B-1", property="abv", value=value, sure=True))
    clock.pass_days(1)
    cellar = cellar_now(humid_book)
    rate, on = prior_rate(cellar["B-1"]), cellar.at + timedelta(days=180)
    plain, aged = (forecast(each["B-1"], rate, on) for each in (humid_book.cellar(), cellar))
    now = figures(cellar)[0]
    assert _value(aged.abv) - now < _value(plain.abv) - 11.8 - 0.02


def _value(band: Band | None) -> float:
    assert band is not None
    return band.value

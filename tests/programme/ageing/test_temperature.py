"""Temperature goes from the last reading towards the room's, and molecular SO2 is that of the temperature now."""

from collections.abc import Sequence
from datetime import timedelta
from math import exp, hypot, log
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import delete

from cooperage.book import Book, Vessel
from cooperage.book.declared import acts
from cooperage.book.store.tables import SNAPSHOT, STATE
from cooperage.book.vessel_words import figure_words
from cooperage.liquid import molecular_so2
from cooperage.programme.ageing.aged import AgedStanding, cellar_now
from cooperage.programme.ageing.course import Course
from cooperage.programme.ageing.models import AGEINGS
from cooperage.programme.ageing.passage import Stretch, moved
from cooperage.programme.ageing.scoring.scoreboard import score_cells, scoreboard
from cooperage.programme.ageing.trails import time_constant
from cooperage.units import Units

if TYPE_CHECKING:
    from tests.conftest import Clock

TEMPERATURE = "temperature_c"
WARMTH = AGEINGS[TEMPERATURE]


def reads(book: Book, tag: str, celsius: float) -> None:
    book.write(acts.Reading(vessel=tag, property=TEMPERATURE, value=celsius, sure=True))


def airs(book: Book, celsius: float, room: str = "Low") -> None:
    book.write(acts.Climate(room=room, temperature=celsius, humidity=75.0, sure=True))


def lies_in(book: Book, tag: str, room: str) -> None:
    book.write(acts.Shift(vessel=tag, room=room))


def now(book: Book, tag: str = "B-1") -> AgedStanding:
    standing = cellar_now(book)[tag]
    assert isinstance(standing, AgedStanding)
    return standing


@pytest.fixture
def room_book(cellar_book: Book, clock: "Clock") -> Book:
    """B-1, of 225 L, in a room that was 10 °C for ten weeks, read each week."""
    lies_in(cellar_book, "B-1", "Low")
    for _ in range(10):
        clock.pass_days(7)
        airs(cellar_book, 10.0)
    return cellar_book


def test_at_once_it_is_the_reading_and_long_after_it_is_the_room(room_book: Book, clock: "Clock") -> None:
    """Read at 19 °C: that on the same day, as measured; after four months 10 °C, and no surer than the room."""
    reads(room_book, "B-1", 19.0)
    fresh = now(room_book).figure(TEMPERATURE)
    assert (fresh.value, fresh.how) == (19.0, "read")
    clock.pass_days(120)
    airs(room_book, 10.0)
    old = now(room_book).figure(TEMPERATURE)
    assert old.value == pytest.approx(10.0, abs=0.05)
    assert (old.measured, old.how) == (19.0, "calculated")
    assert old.low is not None
    assert old.high is not None
    assert old.low < 10.0 < old.high
    assert old.high - old.low < 5.0


def test_a_barrel_of_225_litres_has_gone_a_day_of_two(room_book: Book, clock: "Clock") -> None:
    """By hand: two days after 19 °C in a room of 10, 1/e of the 9 °C is left: 13.3 °C.

    The reading of 0.5 °C is weighed against the room it lay in, known to 1 °C: it counts for nearly all.
    """
    assert time_constant(now(room_book), WARMTH) == pytest.approx(2.0)
    reads(room_book, "B-1", 19.0)
    clock.pass_days(2.0)
    assert now(room_book).value(TEMPERATURE) == pytest.approx(10.0 + 9.0 * exp(-1), abs=0.6)


@pytest.mark.parametrize(("kind", "ml", "days"), [("keg", 50_000, 1.0), ("tank", 2_000_000, 3.0)])
def test_time_goes_by_size_and_wall(cellar_book: Book, kind: str, ml: int, days: float) -> None:
    """A keg takes a day, a tank of 2,000 L three: heat held over what the wall lets through."""
    with cellar_book.writing() as session:
        session.add_vessel(Vessel("", "V-1", kind, ml, "measured"))
    assert time_constant(cellar_book.cellar()["V-1"], WARMTH) == pytest.approx(days, rel=0.05)


@pytest.mark.parametrize(
    ("litres", "area_m2", "wall", "days"),
    [(225.0, 1.9, 0.14 + 0.15, 1.6), (50.0, 0.75, 0.28, 0.9), (2e3, 8.8, 0.28, 3)],
)
def test_the_declared_times_are_heat_over_what_passes(litres: float, area_m2: float, wall: float, days: float) -> None:
    """4.0 kJ/(L K) x litres x m2 K/W / m2, in days of 86,400 s."""
    assert 4_000 * litres * wall / area_m2 / 86_400 == pytest.approx(days, rel=0.04)


@given(st.floats(-5, 40), st.floats(-5, 30), st.floats(-4, 0), st.lists(st.floats(0, 40), min_size=2, max_size=6))
def test_between_the_reading_and_the_room_it_only_goes_towards_the_room(
    read: float, room: float, rate: float, days: list[float]
) -> None:
    """Law: at no time it turns, passes the room, or leaves it; two stretches are one; NumPy says the same."""
    before, off = 0.0, read - room
    for age in sorted(days):
        to = moved(WARMTH, Stretch(1.0, age, 0.0, 0.0, 0.0, 0.0, 0.0, room, 0.5), read, rate, 1.0, 0.0)
        left = 1.0 if off == 0 else (to.value - room) / off
        assert -1e-9 <= left <= 1.0 + 1e-9 or abs(to.value - room) < 1e-9
        half = Stretch(1.0, age / 2, 0.0, 0.0, 0.0, 0.0, 0.0, room, 0.5)
        twice = moved(WARMTH, half, moved(WARMTH, half, read, rate, 1.0, 0.0).value, rate, 1.0, 0.0)
        assert twice.value == pytest.approx(to.value, abs=1e-9)
        column = moved(
            WARMTH, Stretch(*(np.array([each]) for each in half)), np.array([read]), np.array([rate]), 1.0, 0.0, np
        )
        assert column.value[0] == pytest.approx(moved(WARMTH, half, read, rate, 1.0, 0.0).value)
        assert abs(to.value - read) >= before - 1e-9
        before = abs(to.value - read)


def test_the_rate_moves_it_as_declared() -> None:
    """The derivative by the rate is the one that a small step shows."""
    stretch = Stretch(1.0, 3.0, 0.0, 0.0, 0.0, 0.0, 0.0, 10.0, 0.5)
    to, other = (moved(WARMTH, stretch, 19.0, WARMTH.usual + step, 1.0, 0.0) for step in (0.0, 1e-6))
    assert (other.value - to.value) / 1e-6 == pytest.approx(to.by_rate, rel=1e-4)


def test_its_course_ends_at_the_room_and_in_its_doubt() -> None:
    """Left alone for a year it is what the room is now, as sure as that and its place in the room."""
    course = Course(TEMPERATURE, 19.0, log(0.5), 0.25, 0.0, 0.1, wander=0.8, nears=10.0, nears_doubt=1.0)
    assert course.after(0.0) == (19.0, 0.5)
    assert course.after(2.0)[0] == pytest.approx(10.0 + 9.0 * exp(-1))
    assert course.after(365.0) == pytest.approx((10.0, hypot(0.8, 1.0)))


def test_mead_that_was_never_read_is_as_warm_as_its_room(room_book: Book) -> None:
    """It says so, with a band; in the book itself it stays unknown."""
    figure = now(room_book).figure(TEMPERATURE)
    assert figure.value == pytest.approx(10.0, abs=0.05)
    assert figure_words(figure)[1].endswith("; not measured in this fill")
    assert figure.basis.endswith("; its room by 10 days of its air")
    assert figure_words(figure, Units(temperature="f"))[0] == "50.0 °F"
    assert room_book.cellar()["B-1"].value(TEMPERATURE) is None


def test_without_any_air_it_is_a_cool_cellar_and_in_doubt(cellar_book: Book) -> None:
    """15 °C within a wide band; an empty vessel has no temperature."""
    figure = now(cellar_book).figure(TEMPERATURE)
    assert figure.value == pytest.approx(15.0)
    assert figure.low is not None
    assert figure.low < 10.0
    assert figure.basis.endswith("; its room taken for a cool one: no air was read")
    assert now(cellar_book, "B-2").figure(TEMPERATURE).value is None


def test_molecular_so2_is_that_of_the_temperature_now(room_book: Book, clock: "Clock") -> None:
    """By hand: at 10 °C 24 mg/L free at pH 3.5 is a tenth less than at 15 °C; the figure says at what it is."""
    for name, value in (("free_so2_mg_l", 24.0), ("ph", 3.5)):
        room_book.write(acts.Reading(vessel="B-1", property=name, value=value, sure=True))
    standing = now(room_book)
    figure, abv = standing.molecular_figure(), standing.value("abv")
    assert abv is not None
    cold, cool = (float(molecular_so2(24.0, 3.5, abv, at)) for at in (standing.celsius, 15.0))
    assert figure.value == pytest.approx(cold, rel=1e-9)
    assert figure.value == pytest.approx(0.89 * cool, rel=0.03)
    assert figure_words(figure)[1].endswith("; at 10.0 °C")
    reads(room_book, "B-1", 19.0)
    warm = now(room_book)
    assert warm.molecular_so2 == pytest.approx(float(molecular_so2(24.0, 3.5, abv, 19.0)))
    clock.pass_days(60)
    airs(room_book, 10.0)
    assert now(room_book).celsius == pytest.approx(10.0, abs=0.05)


def test_the_doubt_of_the_temperature_is_in_that_of_molecular_so2(cellar_book: Book, clock: "Clock") -> None:
    """Where no air was read the band is wider than where it was, by what some degrees make."""
    for name, value in (("free_so2_mg_l", 30.0), ("ph", 3.5)):
        cellar_book.write(acts.Reading(vessel="B-1", property=name, value=value, sure=True))
    unread = now(cellar_book)
    reads(cellar_book, "B-1", 15.0)
    read = now(cellar_book)
    wide, narrow = (each.molecular_figure().uncertainty for each in (unread, read))
    assert wide is not None
    assert narrow is not None
    molecular, degrees = unread.molecular_so2, unread.now(TEMPERATURE).sd
    assert molecular is not None
    by_degrees = unread.molecular_per_degree * molecular
    lost = degrees**2 - read.now(TEMPERATURE).sd ** 2
    assert wide**2 - narrow**2 == pytest.approx(by_degrees**2 * lost, rel=0.05)


@pytest.mark.parametrize("celsius", [-6.0, 45.0])
def test_mead_beyond_the_published_pk_is_taken_at_its_end(cellar_book: Book, celsius: float) -> None:
    """A frozen or a hot reading is no fault: the pK is published from 0 to 40 °C."""
    for name, value in (("free_so2_mg_l", 30.0), ("ph", 3.5), (TEMPERATURE, celsius)):
        cellar_book.write(acts.Reading(vessel="B-1", property=name, value=value, sure=True))
    assert now(cellar_book).celsius == min(max(celsius, 0.0), 40.0)
    assert now(cellar_book).molecular_so2 is not None


def test_a_topping_does_not_make_it_forget(room_book: Book, clock: "Clock") -> None:
    """Read warm and topped the day after: it goes on from the reading, not from the room."""
    reads(room_book, "B-1", 19.0)
    clock.pass_days(1)
    before = now(room_book).value(TEMPERATURE)
    room_book.write(acts.Top(vessel="B-1", source="K-1", volume=500, sure=True))
    assert now(room_book).value(TEMPERATURE) == pytest.approx(before, abs=0.05)


def read_weekly(book: Book, clock: "Clock", celsius: Sequence[float], room: Sequence[float]) -> None:
    for own, air in zip(celsius, room, strict=True):
        clock.pass_days(14)
        airs(book, air)
        for tag in ("B-1", "B-3", "B-4"):
            reads(book, tag, own)


def test_it_is_scored_and_set_aside_where_the_last_reading_is_nearer(cellar_book: Book, clock: "Clock") -> None:
    """In a room that swings the room foretells it; where a cellar is cooled and its air read outside, the reading does.

    An error of temperature is a difference in the person's unit: nought is none in °F either.
    """
    for tag in ("B-3", "B-4"):
        cellar_book.write(acts.Fill(vessel=tag, source="T-1"))
    for tag in ("B-1", "B-3", "B-4"):
        lies_in(cellar_book, tag, "Low")
    swings = [8.0 + 6.0 * (at % 2) for at in range(12)]
    read_weekly(cellar_book, clock, swings, swings)
    (line,) = scoreboard(cellar_book)
    assert (line.label, line.score.is_better, line.is_set_aside) == ("temperature", True, False)
    assert line.basis == "learned from 21 readings here"
    assert float(score_cells(line, Units(temperature="f"))[2].split()[0]) < 5.0
    read_weekly(cellar_book, clock, [12.0] * 30, [2.0 + 20.0 * (at % 2) for at in range(30)])
    (line,) = scoreboard(cellar_book)
    assert line.is_set_aside
    clock.pass_days(10)
    assert now(cellar_book).value(TEMPERATURE) == 12.0
    course = now(cellar_book).course(TEMPERATURE)
    assert course is not None
    assert course.after(60.0)[0] == 12.0


def test_dropping_what_is_kept_changes_nothing(room_book: Book, clock: "Clock") -> None:
    """The same to the last bit once the kept states are gone and made again."""
    reads(room_book, "B-1", 17.0)
    clock.pass_days(3)
    reads(room_book, "B-1", 13.0)
    clock.pass_days(3)
    at = room_book.now()
    before = cellar_now(room_book, at)["B-1"].figure(TEMPERATURE)
    with room_book.writing() as session:
        session.connection.execute(delete(SNAPSHOT))
        session.connection.execute(delete(STATE))
    assert cellar_now(room_book, at)["B-1"].figure(TEMPERATURE) == before


def test_nothing_looks_ahead(room_book: Book, clock: "Clock") -> None:
    """What the air was later changes no figure of an earlier day."""
    at = room_book.now() - timedelta(minutes=1)
    before = cellar_now(room_book, at)["B-1"].figure(TEMPERATURE)
    clock.pass_days(1)
    airs(room_book, 30.0)
    reads(room_book, "B-1", 25.0)
    assert cellar_now(room_book, at)["B-1"].figure(TEMPERATURE) == before


@pytest.mark.slow
def test_every_vessel_of_the_demo_is_as_warm_as_its_room(demo_file: Path) -> None:
    """In late November: the loft, the long room and the lower one, by what was last read there; all bands narrow."""
    book = Book.open(str(demo_file))
    cellar = cellar_now(book)
    last = {"Low": 10.6, "Long": 11.7, "Loft": 11.3}
    for standing in cellar.barrels:
        room = standing.position[0]
        if standing.ml and room in last:
            figure = standing.figure(TEMPERATURE)
            assert figure.low is not None
            assert figure.high is not None
            assert figure.low < last[room] < figure.high
            assert figure.high - figure.low < 4.0
            assert figure.how == "calculated"
    book.close()

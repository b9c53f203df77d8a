"""How warm a room is near a time: what was read there, else its season, else its cellar, else a cool one."""

import json
from math import cos, exp, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.book.facts import FACTS, USUAL, Facts
from cooperage.programme.air.warmth import UNREAD, DayRead, Warmth, warmth_of

DAY, YEAR = 86_400.0, 365.25
JANUARY = 20_089  # 1 January 2025


def season(day: int, mean: float = 12.0, swing: float = 4.0) -> float:
    """Coldest at the end of January."""
    return mean - swing * cos(2 * pi * (day - JANUARY - 30) / YEAR)


def weekly(room: str, days: int, mean: float = 12.0, swing: float = 4.0) -> list[DayRead]:
    return [DayRead(room, day, season(day, mean, swing)) for day in range(JANUARY, JANUARY + days, 7)]


def test_a_day_that_was_read_is_as_read() -> None:
    """Give or take what a reading is off the mean of its day."""
    found = warmth_of(weekly("Low", 700)).of("Low")
    value, sd = found.on(JANUARY + 350)
    assert value == pytest.approx(season(JANUARY + 350), abs=1e-9)
    assert sd == pytest.approx(0.5)


def test_two_years_show_the_season_of_the_third() -> None:
    """Half a year after the last reading it is summer there, within the doubt, which has grown."""
    found = warmth_of(weekly("Low", 730)).of("Low")
    value, sd = found.on(JANUARY + 940)
    assert value == pytest.approx(season(JANUARY + 940), abs=0.3)
    assert 0.5 < sd < 1.0
    assert found.how == "by 105 days of its air"


def test_what_differs_from_the_season_fades_within_weeks() -> None:
    """A room that was 3 °C warmer than its season at last: less so after three weeks, by 1/e each 20 days."""
    read = weekly("Low", 728)
    last = read[-1]._replace(celsius=read[-1].celsius + 3.0)
    found = warmth_of([*read[:-1], last]).of("Low")
    above = [found.on(last.day + later)[0] - _season_of(found.year.of, last.day + later) for later in (0, 20, 60)]
    assert above[0] > 2.5
    assert above[1] / above[0] == pytest.approx(exp(-1), rel=1e-3)
    assert above[2] / above[0] == pytest.approx(exp(-3), rel=1e-3)


def _season_of(year: tuple[float, float, float], day: int) -> float:
    turn = 2 * pi * (day + 0.5) / YEAR
    return year[0] + year[1] * cos(turn) + year[2] * cos(turn - pi / 2)


def test_a_room_that_was_never_read_is_like_the_others() -> None:
    """Its mean lies between theirs, and it is in more doubt than either; so is a vessel that lies nowhere."""
    found = warmth_of([*weekly("Low", 500, mean=10.0), *weekly("Loft", 500, mean=14.0)])
    for room in ("Annexe", None, ""):
        value, sd = found.of(room).on(JANUARY + 600)
        assert value == pytest.approx(season(JANUARY + 600), abs=0.6)
        assert sd > 1.5 * found.of("Low").on(JANUARY + 600)[1]
        assert found.of(room).how == "by the air of other rooms"


def test_without_any_air_it_is_a_cool_cellar_within_a_wide_band() -> None:
    """15 °C, nine times of ten within 9 to 21; where the cellar calls a temperature usual, it is that one, surer."""
    value, sd = UNREAD.of("Low").on(JANUARY)
    assert value == 15.0
    assert 3.0 < sd < 4.0
    called = Facts({**USUAL.values, FACTS["temperature"].key: 11.0}, frozenset({"temperature"}))
    usual, surer = warmth_of([], called).of("Low").on(JANUARY)
    assert usual == 11.0
    assert surer < sd


def test_a_few_weeks_of_winter_leave_the_summer_in_doubt() -> None:
    """After six readings in January and February the next month is known to 1.8 °C, July to no better than 2."""
    found = warmth_of(weekly("Low", 42)).of("Low")
    assert found.on(JANUARY + 60)[1] < 1.8
    assert found.on(JANUARY + 200)[1] > 2.0


def test_what_follows_the_room_slowly_nears_its_last_weeks() -> None:
    """A hand-worked one: 10 °C up to the day before yesterday, 14 since; a time constant of 2 days.

    Two whole days count 1 - exp(-1), what was before exp(-1), of which the last twelve days are looked at.
    """
    read = [DayRead("Low", day, 10.0 if day < JANUARY + 28 else 14.0) for day in range(JANUARY, JANUARY + 30)]
    found = warmth_of(read).of("Low")
    ended = (JANUARY + 30) * DAY
    value, sd = found.near(0.0, ended, 2.0)
    late, early = 1 - exp(-1), exp(-1) - exp(-6)
    assert value == pytest.approx((late * 14.0 + early * 10.0) / (late + early))
    assert sd == pytest.approx(0.5)
    assert found.near(ended - 2 * DAY, ended, 2.0)[0] == pytest.approx(14.0)
    assert found.near(ended - 1.0, ended - 1.0, 2.0)[0] == pytest.approx(14.0)


def test_figures_of_now_find_what_they_need_in_what_is_kept() -> None:
    """Cut to the last readings and through JSON, the last weeks are the same to the last bit."""
    read = weekly("Low", 3000)
    whole, cut = warmth_of(read), warmth_of(read).recent()
    again = Warmth.from_json(json.loads(json.dumps(cut.as_json())))
    assert len(cut.of("Low").days) < len(whole.of("Low").days)
    ended = (read[-1].day + 3) * DAY
    for room in ("Low", "Loft"):
        nears = [each.of(room).near(0.0, ended, 14.0) for each in (whole, cut, again)]
        assert nears[0] == nears[1] == nears[2]
        assert again.of(room).how == whole.of(room).how


celsius = st.floats(-10, 35, allow_nan=False)
days = st.lists(st.tuples(st.integers(0, 900), celsius), max_size=25, unique_by=lambda each: each[0])


@given(days, st.integers(-50, 1500))
def test_whatever_was_read_a_day_is_finite(read: list[tuple[int, float]], day: int) -> None:
    """A day that was read is as read; no day is surer than one that was, and none is beyond all that was read."""
    found = warmth_of(DayRead("Low", JANUARY + on, celsius) for on, celsius in read).of("Low")
    value, sd = found.on(JANUARY + day)
    assert 0.5 <= sd < 15
    assert -60 < value < 90
    for on, celsius in read:
        assert found.on(JANUARY + on) == pytest.approx((celsius, 0.5), abs=1e-9)

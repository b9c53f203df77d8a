"""The rooms' air: written by hand or by a logger, and what it does to forecasts and seasons."""

from datetime import UTC, datetime, timedelta
from math import cos, pi
from typing import TYPE_CHECKING, Any

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.errors import Implausible
from cooperage.programme.ahead.outlook import look_ahead
from cooperage.programme.air.climate import USUAL_CLIMATE, MeanAir, climate_between, room_airs
from cooperage.programme.air.season import UNKNOWN_SEASON
from cooperage.programme.pasted.climate_log import NoLog, RoomMissing, read_log, write_log
from cooperage.programme.pasted.table import LinesUnread

if TYPE_CHECKING:
    from tests.conftest import Clock


LATER = datetime(2026, 2, 1, 12, tzinfo=UTC)


def year_of_air(first: Any = "2025-02-01", days: Any = 360, swing: Any = 6.0) -> Any:
    """A logger's file, twice a day: warmest in August, 12 °C in the mean, 75 %."""
    day = datetime.fromisoformat(first)
    rows = ["when,temperature,humidity"]
    for at in range(days):
        celsius = 12 - swing * cos(2 * pi * ((day + timedelta(days=at)).timetuple().tm_yday - 30) / 365)
        rows += [f"{day + timedelta(days=at, hours=hour):%Y-%m-%d %H:%M},{celsius:.2f},75" for hour in (6, 18)]
    return "\n".join(rows)


@pytest.fixture
def old_book(cellar_book: Book, clock: "Clock") -> Any:
    """The furnished cellar, two years on."""
    clock.pass_days(730)
    return cellar_book


def test_a_logger_becomes_one_entry_a_day(old_book: Any) -> None:
    """The day's mean, at its noon, with how many readings it is of; twice read, nothing is doubled."""
    text = "date;Temp °C;RH (%);room\n2025-03-01 06:00;10;70;Low\n2025-03-01 18:00;12,5;80;Low\n2025-03-02;11;75;Loft"
    log = read_log(old_book, text, hand="Ada")
    assert [(a.room, a.temperature, a.humidity, a.note) for a in log.acts] == [
        ("Loft", 11.0, 75.0, ""),
        ("Low", 11.25, 75.0, "mean of 2"),
    ]
    write_log(old_book, log)
    again = read_log(old_book, text)
    assert (again.acts, again.known_days) == ((), 2)
    assert [(air.room, air.mean()) for air in room_airs(old_book).values()] == [
        ("Loft", MeanAir(11.0, 75.0)),
        ("Low", MeanAir(11.25, 75.0)),
    ]


def test_fahrenheit_is_understood_where_the_heading_says_so(old_book: Any) -> None:
    """59 °F are 15 °C."""
    log = read_log(old_book, "when,Temperature (°F),humidity\n2025-03-01,59,70", room="Low")
    assert log.acts[0].temperature == pytest.approx(15.0)


def test_a_log_that_is_none_says_what_is_missing(old_book: Any) -> None:
    """A header without the columns, a file without the room, a line that is no reading: one line each, none written."""
    with pytest.raises(NoLog, match="humidity"):
        read_log(old_book, "when,temperature\n2025-03-01,10", room="Low")
    with pytest.raises(NoLog):
        read_log(old_book, "", room="Low")
    with pytest.raises(RoomMissing, match="--room"):
        read_log(old_book, "when,temperature,humidity\n2025-03-01,10,70")
    log = read_log(old_book, "when,temperature,humidity\n2025-03-01,10,70\n2025-03-02,warm,70", room="Low")
    with pytest.raises(LinesUnread, match="line 3"):
        write_log(old_book, log)
    assert room_airs(old_book) == {}


def test_air_that_cannot_be_is_asked_back(cellar_book: Book) -> None:
    """A room nobody knows, and air that no cellar has."""
    with pytest.raises(Implausible, match="rooms are Loft, Low"):
        cellar_book.write(acts.Climate(room="Lofft", temperature=12, humidity=70))
    with pytest.raises(Implausible, match="not a plausible room reading"):
        cellar_book.write(acts.Climate(room="Loft", temperature=59, humidity=70))
    with pytest.raises(Implausible, match="not a plausible room reading"):
        cellar_book.write(acts.Climate(room="Loft", temperature=12, humidity=0.7))
    cellar_book.write(acts.Climate(room="Lofft", temperature=59, humidity=70, sure=True))


def test_a_struck_climate_is_as_if_it_had_not_been_read(cellar_book: Book) -> None:
    """Climate entries are struck like any other."""
    written = cellar_book.write(acts.Climate(room="Low", temperature=12, humidity=70))
    assert set(room_airs(cellar_book)) == {"Low"}
    cellar_book.write(acts.Strike(entry=written.id))
    assert room_airs(cellar_book) == {}
    assert not any(finding.broken for finding in cellar_book.check())


def test_what_is_ahead_is_like_the_same_months_before(old_book: Any) -> None:
    """A summer ahead is warm, a winter cold, a month nobody read is the mean, and an unread room the usual."""
    write_log(old_book, read_log(old_book, year_of_air(days=150), room="Low"))  # February to June
    airs = room_airs(old_book)

    def celsius(month: Any) -> Any:
        return climate_between(airs, "Low", datetime(2027, month, 1, tzinfo=UTC), datetime(2027, month, 28, tzinfo=UTC))

    assert celsius(2).celsius < 7 < 14 < celsius(6).celsius
    assert celsius(10).celsius == pytest.approx(airs["Low"].mean().celsius)
    assert climate_between(airs, "Loft", LATER, LATER + timedelta(days=9)) == USUAL_CLIMATE


def test_a_rooms_air_makes_its_season_when_its_barrels_have_not_shown_one(old_book: Any, clock: "Clock") -> None:
    """With most of a year of air, barrels drink more in summer; with less, nobody knows."""
    write_log(old_book, read_log(old_book, year_of_air(days=200), room="Low"))
    assert room_airs(old_book)["Low"].season() == UNKNOWN_SEASON
    write_log(old_book, read_log(old_book, year_of_air(), room="Low"))
    season = room_airs(old_book)["Low"].season()
    july, january = (datetime(2026, month, 15, tzinfo=UTC).timestamp() for month in (7, 1))
    # the vapour pressure of water at 18 °C is 1.47 times that at 12 °C, at 6 °C 0.67 times (IAPWS-95), in one cosine
    assert season.mean(july, july + 86_400) == pytest.approx(1.4, abs=0.1)
    assert season.mean(january, january + 86_400) == pytest.approx(0.6, abs=0.1)
    for _ in range(3):
        clock.pass_days(30)
        old_book.write(acts.Top(vessel="B-1", volume=900, source="K-1", sure=True))
    (ahead,) = look_ahead(old_book, clock() + timedelta(days=60), ["B-1"])
    assert ahead.climate == room_airs(old_book)["Low"].between(clock(), clock() + timedelta(days=60))

"""Where a figure or a period changes its words: exactly at each limit, and a step to either side of it."""

import time
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.units import (
    ALWAYS,
    DEFAULT,
    EndsTooSoon,
    NotAQuantity,
    NotATime,
    Quantity,
    Span,
    Units,
    midnight,
    next_month,
    read,
    read_span,
    show,
    show_at_length,
    show_short,
    show_span,
    show_spread,
    show_steps,
    show_when,
    show_worth,
    show_zone,
    steps_shown,
    volume_unit,
)

US = Units(volume="gal", gravity="brix", temperature="f")
COMMA = Units(decimal=",")
MICROSECOND = timedelta(microseconds=1)
HOUR = timedelta(hours=1)


@pytest.fixture(autouse=True, scope="module")
def _five_hours_west() -> Iterator[None]:
    """Set the system clock five hours behind UTC, with no summer time: a local day is no day of UTC."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("TZ", "XYZ+5")
        time.tzset()
        yield
    time.tzset()


# --- figures --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("millilitres", "units", "text"),
    [
        (0, DEFAULT, "0.0 L"),
        (4, DEFAULT, "0.004 L"),
        (40, DEFAULT, "0.04 L"),
        (50, DEFAULT, "0.05 L"),  # half to even: one decimal would show none
        (51, DEFAULT, "0.1 L"),
        (400, DEFAULT, "0.4 L"),
        (1, US, "0.0003 gal"),
        (18, US, "0.005 gal"),  # 0.0048 gal: two decimals would show none
        (19, US, "0.01 gal"),  # 0.0050193 gal
        (400, US, "0.11 gal"),
        (1514, US, "0.40 gal"),
        (1893, US, "0.50 gal"),
    ],
)
def test_a_volume_has_more_digits_than_usual_only_where_it_would_look_like_none(
    millilitres: int, units: Units, text: str
) -> None:
    """A litre has one decimal and a gallon two (3785.411784 ml); only what they would lose is shown by its first."""
    assert show(Quantity.VOLUME, millilitres, units) == text


@pytest.mark.parametrize(
    ("quantity", "value", "text"),
    [
        (Quantity.SUGAR, 77.0, "77 g/L"),
        (Quantity.SUGAR, 77.1, "77.1 g/L"),
        (Quantity.SUGAR, 77.123, "77.123 g/L"),  # two more than the declared one
        (Quantity.SUGAR, 77.1234, "77.1 g/L"),  # three more: rounded to the declared one
        (Quantity.SUGAR, 0.0123, "0.01 g/L"),  # which would be nothing here: to its first figure
        (Quantity.SUGAR, 0.0, "0 g/L"),
        (Quantity.ACID, 6.1234, "6.1234 g/L"),
        (Quantity.ACID, 6.12345, "6.12 g/L"),
        (Quantity.GRAVITY, 1.0234, "1.0234"),  # never more than four, though three are declared
        (Quantity.GRAVITY, 1.02345, "1.023"),
        (Quantity.VOLUME, 750, "0.75 L"),
        (Quantity.VOLUME, 1_234_567, "1234.567 L"),
        (Quantity.VOLUME, None, "?"),
    ],
)
def test_a_limit_is_shown_with_the_digits_it_needs_and_no_more(
    quantity: Quantity, value: float | None, text: str
) -> None:
    """Up to two decimals more than are declared, four at most; what these do not show exactly is rounded."""
    assert show_short(quantity, value) == text


@pytest.mark.parametrize(
    ("value", "figures", "digits", "text"),
    [
        (1234.5, 2, 0, "1234"),  # whole numbers are never cut
        (123.4, 2, 0, "123"),
        (12.345, 2, 0, "12"),
        (1.2345, 2, 0, "1.2"),
        (0.12345, 2, 0, "0.12"),
        (0.012345, 2, 0, "0.012"),
        (0.0012345, 2, 0, "0.0012"),
        (0.00012345, 2, 0, "0.0001"),  # four decimals at most
        (0.00005, 2, 0, "0.0001"),
        (0.00004, 2, 0, "less than 0.0001"),
        (-0.00004, 2, 0, "less than 0.0001"),
        (0.0, 2, 0, "0"),
        (9.99, 2, 0, "10"),
        (12.346, 4, 0, "12.35"),
        (12.346, 2, 2, "12.35"),  # at least the digits of the step
        (12.5, 3, 2, "12.5"),
        (-12.345, 3, 0, "-12.3"),
    ],
)
def test_a_worth_has_its_figures_and_no_closing_zeros(value: float, figures: int, digits: int, text: str) -> None:
    """Two figures of 12.345 are 12; four decimals at most, and the person's own mark."""
    assert show_worth(value, figures, digits=digits) == text
    assert show_worth(value, figures, COMMA, digits=digits) == text.replace(".", ",")


def test_a_worth_needs_no_decimals_unless_they_are_asked_for() -> None:
    """By itself it has its figures only: three of 123.4 are 123."""
    assert show_worth(123.4, 3) == "123"


@pytest.mark.parametrize(
    ("units", "name", "litres"),
    [(DEFAULT, "litre", 1.0), (US, "gal", 3.785411784), (Units(volume="imp gal"), "imp gal", 4.54609)],
)
def test_a_price_is_by_the_unit_of_the_volumes(units: Units, name: str, litres: float) -> None:
    """The litre by its whole name, a gallon by what is written after a volume (NIST Handbook 44, appendix C)."""
    assert volume_unit(units) == (name, litres)


@pytest.mark.parametrize(
    ("quantity", "value", "text"),
    [
        (Quantity.VOLUME, 51, "0.05 L"),  # 1 ml of 51 is less than a fiftieth
        (Quantity.VOLUME, 50, "0.05 L"),
        (Quantity.VOLUME, 49, "0.049 L"),  # 1 ml of 49 is more
        (Quantity.VOLUME, 1, "0.001 L"),
        (Quantity.LENGTH, 45, "45 mm"),
        (Quantity.LENGTH, 25.5, "26 mm"),  # half of 25.5 is less than a fiftieth of it, half of 24.5 is more
        (Quantity.LENGTH, 24.5, "24.5 mm"),
        (Quantity.ACID, 0.00004, "0.00004 g/L"),
        (Quantity.ACID, 0.000004, "0.00000 g/L"),  # three decimals more than usual, and no more
    ],
)
def test_no_more_than_a_fiftieth_of_a_value_is_lost_at_length(quantity: Quantity, value: float, text: str) -> None:
    """The declared digits, and up to three more where a fiftieth of the value would be lost."""
    assert show_at_length(quantity, value) == text


@pytest.mark.parametrize(
    ("quantity", "spread", "at", "units", "text"),
    [
        (Quantity.GRAVITY, 0.03, 1.0, US, "7.6 Bx"),  # SG 1.03017 is 7.6 Brix (NBS Circular C440)
        (Quantity.GRAVITY, 0.03, 1.0, DEFAULT, "0.030"),
        (Quantity.TEMPERATURE, 0.5, 18.0, US, "0.9 °F"),
        (Quantity.TEMPERATURE, 0.5, 0.0, DEFAULT, "0.5 °C"),
        (Quantity.ACID, 0.2, 6.0, US, "0.20 g/L"),
    ],
)
def test_a_give_or_take_is_shown_as_a_difference_upwards(
    quantity: Quantity, spread: float, at: float, units: Units, text: str
) -> None:
    """From the value to what lies above it, for a scale that is not even: below water there is no Brix."""
    assert show_spread(quantity, spread, at, units) == text


@pytest.mark.parametrize(
    ("millilitres", "units", "steps", "text"),
    [
        (1840, DEFAULT, 18, "1.8 L"),
        (1850, DEFAULT, 18, "1.8 L"),  # half to even
        (1851, DEFAULT, 19, "1.9 L"),
        (-1840, DEFAULT, -18, "-1.8 L"),
        (0, DEFAULT, 0, "0.0 L"),
        (3785, US, 100, "1.00 gal"),
        (1000, US, 26, "0.26 gal"),
        (4546, Units(volume="imp gal"), 100, "1.00 imp gal"),
    ],
)
def test_a_volume_in_steps_of_the_last_digit_shown(millilitres: int, units: Units, steps: int, text: str) -> None:
    """1.84 L are 18 steps of 0.1 L; a US gallon has 3.785411784 L and an imperial one 4.54609 L, in hundredths."""
    assert steps_shown(millilitres, units) == steps
    assert show_steps(steps, units) == text


@pytest.mark.parametrize(
    ("text", "value"),
    [
        *(("0.7", 0.7), ("1.6", 1.6), ("700", 0.7), ("1600", 1.6)),
        *((text, None) for text in ("0.699", "1.601", "699", "1601", "101", "100 sg")),
    ],
)
def test_a_gravity_lies_between_its_limits_in_units_and_in_thousandths(text: str, value: float | None) -> None:
    """0.7 and 1.6 are taken as they are and as 700 and 1600, a step beyond either is refused."""
    if value is None:
        with pytest.raises(NotAQuantity):
            read(Quantity.GRAVITY, text)
    else:
        assert read(Quantity.GRAVITY, text) == value


# --- periods --------------------------------------------------------------------------------------------------------

JULY = datetime(2026, 7, 1, 5, tzinfo=UTC)  # the local midnight at which July begins
MIDDLE = datetime(2026, 7, 16, 5, tzinfo=UTC)
NOON = datetime(2026, 7, 15, 17, tzinfo=UTC)
NOW = datetime(2026, 8, 14, 12, tzinfo=UTC)


@pytest.mark.parametrize(
    ("span", "text"),
    [
        (ALWAYS, ""),
        (Span(JULY), "since 2026-07-01"),
        (Span(JULY + HOUR), "since 2026-07-01 01:00"),
        (Span(end=MIDDLE), "to 2026-07-15"),
        (Span(end=NOON), "to 2026-07-15 12:00"),
        (Span(JULY, MIDDLE), "2026-07-01 to 2026-07-15"),
        (Span(JULY, NOON), "2026-07-01 to 2026-07-15 12:00"),
        (Span(JULY + HOUR, MIDDLE), "2026-07-01 01:00 to 2026-07-15"),
        (Span(JULY, JULY + 24 * HOUR), "2026-07-01 to 2026-07-01"),
    ],
)
def test_a_period_is_shown_by_its_days_and_by_the_hour_where_a_day_is_cut(span: Span, text: str) -> None:
    """The last day is the one that ends at the period's end, and an end that is open has no words."""
    assert show_span(span) == text


@pytest.mark.parametrize(
    ("since", "until", "start", "end"),
    [
        (None, None, None, None),
        ("2026-07-01", None, JULY, None),
        (None, "2026-07-15", None, MIDDLE),
        (None, "2026-07-15 12:00", None, NOON),
        ("2026-07-01", "2026-07-15", JULY, MIDDLE),
        ("2026-07-01", "2026-07-01", JULY, JULY + 24 * HOUR),
        ("2026-07-01 00:00", "2026-07-01 00:01", JULY, JULY + HOUR / 60),
        ("2026-07-15 12:00", "2026-07-15", NOON, MIDDLE),
    ],
)
def test_a_typed_period_holds_its_last_day_whole_and_ends_at_a_typed_moment(
    since: str | None, until: str | None, start: datetime | None, end: datetime | None
) -> None:
    """A day is from its local midnight to the next; a moment bounds the period exactly."""
    assert read_span(since, until, NOW) == Span(start, end)


@pytest.mark.parametrize(
    ("since", "until"),
    [
        ("2026-07-02", "2026-07-01"),
        ("2026-07-01 12:00", "2026-07-01 12:00"),
        ("2026-07-01 12:00", "2026-07-01 11:59"),
        ("this month", "last month"),
    ],
)
def test_a_period_that_ends_before_it_begins_is_refused(since: str, until: str) -> None:
    """The line names both ends as they were typed; a period of no length is none."""
    with pytest.raises(EndsTooSoon) as refused:
        read_span(since, until, NOW)
    assert str(refused.value) == f"'{until}' is not after '{since}'; a period ends after it begins"


@pytest.mark.parametrize(
    ("since", "until"), [("soon", None), (None, "soon"), (None, "9999-12-31"), ("-9999999d", None)]
)
def test_a_bound_that_is_no_time_is_refused(since: str | None, until: str | None) -> None:
    """A day after which no other can be written ends no period either."""
    with pytest.raises(NotATime, match=f"'{since or until}' is not a date or time"):
        read_span(since, until, NOW)


def test_the_last_moment_of_a_period_is_a_microsecond_before_the_next() -> None:
    """Periods that adjoin leave no moment out that the book can keep, and share none."""
    span = Span(JULY, MIDDLE)
    assert (span.last, span.last_before) == (MIDDLE - MICROSECOND, JULY - MICROSECOND)
    assert Span(MIDDLE).last_before == span.last
    assert (ALWAYS.last, ALWAYS.last_before) == (None, None)


def test_a_period_is_looked_back_on_once_its_last_moment_has_passed() -> None:
    """Until then, and at that very moment, it is seen as it is now."""
    span = Span(JULY, MIDDLE)
    assert span.seen_at(MIDDLE) == span.last
    assert span.seen_at(MIDDLE - MICROSECOND) is None
    assert span.seen_at(NOON) is None
    assert ALWAYS.seen_at(NOW) is None


@pytest.mark.parametrize("year", [2024, 2026])
@pytest.mark.parametrize("month", range(1, 13))
def test_every_month_is_followed_by_the_next_from_its_first_moment_to_its_last(year: int, month: int) -> None:
    """Short and long ones, a February of either length, and the end of the year."""
    begins = midnight(date(year, month, 1))
    follows = midnight(date(year + month // 12, month % 12 + 1, 1))
    assert next_month(begins) == next_month(follows - MICROSECOND) == follows
    assert read_span("last month", None, follows) == Span(begins, follows)


@pytest.mark.parametrize(
    ("zone", "text"),
    [
        ("UTC0", "UTC"),
        ("XYZ+5", "XYZ, UTC-5"),
        ("CET-1", "CET, UTC+1"),
        ("<+0545>-5:45", "UTC+5:45"),
        ("<-0330>+3:30", "UTC-3:30"),
        ("NST+3:30", "NST, UTC-3:30"),
        ("GMT0", "GMT, UTC"),
        ("ABC-0:05", "ABC, UTC+0:05"),
    ],
)
def test_a_time_zone_is_its_name_and_its_hours_from_utc(zone: str, text: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whole hours, or hours and minutes; a zone without a name of letters is its hours alone (POSIX, TZ)."""
    with monkeypatch.context() as patch:
        patch.setenv("TZ", zone)
        time.tzset()
        shown = show_zone(NOW)
    time.tzset()
    assert shown == text


@given(
    st.datetimes(datetime(1990, 1, 1), datetime(2090, 1, 1), timezones=st.just(UTC)),
    st.datetimes(datetime(1990, 1, 1), datetime(2090, 1, 1), timezones=st.just(UTC)),
)
def test_a_typed_period_is_the_one_its_moments_show(since: datetime, until: datetime) -> None:
    """To the minute: what is typed as it is shown begins and ends there, or is refused where it would end too soon."""
    start, end = (moment.replace(second=0, microsecond=0) for moment in (since, until))
    texts = show_when(start), show_when(end)
    if start < end:
        assert read_span(*texts, now=NOW) == Span(start, end)
    else:
        with pytest.raises(EndsTooSoon):
            read_span(*texts, now=NOW)

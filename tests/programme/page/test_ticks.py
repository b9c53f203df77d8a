"""What an axis is marked with: round, evenly spaced values around all that is drawn, and the beginnings of months."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from cooperage.programme.page.ticks import even_rows, month_ticks, round_ticks, ticks_in_rows
from cooperage.units import Units, local_day

values = st.integers(-10_000, 1_000_000) | st.decimals(0, 300, places=3).map(float)


@given(one=values, other=values, most=st.integers(3, 9))
def test_ticks_are_few_even_round_and_around_all(one: Any, other: Any, most: int) -> None:
    """Steps are 1, 2 or 5 of a power of ten, and every label reads back as its tick."""
    low, high = sorted((float(one), float(other)))
    ticks, labels = round_ticks(low, high, most)
    step = ticks[1] - ticks[0]
    assert 2 <= len(ticks) == len(labels) <= most
    assert all(after - before == pytest.approx(step) for before, after in pairwise(ticks))
    assert f"{step:e}"[0] in "125" or f"{step:.0e}"[0] in "125"
    slack = 1e-6 * max(1.0, step)
    assert ticks[0] - slack <= low
    assert high <= ticks[-1] + slack
    assert [float(label) for label in labels] == pytest.approx(ticks, abs=1e-9)


@pytest.mark.parametrize(
    ("low", "high", "labels"),
    [
        (195.85, 200.5, ["194", "196", "198", "200", "202"]),
        (0.29, 0.38, ["0.28", "0.30", "0.32", "0.34", "0.36", "0.38"]),
        (0.2, 1.3, ["0.0", "0.5", "1.0", "1.5"]),
        (0.0, 0.0, ["-0.5", "0.0", "0.5"]),
    ],
)
def test_labels_have_the_decimals_of_their_step(low: float, high: float, labels: list[str]) -> None:
    """As few as tell them apart; nothing is -0.0."""
    assert round_ticks(low, high)[1] == labels


moments = st.datetimes(datetime(2020, 1, 1), datetime(2035, 1, 1)).map(lambda at: at.replace(tzinfo=UTC))


@given(first=moments, days=st.integers(1, 4000), most=st.integers(2, 12))
def test_months_begin_on_their_first_day_evenly_and_few(first: datetime, days: int, most: int) -> None:
    """Each lies in the span, on a first of a month, as many months apart as the next one."""
    last = first + timedelta(days=days)
    found = month_ticks(first, last, most)
    assert len(found) <= most + 1
    assert all(first <= at <= last and local_day(at).day == 1 for at, _ in found)
    months = [local_day(at).year * 12 + local_day(at).month for at, _ in found]
    assert len({after - before for before, after in pairwise(months)}) <= 1


def test_a_month_is_written_short() -> None:
    """Half a year from August: every second month would be too many for three."""
    first = datetime(2025, 8, 10, tzinfo=UTC)
    assert [words for _, words in month_ticks(first, first + timedelta(days=210), 3)] == ["Oct 25", "Jan 26"]


@given(rows=st.integers(4, 60), ticks=st.integers(2, 8))
def test_ticks_stand_evenly_in_the_rows_used(rows: int, ticks: int) -> None:
    used = even_rows(rows, ticks)
    assert used <= max(rows, ticks)
    assert (used - 1) % (ticks - 1) == 0


@given(one=values, other=values, rows=st.integers(3, 40))
@example(one=266667, other=266667, rows=3)
def test_ticks_have_room_in_their_rows(one: Any, other: Any, rows: int) -> None:
    """However few rows: even, and around all that is drawn."""
    low, high = sorted((float(one), float(other)))
    ticks = [tick for tick, _ in ticks_in_rows(low, high, rows)]
    assert even_rows(rows, len(ticks)) <= rows
    slack = 1e-6 * max(1.0, ticks[1] - ticks[0])
    assert ticks[0] - slack <= low
    assert high <= ticks[-1] + slack


def test_two_rows_have_two_ticks() -> None:
    """Of what is never less than nothing."""
    assert ticks_in_rows(0.0, 43.0, 2) == [(0.0, "0"), (50.0, "50")]


def test_a_decimal_comma_is_one_on_the_axis() -> None:
    found = [label for _, label in ticks_in_rows(1.0, 1.1, 6, Units(decimal=","))]
    assert found == [label.replace(".", ",") for _, label in ticks_in_rows(1.0, 1.1, 6)]
    assert all("," in label for label in found)

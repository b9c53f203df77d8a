"""What a vessel holds by now, and that every door says the same."""

from collections.abc import Callable
from datetime import timedelta
from math import exp
from typing import TYPE_CHECKING, Any, cast

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.store.gauging import volume_at_headspace
from cooperage.exchange.reports.reports import as_records, rounds_report, stock_report
from cooperage.programme.losses.ledger import loss_rates
from cooperage.programme.losses.level import BAND, PRIOR, Level, format_level, format_short, level_now, prior_rate
from cooperage.programme.rounds.due import Task, next_due, rounds
from cooperage.programme.search.marks import marks_of
from cooperage.programme.together import expecting, write_act
from cooperage.units import ALWAYS

if TYPE_CHECKING:
    from tests.conftest import Clock


FULL = 225_000
A_DAY = FULL * 0.04 / 365.25


def clock_of(book: Book) -> "Clock":
    """The clock that the fixtures give every book."""
    return cast("Clock", book.now)


def level(book: Book, tag: str = "B-1") -> Level:
    cellar = book.cellar()
    return level_now(cellar[tag], loss_rates(book, cellar).get(tag))


def topping(book: Book, tag: Any = "B-1") -> Any:
    cellar = book.cellar()
    due = rounds(cellar, rates=loss_rates(book, cellar))
    return next((each for each in due if (each.barrel, each.task) == (tag, Task.TOP)), None)


def test_what_has_gone_since_it_was_filled_is_off_the_book(cellar_book: Book, clock: "Clock") -> None:
    """Four per cent a year of 225 L (common practice, no source): 28 days are 0.69 L, and nobody has written them."""
    clock.pass_days(28)
    now = level(cellar_book)
    assert cellar_book.cellar()["B-1"].ml == FULL
    assert now.ml == pytest.approx(FULL - 28 * A_DAY, abs=5)
    assert now.low is not None
    assert now.low < now.ml < now.high <= FULL
    assert PRIOR in now.how


def test_a_dip_is_counted_once(cellar_book: Book, clock: "Clock") -> None:
    """Dipped 1.7 L short today, a topping is expected to take 1.7 L, not what it would have lost since the fill too."""
    clock.pass_days(29)
    cellar_book.write(acts.Gauge(vessel="B-1", volume=FULL - 1_700))
    assert level(cellar_book).ml == pytest.approx(FULL - 1_700, abs=2)
    assert topping(cellar_book).expected_ml == pytest.approx(1_700, abs=2)


def test_a_dip_that_was_only_read_is_believed(cellar_book: Book, clock: "Clock") -> None:
    """50 mm dry under the bung are 4.7 L, whatever the book has; a sample drawn since is gone as well."""
    clock.pass_days(29)
    cellar_book.write(acts.Reading(vessel="B-1", property="headspace_mm", value=50.0))
    cellar_book.write(acts.Sample(vessel="B-1", volume=500))
    found = volume_at_headspace(cellar_book.cellar()["B-1"].vessel, 50.0)
    assert level(cellar_book).ml == pytest.approx(found - 500, abs=2)


def test_a_topping_that_stopped_short_leaves_it_short_and_due(cellar_book: Book, clock: "Clock") -> None:
    """0.3 L of the 0.7 L expected went in: 0.4 L and more are missing, and it is due until it is full."""
    clock.pass_days(29)
    cellar_book.write(acts.Top(vessel="B-1", volume=300, source="K-1", not_full=True))
    due = topping(cellar_book)
    assert "not to the bung" in due.why
    assert due.expected_ml == pytest.approx(29 * A_DAY - 300, abs=5)
    assert due.level.is_at_most
    assert format_short(due.level) == "0.4 L or more"
    cellar_book.write(acts.Top(vessel="B-1", volume=420, source="K-1"))
    assert topping(cellar_book) is None


def test_nobody_invents_what_is_missing(cellar_book: Book) -> None:
    """Topped short on the day it was filled, nothing is expected to be missing; how much is, nobody knows."""
    cellar_book.write(acts.Top(vessel="B-1", volume=200, source="K-1", not_full=True))
    due = topping(cellar_book)
    assert format_short(due.level) == "?"
    assert format_level(due.level) == "at most 225.0 L"
    assert due.level.low is None


@pytest.mark.parametrize("word", ["low", "very low"])
def test_a_barrel_seen_low_is_at_most_what_was_reckoned(cellar_book: Book, clock: "Clock", word: str) -> None:
    """The eye gives no litres, so none are told; dipped, they are known, and it is due until it is full."""
    clock.pass_days(10)
    cellar_book.write(acts.Look(vessel="B-1", level=word))
    now, due = level(cellar_book), topping(cellar_book)
    assert (now.low, f"seen {word}" in now.how) == (None, True)
    assert due.why == f"seen {word} today"
    cellar_book.write(acts.Gauge(vessel="B-1", volume=FULL - 1_500))
    assert level(cellar_book).low is not None
    assert topping(cellar_book).why == "dipped 1.5 L short today"
    cellar_book.write(acts.Gauge(vessel="B-1", volume=FULL))
    assert topping(cellar_book) is None


def test_seen_full_it_is_full(cellar_book: Book, clock: "Clock") -> None:
    """What was expected to be missing is not."""
    clock.pass_days(40)
    cellar_book.write(acts.Look(vessel="B-1", level="full"))
    assert level(cellar_book).ml == pytest.approx(FULL, abs=2)


def test_new_wood_is_expected_to_soak(cellar_book: Book, clock: "Clock") -> None:
    """A hundredth or two in the first weeks (common practice, no source), beyond what evaporates."""
    cellar_book.write(acts.Fill(vessel="B-2", source="T-1"))
    clock.pass_days(10)
    soaked = 0.02 * FULL * (1 - exp(-1))
    assert level(cellar_book, "B-2").ml == pytest.approx(FULL - 10 * A_DAY - soaked, abs=10)


def test_what_does_not_lose_holds_what_the_book_says(cellar_book: Book, clock: "Clock") -> None:
    """A tank, a keg, an empty barrel."""
    clock.pass_days(300)
    cellar = cellar_book.cellar()
    for tag in ("T-1", "K-1", "B-3"):
        now = level_now(cellar[tag])
        assert (now.ml, now.low, now.high, now.is_expected) == (*[cellar[tag].ml] * 3, False)


def test_small_barrels_lose_a_larger_share() -> None:
    """By the cube root of the size: 50 L lose 1.65 times the share of 225 L."""
    assert pytest.approx(1.651, abs=0.001) == (225 / 50) ** (1 / 3)


def test_the_prior_is_wider_than_a_barrel_that_is_known(cellar_book: Book, clock: "Clock") -> None:
    """Ten toppings tell more than common practice."""
    for _ in range(10):
        clock.pass_days(30)
        cellar_book.write(acts.Top(vessel="B-1", volume=740, source="K-1"))
    clock.pass_days(30)
    standing, known = cellar_book.cellar()["B-1"], level(cellar_book)
    prior = level_now(standing, prior_rate(standing))
    assert known.low is not None
    assert prior.low is not None
    assert known.high - known.low < prior.high - prior.low
    assert BAND == 0.9
    assert "its own visits" in known.how


def test_the_expected_litres_are_not_asked_back(cellar_book: Book, clock: "Clock") -> None:
    """A barrel that has leaked for half a year is topped with what it leaks, and nobody asks whether it leaks."""
    from cooperage.book.errors import OddLevel

    for _ in range(8):
        clock.pass_days(28)
        cellar_book.write(acts.Top(vessel="B-1", volume=4_800, source="K-1", sure=True))
        cellar_book.write(acts.Rack(vessel="T-1", destination="K-1", volume=4_800))
    clock.pass_days(28)
    usual = acts.Top(vessel="B-1", volume=topping(cellar_book).expected_ml, source="K-1")
    with pytest.raises(OddLevel):
        cellar_book.write(usual)  # as far as the book alone can tell
    with pytest.raises(OddLevel):
        write_act(cellar_book, acts.Top(vessel="B-1", volume=14_000, source="K-1"))
    expected = expecting(cellar_book, usual)
    assert isinstance(expected, acts.Top)
    assert expected.expected is not None
    least, most = expected.expected
    assert least <= FULL - usual.volume <= most
    assert write_act(cellar_book, usual).moves


# --- the law --------------------------------------------------------------------------------------------------------

_DAYS = st.floats(0.0, 60.0)
_ACTS = st.one_of(
    st.builds(lambda ml: acts.Top(vessel="B-1", volume=ml, source="K-1", sure=True), st.integers(100, 3_000)),
    st.builds(
        lambda ml: acts.Top(vessel="B-1", volume=ml, source="K-1", not_full=True, sure=True), st.integers(100, 1_000)
    ),
    st.builds(lambda ml: acts.Gauge(vessel="B-1", volume=FULL - ml, sure=True), st.integers(0, 9_000)),
    st.builds(lambda mm: acts.Gauge(vessel="B-1", headspace=mm, sure=True), st.floats(0.0, 80.0)),
    st.builds(
        lambda mm: acts.Reading(vessel="B-1", property="headspace_mm", value=mm, sure=True), st.floats(0.0, 80.0)
    ),
    st.builds(lambda word: acts.Look(vessel="B-1", level=word), st.sampled_from(["full", "low", "very low"])),
    st.builds(lambda ml: acts.Sample(vessel="B-1", volume=ml), st.integers(50, 500)),
    st.just(acts.Treat(vessel="B-1", treatment="inspect")),
    st.just(acts.Strike(entry="last")),
)


@pytest.mark.slow
@settings(max_examples=25)
@given(st.lists(st.tuples(_DAYS, _ACTS), min_size=1, max_size=8), _DAYS)
def test_what_a_topping_is_expected_to_take_is_the_capacity_less_the_level(
    fresh_sqlite: Callable[[], Book], walked: list[Any], rest: Any
) -> None:
    """In the rounds, on the barrel's page, on the racks, on the sheet and in the stock, whatever was done before."""
    book = fresh_sqlite()
    book.write(acts.Receive(lot="HEATHER", vessel="T-1", volume=900_000))
    book.write(acts.Rack(vessel="T-1", destination="K-1", volume=40_000))
    book.write(acts.Fill(vessel="B-1", source="T-1"))
    for days, act in walked:
        clock_of(book).pass_days(days)
        _write_if_it_can_be(book, act)
    clock_of(book).pass_days(rest)
    cellar = book.cellar()
    if cellar["B-1"].ml == 0:  # the fill itself was struck
        book.close()
        return
    rates = loss_rates(book, cellar)
    now = level_now(cellar["B-1"], rates.get("B-1"))
    assert 0 <= (now.ml if now.low is None else now.low) <= now.ml <= now.high <= FULL
    later = cellar.at + timedelta(days=400)
    (due,) = (d for d in next_due(cellar["B-1"], cellar, rates) if d.task is Task.TOP)
    (ahead,) = (d for d in rounds(cellar, later, rates) if (d.barrel, d.task) == ("B-1", Task.TOP))
    assert due.expected_ml == FULL - now.ml
    assert ahead.expected_ml == FULL - level_now(cellar["B-1"], rates.get("B-1"), later).ml
    assert marks_of(book, cellar).short_ml(cellar["B-1"]) == pytest.approx(FULL - now.ml, abs=2)
    stock = next(row for row in as_records(stock_report(book, ALWAYS)) if row["vessel"] == "B-1")
    assert stock["level_now_l"] == pytest.approx(now.ml / 1000, abs=0.002)
    sheet = [row for row in as_records(rounds_report(book, ALWAYS)) if row["task"] == "top"]
    for row in sheet:
        assert isinstance(row["level_now_l"], float)
        assert row["expected_l"] == pytest.approx(FULL / 1000 - row["level_now_l"], abs=1e-9)
    book.close()


def _write_if_it_can_be(book: Book, act: Any) -> None:
    from cooperage.errors import CooperageError

    try:
        book.write(act)
    except CooperageError:
        return


@pytest.mark.slow
@settings(max_examples=15)
@given(st.integers(0, 9_000), st.lists(st.integers(50, 500), max_size=3), st.floats(0.0, 60.0), st.booleans())
def test_a_level_is_carried_on_from_where_it_was_known(
    fresh_sqlite: Callable[[], Book], missing: int, samples: list[int], days: float, corrects: bool
) -> None:
    """Dipped, whether the book is put right or not; then what was drawn, and the prior's rate for the days since."""
    from cooperage.book.store.gauging import expected_headspace

    book = fresh_sqlite()
    book.write(acts.Receive(lot="HEATHER", vessel="T-1", volume=900_000))
    book.write(acts.Fill(vessel="B-1", source="T-1"))
    clock_of(book).pass_days(20)
    vessel = book.cellar()["B-1"].vessel
    mm = expected_headspace(vessel, FULL - missing)
    if corrects:
        book.write(acts.Gauge(vessel="B-1", headspace=mm, sure=True))
    else:
        book.write(acts.Reading(vessel="B-1", property="headspace_mm", value=mm, sure=True))
    for ml in samples:
        book.write(acts.Sample(vessel="B-1", volume=ml))
    clock_of(book).pass_days(days)
    cellar = book.cellar()
    known = cellar["B-1"].last("headspace_mm") or cellar["B-1"].last("gauge")
    assert known is not None
    since = (cellar.at - known).total_seconds() / 86_400
    left = volume_at_headspace(vessel, mm) - sum(samples) - A_DAY * since
    assert level_now(cellar["B-1"]).ml == pytest.approx(left, abs=1)
    book.close()

"""A day is from its midnight to the next, and the figures of adjoining periods add up: exactly, and as printed."""

import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from typing import TYPE_CHECKING, Any, cast

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.errors import CooperageError
from cooperage.exchange.reports.reports import REPORTS, as_csv, as_records
from cooperage.exchange.reports.texts import as_text
from cooperage.programme.losses.ledger import losses_by
from cooperage.units import DEFAULT, Span, Units, local_day, midnight, read_span

if TYPE_CHECKING:
    from tests.conftest import Clock

GALLONS = Units(volume="gal")
FIRST = date(2025, 3, 20)  # London's clocks go forward on the 30th
DAYS = 60


@pytest.fixture
def london(monkeypatch: pytest.MonkeyPatch) -> Iterator[Any]:
    """Live in a place with summer time."""
    monkeypatch.setenv("TZ", "Europe/London")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


def done(day: int, minute: int) -> datetime:
    """Return a minute of a day; the first is its midnight."""
    return midnight(FIRST + timedelta(days=day)) + timedelta(minutes=minute)


moments = st.builds(done, st.integers(0, DAYS - 1), st.sampled_from([0, 0, 1439]) | st.integers(0, 1439))
litres = st.integers(1, 9_999)


def deeds_of(act: type, **fields: Any) -> st.SearchStrategy:
    """Draw acts of a kind; what is no strategy is always the same."""
    drawn = {name: each if isinstance(each, st.SearchStrategy) else st.just(each) for name, each in fields.items()}
    return st.builds(act, **drawn)


draws = st.tuples(st.tuples(st.just("T-1"), litres))
deeds = st.one_of(
    deeds_of(acts.Receive, lot="LIME", vessel="T-1", volume=st.integers(1, 40_000)),
    deeds_of(acts.Sample, vessel="T-1", volume=litres, sure=True),
    deeds_of(acts.Rack, vessel="T-1", destination=acts.POURED_AWAY, volume=litres, lees=litres),
    deeds_of(acts.Top, vessel="B-1", source="T-1", volume=litres, sure=True),
    deeds_of(acts.Addition, vessel="T-1", substance="honey", amount=st.floats(1, 9_999), sure=True),
    deeds_of(acts.Addition, vessel="T-1", substance="water", amount=st.floats(1, 999), sure=True),
    deeds_of(acts.Blend, vessel="T-2", draws=draws, doses=(("spirit", 321.0),)),
    deeds_of(acts.Bottle, vessel="T-1", code=st.uuids().map(str), bottles=st.integers(1, 99), loss=litres),
)
runs = st.lists(st.tuples(moments, deeds), min_size=8, max_size=20)
cuts = st.lists(st.integers(0, DAYS), min_size=3, max_size=5, unique=True).map(sorted)


def cellar_of(make: Any, run: Any) -> Any:
    """Write a run in the order it was drawn, so most of it is late; what the book refuses is not part of it."""
    book = make()
    book.now.time = done(0, -600)
    book.write(acts.Receive(lot="HEATHER", vessel="T-1", volume=800_000))
    book.write(acts.Fill(vessel="B-1", source="T-1"))
    book.now.time = done(DAYS, 600)
    for at, deed in run:
        with suppress(CooperageError):
            book.write(replace(deed, at=at))
    return book


def days(start: int, end: int, book: Book) -> Span:
    """Return the span that a person types for whole days; `end` is the day after the last."""
    first, last = (FIRST + timedelta(days=day) for day in (start, end - 1))
    return read_span(first.isoformat(), last.isoformat(), book.now())


def exact(report: Any) -> Counter[str]:
    """Return the lines of a report in whole millilitres, from its file form."""
    lines: Counter[str] = Counter()
    for row in as_records(report):
        *names, volume = row.values()
        lines[" ".join(map(str, names))] += round(1000 * Decimal(str(volume)))
    return lines


def printed(report: Any, units: Any) -> Counter[str]:
    """Return the lines of a report as they stand on paper, in steps of the last digit."""
    unit = f" {units.volume}"
    lines: Counter[str] = Counter()
    for line in as_text(report, units).splitlines()[3:]:
        name, _, number = " ".join(line.removesuffix(unit).split()).rpartition(" ")
        if line.endswith(unit):
            lines[name] += int(number.replace(".", ""))
        elif line.endswith(f"{unit} in all"):
            lines["in all"] += int(line.split()[0].replace(".", ""))
    return lines


def parts_and_whole(name: Any, book: Book, cut: Any, units: Any, lines_of: Any) -> Any:
    """Return the lines of each period between two cuts, and of all of them as one."""
    report = REPORTS[name]
    parts = [lines_of(report(book, days(*pair, book), units)) for pair in pairwise(cut)]
    return parts, lines_of(report(book, days(cut[0], cut[-1], book), units))


def check_operations(parts: Any, whole: Any) -> None:
    """Stocks chain, lines add up over periods, and each period balances; nothing else may be printed."""
    start, end = "on hand at the start", "on hand at the end"
    assert (parts[0][start], parts[-1][end]) == (whole[start], whole[end])
    assert [part[end] for part in parts[:-1]] == [part[start] for part in parts[1:]]
    for lines in (*parts, whole):
        assert sum(lines.values()) - lines[end] == lines[end]
    for name in set().union(*parts, whole) - {start, end}:
        assert sum(part[name] for part in parts) == whole[name], name


def check_losses(parts: Any, whole: Any) -> None:
    """Every month and cause adds up over periods, and so does the sum at the foot, which is that of the lines."""
    for lines in (*parts, whole):
        assert "in all" not in lines or sum(lines.values()) == 2 * lines["in all"]
    for name in set().union(*parts, whole):
        assert sum(part[name] for part in parts) == whole[name], name


def check_all(book: Book, cut: Any) -> None:
    """Hold both reports and the losses against both laws, exactly and as printed in litres and gallons."""
    check_operations(*parts_and_whole("operations", book, cut, DEFAULT, exact))
    check_losses(*parts_and_whole("losses", book, cut, DEFAULT, exact))
    for units in (DEFAULT, GALLONS):
        check_operations(*parts_and_whole("operations", book, cut, units, lambda told, u=units: printed(told, u)))
        check_losses(*parts_and_whole("losses", book, cut, units, lambda told, u=units: printed(told, u)))
    spans = [days(*pair, book) for pair in pairwise(cut)]
    for by in ("cause", "barrel", "month"):
        lost = [Counter({row.what: row.total_ml for row in losses_by(book, by, s.start, s.last)}) for s in spans]
        whole = losses_by(book, by, spans[0].start, spans[-1].last)
        assert {row.what: sum(part[row.what] for part in lost) for row in whole} == {r.what: r.total_ml for r in whole}
    for at in (spans[0].last_before, spans[-1].last):
        assert at is not None
        stock = REPORTS["operations"](book, Span(None, at + timedelta(microseconds=1)), DEFAULT).rows[-1][1]
        assert stock == sum(standing.ml for standing in book.cellar(at))


@pytest.mark.slow
@pytest.mark.usefixtures("london")
@settings(max_examples=8)
@given(run=runs, cut=cuts)
def test_adjoining_periods_add_up_on_sqlite(fresh_sqlite: Callable[[], Book], run: Any, cut: Any) -> None:
    """For random cellars and random days to cut at: in millilitres, and as printed; and each period balances."""
    book = cellar_of(fresh_sqlite, run)
    check_all(book, cut)
    book.close()


@pytest.mark.slow
@pytest.mark.usefixtures("london")
@settings(max_examples=4)
@given(run=runs, cut=cuts)
def test_adjoining_periods_add_up_on_postgresql(fresh_postgres: Callable[[], Book], run: Any, cut: Any) -> None:
    """The same on the other database."""
    book = cellar_of(fresh_postgres, run)
    check_all(book, cut)
    book.close()


@pytest.mark.usefixtures("london")
@pytest.mark.parametrize("day", ["2025-03-29", "2025-03-30", "2025-03-31", "2025-10-26", "yesterday"])
def test_a_day_is_from_its_midnight_to_the_next(day: str) -> None:
    """Whatever the clocks do in it: 23 hours on the last Sunday of March, 25 on that of October."""
    now = datetime(2025, 11, 3, 12, tzinfo=UTC)
    span = read_span(day, day, now)
    hours = {"2025-03-30": 23, "2025-10-26": 25}.get(day, 24)
    assert span.start is not None
    assert span.end is not None
    assert span.last is not None
    assert span.last_before is not None
    assert span.end - span.start == timedelta(hours=hours)
    assert local_day(span.start) == local_day(span.last)
    assert local_day(span.last_before) == local_day(span.start) - timedelta(days=1)


def test_the_book_of_one_day_holds_that_day(fresh_sqlite: Callable[[], Book]) -> None:
    """Its midnight belongs to it, the next one to the next day; late entries stand where they happened."""
    book = fresh_sqlite()
    cast("Clock", book.now).time = done(DAYS, 0)
    first, morrow = done(5, 0), done(6, 0)
    for at in (morrow, first, done(5, 720), morrow - timedelta(microseconds=1)):
        book.write(acts.Receive(lot="LIME", vessel="T-1", volume=1_000, at=at))
    report = REPORTS["book"](book, days(5, 6, book), DEFAULT)
    assert [row[0] for row in report.rows] == [first, done(5, 720), morrow - timedelta(microseconds=1)]
    assert [row[0] for row in REPORTS["book"](book, days(6, 7, book), DEFAULT).rows] == [morrow]


def test_what_was_added_is_not_received(fresh_sqlite: Callable[[], Book]) -> None:
    """Honey, water and spirit have lines of their own, in text, CSV and JSON; only mead is received."""
    book = fresh_sqlite()
    book.write(acts.Receive(lot="LIME", vessel="T-1", volume=100_000))
    for substance, amount in (("honey", 1_420.0), ("water", 500.0), ("spirit", 250.0), ("metabisulphite", 2.0)):
        book.write(acts.Addition(vessel="T-1", substance=substance, amount=amount, sure=True))
    report = REPORTS["operations"](book, Span(), DEFAULT)
    result = {row["line"]: row["volume_l"] for row in as_records(report)}
    added = {"received": 100.0, "honey added": 1.0, "water added": 0.5, "spirit added": 0.25}
    assert {line: result[line] for line in added} == added
    assert not any("metabisulphite" in str(line) for line in result)
    for line in added:
        assert line in as_text(report, DEFAULT)
        assert f"{line}," in as_csv(report)

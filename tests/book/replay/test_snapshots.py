"""Snapshots of the past: made in passing, never wrong, never needed."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import delete, update

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.replay import snapshots
from cooperage.book.replay.events import events
from cooperage.book.replay.snapshots import replay_through, replay_to, replayed, snapshots_kept, turns_of_months
from cooperage.book.replay.state import to_text
from cooperage.book.store.registry import Registry
from cooperage.book.store.tables import SNAPSHOT
from cooperage.errors import Refused

if TYPE_CHECKING:
    from tests.conftest import Clock


def kept(book: Book) -> Any:
    """The moments at which the book has snapshots."""
    with book.reading() as connection:
        return sorted({at for at, _, _ in snapshots_kept(connection)})


def broken(book: Book) -> Any:
    return [finding for finding in book.check() if finding.broken]


@pytest.fixture
def old_book(cellar_book: Book, clock: "Clock") -> Any:
    """A year of monthly toppings, and one of them typed late, which rebuilds the states."""
    for _ in range(12):
        clock.pass_days(30)
        cellar_book.write(acts.Top(vessel="B-1", volume=700, source="K-1"))
    cellar_book.write(acts.Sample(vessel="B-1", volume=50, at=clock() - timedelta(days=3)))
    return cellar_book


def test_several_moments_are_passed_by_one_replay(
    old_book: Any, clock: "Clock", monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each has what a replay to it alone has, to the letter, an entry of that very moment and one struck included."""
    old_book.write(acts.Strike(entry=old_book.newest_id()))
    with old_book.reading() as connection:
        registry = Registry(connection)
        at = next(event.at for event in events(connection) if event.kind == "top")
        moments = sorted([datetime.fromtimestamp(at, UTC), *(clock() - timedelta(days=days) for days in (200, 40, 0))])
        alone = [
            {key: to_text(state) for key, state in replay_to(connection, registry, until=each).items()}
            for each in moments
        ]
        opened = []

        def counted(*args: Any, **bounds: Any) -> Iterator[Any]:
            opened.append(args)
            return events(*args, **bounds)

        monkeypatch.setattr(snapshots, "events", counted)
        together = [
            {key: to_text(state) for key, state in states.items()}
            for states in replay_through(connection, registry, moments)
        ]
        cellars = [(cellar.at, cellar["K-1"].ml) for cellar in old_book.cellars_in(connection, moments)]
        assert together == alone
        assert len(opened) == 2
        assert cellars == [(each, old_book.cellar_in(connection, each)["K-1"].ml) for each in moments]
        assert len({ml for _, ml in cellars}) > 1
        assert list(replay_through(connection, registry, [])) == []


def test_turns_of_months() -> None:
    """The beginnings of this month and of some before it, whatever the time of year."""
    turns = turns_of_months(datetime(2026, 2, 14, 9, tzinfo=UTC))
    assert [f"{turn:%Y-%m-%d}" for turn in turns] == [
        *("2022-02-01", "2024-02-01", "2025-02-01", "2025-08-01"),
        *("2025-11-01", "2025-12-01", "2026-01-01", "2026-02-01"),
    ]


def test_a_late_entry_makes_snapshots_and_the_next_one_begins_from_the_nearest(
    old_book: Any, clock: "Clock", monkeypatch: pytest.MonkeyPatch
) -> None:
    """The second late entry passes a few entries instead of all, and every state is the same to the letter."""
    assert kept(old_book)
    passed = []

    def counted(*args: Any, **bounds: Any) -> Iterator[Any]:
        for each in events(*args, **bounds):
            passed.append(each.id)
            yield each

    monkeypatch.setattr(snapshots, "events", counted)
    old_book.write(acts.Sample(vessel="B-1", volume=20, at=clock() - timedelta(days=2)))
    assert 0 < len(passed) <= 6  # twice what this month has seen, of 17 entries in all
    assert broken(old_book) == []
    with old_book.reading() as connection:
        registry = Registry(connection)
        for days in (0.5, 10, 40, 100, 400):
            at = clock() - timedelta(days=days)
            then, rebuilt = replay_to(connection, registry, until=at), replayed(connection, registry, until=at)
            assert {key: to_text(state) for key, state in then.items()} == {
                key: to_text(state) for key, state in rebuilt.items()
            }


def test_late_entries_written_together_are_reckoned_together(
    old_book: Any, clock: "Clock", monkeypatch: pytest.MonkeyPatch
) -> None:
    """Twelve of one moment pass the past once for all of them and the present once, and are as right as one by one."""
    passes = []

    def counted(*args: Any, **bounds: Any) -> Any:
        passes.append(bounds)
        return events(*args, **bounds)

    monkeypatch.setattr(snapshots, "events", counted)
    at = clock() - timedelta(days=2)
    with old_book.writing() as session:
        for ml in range(10, 22):
            session.write(acts.Sample(vessel="B-1", volume=ml, at=at))
        session.write(acts.Top(vessel="B-1", volume=300, source="K-1"))
    assert len(passes) == 2  # before the samples, and the present states
    assert old_book.cellar()["B-1"].ml == 225_000
    assert broken(old_book) == []


def test_a_refused_late_entry_among_others_leaves_no_trace(old_book: Any, clock: "Clock") -> None:
    """The second of three is too much and left out; the others stand as if it had never been tried."""
    at = clock() - timedelta(days=2)
    with old_book.writing() as session:
        session.write(acts.Sample(vessel="B-1", volume=50, at=at))
        with pytest.raises(Refused):
            session.write(acts.Sample(vessel="B-1", volume=900_000, at=at, sure=True))
        session.write(acts.Sample(vessel="B-1", volume=70, at=at))
    assert old_book.cellar()["B-1"].ml == 225_000 - 50 - 70 - 50
    assert broken(old_book) == []


def test_an_entry_far_back_lets_go_of_the_snapshots_after_it(old_book: Any, clock: "Clock") -> None:
    """Typed 100 days late: what stood after it is made anew, and right; what stood before it stays."""
    before = kept(old_book)
    at = clock() - timedelta(days=100)
    old_book.write(acts.Sample(vessel="B-1", volume=20, at=at))
    assert kept(old_book) == before
    assert broken(old_book) == []


def test_a_late_entry_on_a_vessel_that_nothing_touched_since_lets_go_of_them_too(old_book: Any, clock: "Clock") -> None:
    """It is not late for its own vessel, so nothing is rebuilt; a snapshot that lacks it must not stay."""
    at = clock() - timedelta(days=70)
    old_book.write(acts.Fill(vessel="B-4", source="T-1", at=at))
    assert all(moment <= at for moment in kept(old_book))
    assert old_book.cellar(clock() - timedelta(days=5))["B-4"].ml == 50_000
    assert broken(old_book) == []


@pytest.mark.slow
def test_a_strike_far_back_is_seen_from_every_later_moment(old_book: Any, clock: "Clock") -> None:
    """The struck sample is back in the barrel at every time after it."""
    written = old_book.write(acts.Sample(vessel="T-1", volume=500, at=clock() - timedelta(days=200)))
    held = old_book.cellar(clock() - timedelta(days=50))["T-1"].ml
    old_book.write(acts.Strike(entry=written.id))
    assert old_book.cellar(clock() - timedelta(days=50))["T-1"].ml == held + 500
    assert broken(old_book) == []


def test_dropped_or_unreadable_snapshots_are_done_without(old_book: Any, clock: "Clock") -> None:
    """Gone, or written by another version: the answer is the same."""
    at = clock() - timedelta(days=10)
    result = to_text(old_book.cellar(at)["B-1"].state)
    with old_book.writing() as session:
        session.connection.execute(update(SNAPSHOT).values(state='{"properties": ["older"]}'))
    assert to_text(old_book.cellar(at)["B-1"].state) == result
    with old_book.writing() as session:
        session.connection.execute(delete(SNAPSHOT))
    assert to_text(old_book.cellar(at)["B-1"].state) == result


def test_a_snapshot_that_lies_is_found(old_book: Any) -> None:
    """`check` holds each against a replay from nothing."""
    with old_book.writing() as session:
        session.connection.execute(update(SNAPSHOT).values(state=SNAPSHOT.c.state + " "))
    assert [finding.law for finding in broken(old_book)] == ["dropping the cache changes nothing"]

"""A computer whose clock is behind the newest entry: it is told so, and nothing is lost or out of order."""

from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest

from cooperage.book import Book, Lot, Upkeep, Vessel
from cooperage.book.declared import acts
from cooperage.book.errors import ClockBehind
from cooperage.book.log import Entry, entries
from cooperage.book.writing.moment import TOLERANCE
from cooperage.programme.walk.progress import mark, open_walk
from cooperage.tasting.flights import start_flight

if TYPE_CHECKING:
    from tests.conftest import Clock


def written(book: Book) -> list[Entry]:
    with book.reading() as connection:
        return entries(connection, in_written_order=True)


def _struck(book: Book) -> str:
    """Strike the last entry; returns the id of what was struck."""
    strike = book.write(acts.Strike(entry="last")).act
    assert isinstance(strike, acts.Strike)
    return strike.entry


def test_whatever_writes_says_that_the_clock_is_behind(cellar_book: Book, clock: "Clock") -> None:
    """An hour behind: an act, a strike, a vessel, a lot, care, a walk, a flight are refused in one line each."""
    walk = open_walk(cellar_book)
    before = written(cellar_book)
    clock.time -= timedelta(hours=1)

    def register(what: Any) -> None:
        with cellar_book.writing() as session:
            what(session)

    for work in (
        lambda: cellar_book.write(acts.Top(vessel="B-1", volume=1000, source="K-1", sure=True)),
        lambda: cellar_book.write(acts.Strike(entry="last")),
        lambda: register(lambda session: session.add_vessel(Vessel("", "B-9", "barrel", 225_000))),
        lambda: register(lambda session: session.add_lot(Lot("", "NEW", "new"))),
        lambda: register(lambda session: session.set_upkeep("B-1", Upkeep(topping="never"))),
        lambda: mark(cellar_book, walk, ("B-1", "top"), "skipped"),
        lambda: start_flight(cellar_book, ["B-1"]),
    ):
        with pytest.raises(ClockBehind, match=r"this computer's clock shows .*, but the newest entry was written at"):
            work()
    assert written(cellar_book) == before
    clock.time += timedelta(hours=1)
    assert _struck(cellar_book) == before[-1].id


def test_clocks_a_little_apart_keep_the_order_of_writing(cellar_book: Book, clock: "Clock") -> None:
    """Within two minutes the entry is written just after the newest, and is the last one to be struck."""
    newest = written(cellar_book)[-1]
    clock.time = newest.written_at - TOLERANCE + timedelta(seconds=1) - timedelta(minutes=1)
    drawn = cellar_book.write(acts.Sample(vessel="B-1", volume=50))
    assert drawn.at > newest.written_at
    assert written(cellar_book)[-1].id == drawn.id == cellar_book.newest_id()
    clock.time = newest.written_at - timedelta(minutes=2)
    assert _struck(cellar_book) == drawn.id
    assert not any(finding.broken for finding in cellar_book.check())


def test_an_entry_of_a_clock_far_ahead_holds_nobody_up_once_it_is_struck(cellar_book: Book, clock: "Clock") -> None:
    """Struck by the computer that wrote it, whose clock is still ahead, it is out of the way of the others."""
    right = clock.time
    clock.pass_days(400)
    cellar_book.write(acts.Sample(vessel="B-1", volume=50))
    ahead = clock.time
    clock.time = right
    with pytest.raises(ClockBehind):
        cellar_book.write(acts.Sample(vessel="B-1", volume=60))
    clock.time = ahead
    cellar_book.write(acts.Strike(entry="last"))
    clock.time = right
    cellar_book.write(acts.Sample(vessel="B-1", volume=60))
    assert cellar_book.cellar()["B-1"].ml == 225_000 - 60
    assert not any(finding.broken for finding in cellar_book.check())

"""The stops of a walk as plain values."""

import re
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.rounds.due import Task, rounds
from cooperage.programme.walk.progress import mark, open_walk
from cooperage.programme.walk.stops import ASKS, Stop, fulfilled_by, index_of_tag, next_open, stops_of
from cooperage.programme.walk.summary import summarise_walk
from cooperage.tui.rounds.words import sulphite_words
from cooperage.units import Units

if TYPE_CHECKING:
    from tests.tui.conftest import Clock


def stop(tag: str, task: Task = Task.TOP, state: str = "") -> Stop:
    return Stop(tag, task, (None, None, None, None), state)


def test_every_task_of_the_rounds_can_be_answered() -> None:
    """A task without an answer would be a stop one cannot leave."""
    assert set(ASKS) == set(Task)


def test_the_next_stop_goes_round_to_what_was_left_behind() -> None:
    """After the last stop come the ones that were passed over; None when all are dealt with."""
    walk = [stop("A"), stop("B", state="done"), stop("C")]
    assert next_open(walk, 0) == 2
    assert next_open(walk, 2) == 0
    assert next_open([stop("A", state="done"), stop("B", state="skipped")], 0) is None


def test_a_tag_leads_to_what_is_still_to_do_at_it() -> None:
    """Of a barrel's stops the first one still open; any of them when all are dealt with."""
    walk = [stop("A", state="done"), stop("A", Task.TASTE), stop("B", state="done")]
    assert (index_of_tag(walk, "A"), index_of_tag(walk, "B"), index_of_tag(walk, "C")) == (1, 2, None)


def test_which_act_does_which_task() -> None:
    """A reading does its own task only, and a note does none."""
    so2 = acts.Reading(vessel="A", property="free_so2_mg_l", value=20.0)
    assert fulfilled_by(so2) is Task.SULPHITE
    assert fulfilled_by(acts.Reading(vessel="A", property="ph", value=3.4)) is None
    assert fulfilled_by(acts.Sample(vessel="A", volume=50)) is Task.TASTE
    assert fulfilled_by(acts.Treat(vessel="A", treatment="inspect")) is None


def test_a_stop_said_to_be_done_is_to_do_again_when_its_entry_is_struck(book: Book) -> None:
    """The walk's word counts only while the book agrees."""
    walk = open_walk(book)
    topped = book.write(acts.Top(vessel="B-001", volume=1500, source="K-01"))
    mark(book, walk, ("B-001", "top"), "done")

    def state() -> str:
        cellar = book.cellar()
        return next(s.state for s in stops_of(rounds(cellar), walk, cellar) if s.key == ("B-001", "top"))

    assert state() == "done"
    book.write(acts.Strike(entry=topped.id))
    assert state() == ""


def test_a_stop_done_on_a_walk_left_open_comes_due_again(book: Book, clock: "Clock") -> None:
    """A walk forgotten for a month does not hide what has come due since."""
    walk = open_walk(book)
    book.write(acts.Top(vessel="B-001", volume=1500, source="K-01"))
    mark(book, walk, ("B-001", "top"), "done")
    clock.at = datetime(2026, 10, 3, 9, tzinfo=UTC) + timedelta(days=30)
    cellar = book.cellar()
    assert next(s.state for s in stops_of(rounds(cellar), walk, cellar) if s.key == ("B-001", "top")) == ""


def test_the_summary_counts_litres_by_keg_without_what_was_struck(book: Book) -> None:
    """1.5 L from K-01 stand, 1.2 L from K-02 stand, and a struck topping counts for nothing."""
    walk = open_walk(book)
    book.write(acts.Top(vessel="B-001", volume=1500, source="K-01"))
    book.write(acts.Top(vessel="B-002", volume=1200, source="K-02"))
    struck = book.write(acts.Top(vessel="B-003", volume=1100, source="K-02"))
    book.write(acts.Strike(entry=struck.id))
    summary = summarise_walk(book, walk, [stop("B-001", state="done"), stop("B-009")])
    assert (summary.toppings, summary.by_keg) == (2, {"K-01": 1500, "K-02": 1200})
    assert [s.tag for s in summary.states[""]] == ["B-009"]


def test_sulphite_fits_the_card_with_its_unit(demo: Path) -> None:
    """Of every barrel of the demo, at 80 columns: both figures, one unit, the band and what was measured when."""
    book = Book.open(str(demo))
    words = [sulphite_words(standing, Units()) for standing in cellar_now(book).barrels if standing.ml]
    book.close()
    assert max(map(len, words)) <= 80 - 2
    assert all(re.match(r"SO2 (\d\.\d\d mg/L|\?) molecular, (\d+\.\d|\?) free \(", line) for line in words)

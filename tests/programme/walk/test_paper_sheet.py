"""A walk on paper, typed up afterwards."""

from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.errors import Implausible, InTheFuture
from cooperage.programme.pasted.table import LinesUnread
from cooperage.programme.rounds.due import Task, rounds
from cooperage.programme.walk.paper_sheet import read_sheet, write_sheet
from cooperage.programme.walk.progress import begin_sheet, end_walk, mark, open_walk
from cooperage.programme.walk.stops import stops_of

if TYPE_CHECKING:
    from tests.conftest import Clock


SHEET = """
# walked by candle light
B-1  0.8 weeping; hoop rusty
b2: 1.1
from T-1
B-3 1.2
B-4 skip
B-1 sulphite 24
"""


@pytest.fixture
def walked(cellar_book: Book, clock: "Clock") -> Any:
    """The cellar with all barrels full, 40 days later; the sheet was walked five days before that."""
    for tag in ("B-2", "B-3", "B-4"):
        cellar_book.write(acts.Fill(vessel=tag, source="T-1"))
    clock.pass_days(40)
    return cellar_book, clock() - timedelta(days=5)


def test_a_sheet_is_written_when_it_was_walked(walked: Any) -> None:
    """Litres, looks and readings stand at the time of the walk, in the hand that walked it."""
    book, at = walked
    sheet = read_sheet(book, SHEET, at, hand="Ada")
    assert sheet.words == "5 entries from 5 lines, 1 not done"
    written = write_sheet(book, sheet)
    assert {(each.at, each.act.hand) for each in written} == {(at, "Ada")}
    result = [(each.act.kind, getattr(each.act, "vessel", ""), getattr(each.act, "source", "")) for each in written]
    assert result == [
        ("look", "B-1", ""),
        ("top", "B-1", "K-1"),
        ("top", "B-2", "K-1"),
        ("top", "B-3", "T-1"),
        ("reading", "B-1", ""),
    ]
    assert ("B-1", Task.TOP) not in {(due.barrel, due.task) for due in rounds(book.cellar())}
    assert not any(finding.broken for finding in book.check())


def test_a_sheet_with_a_line_that_is_not_understood_writes_nothing(walked: Any) -> None:
    """Each such line is told with its number and reason."""
    book, at = walked
    sheet = read_sheet(book, SHEET + "B-9 1\nB-2 blah\n", at)
    assert [(each.line, each.text) for each in sheet.unread] == [(9, "B-9 1"), (10, "B-2 blah")]
    before = book.cellar()["B-1"].state.entries
    with pytest.raises(LinesUnread, match="line 9"):
        write_sheet(book, sheet)
    assert book.cellar()["B-1"].state.entries == before


def test_what_is_unusual_is_asked_back_and_all_of_it_waits(walked: Any) -> None:
    """Eight litres into one barrel: nothing is written until somebody is sure."""
    book, at = walked
    sheet = read_sheet(book, "B-2 1.1\nB-1 8", at)
    before = book.cellar()["B-2"].state.entries
    with pytest.raises(Implausible):
        write_sheet(book, sheet)
    assert book.cellar()["B-2"].state.entries == before
    assert len(write_sheet(book, sheet, sure=True)) == 2


def test_a_sheet_begun_on_screen_counts_from_when_it_was_walked(walked: Any) -> None:
    """What is written at that time is done on it, today's walk waits meanwhile, and both are taken up where left."""
    book, at = walked
    today = open_walk(book)
    mark(book, today, ("B-2", "top"), "skipped")
    sheet = begin_sheet(book, at)
    assert open_walk(book) == sheet

    def state(walk: Any) -> Any:
        cellar = book.cellar(at)
        return {
            (stop.tag, each.task): each.state for stop in stops_of(rounds(cellar), walk, cellar) for each in stop.tasks
        }

    assert state(sheet)["B-1", "top"] == ""
    book.write(acts.Top(vessel="B-1", volume=800, source="K-1", at=at))
    mark(book, sheet, ("B-1", "top"), "done")
    assert state(open_walk(book))["B-1", "top"] == "done"
    end_walk(book, sheet)
    assert open_walk(book) == today


def test_nobody_walks_tomorrow(walked: Any) -> None:
    """A sheet from the future is refused."""
    book, _ = walked
    with pytest.raises(InTheFuture):
        begin_sheet(book, book.now() + timedelta(days=1))


def test_a_line_of_a_sheet_is_the_line_of_a_stop(walked: Any) -> None:
    """Several readings, commas, barrel work and a keg's tag without its dash; a hand holds for the lines after it."""
    book, at = walked
    text = (
        "B-1: 1.1, so2 24 ph 3.41; weeping, smells of vinegar\nby Tove\nB-2 1.0 from k1; taste clean\nB-3 out of reach"
    )
    sheet = read_sheet(book, text, at, hand="Ada")
    assert [[(act.kind, act.hand) for act in line.acts] for line in sheet.lines] == [
        [("look", "Ada"), ("reading", "Ada"), ("reading", "Ada"), ("top", "Ada")],
        [("treat", "Tove"), ("top", "Tove")],
        [],
    ]
    assert sheet.lines[1].acts[-1].source == "K-1"  # type: ignore[attr-defined]
    assert [line.done_tasks for line in sheet.lines[:2]] == [(Task.TOP, Task.SULPHITE), (Task.TOP,)]
    assert sheet.lines[2].not_done == "out of reach"

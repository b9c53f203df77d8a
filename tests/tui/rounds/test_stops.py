"""The stops of a walk as plain values."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from rich.style import Style

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.programme.rounds.due import Task, rounds
from cooperage.programme.walk.part_of_walk import TASK_WORDS, NoSuchFilter, WalkFilter, filter_words, read_filter
from cooperage.programme.walk.progress import mark, open_walk
from cooperage.programme.walk.stops import (
    DONE_BY,
    Stop,
    StopOrder,
    StopTask,
    fulfilled_by,
    index_of_tag,
    next_open,
    still_to_do,
    stops_of,
)
from cooperage.programme.walk.summary import summarise_walk
from cooperage.tui.rounds.words import stop_line
from cooperage.units import DEFAULT

if TYPE_CHECKING:
    from tests.tui.conftest import Clock


def stop(tag: str, *tasks: Task, state: str = "", room: str | None = None) -> Stop:
    found = tuple(StopTask(task, state=state) for task in tasks or (Task.TOP,))
    return Stop(tag, (room, None, None, None), found)


def test_every_task_of_the_rounds_can_be_done_and_named() -> None:
    """A task that nothing does would be a stop one cannot leave."""
    assert set(DONE_BY) == set(TASK_WORDS) == set(Task)


def test_a_stop_is_a_vessel_with_all_its_tasks(book: Book, clock: "Clock") -> None:
    """Each once, in walking order, its tasks in the order in which they are done, with reasons and expected litres."""
    clock.at += timedelta(days=60)
    cellar = book.cellar()
    due = rounds(cellar)
    stops = stops_of(due, open_walk(book), cellar)
    assert [each.tag for each in stops] == list(dict.fromkeys(each.barrel for each in due))
    first = stops[0]
    assert first.all_tasks == first.open_tasks == (Task.TOP, Task.SULPHITE, Task.TASTE)
    assert all(each.why for each in first.tasks)
    top = next(each for each in due if (each.barrel, each.task) == (first.tag, Task.TOP))
    assert (first.expected_ml, first.keg, first.level) == (top.expected_ml, top.keg, top.level)


def test_a_stop_is_done_when_all_of_it_is() -> None:
    """What is left is named; one task skipped makes it no done stop, and none is lost."""
    begun = stop("A", Task.TOP, Task.SULPHITE, Task.TASTE).with_state([Task.TOP], "done")
    assert (begun.state, still_to_do(begun)) == ("", "SO2, taste")
    assert begun.with_state([Task.SULPHITE, Task.TASTE], "done").state == "done"
    assert begun.with_state(begun.open_tasks, "skipped").state == "skipped"
    assert begun.with_state([Task.SULPHITE], "skipped").with_state([Task.TASTE], "out of reach").state == "out of reach"


def test_the_next_stop_goes_round_to_what_was_left_behind() -> None:
    """After the last stop come the ones that were passed over; None when all are dealt with."""
    walk = [stop("A"), stop("B", state="done"), stop("C")]
    assert next_open(walk, 0) == 2
    assert next_open(walk, 2) == 0
    assert next_open([stop("A", state="done"), stop("B", state="skipped")], 0) is None


def test_a_tag_leads_to_its_stop() -> None:
    """Done or not; None where nothing is due."""
    walk = [stop("A", state="done"), stop("B")]
    assert (index_of_tag(walk, "A"), index_of_tag(walk, "B"), index_of_tag(walk, "C")) == (0, 1, None)


def test_one_part_of_the_walk_can_be_chosen(book: Book) -> None:
    """By a task as a hand or a script calls it, or by a room; a vessel comes with all its tasks."""
    walk = [stop("A", Task.TOP, Task.SULPHITE, room="Low"), stop("B", room="Loft"), stop("C", Task.TASTE, room="Low")]
    assert filter_words(walk) == ("top", "SO2", "taste", "Low", "Loft")

    def chosen(word: str) -> list[str]:
        return [each.tag for each in read_filter(word, book.cellar()).chosen(walk)]

    assert chosen("") == ["A", "B", "C"]
    assert chosen("so2") == chosen("Sulphite") == ["A"]
    assert chosen("TASTE") == ["C"]
    assert read_filter("so2", book.cellar()).chosen(walk)[0].all_tasks == (Task.TOP, Task.SULPHITE)
    rooms = {standing.position[0] for standing in book.cellar() if standing.position[0]}
    for room in rooms:
        assert read_filter(room.upper(), book.cellar()) == WalkFilter(room=room)
    due = rounds(book.cellar())
    assert {each.task for each in read_filter("top", book.cellar()).chosen_due(due)} == {Task.TOP}
    with pytest.raises(NoSuchFilter, match="'attic' is neither a task of the rounds nor a room"):
        read_filter("attic", book.cellar())


def test_which_act_does_which_task() -> None:
    """A reading does its own task only, and a note does none; an inspected barrel was seen full."""
    so2 = acts.Reading(vessel="A", property="free_so2_mg_l", value=20.0)
    assert fulfilled_by(so2) is Task.SULPHITE
    assert fulfilled_by(acts.Reading(vessel="A", property="ph", value=3.4)) is None
    assert fulfilled_by(acts.Sample(vessel="A", volume=50)) is Task.TASTE
    assert fulfilled_by(acts.Treat(vessel="A", treatment="inspect")) is Task.TOP
    assert fulfilled_by(acts.Treat(vessel="A", treatment="sniff")) is Task.SNIFF
    assert fulfilled_by(acts.Treat(vessel="A", treatment="stir")) is None
    assert fulfilled_by(acts.Gauge(vessel="A", headspace=20.0)) is Task.GAUGE
    assert fulfilled_by(acts.Look(vessel="A", level="full")) is Task.TOP
    assert fulfilled_by(acts.Look(vessel="A", note="dusty")) is None


def state_of(stops: list[Stop], tag: str, task: Task) -> str:
    return next(each.state for stop in stops if stop.tag == tag for each in stop.tasks if each.task is task)


def test_a_stop_said_to_be_done_is_to_do_again_when_its_entry_is_struck(book: Book) -> None:
    """The walk's word counts only while the book agrees."""
    walk = open_walk(book)
    topped = book.write(acts.Top(vessel="B-001", volume=1500, source="K-01"))
    mark(book, walk, ("B-001", "top"), "done")

    def state() -> str:
        cellar = book.cellar()
        return state_of(stops_of(rounds(cellar), walk, cellar), "B-001", Task.TOP)

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
    assert state_of(stops_of(rounds(cellar), walk, cellar), "B-001", Task.TOP) == ""


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


@pytest.mark.slow
async def test_the_row_of_the_stop_at_hand_stands_on_a_plate(opened: Any) -> None:
    """While the line has the cursor too; the other rows stand on the ground."""
    async with opened() as pilot:
        listed = pilot.app.screen.query_one("#stops")

        def grounds(y: int) -> set[str]:
            return {str(each.style.bgcolor.name) for each in listed.render_line(y) if each.style and each.style.bgcolor}

        lift, soot = (pilot.app.theme_variables[role] for role in ("lift", "soot"))
        assert grounds(0) == {lift.lower()}
        assert grounds(1) == {soot.lower()}


def test_a_row_says_its_state_by_a_mark_and_in_its_colour() -> None:
    """Trouble and an order that cannot be done in one colour, what is due in another; what is done is quiet."""
    due = Stop("A", ("Low", "A", 1, 1), (StopTask(Task.TOP),))
    stuck = replace(due, orders=(StopOrder(3, "order 3: fill", is_impossible=True),))
    skipped, done = (due.with_state([Task.TOP], state) for state in ("skipped", "done"))

    def inks(each: Stop, trouble: str = "") -> dict[str, str]:
        line = stop_line(each, 60, DEFAULT, lambda role: Style(meta={"role": role}), trouble=trouble)
        spans = [(line.plain[span.start : span.end].strip(), span.style) for span in line.spans]
        return {text: style.meta["role"] for text, style in spans if isinstance(style, Style) and style.meta}

    assert inks(due)["○"] == "honey"
    assert inks(due, "▲ leak")["▲ leak"] == "ember"
    assert inks(stuck)["▲ order 3"] == "ember"
    assert inks(skipped)["»"] == "quiet"
    assert (inks(done)["✓"], inks(done)["done"]) == ("rain", "quiet")

"""Readings that are due because a limit may be passed, unseen, before the next walk."""

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import pytest

from cooperage.book import Book, Upkeep
from cooperage.book.declared import acts
from cooperage.book.facts import FACTS, set_fact
from cooperage.programme.ageing.aged import AgedStanding, cellar_now
from cooperage.programme.rounds.due import Due, Task, next_due
from cooperage.programme.rounds.risk import LONGEST_DAYS

if TYPE_CHECKING:
    from tests.conftest import Clock


def measured(book: Book, free: float, ph: float = 3.5, **more: float) -> datetime:
    """Write what was measured in B-1 and return when."""
    for name, value in {"free_so2_mg_l": free, "ph": ph, **more}.items():
        book.write(acts.Reading(vessel="B-1", property=name, value=value, sure=True))
    return book.now()


def due_of(book: Book, task: Task = Task.SULPHITE) -> Due | None:
    """Return what is due or coming at B-1 of one kind."""
    standing = cellar_now(book)["B-1"]
    return next((due for due in next_due(standing) if due.task is task), None)


def expected(book: Book, task: Task = Task.SULPHITE) -> Due:
    """Return it where it must be there."""
    due = due_of(book, task)
    assert due is not None
    return due


def give(book: Book, key: str, value: float) -> None:
    """Give the cellar a fact."""
    with book.writing() as session:
        set_fact(session.connection, FACTS[key], value)


def test_the_nearer_the_floor_the_sooner_it_is_read_again(cellar_book: Book) -> None:
    """32 mg/L at pH 3.5 waits longer than 27, and 27 longer than 22: the floor is near 19, give or take the warmth."""
    dues = []
    for free in (32.0, 27.0, 22.0):
        at = measured(cellar_book, free)
        dues.append(expected(cellar_book).due - at)
    assert dues == sorted(dues, reverse=True)
    assert dues[-1] < timedelta(days=21)
    assert dues[0] > timedelta(days=24)


def test_what_is_due_has_its_chance(cellar_book: Book) -> None:
    """The reason has the figure now, the chance and the floor; the chance is the accepted one or more."""
    measured(cellar_book, 27.0)
    why = expected(cellar_book).why
    assert why.startswith("molecular SO2 0.")
    assert "% likely under 0.50 by the walk after" in why
    assert 9 <= int(why.split(", ")[1].split(" %")[0]) <= 12


def test_what_was_just_read_is_not_asked_for_again(cellar_book: Book) -> None:
    """A reading at the floor's edge is for the next walk, not for this one: only a dose helps now."""
    at = measured(cellar_book, 20.0)
    standing = cellar_now(cellar_book)["B-1"]
    assert standing.molecular_so2 is not None
    assert standing.molecular_so2 > 0.5
    assert expected(cellar_book).due >= at + timedelta(days=6)


def test_the_cellar_chooses_the_chance_and_the_days_between_walks(cellar_book: Book) -> None:
    """Accepting one in a thousand asks sooner than one in two; walking fortnightly asks sooner than weekly."""
    measured(cellar_book, 28.0)
    usual = expected(cellar_book).due
    give(cellar_book, "risk", 0.1)
    assert expected(cellar_book).due < usual
    give(cellar_book, "risk", 50.0)
    bold = expected(cellar_book).due
    assert bold > usual
    give(cellar_book, "walk_every", 14.0)
    assert expected(cellar_book).due == bold - timedelta(days=7)


def test_an_interval_that_was_set_holds_besides(cellar_book: Book) -> None:
    """A barrel of 90 mg/L, far from its floor, is read after 20 days where that was set, else after half a year."""
    at = measured(cellar_book, 90.0)
    unset = expected(cellar_book).due
    assert unset <= at + timedelta(days=LONGEST_DAYS)
    assert unset > at + timedelta(days=60)
    with cellar_book.writing() as session:
        session.set_upkeep("B-1", Upkeep(sulphite_every_days=20))
    assert expected(cellar_book).due == pytest.approx(at + timedelta(days=20), abs=timedelta(hours=1))


def test_rising_acidity_is_read_before_it_passes_its_ceiling(cellar_book: Book, clock: "Clock") -> None:
    """0.40, 0.55 and 0.70 g/L in six months: due before 0.80 is passed; at a steady 0.40 nothing is."""
    for va in (0.40, 0.40, 0.40):
        measured(cellar_book, 60.0, va_g_l=va)
        clock.pass_days(60)
    assert due_of(cellar_book, Task.VA) is None
    for va in (0.50, 0.62, 0.74):
        measured(cellar_book, 60.0, va_g_l=va)
        clock.pass_days(60)
    due = expected(cellar_book, Task.VA)
    assert due.due <= cellar_book.now()
    assert "0.80" in due.why


def test_a_figure_goes_on_as_it_was_forecast(cellar_book: Book, clock: "Clock") -> None:
    """What the course promised for 50 days on is what is shown 50 days on, while nothing is written."""
    measured(cellar_book, 50.0)
    clock.pass_days(2)
    standing = cellar_now(cellar_book)["B-1"]
    assert isinstance(standing, AgedStanding)
    course = standing.molecular_course()
    free = standing.now("free_so2_mg_l").course
    assert course is not None
    assert free is not None
    promised, sd = free.after(50.0)
    molecular, _ = course.after(50.0)
    at = standing.at + timedelta(days=50)
    later = cellar_now(cellar_book, at)["B-1"].figure("free_so2_mg_l")
    assert later.value == pytest.approx(promised, rel=1e-6)
    assert later.uncertainty == pytest.approx(sd, rel=3e-3)
    assert cellar_now(cellar_book, at)["B-1"].molecular_so2 == pytest.approx(molecular, rel=1e-3)


def test_gravity_that_stands_is_not_asked_for(cellar_book: Book, clock: "Clock") -> None:
    """Read four times the same, and then for half a year not at all: no reading of it is coming."""
    for _ in range(4):
        measured(cellar_book, 30.0, sg=1.015)
        clock.pass_days(30)
    clock.pass_days(150)
    assert due_of(cellar_book, Task.GRAVITY) is None


def test_gravity_that_moves_is_read_before_it_has_fallen_far(cellar_book: Book, clock: "Clock") -> None:
    """Down from 1.015 to 1.003 in steps of a month: the next reading is due within that month."""
    for gravity in (1.015, 1.015, 1.011, 1.007, 1.003):
        at = measured(cellar_book, 30.0, sg=gravity)
        clock.pass_days(30)
    due = expected(cellar_book, Task.GRAVITY)
    assert due.due - at < timedelta(days=30)
    assert due.why.startswith("gravity 0.99") or due.why.startswith("gravity 1.00")
    assert "read as 1.003" in due.why

"""How each vessel stands at a glance."""

from typing import TYPE_CHECKING

import pytest

from cooperage.book import Book, Upkeep
from cooperage.book.declared import acts
from cooperage.programme.losses.level import FULL_WITHIN_ML
from cooperage.programme.search.marks import State, marks_of

if TYPE_CHECKING:
    from tests.conftest import Clock


def test_a_barrel_is_full_then_short_then_low(cellar_book: Book, clock: "Clock") -> None:
    """4 % of 225 L a year (common practice, no source) is 24.6 ml a day: 29 days are 0.7 L, 100 are 2.5 L.

    A barrel without a limit of its own is low beyond a hundredth of its size, 2.25 L.
    """
    full = marks_of(cellar_book, cellar_book.cellar())
    assert full.states(cellar_book.cellar()["B-1"]) == (State.FULL,)
    clock.pass_days(29)
    cellar = cellar_book.cellar()
    short = marks_of(cellar_book, cellar)
    assert short.short_ml(cellar["B-1"]) == pytest.approx(714, rel=0.05)
    assert short.percent_full(cellar["B-1"]) == pytest.approx(100 - 0.317, abs=0.02)
    assert short.states(cellar["B-1"]) == ()
    assert "top" in [due.task for due in short.due["B-1"]]
    clock.pass_days(71)
    cellar = cellar_book.cellar()
    assert marks_of(cellar_book, cellar).states(cellar["B-1"]) == (State.LOW,)


def test_its_own_limit_says_when_a_barrel_is_low(cellar_book: Book, clock: "Clock") -> None:
    """Where the upkeep says 0.5 L, 0.7 L are low."""
    with cellar_book.writing() as session:
        session.set_upkeep("B-1", Upkeep(top_below_ml=500))
    clock.pass_days(29)
    cellar = cellar_book.cellar()
    assert marks_of(cellar_book, cellar).states(cellar["B-1"]) == (State.LOW,)


def test_new_wood_soaks_for_four_weeks(cellar_book: Book, clock: "Clock") -> None:
    """The first fill of a new barrel soaks; a used one does not, nor does it after four weeks."""
    cellar_book.write(acts.Fill(vessel="B-2", source="T-1"))
    cellar = cellar_book.cellar()
    marks = marks_of(cellar_book, cellar)
    assert State.SOAKING in marks.states(cellar["B-2"])
    assert State.SOAKING not in marks.states(cellar["B-1"])
    clock.pass_days(29)
    assert State.SOAKING not in marks.states(cellar_book.cellar()["B-2"])


def test_empty_and_retired(cellar_book: Book) -> None:
    """What holds nothing is empty, what has left is retired, and neither is anything else."""
    cellar_book.write(acts.Retire(vessel="B-3", reason="cracked"))
    cellar = cellar_book.cellar()
    marks = marks_of(cellar_book, cellar)
    assert marks.states(cellar["B-4"]) == (State.EMPTY,)
    assert marks.states(cellar["B-3"]) == (State.RETIRED,)
    assert marks.level_ml(cellar["B-4"]) == 0
    assert marks.percent_full(cellar["B-4"]) == 0


def test_a_tank_is_told_as_the_book_has_it(cellar_book: Book) -> None:
    """900 L came, 40 L went into the keg and 225 L into B-1: 635 of 1,000 L are there."""
    cellar = cellar_book.cellar()
    marks = marks_of(cellar_book, cellar)
    assert marks.percent_full(cellar["T-1"]) == 63.5
    assert marks.short_ml(cellar["T-1"]) == 365_000 > FULL_WITHIN_ML

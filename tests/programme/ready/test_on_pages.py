"""What is ready on the first page and on the page of a vessel, and what panels scored of it through time."""

from dataclasses import replace

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.page.marks import page_of
from cooperage.programme.ready.definitions import NONE_YET, define
from cooperage.programme.ready.readiness import ReadyState
from cooperage.programme.today.aside import aside_of
from cooperage.programme.today.glance import today_of
from cooperage.tui.on_screen import on_screen
from cooperage.tui.today.below import rest_lines
from cooperage.units import DEFAULT

pytestmark = pytest.mark.usefixtures("learned_once")


def lines(book: Book, most: int) -> list[str]:
    cellar = cellar_now(book)
    today = today_of(book, cellar)
    return rest_lines(today, aside_of(book, cellar, today.rates), DEFAULT, 120, most)


def test_the_first_page(tasted_book: Book) -> None:
    """With room there is a line for it, in less room it takes that of flights, and with none defined it names how."""
    assert f"Ready  {on_screen(NONE_YET)}" in lines(tasted_book, 5)
    assert not [line for line in lines(tasted_book, 4) if line.startswith("Ready")]
    define(tasted_book, "overall at least 13.5; oak at most 6")
    for most in (4, 5):
        [ready] = [line for line in lines(tasted_book, most) if line.startswith("Ready")]
        assert ready.startswith("Ready  1 ready: B-2")
        assert ready.endswith("1 passed: B-3")
        assert len(lines(tasted_book, most)) == most


def test_the_page_of_a_vessel(tasted_book: Book) -> None:
    """Its state, and every flight with what was scored on which scale, oldest first."""
    define(tasted_book, "overall at least 13.5; oak at most 6")
    page = page_of(tasted_book, cellar_now(tasted_book), "B-3")
    assert page.ready is not None
    assert page.ready.state is ReadyState.PASSED
    last = page.past.scores[-1]
    assert (last.flight, last.scale) == ("F-4", "0-20")
    assert last.mean == pytest.approx(12.0)
    [oak] = last.attributes
    assert (oak.name, oak.scale) == ("oak", "0-10")
    assert oak.mean == pytest.approx(8.5)
    assert set(last.words) == {"warm bread"}


def test_a_last_entry_that_has_no_room_shows_that_it_goes_on(tasted_book: Book) -> None:
    """On one line of a small screen its end is out of sight, and marked."""
    tasted_book.write(acts.Look(vessel="B-2", smell="vinegar", note="below the chime, on the side of the door " * 4))
    cellar = cellar_now(tasted_book)
    today = today_of(tasted_book, cellar)
    for most in (1, 2):
        last = rest_lines(today, aside_of(tasted_book, cellar, today.rates), DEFAULT, 78, most)[-1]
        assert last.startswith("Last entry")
        assert last.endswith("…")
        assert len(last) <= 78


def test_what_came_later_for_a_filed_period_stands_under_its_own_name(tasted_book: Book) -> None:
    cellar = cellar_now(tasted_book)
    today = today_of(tasted_book, cellar)
    aside = replace(aside_of(tasted_book, cellar, today.rates), flights=(), sittings=(), runs=(), later=("2026-10", 2))
    shown = rest_lines(today, aside, DEFAULT, 120, 5)
    assert "Period 2026-10 is filed, 2 entries came later" in shown
    assert not any(line.startswith("Panel") for line in shown)

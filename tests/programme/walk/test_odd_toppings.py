"""A topping that the barrel should not take by its level now is asked back at the stop."""

from dataclasses import replace

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.programme.losses.level import Level
from cooperage.programme.together import AskedTogether
from cooperage.programme.walk.progress import open_walk
from cooperage.programme.walk.stop_line import StopActs, odd_toppings, write_stop_acts
from cooperage.programme.walk.stops import Stop
from cooperage.units import DEFAULT


def level_of(short: int, most: int) -> Level:
    """A full barrel of 200 L that should be short by so many millilitres now, and at most by so many."""
    return Level(200_000 - short, 200_000 - most, 200_000, 200_000, "calculated")


@pytest.mark.parametrize(("typed", "is_asked"), [(700, False), (1_000, False), (1_100, True), (6_000, True)])
def test_a_topping_that_the_barrel_should_not_take_is_asked_back(typed: int, is_asked: bool) -> None:
    """By its level now; not full is no question, for that is seen."""
    stop = Stop("B-1", (None, None, None, None), level=level_of(700, 780))
    top = acts.Top(vessel="B-1", volume=typed, source="K-1")
    asked = [each.question(DEFAULT) for each in odd_toppings(stop, [top])]
    assert bool(asked) is is_asked
    if asked:
        assert asked[0] == f"Is it {typed / 1000:.1f} L? B-1 should take 0.7 L, 0.8 L at most. Leaking, or a slip?"
    assert not list(odd_toppings(stop, [replace(top, not_full=True)]))


def test_what_is_not_known_is_not_asked_about() -> None:
    """No level, or one of which the least is not known."""
    top = acts.Top(vessel="B-1", volume=5_000, source="K-1")
    stop = Stop("B-1", (None, None, None, None))
    assert not list(odd_toppings(stop, [top]))
    assert not list(odd_toppings(replace(stop, level=replace(level_of(700, 780), low=None)), [top]))


def test_an_odd_topping_is_written_by_a_yes(cellar_book: Book) -> None:
    """Before that, nothing is."""
    stop = Stop("B-1", ("Low", None, None, None), keg="K-1", level=level_of(700, 780))
    line = StopActs((acts.Top(vessel="B-1", volume=1_100, source="K-1"),))
    walk = open_walk(cellar_book)
    with pytest.raises(AskedTogether, match=r"Is it 1\.1 L"):
        write_stop_acts(cellar_book, walk, stop, line)
    (written,) = write_stop_acts(cellar_book, walk, stop, line, sure=True)
    assert written.act.kind == "top"

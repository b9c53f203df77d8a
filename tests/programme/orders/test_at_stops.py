"""Orders at the stops of the walk: which make a stop, what a line does of them, and what the day counts."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from cooperage.book import Act, Book
from cooperage.book.declared import acts
from cooperage.programme.orders.at_stops import closing, day_stops, done_by_acts, ordered_stops
from cooperage.programme.orders.checked import check_orders
from cooperage.programme.orders.kept import open_orders, order_numbered
from cooperage.programme.orders.order import Order, OrderState
from cooperage.programme.orders.written import write_order
from cooperage.programme.rounds.due import rounds
from cooperage.programme.several.wanted import Wanted
from cooperage.programme.walk.progress import mark, open_walk, walk_under_way
from cooperage.programme.walk.stop_line import StopActs, write_stop_acts
from cooperage.programme.walk.stops import Stop, still_to_do, stops_of
from cooperage.units import local_day
from tests.programme.several.conftest import filled
from tests.programme.several.test_together import levels, rows


def order(book: Book, kind: str, days: int = 0, /, **texts: str) -> Order:
    """Write an order for so many days from today, `from_` standing for from."""
    named = {name.rstrip("_"): text for name, text in texts.items()}
    return write_order(book, Wanted(kind, named), local_day(book.now()) + timedelta(days=days))


def stops(book: Book) -> dict[str, Stop]:
    """The stops that only orders make, by tag."""
    cellar = book.cellar()
    return {each.tag: each for each in ordered_stops([], check_orders(book), open_walk(book), cellar)}


def test_an_order_of_today_or_before_makes_a_stop_and_tomorrows_does_not(small: Book) -> None:
    """At every vessel that it is about, with its number, its day where that is past, and what it would do."""
    order(small, "fill", vessel="B-2,B-3", from_="T-1")
    order(small, "treat", -2, vessel="B-3", treatment="rinse")
    order(small, "treat", 1, vessel="B-1", treatment="rinse")
    found = stops(small)
    assert set(found) == {"B-2", "B-3"}
    assert [each.number for each in found["B-3"].orders] == [2, 1]
    late, today = found["B-3"].orders
    assert late.words.startswith("order 2, late: ")
    assert today.words.startswith("order 1: fill B-2, B-3 from T-1")
    assert today.does.startswith("order 1 as it stands: fill B-2, B-3 from T-1, ")
    assert still_to_do(found["B-2"]) == "order 1: fill"
    assert found["B-2"].state == ""


def test_an_impossible_order_makes_a_stop_that_says_why(small: Book) -> None:
    """It cannot be done there, and is not offered."""
    order(small, "sample", vessel="B-3", volume="50 ml")
    (one,) = stops(small)["B-3"].orders
    assert one.is_impossible
    assert "cannot come out of it" in one.why
    assert one.does == ""
    assert stops(small)["B-3"].order_at_hand is None


def test_a_skipped_order_is_left_for_this_walk_and_stays_open(small: Book) -> None:
    """The walk knows it beside the tasks; a done one keeps its stop, and a struck one is to do again."""
    order(small, "treat", vessel="B-3", treatment="rinse")
    walk, stop = open_walk(small), stops(small)["B-3"]
    write_stop_acts(small, walk, stop, StopActs((), left="skipped"))
    assert stops(small)["B-3"].state == "skipped"
    assert [each.number for each in open_orders(small)] == [1]
    mark(small, walk, ("B-3", "order 1"), "done")
    assert stops(small)["B-3"].state == ""  # the book does not agree: nothing of it was written


def test_what_is_typed_at_a_stop_does_the_order_of_the_same_work(small: Book) -> None:
    """The entry is the order's, written in one transaction; struck, the order is open again, and to do."""
    order(small, "treat", vessel="B-3", treatment="rinse")
    checked, walk, stop = check_orders(small), open_walk(small), stops(small)["B-3"]
    line = (acts.Look(vessel="B-3", smell="sound"), acts.Treat(vessel="B-3", treatment="rinse"))
    done = done_by_acts(line, checked)
    assert {nth: each.number for nth, each in done.items()} == {1: 1}
    written = write_stop_acts(small, walk, stop, StopActs(line), closing=closing(done))
    assert (order_numbered(small, "1").state, order_numbered(small, "1").entries) == (OrderState.DONE, (written[1].id,))
    assert stops(small)["B-3"].state == "done"
    for each in reversed(written):
        small.write(acts.Strike(entry=each.id))
    assert stops(small)["B-3"].state == ""


@pytest.mark.parametrize(
    "act",
    [
        acts.Treat(vessel="B-3", treatment="steam"),
        acts.Treat(vessel="B-1", treatment="rinse"),
        acts.Look(vessel="B-3", smell="sound"),
    ],
)
def test_other_work_does_no_order(small: Book, act: Any) -> None:
    """Other work, work at another vessel, and an order of several vessels, which no line does in part."""
    order(small, "treat", vessel="B-3", treatment="rinse")
    order(small, "look", vessel="B-3,B-1", smell="sound")
    assert done_by_acts([act], check_orders(small)) == {}


def test_what_is_typed_is_refused_whole_where_the_order_was_done_meanwhile(small: Book) -> None:
    """Neither the act nor the walk's word is written."""
    from cooperage.programme.orders.doing import do_order
    from cooperage.programme.orders.order import NotOpen

    order(small, "treat", vessel="B-3", treatment="rinse")
    checked, walk, stop = check_orders(small), open_walk(small), stops(small)["B-3"]
    do_order(small, "1")
    line = (acts.Treat(vessel="B-3", treatment="rinse"),)
    with pytest.raises(NotOpen):
        write_stop_acts(small, walk, stop, StopActs(line), closing=closing(done_by_acts(line, checked)))
    assert walk.states == {}
    assert stops(small) == {}


def test_the_day_counts_the_stops_that_the_rounds_show(small: Book) -> None:
    """By one definition, with orders, whether a walk was begun or not; none is begun by counting."""
    order(small, "treat", vessel="B-3", treatment="rinse")
    cellar = small.cellar()
    due = rounds(cellar)
    counted = day_stops(small, cellar, due, check_orders(small))
    assert walk_under_way(small) is None
    walk = open_walk(small)
    shown = ordered_stops(stops_of(due, walk, cellar), check_orders(small), walk, cellar)
    assert [each.tag for each in counted] == [each.tag for each in shown]
    assert "B-3" in [each.tag for each in counted]
    mark(small, walk, (shown[0].tag, shown[0].open_keys[0]), "skipped")
    assert [each.state for each in day_stops(small, cellar, due, check_orders(small))].count("skipped") == (
        1 if len(shown[0].open_keys) == 1 else 0
    )


LINES: list[tuple[str, dict[str, str], Act]] = [
    ("treat", {"vessel": "B-1", "treatment": "stir"}, acts.Treat(vessel="B-1", treatment="stir")),
    ("look", {"vessel": "B-1", "smell": "sound"}, acts.Look(vessel="B-1", smell="sound", bung="weeping")),
    ("top", {"vessel": "B-1", "from": "K-1", "volume": "1 L"}, acts.Top(vessel="B-1", source="K-1", volume=1_400)),
    (
        "addition",
        {"vessel": "B-1", "substance": "metabisulphite", "amount": "2 g"},
        acts.Addition(vessel="B-1", substance="metabisulphite", amount=2.4),
    ),
    ("sample", {"vessel": "B-1", "volume": "50 ml"}, acts.Sample(vessel="B-1", volume=80)),
]


@pytest.mark.parametrize(("kind", "texts", "act"), LINES, ids=[kind for kind, _, _ in LINES])
def test_an_order_done_by_a_line_is_the_act_done(
    fresh_sqlite: Callable[[], Book], kind: str, texts: dict[str, str], act: Act
) -> None:
    """The same moves and states as without an order; only the order is closed with it."""
    ordered, plain = filled(fresh_sqlite()), filled(fresh_sqlite())
    write_order(ordered, Wanted(kind, texts), local_day(ordered.now()))
    for book in (ordered, plain):
        walk, stop = open_walk(book), Stop("B-1", (None, None, None, None))
        done = done_by_acts([act], check_orders(book))
        assert bool(done) is (book is ordered)
        (written,) = write_stop_acts(book, walk, stop, StopActs((act,)), sure=True, closing=closing(done))
        assert written.act == replace(act, sure=True)
    assert levels(ordered) == levels(plain)
    assert rows(ordered, -1) == rows(plain, -1)
    assert open_orders(ordered) == []

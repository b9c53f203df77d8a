"""Orders on the rounds: a stop of the walk, done there by one key, by its line, or with what really came."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.log import Entry
from cooperage.programme.orders.kept import open_orders, order_numbered
from cooperage.programme.orders.order import Order, OrderState
from cooperage.programme.orders.written import write_order
from cooperage.programme.several.wanted import Wanted
from cooperage.tui.rounds.drawn import StopList
from cooperage.tui.several.order_forms import DoForm
from cooperage.tui.shared.bars import KeyBar, StatusLine
from cooperage.units import local_day

pytestmark = pytest.mark.slow


def order(book: Book, kind: str, days: int = 0, /, **texts: str) -> Order:
    named = {name.rstrip("_"): text for name, text in texts.items()}
    return write_order(book, Wanted(kind, named), local_day(book.now()) + timedelta(days=days), hand="Maren")


def shown(pilot: Any, selector: Any) -> str:
    return " ".join(str(pilot.app.screen.query_one(selector).render()).split())


def row(pilot: Any, tag: str, width: int = 78) -> str:
    """The row of a stop in the list."""
    listed = pilot.app.screen.query_one(StopList)
    rows = (" ".join(listed.line(y, width).plain.split()) for y in range(listed.line_count))
    return next((each for each in rows if f" {tag} " in each), "")


async def go_to(pilot: Any, press: Any, tag: str) -> None:
    await press(pilot, *tag, "enter")
    assert shown(pilot, "#prompt").startswith(tag)


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (140, 40)])
async def test_an_order_is_a_stop_and_is_done_there_by_one_key(
    opened: Any, press: Any, book: Book, newest: Callable[..., list[Entry]], size: Any
) -> None:
    """Nothing else is due at an empty barrel: the list marks the order, the card tells it, + does it and goes on."""
    order(book, "fill", -1, vessel="B-012", from_="T-01")
    async with opened(size=size) as pilot:
        assert "order 1: fill" in row(pilot, "B-012", size[0] - 2)
        await go_to(pilot, press, "B-012")
        assert "order 1, late: " in shown(pilot, "#card")
        assert "fill B-012 from T-01" in shown(pilot, "#card")
        assert "+ writes order 1 as it stands: fill B-012 from T-01, 225.0 L" in shown(pilot, StatusLine)
        assert size[0] == 60 or "+ as ordered" in shown(pilot, KeyBar)  # there the answer alone says it
        await press(pilot, "+")
        assert "order 1 is done as ordered" in shown(pilot, StatusLine)
        assert "✓ 225.0 L" in row(pilot, "B-012", size[0] - 2)
        assert "order 1" not in row(pilot, "B-012", size[0] - 2)
        assert not shown(pilot, "#prompt").startswith("B-012")
    assert (newest()[0].kind, newest()[0].vessel, newest()[0].hand) == ("fill", "B-012", "Ada")
    assert order_numbered(book, "1").entries == (newest()[0].id,)


async def test_an_impossible_order_says_why_and_has_no_key(opened: Any, press: Any, book: Book) -> None:
    """And the stop can be skipped; the order stays open."""
    order(book, "sample", vessel="B-012", volume="50 ml")
    async with opened() as pilot:
        assert "▲ order 1: sample" in row(pilot, "B-012")
        await go_to(pilot, press, "B-012")
        assert "▲ order 1: pull 0.05 L of B-012" in shown(pilot, "#card")
        assert "cannot be done: B-012 holds 0.0 L" in shown(pilot, "#card")
        assert "as ordered" not in shown(pilot, KeyBar)
        await press(pilot, "-")
        assert row(pilot, "B-012").startswith("»")
    assert [each.number for each in open_orders(book)] == [1]


async def test_what_is_asked_back_is_asked_above_the_line(
    opened: Any, press: Any, book: Book, newest: Callable[..., list[Entry]]
) -> None:
    """A topping that no one measured; - goes back and nothing is written, + does it and the topping that was due."""
    order(book, "top", vessel="B-003", from_="K-01")
    before = newest()[0].id
    async with opened() as pilot:
        await go_to(pilot, press, "B-003")
        await press(pilot, "+")
        assert shown(pilot, StatusLine).startswith("○ ")
        assert "expected to be missing. Is that right?" in shown(pilot, StatusLine)
        await press(pilot, "-")
        assert newest()[0].id == before
        await press(pilot, "+", "+")
        assert row(pilot, "B-003").startswith("✓")
    assert (newest()[0].kind, newest()[0].vessel) == ("top", "B-003")
    assert open_orders(book) == []


async def test_a_line_of_the_same_work_does_the_order(
    opened: Any, press: Any, book: Book, newest: Callable[..., list[Entry]]
) -> None:
    """It is announced before; what came is what is typed."""
    order(book, "top", vessel="B-003", from_="K-01", volume="1.0 L")
    async with opened() as pilot:
        await go_to(pilot, press, "B-003")
        await press(pilot, "1.4")
        assert "does order 1" in shown(pilot, StatusLine)
        await press(pilot, "enter")
        assert row(pilot, "B-003").startswith("✓")
    assert order_numbered(book, "1").entries == (newest()[0].id,)
    assert sum(move.ml for move in newest()[0].moves if move.destination == "B-003") == 1400


async def test_an_order_is_done_with_what_came_from_the_list(
    opened: Any, press: Any, book: Book, newest: Callable[..., list[Entry]]
) -> None:
    """The key e opens its form; the difference is shown above the line, and the order is off every stop it is about."""
    order(book, "fill", vessel="B-012", from_="T-01")
    async with opened() as pilot:
        await go_to(pilot, press, "B-012")
        await press(pilot, "escape", "e")
        assert isinstance(pilot.app.screen, DoForm)
        pilot.app.screen.set_focus(pilot.app.screen.query_one("#vessels"))
        await press(pilot, *"221.5", "enter")
        assert "otherwise than ordered: B-012: ordered 225.0 L, 221.5 L came" in shown(pilot, StatusLine)
        assert "✓ 221.5 L" in row(pilot, "B-012")
        assert "order 1" not in row(pilot, "B-012")
    assert order_numbered(book, "1").state is OrderState.DONE


async def test_an_order_of_several_vessels_is_done_at_all_of_them(opened: Any, press: Any, book: Book) -> None:
    """From any of its stops; a struck one is to do again at each."""
    order(book, "treat", vessel="B-002,B-004", treatment="stir")
    async with opened() as pilot:
        assert "order 1" in row(pilot, "B-002")
        await go_to(pilot, press, "B-004")
        await press(pilot, "+")
        assert [row(pilot, tag).count("order 1: ") for tag in ("B-002", "B-004")] == [0, 0]
        for entry_id in reversed(order_numbered(book, "1").entries):
            book.write(acts.Strike(entry=entry_id))
        pilot.app.desk.read_again()
        await press(pilot)
        assert ["order 1: " in row(pilot, tag) for tag in ("B-002", "B-004")] == [True, True]


async def test_an_order_of_tomorrow_is_no_stop_yet(opened: Any, book: Book) -> None:
    """It shows on its day."""
    order(book, "fill", 1, vessel="B-012", from_="T-01")
    async with opened() as pilot:
        assert row(pilot, "B-012") == ""

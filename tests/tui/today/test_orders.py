"""Orders on the first page: written, checked, done as they stand or with what came, withdrawn, moved, printed."""

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from cooperage.book import Book
from cooperage.book.log import Entry
from cooperage.programme.orders.kept import open_orders, order_numbered
from cooperage.programme.orders.order import Order, OrderState
from cooperage.programme.orders.written import write_order
from cooperage.programme.several.wanted import Wanted
from cooperage.tui.several.lines import VesselLines
from cooperage.tui.several.order_forms import DoForm, OrderForm
from cooperage.tui.shared.bars import KeyBar, StatusLine
from cooperage.tui.shared.dialogs import Confirm
from cooperage.tui.today.lists import DayList
from cooperage.units import local_day

pytestmark = pytest.mark.slow
SIZES = [(60, 20), (80, 24), (140, 40)]


def order(book: Book, kind: str, days: int = 0, /, **texts: str) -> Order:
    named = {name.rstrip("_"): text for name, text in texts.items()}
    return write_order(book, Wanted(kind, named), local_day(book.now()) + timedelta(days=days), hand="Maren")


def shown(pilot: Any, selector: Any) -> str:
    return " ".join(str(pilot.app.screen.query_one(selector).render()).split())


def lines(pilot: Any, selector: Any = "#orders") -> list[str]:
    listed = pilot.app.screen.query_one(selector)
    return [" ".join(listed.line(y, 78).plain.split()) for y in range(listed.line_count)]


async def go_to_orders(pilot: Any) -> None:
    pilot.app.screen.set_focus(pilot.app.screen.query_one("#orders"))
    await pilot.pause()


@pytest.mark.parametrize("size", SIZES)
async def test_orders_stand_under_the_trouble_in_sequence(opened: Any, book: Book, size: Any) -> None:
    """What is late first, each with its day, what moves, and a mark where it is asked back or impossible."""
    order(book, "fill", 1, vessel="B-012", from_="T-01")
    order(book, "treat", vessel="B-003", treatment="stir")
    order(book, "sample", -2, vessel="B-012", volume="50 ml")
    async with opened(page="today", size=size) as pilot:
        assert shown(pilot, "#orders-head") == "Orders 3, 1 late, ▲ 1 impossible"
        late, today, tomorrow = lines(pilot)
        assert late.startswith("▲ 3 late: ")
        assert today == "2 today treat B-003: stir"
        assert tomorrow == "1 tomorrow fill B-012 with 225 L from T-01"
        screen = pilot.app.screen
        for selector in ("#trouble", "#orders", "#walk-ahead", KeyBar):
            region = screen.query_one(selector).region
            assert region.height >= 1
            assert region.bottom <= size[1]
        assert screen.query_one("#trouble").region.y < screen.query_one("#orders").region.y
        assert screen.query_one("#orders").region.bottom <= screen.query_one("#walk-ahead").region.y


async def test_a_cellar_without_orders_shows_none_of_it(opened: Any, press: Any, newest: Any) -> None:
    """And none of their keys."""
    before = newest()[0].id
    async with opened(page="today") as pilot:
        assert not pilot.app.screen.query_one("#orders").display
        await press(pilot, "tab", "+", "x", "h", "e")
        assert "as ordered" not in shown(pilot, KeyBar)
    assert newest()[0].id == before


async def test_an_order_is_done_as_it_stands_by_one_key(opened: Any, press: Any, book: Book, newest: Any) -> None:
    """Announced before; signed by who is at work; the next one is under the cursor then."""
    order(book, "fill", vessel="B-012", from_="T-01")
    order(book, "treat", vessel="B-003", treatment="stir")
    async with opened(page="today") as pilot:
        await go_to_orders(pilot)
        assert shown(pilot, "#trouble-why").startswith("+ writes order 1 as it stands: fill B-012 from T-01, 225.0 L")
        await press(pilot, "+")
        assert shown(pilot, StatusLine) == "Written: order 1 is done as ordered"
        assert len(lines(pilot)) == 1
        assert pilot.app.screen.current_order.order.number == 2
    assert (newest()[0].vessel, newest()[0].hand) == ("B-012", "Ada")
    assert order_numbered(book, "1").entries == (newest()[0].id,)


async def test_what_is_asked_back_is_asked_and_what_is_impossible_has_no_key(
    opened: Any, press: Any, book: Book
) -> None:
    """A topping that no one measured is confirmed first; an empty barrel cannot be sampled, and stands before it."""
    order(book, "top", vessel="B-001", from_="K-01")
    order(book, "sample", vessel="B-012", volume="50 ml")
    async with opened(page="today") as pilot:
        await go_to_orders(pilot)
        assert pilot.app.screen.current_order.order.number == 2
        assert "as ordered" not in shown(pilot, KeyBar)
        assert shown(pilot, "#trouble-why").startswith("impossible: ")
        await press(pilot, "down", "+")
        assert isinstance(pilot.app.screen, Confirm)
        await press(pilot, "-")
        assert [each.number for each in open_orders(book)] == [1, 2]
        await press(pilot, "+", "+")
    assert [each.number for each in open_orders(book)] == [2]


async def test_an_order_is_done_with_what_came(opened: Any, press: Any, book: Book, newest: Any) -> None:
    """Its figure stands in the form; what came is typed over it, and the difference is shown."""
    order(book, "fill", vessel="B-012", from_="T-01")
    async with opened(page="today") as pilot:
        await go_to_orders(pilot)
        await press(pilot, "enter")
        assert isinstance(pilot.app.screen, DoForm)
        assert lines(pilot, VesselLines) == ["B-012 225.0 L"]
        pilot.app.screen.set_focus(pilot.app.screen.query_one(VesselLines))
        await press(pilot, *"221.5")
        assert shown(pilot, "#announced").startswith("Enter does it fill B-012, 221.5 L from T-01, which keeps")
        await press(pilot, "enter")
        told = "Written: order 1 is done, otherwise than ordered: B-012: ordered 225.0 L, 221.5 L came"
        assert shown(pilot, StatusLine) == told
        await press(pilot, "ctrl+z", "+")
        assert lines(pilot)[0] == "1 today fill B-012 with 225 L from T-01"
        await go_to_orders(pilot)
        assert "done before, and struck" in shown(pilot, "#trouble-why")
    assert newest()[0].kind == "strike"


async def test_one_of_several_is_left_out_when_it_is_done(opened: Any, press: Any, book: Book, newest: Any) -> None:
    """A minus at its line; that is a difference."""
    order(book, "treat", vessel="B-001,B-002,B-003", treatment="stir")
    async with opened(page="today") as pilot:
        await go_to_orders(pilot)
        await press(pilot, "enter")
        pilot.app.screen.set_focus(pilot.app.screen.query_one(VesselLines))
        await press(pilot, "down", "-", "enter")
        assert "B-002: ordered, not done" in shown(pilot, StatusLine)
    assert [entry.vessel for entry in newest(2)] == ["B-003", "B-001"]


async def test_an_order_is_written_withdrawn_moved_and_printed(
    opened: Any, press: Any, book: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On the vessel's page, then on today."""
    monkeypatch.chdir(tmp_path)
    order(book, "treat", vessel="B-003", treatment="stir")
    order(book, "treat", vessel="B-004", treatment="stir")
    async with opened(page="barrel") as pilot:
        await press(pilot, "B-012", "enter", "y", "fill", "enter")
        assert isinstance(pilot.app.screen, OrderForm)
        await press(pilot, "T-01", "enter")
        assert shown(pilot, StatusLine).startswith("Order 3 is written for today: fill B-012 from T-01.")
        await press(pilot, "f2")
        await go_to_orders(pilot)
        await press(pilot, "end", "e", "before 1", "enter")
        assert [each.number for each in open_orders(book)] == [3, 1, 2]
        await press(pilot, "home", "down", "x", "sold 2", "enter")
        assert order_numbered(book, "1").why == "sold 2"
        await press(pilot, "h", "enter")
    [printed] = tmp_path.glob("orders-*.txt")
    text = printed.read_text()
    assert "[ ]    3 fill B-012" in text
    assert "[ ]    2 treat B-004" in text
    assert order_numbered(book, "1").state is OrderState.WITHDRAWN


async def test_twelve_orders_are_written_printed_and_done(
    opened: Any, press: Any, book: Book, newest: Callable[..., list[Entry]], tmp_path: Path, monkeypatch: Any
) -> None:
    """A day's work: with each barrel on its page nine keys an order, two for the paper, one for each that is done."""
    monkeypatch.chdir(tmp_path)
    one = ["y", *"note b", "enter", "enter", *"tas", "enter", "enter", "right"]
    tags = [s.tag for s in book.cellar().in_walking_order()][:12]
    keys = 0
    async with opened(page="barrel") as pilot:
        pilot.app.screen.found(tags[0])
        for _ in tags:
            await press(pilot, *one)
            keys += len(one)
        assert len(open_orders(book)) == 12
        await press(pilot, "f2")
        await go_to_orders(pilot)
        await press(pilot, "h", "enter", *["+"] * 12)
        keys += 2 + 12
        assert open_orders(book) == []
        assert (
            pilot.app.screen.query_one(
                DayList,
            )
            is not None
        )
    assert keys <= 12 * 15 + 14
    assert {entry.vessel for entry in newest(12)} == set(tags)
    assert len(list(tmp_path.glob("orders-*.txt"))) == 1


async def test_one_order_for_all_that_are_marked(opened: Any, press: Any, book: Book) -> None:
    """On the racks; the day is typed."""
    async with opened(page="racks") as pilot:
        await press(pilot, " ", "right", " ", "y", "add a sub", "enter")
        assert isinstance(pilot.app.screen, OrderForm)
        await press(pilot, "enter", "honey", "enter", "2 g/L", "enter")
        assert "is written for" in shown(pilot, StatusLine)
    [written] = open_orders(book)
    assert (written.kind, len(written.tags), written.texts["amount"]) == ("addition", 2, "2 g/L")

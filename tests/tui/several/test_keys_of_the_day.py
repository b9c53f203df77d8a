"""How many keys the works of a day take, counted with the pilot: what is said, and what is pressed besides."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from cooperage.book import Book, Vessel
from cooperage.book.declared import acts
from cooperage.book.log import Entry
from cooperage.programme.orders.checked import check_orders
from cooperage.programme.orders.kept import open_orders
from cooperage.programme.orders.paper import paper_list, save_paper_list
from cooperage.tasting.flights import flights, start_flight
from cooperage.tui.tasting.scores import ScoreSheet

pytestmark = pytest.mark.slow
EMPTY = [f"E-{number:03}" for number in range(1, 9)]


class Keys:
    """Types and counts: texts are what is said, and keys by their names what is pressed besides."""

    def __init__(self, press: Any, pilot: Any) -> None:
        self._press, self._pilot = press, pilot
        self.said = self.besides = 0

    async def say(self, text: str) -> None:
        """Type what has to be said in any way of writing it down."""
        self.said += len(text)
        await self._press(self._pilot, *text)

    async def press(self, *keys: str) -> None:
        """Press keys that only the program wants."""
        self.besides += len(keys)
        await self._press(self._pilot, *keys)

    @property
    def all(self) -> int:
        """Every key."""
        return self.said + self.besides


@pytest.fixture
def with_empty(book: Book) -> Book:
    """Eight empty barrels in two tiers of a hall of their own."""
    with book.writing() as w:
        for nth, tag in enumerate(EMPTY):
            place = ("Hall", "1", nth // 2 + 1, nth % 2 + 1)
            w.add_vessel(Vessel(id="", tag=tag, kind="barrel", capacity_ml=110_000, position=place))
    return book


def filled(newest: Callable[..., list[Entry]], count: int) -> set[str | None]:
    return {entry.vessel for entry in newest(count) if entry.kind == "fill"}


async def test_eight_barrels_are_filled_from_a_tank_by_marks(
    opened: Any, press: Any, with_empty: Book, newest: Callable[..., list[Entry]]
) -> None:
    """The first and the last are marked, and all between them by the same key."""
    async with opened(page="racks") as pilot:
        screen = pilot.app.screen
        screen._map.go_to("E-001")
        keys = Keys(press, pilot)
        await keys.press(" ", "right", "right", "right")
        if screen._map.current.tag != "E-008":
            await keys.press("down")
        if screen._map.current.tag != "E-008":
            await keys.press("up", "up")
        await keys.press(" ", " ")
        assert sorted(screen._chosen) == EMPTY
        await keys.press("f")
        await keys.say("T-01")
        await keys.press("enter")
    assert filled(newest, 8) == set(EMPTY)
    assert keys.all <= 15, keys.all


async def test_eight_barrels_are_filled_from_a_tank_by_the_filter(
    opened: Any, press: Any, with_empty: Book, newest: Callable[..., list[Entry]]
) -> None:
    """By their room."""
    async with opened(page="racks") as pilot:
        keys = Keys(press, pilot)
        await keys.press("q")
        await keys.say("hall")
        await keys.press("enter", "f")
        await keys.say("T-01")
        await keys.press("enter")
    assert filled(newest, 8) == set(EMPTY)
    assert keys.all <= 15, keys.all


async def test_a_vessel_is_moved(opened: Any, press: Any, book: Book, newest: Callable[..., list[Entry]]) -> None:
    """Lifted and set down at the free place beside; what lies on it is asked for, and said to be lifted first."""
    async with opened(page="racks") as pilot:
        screen = pilot.app.screen
        screen._map.go_to("B-011")
        keys = Keys(press, pilot)
        await keys.press("m")
        for _ in range(6):
            if not hasattr(screen._map.current, "tag"):
                break
            await keys.press("right")
        await keys.press("enter", "+")
    assert (newest()[0].kind, newest()[0].vessel) == ("shift", "B-011")
    assert keys.all <= 8, keys.all


async def test_a_tank_is_bottled(opened: Any, press: Any, book: Book, newest: Callable[..., list[Entry]]) -> None:
    """Its code and how many bottles are said; besides that ten keys at most."""
    async with opened(page="racks") as pilot:
        keys = Keys(press, pilot)
        await keys.say("T-01")
        await keys.press("enter", "b")
        await keys.say("LIME-26")
        await keys.press("enter")
        await keys.say("120")
        await keys.press("enter")
    assert (newest()[0].kind, newest()[0].vessel) == ("bottle", "T-01")
    assert keys.besides <= 10, keys.besides


async def test_a_new_barrel_is_registered_and_filled(
    opened: Any, press: Any, book: Book, newest: Callable[..., list[Entry]]
) -> None:
    """Twenty keys at most: the next tag and all of a barrel like the last are proposed."""
    there = {standing.tag for standing in book.cellar()}
    async with opened(page="racks") as pilot:
        keys = Keys(press, pilot)
        await keys.press("n")
        for _ in range(8):
            if len(pilot.app.screen_stack) == 1:
                break
            await keys.press("enter")
        await keys.press("f")
        await keys.say("T-01")
        await keys.press("enter")
    (new,) = {standing.tag for standing in book.cellar()} - there
    assert (newest()[0].kind, newest()[0].vessel) == ("fill", new)
    assert keys.all <= 20, keys.all


async def test_a_flight_of_six_is_poured_by_marks_and_by_a_series(opened: Any, press: Any, book: Book) -> None:
    """Twenty-five keys at most with marks; six tags at once in the box as well."""
    async with opened(page="panel") as pilot:
        keys = Keys(press, pilot)
        await keys.press("n", "tab", *[" "] * 6, "ctrl+s")
        assert len(flights(book)) == 1
        assert keys.all <= 25
        await keys.press("escape")
        again = Keys(press, pilot)
        await again.press("n")
        for text in ("B-001 B-002 B-003", "B-004..B-006"):
            await again.say(text)
            await again.press("enter")
        await again.press("ctrl+s")
        assert len(flights(book)) == 2
        assert again.besides <= 5


async def test_six_glasses_are_scored_in_fifteen_keys_a_taster(opened: Any, press: Any, book: Book) -> None:
    """The first letter of a name that is known, and the six scores in a row; the next taster is asked for at once."""
    given = [14.0, 12.0, 9.0, 16.0, 5.0, 13.0]
    poured = start_flight(book, [f"B-{number:03}" for number in range(1, 7)], code="F-6")
    book.write(acts.Look(vessel="B-007", note="dry", hand="Maren"))
    async with opened(page="panel") as pilot:
        pilot.app.push_screen(ScoreSheet(poured))
        await press(pilot)
        for taster in ("Ada", "Maren"):
            keys = Keys(press, pilot)
            await keys.say(taster[0])
            await keys.press("enter")
            await keys.say("141209160513")
            await keys.press("enter")
            assert keys.all <= 15, keys.all
    [found] = flights(book)
    for taster in ("Ada", "Maren"):
        assert [found.scores[code, taster].value for code in found.orders[taster]] == given


async def test_twelve_orders_are_written_printed_and_done(opened: Any, press: Any, book: Book, tmp_path: Path) -> None:
    """Each is written from the page of its barrel by three keys besides what it is, and done on the rounds by two."""
    tags = [f"B-{number:03}" for number in range(1, 13)]
    async with opened(page="barrel") as pilot:
        written = Keys(press, pilot)
        for nth, tag in enumerate(tags):
            kind, more = ("top", "") if nth < 7 else ("fill", "T-01") if tag == "B-012" else ("pull", "50 ml")
            pilot.app.screen.found(tag)
            await press(pilot)
            await written.press("y")
            await written.say(kind)
            await written.press("enter")
            await written.say(more)
            await written.press("enter")
        assert written.besides <= 3 * len(tags)
        found = check_orders(book)
        assert [each.order.tags for each in found] == [[tag] for tag in tags]
        paper = tmp_path / "orders.txt"
        save_paper_list(paper, paper_list(book, found))
        assert paper.read_text(encoding="utf-8").count("[ ]") == len(tags)
        await pilot.app.switch_mode("rounds")
        done = Keys(press, pilot)
        await press(pilot)
        for tag in tags:
            pilot.app.screen.found(tag)
            await press(pilot)
            await done.press("+")
            if pilot.app.screen.is_asked:
                await done.press("+")
        assert done.all <= 2 * len(tags)
    assert open_orders(book) == []

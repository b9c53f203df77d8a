"""Lots: what is left of each, where it went, and what a bottling is made of."""

from collections.abc import Callable
from typing import Any

import pytest
from textual.pilot import Pilot

from cooperage.book import Book, Lot, Vessel
from cooperage.book.declared import acts
from cooperage.book.log import Entry
from cooperage.programme.batches.kept import keep_batch, keep_honey
from cooperage.programme.batches.sheet import Batch, Honey, HoneyUsed
from cooperage.tui.shared.act_form import ActForm


@pytest.fixture(autouse=True)
def no_pause(monkeypatch: pytest.MonkeyPatch) -> None:
    """Trace at once; a person's cursor rests a moment first."""
    monkeypatch.setattr("cooperage.tui.lots.screen.PAUSE_S", 0.01)


@pytest.fixture
def bottled(book: Book) -> Any:
    """300 L of a second lot and 100 L of the first meet in a tank, and 400 bottles of 0.75 L are filled from it."""
    with book.writing() as w:
        w.add_vessel(Vessel(id="", tag="T-02", kind="tank", capacity_ml=1_000_000))
        w.add_lot(
            Lot(id="", code="M-27", name="heather honey", honey="heather", abv=13.5, original_sg=1.12, final_sg=1.015)
        )
        w.write(acts.Receive(lot="M-27", vessel="T-02", volume=300_000))
        w.write(acts.Rack(vessel="B-010", destination="T-02", volume=100_000))
        w.write(acts.Bottle(vessel="T-02", code="26-A", bottles=400))
    return book


async def traced_text(pilot: Pilot[Any], press: Any) -> str:
    """What the trace says once the cursor has rested."""
    for _ in range(5):
        await pilot.pause(0.05)
        await press(pilot)
    return pilot.app.export_screenshot().replace("&#160;", " ")


@pytest.mark.slow
async def test_a_lot_is_shown_with_what_is_left_and_where_it_is(opened: Any, press: Any, bottled: Any) -> None:
    """Of 300 L received, three quarters of what the tank held went into bottles: 225 L there, 75 L left in the tank."""
    async with opened(page="lots", size=(100, 40)) as pilot:
        await press(pilot, "down")
        seen = await traced_text(pilot, press)
    assert "M-27  heather honey" in seen
    line = next(line for line in seen.splitlines() if "bottling 26-A" in line)
    assert "225.0 L" in line  # 400 * 0.75 L = 300 L left a tank of 400 L that was 3/4 this lot
    assert "75.0 %" in line


@pytest.mark.slow
async def test_a_bottling_is_traced_to_lots_and_barrels(opened: Any, press: Any, bottled: Any) -> None:
    """300 L in 400 bottles: 75 % of the second lot out of no barrel, 25 % of the first out of B-010."""
    async with opened(page="lots", size=(100, 40)) as pilot:
        await press(pilot, "tab")
        seen = await traced_text(pilot, press)
    assert "26-A: 400 bottles, 300.0 L" in seen
    assert "25.0 %" in next(line for line in seen.splitlines() if "B-010" in line)
    assert "75.0 %" in next(line for line in seen.splitlines() if "no barrel" in line)


async def test_a_cellar_that_has_bottled_nothing_says_so(opened: Any, press: Any) -> None:
    """The list is empty, and the screen tells why."""
    async with opened(page="lots") as pilot:
        await press(pilot, "tab")
        assert "Nothing has been bottled yet." in await traced_text(pilot, press)


@pytest.mark.slow
async def test_bottling_from_a_lot_writes_the_entry(
    opened: Any, press: Any, bottled: Any, newest: Callable[..., list[Entry]]
) -> None:
    """Key b asks which vessel, tanks first; the form writes bottles and their litres."""
    async with opened(page="lots") as pilot:
        await press(pilot, "down", "b", "enter")
        assert isinstance(pilot.app.screen, ActForm)
        assert pilot.app.screen.texts["vessel"] == "T-02"
        await press(pilot, "26-B", "tab", "100", "enter")
    (entry,) = newest()
    assert (entry.kind, entry.vessel, entry.said["code"], entry.said["bottles"]) == ("bottle", "T-02", "26-B", 100)
    assert [(move.destination, move.ml) for move in entry.moves] == [("bottled", 75_000)]


async def test_what_is_read_has_the_room_and_its_lines_hang(opened: Any, press: Any, bottled: Any) -> None:
    """With the trace in hand the bottlings make room, the lot stays in sight; what is set in goes on further in."""
    keep_honey(bottled, Honey("", "HB-1", 200_000, floral="heather " * 8, harvest="August 2026", moisture=17.2))
    keep_batch(bottled, Batch("", "M-27", 300_000, (HoneyUsed("HB-1", 100_000),)))
    async with opened(page="lots", size=(80, 24)) as pilot:
        screen = pilot.app.screen
        trace, lots = screen.query_one("#trace"), screen.query_one("#lots")
        before = trace.size.height
        await press(pilot, "end")
        await traced_text(pilot, press)
        await press(pilot, "enter")
        await traced_text(pilot, press)
        assert trace.size.height > before + 3
        assert not screen.query_one("#bottlings").display
        assert 0 <= lots.cursor - lots.scroll_offset.y < lots.size.height
        rows = [row.plain for row in trace._rows]
        begins = next(nth for nth, row in enumerate(rows) if row.startswith("  HB-1: "))
        assert rows[begins + 1].startswith("    ")
        await press(pilot, "shift+tab")
        assert screen.query_one("#bottlings").display


@pytest.mark.parametrize("columns", [60, 80])
async def test_a_lot_that_ferments_is_named_so_and_has_no_strength_yet(
    opened: Any, press: Any, bottled: Book, columns: int
) -> None:
    """Beside it stand lots with a strength; the words of every row fit in its columns."""
    with bottled.writing() as w:
        w.add_lot(Lot(id="", code="M-28", name="buckwheat honey", original_sg=1.1, pitched_on=w.now))
        w.add_vessel(Vessel(id="", tag="T-03", kind="tank", capacity_ml=1_000_000))
        w.write(acts.Receive(lot="M-28", vessel="T-03", volume=300_000))
    keep_honey(bottled, Honey("", "HB-1", 200_000, floral="buckwheat"))
    keep_batch(bottled, Batch("", "M-28", 200_000, (HoneyUsed("HB-1", 100_000),)))
    async with opened(page="lots", size=(columns, 24)) as pilot:
        await press(pilot)
        lots, head = pilot.app.screen.query_one("#lots"), str(pilot.app.screen.query_one("#lots-head").render())
        first, _, last = (lots.line(y, columns).plain for y in range(3))
    assert ("300.0 L" in last, "fermenting" in last, "not yet" in last, "13.5 % vol" in first) == (True,) * 4
    assert head.index("status") == last.index("fermenting")
    assert head.index("strength") + len("strength") == last.index("not yet") + len("not yet")
    assert max(map(len, (first, last))) <= columns - 2


async def test_lots_of_a_bottling_that_have_no_room_leave_a_mark(opened: Any, press: Any, bottled: Book) -> None:
    async with opened(page="lots", size=(60, 20)) as pilot:
        await press(pilot)
        bottlings = pilot.app.screen.query_one("#bottlings")
        assert bottlings.line(0, 58).plain.endswith("M-27 75.0 %, …")
        assert bottlings.line(0, 78).plain.endswith("M-27 75.0 %, M-26 25.0 %")


async def test_a_code_typed_on_the_page_of_lots_leads_to_its_lot_or_bottling(
    opened: Any, press: Any, bottled: Book
) -> None:
    """From a lot and from a bottling alike; what is written next is of what was gone to."""
    async with opened(page="lots") as pilot:
        screen = pilot.app.screen
        lots, bottlings = screen.query_one("#lots"), screen.query_one("#bottlings")
        await press(pilot, "M-27", "enter")
        assert (screen.focused, screen._code) == (lots, "M-27")
        await press(pilot, "26-a", "enter")
        assert (screen.focused, screen._code) == (bottlings, "26-A")
        await press(pilot, "M-26", "enter")
        assert (screen.focused, screen._code, pilot.app.desk.code) == (lots, "M-26", "")
        await press(pilot, "f8", "M-27", "enter")
        assert (screen.focused, screen._code) == (lots, "M-27")


async def test_a_bottling_that_is_read_stays_in_sight(opened: Any, press: Any, bottled: Book) -> None:
    """What is read of it has the room of the lots, and from the last list one can go on."""
    async with opened(page="lots") as pilot:
        screen = pilot.app.screen
        await press(pilot, "tab")
        before = screen.query_one("#trace").size.height
        await press(pilot, "enter")
        bottlings = screen.query_one("#bottlings")
        assert bottlings.display
        assert 0 <= bottlings.cursor - bottlings.scroll_offset.y < bottlings.size.height
        assert screen.query_one("#trace").size.height > before + 3
        await press(pilot, "shift+tab")
        assert (screen.focused, screen.query_one("#lots").display) == (bottlings, True)
        await press(pilot, "enter", "tab")
        assert screen.query_one("#trace").has_focus is False

"""The racks: how they are drawn, walked and filtered, at 80 by 24 and larger."""

from threading import Event
from typing import Any

import pytest
from textual.pilot import Pilot

from cooperage.book import Barrel, Book, Upkeep, Vessel
from cooperage.book.declared import acts
from cooperage.programme.search.described import describe_ahead
from cooperage.programme.search.marks import Marks
from cooperage.tui.app import PAGES
from cooperage.tui.racks.cells import Cells, legend
from cooperage.tui.racks.layout import FreePlace, lay_out
from cooperage.tui.racks.map import RackMap
from cooperage.tui.shared.bars import StatusLine
from cooperage.units import Units

SIZES = [(80, 24), (140, 40)]
EMPTY = "B-012"


def shown(pilot: Pilot[Any], selector: Any) -> str:
    return str(pilot.app.screen.query_one(selector).render())


def drawn(pilot: Any) -> list[str]:
    """The lines of the map, as far as they are in view."""
    racks = pilot.app.screen.query_one(RackMap)
    return [racks.line(y, 77).plain.rstrip() for y in range(racks.line_count)]


def tag(pilot: Pilot[Any]) -> str:
    current = pilot.app.screen.query_one(RackMap).current
    assert current is not None
    return current.tag


@pytest.fixture
def marked(book: Book) -> Any:
    """One barrel new and just filled, one low, one retired; and a second row in the south."""
    new = Barrel(wood="acacia", past_life="new", past_kind="none", fills_before=0)
    with book.writing() as w:
        w.add_vessel(Vessel("", "N-1", "barrel", 110_000, "measured", ("South", "2", 1, 1), barrel=new))
        w.add_vessel(Vessel("", "N-2", "barrel", 110_000, "measured", ("South", "2", 4, 1), barrel=new))
        w.add_vessel(Vessel("", "N-3", "barrel", 110_000, "measured", ("South", "2", 9, 1), barrel=new))
        w.write(acts.Fill(vessel="N-1", source="T-01"))
        w.set_upkeep("B-002", Upkeep(top_below_ml=500))
        w.write(acts.Retire(vessel="N-3", reason="cracked"))
    return book


@pytest.mark.slow
@pytest.mark.parametrize("size", SIZES)
async def test_every_state_is_told_by_a_mark_and_without_colour(
    opened: Any, marked: Any, monkeypatch: pytest.MonkeyPatch, size: Any
) -> None:
    """Low, soaking, empty, full and due, each in its place behind the tag; the legend explains them in one line."""
    monkeypatch.setenv("NO_COLOR", "1")
    async with opened(page="racks", size=size) as pilot:
        result = "\n".join(drawn(pilot))
        explained = shown(pilot, "#legend")
    for cell in (
        "B-001  ▇ -0.9!",
        "B-002 ↓▇ -0.9!",
        "B-012   empty",
        "N-1   ~█ full",
        "T-01   ▂  26%",
        "K-02   ▂  30%",
    ):
        assert cell in result
    assert "N-3" not in result
    assert explained == "▇ level  -1.2 L below full  32% tank  ! due  ↓ low  ~ soaking  x retired"


@pytest.mark.parametrize("volume", ["L", "gal"])
def test_the_legend_fits_eighty_columns(volume: str) -> None:
    """It stands in one line, in the person's unit."""
    assert len(legend(Units(volume=volume))) <= 78
    assert f" {volume} below full" in legend(Units(volume=volume))


async def test_rows_are_racks_with_a_name_their_bays_and_tiers(opened: Any, marked: Any) -> None:
    """Bays are numbered where there is room, tiers to the left; near free bays are kept, a filter closes them up."""
    async with opened(page="racks") as pilot:
        lines = drawn(pilot)
    at = lines.index("South · row 2    bay 2          bay 3          bay 4")
    assert lines[at + 1].startswith("1 N-1   ~█ full!")
    assert lines[at + 1].index("N-2") == 2 + 3 * 15
    assert lines[0].startswith("North · row 1")
    assert [line[0] for line in lines[1:3]] == ["2", "1"]


@pytest.mark.slow
@pytest.mark.parametrize("size", SIZES)
async def test_tab_leads_to_the_next_rack(opened: Any, press: Any, marked: Any, size: Any) -> None:
    """Round the end, and back with Shift; each time to the first vessel there."""
    async with opened(page="racks", size=size) as pilot:
        seen = []
        for key in ("tab", "tab", "tab", "tab", "tab", "shift+tab"):
            await press(pilot, key)
            seen.append(tag(pilot))
    assert seen == ["K-01", "B-010", "N-1", "K-02", "B-002", "K-02"]


@pytest.mark.slow
async def test_the_arrows_and_the_ends(opened: Any, press: Any) -> None:
    """Right goes on to the next line, End to the last vessel, Home to the first."""
    async with opened(page="racks") as pilot:
        await press(pilot, "right", "right", "right", "right")
        assert tag(pilot) == "B-001"
        await press(pilot, "left")
        assert tag(pilot) == "B-008"
        await press(pilot, "end")
        assert tag(pilot) == "K-02"
        await press(pilot, "home")
        assert tag(pilot) == "B-002"
        await press(pilot, "up", "left")
        assert tag(pilot) == "B-002"


def test_long_tags_are_shown_whole(book: Book) -> None:
    """A cellar of ten thousand has tags of seven characters: the cells grow with them, fewer stand side by side."""
    with book.writing() as w:
        w.add_vessel(Vessel("", "B-00042", "barrel", 225_000, barrel=Barrel()))
    cellar = book.cellar()
    wide = Cells(list(cellar), Marks(), (), Units())
    assert wide.cell(cellar["B-00042"]).startswith("B-00042  empty")
    assert (wide.across(77), Cells([], Marks(), (), Units()).across(77)) == (4, 5)


def test_a_very_large_vessel_keeps_its_column(book: Book) -> None:
    """What is short by more than five characters is told in percent."""
    with book.writing() as w:
        w.add_vessel(Vessel("", "V-1", "barrel", 10_000_000, barrel=Barrel()))
        w.write(acts.Rack(vessel="T-01", destination="V-1", volume=500_000))
    cell = Cells((), Marks(), (), Units()).cell(book.cellar()["V-1"])
    assert cell.rstrip() == "V-1    ▁   5%"


def test_free_places_are_laid_out_only_to_carry_something_there(book: Book) -> None:
    """A bay and a tier to grow, and never a place that is taken."""
    south = [s for s in book.cellar().in_walking_order() if s.position[0] == "South" and s.vessel.is_barrel]
    assert not [spot for line in lay_out(south, 5) for spot in line.vessels if isinstance(spot, FreePlace)]
    free = [
        spot.position for line in lay_out(south, 5, spare=True) for spot in line.vessels if isinstance(spot, FreePlace)
    ]
    assert free == [("South", "1", *place) for place in ((1, 3), (2, 3), (3, 3), (3, 2), (3, 1))]


@pytest.mark.slow
@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize(
    ("words", "count"),
    [("past whiskey", 1), ("fill 3 due top", 11), ("room south barrel", 4), ("level <50%", 3), ("not due", 4)],
)
async def test_the_filter_knows_where_to_look(opened: Any, press: Any, words: str, count: int, size: Any) -> None:
    """Each form keeps what it says; Enter goes to the racks, Escape shows all."""
    async with opened(page="racks", size=size) as pilot:
        await press(pilot, "q", words)
        assert f"{count} of 15 vessels" in shown(pilot, "#count")
        await press(pilot, "enter", "escape")
        assert shown(pilot, "#count").startswith("15 vessels")


@pytest.mark.slow
async def test_what_the_filter_does_not_understand_is_told_and_stays(opened: Any, press: Any) -> None:
    """While it is typed, calmly; on Enter as not understood. What came before it still holds, nothing is lost."""
    async with opened(page="racks") as pilot:
        await press(pilot, "q", "past whiskey", " fill")
        assert shown(pilot, StatusLine) == "fill wants a number, such as fill 3 or fill 1-2"
        assert "1 of 15 vessels" in shown(pilot, "#count")
        await press(pilot, " x", "enter")
        assert shown(pilot, StatusLine).startswith("Not understood: fill wants a number")
        assert pilot.app.focused.value == "past whiskey fill x"
        await press(pilot, "backspace", "1")
        assert shown(pilot, StatusLine) == ""
        assert "1 of 15 vessels" in shown(pilot, "#count")


@pytest.mark.slow
async def test_a_retired_barrel_is_found_only_when_asked_for(opened: Any, press: Any, marked: Any) -> None:
    """It is marked, and cannot be lifted."""
    async with opened(page="racks") as pilot:
        await press(pilot, "q", "retired", "enter")
        assert drawn(pilot) == ["South · row 2 · bay 9", "1 N-3   x empty"]
        await press(pilot, "m")
        assert shown(pilot, StatusLine) == "N-3 is retired; it has no place on the racks."


@pytest.mark.slow
@pytest.mark.parametrize("page", [page.name for page in PAGES])
@pytest.mark.parametrize("size", SIZES)
async def test_a_scanned_tag_is_found_from_every_screen(opened: Any, press: Any, page: Any, size: Any) -> None:
    """A scanner types a tag and Enter; rounds and blend only keep a barrel that is a stop or a stock of theirs."""
    async with opened(page=page, size=size) as pilot:
        await press(pilot, "escape", EMPTY, "enter")
        assert pilot.app.current_mode == "barrel"
        assert shown(pilot, "#head").startswith(EMPTY)


@pytest.mark.slow
async def test_coming_back_the_cursor_stands_on_the_barrel_found(opened: Any, press: Any) -> None:
    """What was looked at is where one goes on."""
    async with opened(page="racks") as pilot:
        await press(pilot, "B-009", "enter", "f4")
        assert tag(pilot) == "B-009"


async def test_the_racks_are_there_before_what_is_due_is_reckoned(
    opened: Any, press: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In a large cellar that takes seconds; until then they are walked, and nothing is said to be due or not."""
    may_end = Event()

    def slowly(*args: Any) -> Any:
        may_end.wait(20)
        return describe_ahead(*args)

    monkeypatch.setattr("cooperage.tui.racks.screen.describe_ahead", slowly)
    async with opened(page="rounds") as pilot:
        await pilot.app.switch_mode("racks")
        await pilot.press("right")
        await pilot.pause()
        assert tag(pilot) == "B-004"
        assert shown(pilot, "#count") == "15 vessels, calculating what is due"
        assert "Due: calculating" in shown(pilot, "#under-cursor")
        may_end.set()
        await press(pilot)
        assert shown(pilot, "#count") == "15 vessels, 11 with something due (!)"
        assert "Due: top" in shown(pilot, "#under-cursor")

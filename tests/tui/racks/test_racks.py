"""The racks: how they are drawn, walked and filtered, at 80 by 24 and larger."""

from threading import Event
from typing import Any

import pytest
from textual.pilot import Pilot

from cooperage.book import Barrel, Book, Upkeep, Vessel
from cooperage.book.declared import acts
from cooperage.programme.search.described import describe_ahead
from cooperage.programme.search.marks import Marks
from cooperage.programme.search.measures import MEASURES
from cooperage.tui.app import PAGES
from cooperage.tui.racks.cells import Cells
from cooperage.tui.racks.layout import FreePlace, lay_out
from cooperage.tui.racks.map import RackMap
from cooperage.tui.shared.bars import StatusLine
from cooperage.tui.themes import THEMES

SIZES = [(80, 24), (140, 40)]
EMPTY = "B-012"


def shown(pilot: Pilot[Any], selector: Any) -> str:
    return str(pilot.app.screen.query_one(selector).render())


def drawn(pilot: Any) -> list[str]:
    """The lines of the map, as far as they are in view."""
    racks = pilot.app.screen.query_one(RackMap)
    return [racks.line(y, 80).plain.rstrip().replace("›", " ") for y in range(racks.line_count)]


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
async def test_every_state_is_told_by_a_mark_beside_the_tag(opened: Any, marked: Any) -> None:
    """Due, soaking, empty and full, each behind the tag; then the level as a height, and the figure."""
    async with opened(page="racks") as pilot:
        result = "\n".join(drawn(pilot))
    for cell in ("B-001○▇ 0.9", "B-012 empty", "N-1  ○█full", "T-01  ▂ 26%", "K-02  ▂ 30%"):
        assert cell in result
    assert "N-3" not in result


@pytest.mark.slow
async def test_trouble_goes_before_what_is_due(opened: Any, press: Any, book: Book) -> None:
    """A barrel with too little sulphite is due as well: it has the mark of trouble, its card the reason in words."""
    with book.writing() as w:
        w.write(acts.Reading(vessel="B-001", property="free_so2_mg_l", value=4.0, sure=True))
        w.write(acts.Reading(vessel="B-001", property="abv", value=13.0, sure=True))
    async with opened(page="racks") as pilot:
        assert "B-001▲▇" in "\n".join(drawn(pilot))
        assert "▲ 1" in shown(pilot, "#count")
        await press(pilot, "down")
        card = shown(pilot, "#under-cursor")
    assert "○ top" in card.splitlines()[0]
    assert card.splitlines()[2].startswith("▲ SO2 low: molecular SO2")


async def test_rooms_have_a_name_and_their_bays_are_aligned(opened: Any, marked: Any) -> None:
    """Bays are numbered where there is room, row and tier to the left; near free bays are kept."""
    async with opened(page="racks") as pilot:
        lines = drawn(pilot)
    at = lines.index(" South  bay 1       bay 2       bay 3       bay 4")
    assert lines[0].startswith(" North  bay 1")
    assert [line[:5] for line in lines[at + 1 : at + 4]] == [" 1 2 ", " 1 1 ", " 2 1 "]
    assert lines[at].index("bay 4") == lines[at + 3].index("N-2") == lines[at + 3].index("N-1") + 3 * 12


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
    wide = Cells(list(cellar), Marks(), (), {})
    assert (wide.across(80), Cells([], Marks(), (), {}).across(80)) == (5, 6)


async def test_a_very_large_vessel_keeps_its_column(opened: Any, book: Book) -> None:
    """What is short by more than four characters is told in percent; so much air is trouble."""
    with book.writing() as w:
        w.add_vessel(Vessel("", "V-1", "barrel", 10_000_000, barrel=Barrel()))
        w.write(acts.Rack(vessel="T-01", destination="V-1", volume=500_000))
    async with opened(page="racks") as pilot:
        assert "V-1  ▲▁  5%" in drawn(pilot)[-1]


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
        assert drawn(pilot) == [" South, from bay 9", " 2 1    N-3  xempty"]
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
        assert shown(pilot, "#count") == "15 vessels  calculating"
        assert "calculating what is wrong and due" in shown(pilot, "#under-cursor")
        assert "B-004 ▇   …" in drawn(pilot)[1]
        before = [len(line) for line in drawn(pilot)]
        may_end.set()
        await press(pilot)
        assert shown(pilot, "#count") == "15 vessels  ▲ 0  ○ 11 due"
        assert "○ top" in shown(pilot, "#under-cursor")
        assert "B-004○▇ 0.9" in drawn(pilot)[1]
        assert [len(line) for line in drawn(pilot)] == before


# --- measures -------------------------------------------------------------------------------------------------------


async def test_v_shows_one_measure_after_the_other(opened: Any, press: Any) -> None:
    """Above the map stands which it is and its unit, under it the steps and the limit; round the end the first."""
    async with opened(page="racks") as pilot:
        seen = []
        for _ in MEASURES:
            seen.append(shown(pilot, "#measure"))
            await press(pilot, "v")
        assert shown(pilot, "#measure") == seen[0] == "short of full  L, by now"
        await press(pilot, "v")
        assert shown(pilot, "#measure") == "SO2 now  mg/L, molecular, as it is today"
        legend = shown(pilot, "#legend")
        assert [each for each in ("<0.20", "0.20", "0.40", "0.70+", "floor 0.50", "▇ level") if each in legend] == (
            ["<0.20", "0.20", "0.40", "0.70+", "floor 0.50", "▇ level"]
        )
    assert len(set(seen)) == len(MEASURES)


async def test_what_is_unknown_is_a_question_mark_and_never_a_colour(opened: Any, press: Any) -> None:
    """Nobody read the sulphite of the keg; a figure stands on its plate."""
    async with opened(page="racks") as pilot:
        racks = pilot.app.screen.query_one(RackMap)

        def grounds(tag: str, words: str) -> set[Any]:
            """The grounds of the figure behind a tag."""
            line = next(y for y in range(racks.line_count) if tag in racks.line(y, 80).plain)
            text = racks.line(line, 80)
            at = text.plain.index(tag) + 7
            assert text.plain[at : at + 4].strip() == words
            return {text.get_style_at_offset(pilot.app.console, at + nth).bgcolor for nth in range(4)}

        await press(pilot, "v")
        assert None not in grounds("B-001", "1.06")
        assert grounds("K-01", "?") == {None}


async def test_why_wood_left_is_unknown_stands_under_the_map(book: Book, opened: Any, press: Any) -> None:
    """Where a barrel has it as a question mark, and not where none has."""
    async with opened(page="racks") as pilot:
        while not shown(pilot, "#measure").startswith("wood left"):
            assert "fills before it came" not in shown(pilot, "#legend")
            await press(pilot, "v")
        assert "fills before it came" not in shown(pilot, "#legend")
    with book.writing() as session:
        came = Barrel(wood="oak", past_kind="wine", fills_before=None)
        session.add_vessel(Vessel("", "B-090", "barrel", 225_000, position=("Low", "Z", 1, 1), barrel=came))
    book.write(acts.Receive(lot=next(iter(book.cellar().lots)), vessel="B-090", volume=220_000))
    async with opened(page="racks") as pilot:
        while not shown(pilot, "#measure").startswith("wood left"):
            await press(pilot, "v")
        assert shown(pilot, "#legend").endswith("? fills before it came not known")


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (100, 30), (140, 40), (200, 60)])
async def test_every_measure_is_whole_at_every_size(opened: Any, press: Any, size: Any) -> None:
    """Nothing is cut: neither the map's lines nor the legend, and the card tells the level."""
    async with opened(page="racks", size=size) as pilot:
        racks = pilot.app.screen.query_one(RackMap)
        for _ in MEASURES:
            width = racks.scrollable_content_region.width
            assert all(len(line) <= width for line in drawn(pilot))
            assert not any("…" in line for line in drawn(pilot))
            assert len(shown(pilot, "#legend")) <= width - 2
            await press(pilot, "v")
        assert "L now (" in shown(pilot, "#under-cursor") or " L (" in shown(pilot, "#under-cursor")


async def test_a_moved_pointer_draws_two_lines_and_lays_nothing_out(
    opened: Any, press: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """So a key is no dearer in a large cellar."""
    async with opened(page="racks") as pilot:
        await press(pilot, "right")
        drawn_rows: list[int] = []
        render = RackMap.render_line

        def counted(self: RackMap, y: int) -> Any:
            drawn_rows.append(y)
            return render(self, y)

        monkeypatch.setattr(RackMap, "render_line", counted)
        monkeypatch.setattr("textual.screen.Screen._refresh_layout", lambda *_a, **_n: drawn_rows.append(-1))
        await press(pilot, "down")
        await pilot.pause(0.1)
    assert sorted(set(drawn_rows)) == [1, 2]


@pytest.mark.parametrize("theme", list(THEMES))
async def test_what_is_chosen_and_where_the_pointer_is_show_in_every_theme(opened: Any, press: Any, theme: str) -> None:
    """A star before the tag, beside the pointer's own look."""
    async with opened(page="racks", theme=theme) as pilot:
        plain = pilot.app.screen.query_one(RackMap).line(1, 80)
        await press(pilot, " ", "right", " ", "right")
        racks = pilot.app.screen.query_one(RackMap)
        text = racks.line(1, 80)
        assert text.plain.count("*B-") == 2
        at = text.plain.index("›") + 1
        style = text.get_style_at_offset(pilot.app.console, at)
        assert style.reverse if theme == "plain" else style.bgcolor is not None
        assert plain.plain.replace("›", " ") == text.plain.replace("*", " ").replace("›", " ")
        assert "2 marked (*)" in shown(pilot, "#count")


async def test_a_vessel_in_hand_moves_no_column(opened: Any, press: Any) -> None:
    """Its neighbours stay where they are, and a row is no wider than the map."""
    async with opened(page="racks") as pilot:
        before = next(line.index("B-004") for line in drawn(pilot) if "B-004" in line)
        await press(pilot, "m")
        line = next(line for line in drawn(pilot) if "B-004" in line)
    assert "B-002 moves " in line
    assert line.index("B-004") == before

"""The screen of recalls: a table and a tree, on and back, by whom; Esc leads back along the way one came."""

from collections.abc import Callable
from typing import Any

import pytest

from cooperage.book import Book, Lot, Vessel
from cooperage.book.declared import acts
from cooperage.tui.forms.papers import Paper
from cooperage.tui.recall.form import QuestionForm
from cooperage.tui.shared.bars import StatusLine
from cooperage.tui.shared.wrapped import Wrapped


@pytest.fixture
def bottled(book: Book) -> Book:
    """300 L of a second lot and 100 L out of B-010 meet in a tank, and 400 bottles of 0.75 L are filled from it."""
    with book.writing() as w:
        w.add_vessel(Vessel(id="", tag="T-02", kind="tank", capacity_ml=1_000_000))
        w.add_lot(Lot(id="", code="M-27", name="heather honey", honey="heather"))
        w.write(acts.Receive(lot="M-27", vessel="T-02", volume=300_000, hand="Tove"))
        w.write(acts.Rack(vessel="B-010", destination="T-02", volume=100_000, hand="Jory"))
        w.write(acts.Addition(vessel="T-02", substance="metabisulphite", amount=20.0, hand="Iko"))
        w.write(acts.Bottle(vessel="T-02", code="26-A", bottles=400, hand="Iko"))
    return book


@pytest.fixture
def traced(opened: Any, press: Any, bottled: Book) -> Callable[..., Any]:
    """The screen with a trace on it, opened from the lots."""

    async def begin(pilot: Any, *asked: str) -> Any:
        await pilot.app.run_action(f"trace{asked!r}" if len(asked) > 1 else f"trace({asked[0]!r})")
        await press(pilot)
        return pilot.app.screen

    return begin


def lines(screen: Any) -> list[str]:
    """The lines of the list, all columns of them."""
    return [" ".join(cell for cell in line.cells if cell) for line in screen._table.lines]


def line_with(screen: Any, word: str) -> str:
    return next(line for line in lines(screen) if word in line.split())


async def test_a_bottling_is_traced_back_and_on(opened: Any, press: Any, traced: Any) -> None:
    """By arithmetic: three quarters of the tank were M-27, one quarter was a mead that rested in B-010."""
    async with opened(page="lots") as pilot:
        screen = await traced(pilot, "26-A")
        assert line_with(screen, "M-27").startswith("comes from M-27 225.0 L 75.00 %")
        assert line_with(screen, "B-010").startswith("rested in B-010 75.0 L 25.00 %")
        await press(pilot, ">")
        assert lines(screen)[0] == "all of it 300.0 L"
        assert line_with(screen, "26-A").startswith("bottled 26-A 300.0 L 100.00 %")
        await press(pilot, "escape")
        assert "rested in" in "".join(lines(screen)), "Esc leads back to what was traced before"
        await press(pilot, "escape")
        assert pilot.app.current_mode == "lots", "and then to the page one came from"


async def test_the_tree_unfolds_and_what_is_under_the_cursor_is_traced(opened: Any, press: Any, traced: Any) -> None:
    async with opened(page="lots", size=(140, 40)) as pilot:
        screen = await traced(pilot, "26-A")
        await press(pilot, "v", "right", "end")
        assert screen.current.code == "M-26"
        assert lines(screen)[0] == "26-A 300.0 L 100.00 %"
        await press(pilot, "left", "left")
        folded = len(lines(screen))
        await press(pilot, "left", "right")
        assert len(lines(screen)) >= folded
        await press(pilot, "home", "down", "<")
        assert screen.asked.question.code == "T-02"
        assert screen.asked.found.direction == "back"
        assert screen.asked.side == "tree", "the side stays"


async def test_enter_opens_the_page_and_esc_returns_to_the_line(opened: Any, press: Any, traced: Any) -> None:
    async with opened(page="lots") as pilot:
        screen = await traced(pilot, "26-A")
        while screen.current.code != "B-010":
            await press(pilot, "down")
        at = screen._list.cursor
        await press(pilot, "enter")
        assert (pilot.app.current_mode, pilot.app.desk.tag) == ("barrel", "B-010")
        await press(pilot, ">")
        assert (pilot.app.current_mode, screen.asked.question.code) == ("recall", "B-010")
        await press(pilot, "escape")
        assert pilot.app.current_mode == "barrel"
        await press(pilot, "escape")
        assert (pilot.app.current_mode, screen.asked.question.code, screen._list.cursor) == ("recall", "26-A", at)


async def test_additions_hands_and_the_label_stand_on_sides_of_their_own(opened: Any, press: Any, traced: Any) -> None:
    async with opened(page="lots", size=(100, 30)) as pilot:
        screen = await traced(pilot, "26-A")
        await press(pilot, "v", "v")
        assert [line.split()[1:4] for line in lines(screen)] == [["T-02", "20.0", "g"]]
        await press(pilot, "v")
        assert "Jory" in " ".join(lines(screen))
        await press(pilot, "v")
        assert "in barrels" in " ".join(lines(screen))
        assert "75.00 %" in next(line for line in lines(screen) if "heather" in line)


async def test_a_code_is_typed_and_a_wrong_one_stays_in_the_line(opened: Any, press: Any, bottled: Book) -> None:
    async with opened(page="recall") as pilot:
        screen = pilot.app.screen
        assert "Type or scan" in screen.query_one(Wrapped).plain
        await press(pilot, *"M-28", "enter")
        assert "did you mean M-27" in str(screen.query_one(StatusLine).content)
        await press(pilot, *"M-27", "enter")
        assert line_with(screen, "26-A").startswith("bottled 26-A 225.0 L 75.00 %")


async def test_a_hand_is_asked_for_in_a_form(opened: Any, press: Any, bottled: Book) -> None:
    """100 L out of a barrel by Jory: three quarters of them went into bottles."""
    async with opened(page="recall") as pilot:
        screen = pilot.app.screen
        await press(pilot, "q")
        assert isinstance(pilot.app.screen, QuestionForm)
        await press(pilot, "enter")
        assert isinstance(pilot.app.screen, QuestionForm), "nothing is asked yet"
        await press(pilot, "tab", *"jory", "enter")
        assert screen.asked.found.title == "entries by Jory"
        assert line_with(screen, "26-A").startswith("bottled 26-A 75.0 L 75.00 %")


async def test_the_recall_list_is_read_on_screen_within_its_width(opened: Any, press: Any, traced: Any) -> None:
    async with opened(page="lots") as pilot:
        await traced(pilot, "M-27")
        await press(pilot, "h")
        paper = pilot.app.screen
        assert isinstance(paper, Paper)
        assert "stop: sell none" in paper._text
        assert max(map(len, paper._text.splitlines())) <= 76


async def test_it_is_reached_from_the_book_by_the_entry(opened: Any, press: Any, bottled: Book) -> None:
    async with opened(page="book") as pilot:
        book_screen = pilot.app.screen
        while book_screen.row.entry is None or book_screen.row.entry.kind != "rack":
            await press(pilot, "right", "down")
        await press(pilot, ">")
        assert pilot.app.current_mode == "recall"
        assert pilot.app.screen.asked.found.title.startswith("entry ")
        assert line_with(pilot.app.screen, "26-A").startswith("bottled 26-A 75.0 L 75.00 %")


@pytest.mark.parametrize("typed", ["trace 26-a", "cost 26-A", "trace jory"])
async def test_the_palette_finds_what_is_asked_by_a_word_and_a_name(
    opened: Any, press: Any, bottled: Book, typed: str
) -> None:
    async with opened(page="racks") as pilot:
        await press(pilot, "ctrl+p", *typed)
        await pilot.pause(0.3)
        await press(pilot, "enter")
        await press(pilot)
        if typed.startswith("cost"):
            assert isinstance(pilot.app.screen, Paper)
            assert "26-A" in pilot.app.screen._title
        else:
            assert pilot.app.current_mode == "recall"
            question = pilot.app.screen.asked.question
            assert (question.code, question.hand) == (("", "Jory") if "jory" in typed else ("26-A", ""))


async def test_what_was_written_since_is_in_what_one_comes_back_to(
    opened: Any, press: Any, traced: Any, bottled: Book
) -> None:
    """30 of 400 bottles are sold while another trace is up."""
    async with opened(page="lots") as pilot:
        screen = await traced(pilot, "M-27")
        await press(pilot, "down", "<")
        assert screen.asked.question.code == "26-A"
        bottled.write(acts.Remove(code="26-A", bottles=30, went="sold", party="Quay Inn"))
        pilot.app.desk.read_again()
        await press(pilot)
        await press(pilot, "escape")
        assert screen.asked.question.code == "M-27"
        assert "30 bottles to call back" in screen._table.lines[0].words


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (140, 40)])
async def test_what_finds_no_room_beside_the_figures_stands_below(
    opened: Any, press: Any, traced: Any, size: tuple[int, int]
) -> None:
    """At every size the names and litres; when and by whom where there is room, and always of the line in hand."""
    async with opened(page="lots", size=size) as pilot:
        screen = await traced(pilot, "26-A")
        await press(pilot, "end")
        strips = pilot.app.screen._compositor.render_strips()
        drawn = ["".join(segment.text for segment in strip).rstrip() for strip in strips]
        assert all(len(line) <= size[0] for line in drawn)
        for listed in screen._table.lines:
            assert any(listed.cells[1] in line and listed.cells[2] in line for line in drawn), listed
        assert screen.current.words in screen.query_one(Wrapped).plain


async def test_an_empty_vessel_leads_on_but_not_back(opened: Any, press: Any, traced: Any) -> None:
    async with opened(page="lots") as pilot:
        screen = await traced(pilot, "B-012", "back")
        assert "it is empty now; > shows what was in it" in screen.query_one(Wrapped).plain


async def test_what_a_place_is_stays_in_sight_where_there_is_little_room(opened: Any, press: Any, traced: Any) -> None:
    """A long name is cut, with a mark, before it is left out whether a place was bottled, holds it or passed it on."""
    async with opened(page="lots", size=(60, 20)) as pilot:
        screen = await traced(pilot, "M-26")
        width = screen._list.scrollable_content_region.width
        rows = [screen._list.line(y, width).plain for y in range(screen._list.line_count)]
    assert any(row.startswith("holds it now") for row in rows)
    assert max(map(len, rows)) <= width < 58, "a bar stands beside them"
    assert all(row.rstrip().endswith(("%", "L")) for row in rows), "volume and share stand whole"


async def test_the_hands_have_their_places_and_the_tree_how_it_unfolds(opened: Any, press: Any, traced: Any) -> None:
    async with opened(page="lots") as pilot:
        screen = await traced(pilot, "26-A")
        await press(pilot, "v")
        assert "→ unfolds" in str(screen.query_one("#recall-sides").render())
        await press(pilot, "v", "v")
        assert "places" in str(screen.query_one("#recall-head").render())
        assert "T-02" in screen._list.line(0, 78).plain


@pytest.mark.parametrize(("page", "keys"), [("racks", ("down",)), ("today", ())])
@pytest.mark.parametrize(("key", "direction"), [("<", "back"), (">", "forward")])
async def test_a_vessel_under_the_cursor_is_traced_from_any_list_of_vessels(
    opened: Any, press: Any, book: Book, page: str, keys: tuple[str, ...], key: str, direction: str
) -> None:
    """As its own page does it: the same vessel, either way."""
    for name, value in (("free_so2_mg_l", 4.0), ("abv", 13.0)):  # a trouble, so that Today has a row
        book.write(acts.Reading(vessel="B-001", property=name, value=value, sure=True))
    async with opened(page=page) as pilot:
        await press(pilot, *keys)
        tag = pilot.app.screen.pointed
        assert tag in book.cellar()
        await press(pilot, key)
        assert pilot.app.current_mode == "recall"
        asked = pilot.app.screen.asked.question
        assert (asked.code, asked.direction) == (tag, direction)


async def test_another_trace_opens_on_the_table(opened: Any, press: Any, traced: Any) -> None:
    """Whatever side of the last one was shown; that one is on its side again when one goes back to it."""
    async with opened(page="lots") as pilot:
        screen = await traced(pilot, "26-A")
        await press(pilot, "v", "v", "v")
        assert screen.asked.side == "hands"
        await press(pilot, *"M-27", "enter")
        assert (screen.asked.question.code, screen.asked.side) == ("M-27", "table")
        await press(pilot, "escape")
        assert (screen.asked.question.code, screen.asked.side) == ("26-A", "hands")

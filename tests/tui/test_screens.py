"""Racks, the barrel's page, forms, finding, help: each by keyboard at 80 by 24."""

import re
from collections.abc import Callable
from pathlib import Path
from threading import Event
from typing import Any, cast

import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.log import Entry
from cooperage.settings import Settings
from cooperage.tasting.flights import start_flight
from cooperage.tui.app import CooperageApp
from cooperage.tui.guide.key_sheet import ELSEWHERE, IN_LIST, NOT_NOW, KeySheet
from cooperage.tui.keys import key_words
from cooperage.tui.racks.layout import lay_out
from cooperage.tui.racks.map import RackMap
from cooperage.tui.shared.act_form import ActForm
from cooperage.tui.shared.bars import BusyBar, FindBox, KeyBar, StatusLine, active_keys
from cooperage.tui.shared.dialogs import Confirm
from cooperage.tui.shared.fields import FieldRow


def shown(pilot: Pilot[Any], selector: Any) -> str:
    return str(pilot.app.screen.query_one(selector).render())


def picture(pilot: Pilot[Any]) -> str:
    """The screen as plain lines of text."""
    return "\n".join(
        "".join(segment.text for segment in strip) for strip in pilot.app.screen._compositor.render_strips()
    )


def field(pilot: Pilot[Any], name: str) -> FieldRow:
    return cast(FieldRow, cast(Any, pilot.app.screen).rows[name])


@pytest.mark.slow
@pytest.mark.parametrize("page", ["racks", "barrel"])
async def test_a_scanned_tag_opens_its_barrel_from_anywhere(opened: Any, press: Any, page: str) -> None:
    """A scanner is a keyboard that types a tag and Enter."""
    async with opened(page=page) as pilot:
        await press(pilot, "B-009", "enter")
        assert pilot.app.current_mode == "barrel"
        assert shown(pilot, "#head").startswith("B-009")
        assert not pilot.app.screen.query_one(FindBox).value


@pytest.mark.slow
async def test_near_tags_are_shown_while_a_tag_is_typed(opened: Any, press: Any) -> None:
    """A capital begins a tag; the rest may be small letters or figures."""
    async with opened(page="racks") as pilot:
        await press(pilot, "B-01")
        assert pilot.app.screen.query_one(FindBox).near == "B-010  B-011  B-012"
        await press(pilot, "2", "enter")
        assert shown(pilot, "#head").startswith("B-012")


@pytest.mark.slow
async def test_a_refused_tag_is_selected_so_that_the_next_takes_its_place(opened: Any, press: Any) -> None:
    """The next scan never runs on from a refused one."""
    async with opened(page="racks") as pilot:
        await press(pilot, "B-099", "enter", "B-009", "enter")
        assert shown(pilot, "#head").startswith("B-009")


@pytest.mark.slow
async def test_a_lot_and_a_flight_are_found_by_their_codes(opened: Any, press: Any, book: Book) -> None:
    """A code leads to the lots with the cursor on the lot, and to the flights likewise."""
    poured = start_flight(book, ["B-001"])
    async with opened(page="racks") as pilot:
        await press(pilot, "M-26", "enter")
        assert pilot.app.current_mode == "lots"
        await pilot.pause(0.3)
        await press(pilot)
        assert "lime honey" in pilot.app.screen.query_one("#trace").plain
        await press(pilot, poured.code, "enter")
        assert pilot.app.current_mode == "panel"


@pytest.mark.slow
async def test_an_unknown_tag_stays_in_the_find_box(opened: Any, press: Any) -> None:
    """It is told with the nearest tags, and Escape gives up."""
    async with opened(page="racks") as pilot:
        await press(pilot, "B-099", "enter")
        box = pilot.app.screen.query_one(FindBox)
        assert box.value == "B-099"
        assert "there is no vessel 'B-099'; did you mean B-009" in shown(pilot, StatusLine)
        await press(pilot, "escape")
        assert isinstance(pilot.app.focused, RackMap)


async def test_the_racks_show_rooms_levels_and_what_is_due(opened: Any) -> None:
    """Each vessel shows its tag, ○ when something is due, a level, litres short of full; no colour is needed.

    4 % of 225 L a year (common practice, no source) for 35 days is 0.86 L: 224.1 L are more than 7 eighths, not 8.
    """
    async with opened(page="racks") as pilot:
        result = picture(pilot)
    assert " North  bay 1 " in result
    assert "B-001○▇ 0.9" in result
    assert "B-012 empty " in result
    assert "15 vessels  ▲ 0  ○ 11 due" in result


@pytest.mark.slow
async def test_arrows_walk_the_racks_and_enter_opens_the_barrel(opened: Any, press: Any) -> None:
    """Bays lie side by side and tiers one above the other."""
    async with opened(page="racks") as pilot:
        await press(pilot, "right")
        assert pilot.app.screen.query_one(RackMap).current.tag == "B-004"
        await press(pilot, "down")
        assert pilot.app.screen.query_one(RackMap).current.tag == "B-003"
        await press(pilot, "enter")
        assert shown(pilot, "#head").startswith("B-003")


@pytest.mark.slow
async def test_the_filter_keeps_what_matches_every_word(opened: Any, press: Any) -> None:
    """Past life, wood, lot, tag, room, due and empty can be typed; Escape shows all again."""
    async with opened(page="racks") as pilot:
        await press(pilot, "q", "whiskey empty")
        assert "1 of 15 vessels" in shown(pilot, "#count")
        await press(pilot, "enter")
        assert pilot.app.screen.query_one(RackMap).current.tag == "B-012"
        await press(pilot, "escape")
        assert "15 vessels" in shown(pilot, "#count")


def test_two_vessels_in_one_place_are_both_laid_out(book: Book) -> None:
    """A wrong position never hides a barrel."""
    standings = [s for s in book.cellar() if s.tag in ("B-001", "B-002")]
    for standing in standings:
        standing.state.position = ("North", "1", 1, 1)
    laid = lay_out(standings, 5)
    lines = [[each for each in line.vessels if each] for line in laid if not line.heading]
    assert [[getattr(each, "tag", each) for each in line] for line in lines] == [["B-001"], ["B-002"]]


async def test_the_barrel_page_tells_its_whole_life(opened: Any) -> None:
    """Wood, past, fills, contents, figures with their age, what comes next, and its entries."""
    async with opened(page="barrel") as pilot:
        result = picture(pilot)
    assert "french oak, held red wine, fill 3" in result
    assert "; book 225.0 of 225.0 L" in result
    assert re.search(r"B-001  North 1\.1\.1  M-26 +○ top", result)
    assert "2 earlier fills" in result
    assert "200 days in this barrel" in result
    assert "free SO2" in result
    assert re.search(r"free SO2 +~31\.\d +±\d\.\d +mg/L +2 d", result)
    assert "○ due: top since 26 Sep" in result
    assert re.search(r"2 Oct +tasted from the thief", result)


@pytest.mark.slow
async def test_charts_take_the_place_of_the_page(opened: Any, press: Any, book: Book) -> None:
    """`v` shows one chart after the other; at 140 columns four at once, each under its name."""
    book.write(acts.Reading(vessel="B-001", property="abv", value=13.4))
    async with opened(page="barrel") as pilot:
        await press(pilot, "v")
        assert "free SO2, mg/L" in picture(pilot)
        await press(pilot, *"vvv")
        assert "lost between visits, L" in picture(pilot)
    async with opened(page="barrel", size=(140, 40)) as pilot:
        await press(pilot, "v")
        result = picture(pilot)
        assert "lost between visits, L" in result
        assert "strength, % vol" in result
        assert "volatile acidity, g/L" in result


@pytest.mark.slow
async def test_a_barrel_is_retired_with_a_reason(
    opened: Any, press: Any, newest: Callable[..., list[Entry]], book: Book
) -> None:
    """The form asks for the reason; without one it stays open and says what is needed."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "B-012", "enter", "z", "enter")
        assert isinstance(pilot.app.screen, ActForm)
        assert "reason is needed" in field(pilot, "reason").complaint
        await press(pilot, "staves spent", "enter")
        assert "RETIRED on" in shown(pilot, "#head")
        assert "z retire" not in shown(pilot, KeyBar)
    assert (newest()[0].kind, newest()[0].vessel, newest()[0].said["reason"]) == ("retire", "B-012", "staves spent")
    assert book.cellar()["B-012"].is_retired


@pytest.mark.slow
async def test_a_full_barrel_is_not_retired_and_the_form_stays(
    opened: Any, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """The book's refusal is told in the form; what was typed is still there."""
    before = newest()[0].id
    async with opened(page="barrel") as pilot:
        await press(pilot, "z", "leaks", "enter")
        assert "Refused: B-001 still holds 225.0 L" in shown(pilot, StatusLine)
        assert field(pilot, "reason").text == "leaks"
    assert newest()[0].id == before


@pytest.mark.slow
async def test_a_bad_value_is_named_at_its_field(opened: Any, press: Any, newest: Callable[..., list[Entry]]) -> None:
    """What cannot be read is told under the field it stands in."""
    before = newest()[0].id
    async with opened(page="barrel") as pilot:
        await press(pilot, "s", "a sip", "enter")
        assert "'a sip' is not a volume" in field(pilot, "volume").complaint
        assert field(pilot, "volume").text == "a sip"
    assert newest()[0].id == before


@pytest.mark.slow
async def test_a_dangerous_substance_shows_its_caution(
    opened: Any, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """Sulphite shows the caution for sulphur dioxide before anything is written; a tenfold dose is asked back."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "a", "enter", "down", "enter")
        assert "Sulphur dioxide harms lungs and eyes" in shown(pilot, "#caution")
        assert field(pilot, "amount").is_focused
        await press(pilot, "100", "enter")
        assert isinstance(pilot.app.screen, Confirm)
        await press(pilot, "-")
        assert field(pilot, "amount").text == "100"
        await press(pilot, *["backspace"], "enter")
    assert (newest()[0].kind, newest()[0].said["amount"]) == ("addition", 10.0)


@pytest.mark.slow
async def test_a_spirit_barrel_is_asked_about_before_sulphur_is_burned(
    opened: Any, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """No flame near a barrel that held spirit: the caution is shown, and the book asks."""
    before = newest()[0].id
    async with opened(page="barrel") as pilot:
        await press(pilot, "B-012", "enter", "w")
        field(pilot, "treatment").set_text("sulphur wick")
        await press(pilot, "ctrl+s")
        assert "B-012 held whiskey: no flame, spark or hot tool near" in shown(pilot, "#question")
        await press(pilot, "-", "escape")
    assert newest()[0].id == before


@pytest.mark.slow
async def test_an_older_entry_is_struck_from_the_timeline(
    opened: Any, press: Any, newest: Callable[..., list[Entry]], book: Book
) -> None:
    """`x` strikes the entry under the cursor, and the page shows it struck."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "down", "down", "right", *["down"] * 3, "x")
        assert "volatile acidity 0.40 g/L" in shown(pilot, "#question")
        await press(pilot, "+")
        assert "STRUCK: VA 0.40 g/L" in picture(pilot)
    assert newest()[0].kind == "strike"
    assert book.cellar()["B-001"].value("va_g_l") is None


@pytest.mark.slow
@pytest.mark.parametrize("page", ["rounds", "racks", "barrel"])
async def test_help_lists_the_keys_that_work(opened: Any, press: Any, page: str) -> None:
    """Every key of the table that acts here stands on the sheet, and nothing else but what waits."""
    async with opened(page=page) as pilot:
        active = {key_words(a.binding.key) for a in active_keys(pilot.app.screen, with_cursor=True)}
        await press(pilot, "?")
        sheet = pilot.app.screen
        assert isinstance(sheet, KeySheet)
        parts = {title: lines for title, lines in sheet.parts.items() if title not in (IN_LIST, NOT_NOW, ELSEWHERE)}
        listed = {key for lines in parts.values() for key, _, _ in lines}
        assert listed == active
        await press(pilot, "escape")
        assert pilot.app.current_mode == page


@pytest.mark.slow
@pytest.mark.parametrize(("size", "is_shown"), [((80, 24), False), ((80, 40), True), ((140, 40), True)])
async def test_what_figures_rest_on_stands_where_there_is_room(opened: Any, size: Any, is_shown: bool) -> None:
    """On a tall terminal under the figures, on a wide one on the card."""
    async with opened(page="barrel", size=size) as pilot:
        where = "#card" if size[0] > 110 else "#figures"
        words = " ".join(shown(pilot, where).split())
    assert ("no readings to learn from yet" in words) is is_shown


@pytest.mark.slow
@pytest.mark.parametrize("page", ["rounds", "racks", "barrel", "figures"])
@pytest.mark.parametrize("width", [60, 80, 140])
async def test_the_keys_take_one_row_and_each_is_shown_whole(opened: Any, page: str, width: int) -> None:
    """Acts, going, always; what finds no room is left to the list of keys, which itself is never left out."""
    async with opened(page=page, size=(width, 24)) as pilot:
        row = shown(pilot, KeyBar)
        keys = {f"{key_words(a.binding.key)} {a.binding.description}" for a in active_keys(pilot.app.screen)}
    assert len(row) <= width - 2
    stands = {each.strip() for group in row.split(" │ ") for each in group.split("  ")}
    assert stands <= keys
    assert "? keys" in stands


async def test_screens_are_listed_where_function_keys_do_not_arrive(opened: Any, press: Any) -> None:
    """Ctrl+P and the word of a screen open it."""
    async with opened(page="rounds") as pilot:
        await press(pilot, "ctrl+p", "racks", "enter")
        assert pilot.app.current_mode == "racks"


@pytest.mark.slow
@pytest.mark.parametrize("theme", ["light", "dark"])
async def test_without_colour_nothing_is_lost(
    opened: Any, press: Any, monkeypatch: pytest.MonkeyPatch, theme: str
) -> None:
    """NO_COLOR takes every colour away, and the words and marks are the same."""
    async with opened(page="racks", theme=theme) as pilot:
        coloured = picture(pilot)
    monkeypatch.setenv("NO_COLOR", "1")
    async with opened(page="racks", theme=theme) as pilot:
        assert pilot.app.no_color
        assert picture(pilot) == coloured


@pytest.mark.slow
async def test_what_is_typed_in_a_form_survives_help_and_questions(
    opened: Any, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """A form is closed only when it is written or left."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "s", "2 L", "enter")
        assert isinstance(pilot.app.screen, Confirm)
        await press(pilot, "escape")
        assert field(pilot, "volume").text == "2 L"
        assert isinstance(pilot.app.focused, Input)
        await press(pilot, "enter", "+")
    assert [(m.destination, m.ml) for m in newest()[0].moves] == [("sample", 2000)]


@pytest.mark.slow
async def test_slow_work_shows_a_bar_and_can_be_let_go_of(opened: Any, press: Any) -> None:
    """Escape drops the result of what is still being reckoned; the screen stays usable meanwhile."""
    begun, may_end = Event(), Event()
    taken: list[str] = []

    def slow() -> str:
        begun.set()
        may_end.wait(20)
        return "reckoned"

    async with opened(page="racks") as pilot:
        screen = pilot.app.screen
        screen.run_slow_work("slow", slow, taken.append)
        for _ in range(100):
            await pilot.pause(0.1)
            if screen.query_one(BusyBar).display:
                break
        assert begun.is_set()
        assert screen.query_one(BusyBar).display
        await pilot.press("right", "escape")
        await pilot.pause()
        assert not screen.query_one(BusyBar).display
        may_end.set()
        assert screen.query_one(RackMap).current.tag == "B-004"
    assert taken == []


@pytest.mark.slow
@pytest.mark.parametrize("page", ["rounds", "racks", "barrel"])
async def test_an_empty_cellar_is_told_and_nothing_breaks(tmp_path: Path, press: Any, page: str) -> None:
    """A new book has no vessels yet: every screen says so in words, and keys do no harm."""
    book = Book.create(str(tmp_path / "new.db"))
    app = CooperageApp(book, Settings(hand="Ada"))
    async with app.run_test(size=(80, 24)) as pilot:
        if app.current_mode != page:
            await app.switch_mode(page)
        await press(pilot, *"gxdkvz", "enter", "down", "left")
        result = picture(pilot)
        await press(pilot, "ctrl+z")
        assert "there is no entry left to strike" in picture(pilot)
    assert {"rounds": "no vessels yet", "racks": "0 vessels", "barrel": "no vessels yet"}[page] in result
    book.close()

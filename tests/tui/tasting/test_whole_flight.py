"""A flight of eight by four tasters with five attributes, all of it typed; the program ends in the middle of it."""

from typing import Any

import pytest

from cooperage.book import Book
from cooperage.book.declared.verdicts import Judgement
from cooperage.tasting.flights import flights, score, start_flight
from cooperage.tui.app import PAGES
from tests.tui.several.test_keys_of_the_day import Keys

pytestmark = pytest.mark.slow
TASTERS = ("Ada", "Ben", "Cas", "Dora")
SCORED = "honey, fruit, oak, acidity, body"
VERDICTS = ("keep", "ready", "look again 8 weeks", "blend")


def line_of(taster: int, place: int) -> str:
    """What a taster types for the glass that stands at a place of the taster's own order."""
    figures = " ".join(str((taster + place + nth) % 10) for nth in range(5))
    return f"{figures} {10 + (taster + place) % 8}.5 vanilla; {VERDICTS[(taster + place) % 4]}"


def text_of(pilot: Any) -> str:
    """All that stands on the screen."""
    strips = pilot.app.screen._compositor.render_strips()
    return "\n".join(strip.text for strip in strips)


async def test_eight_glasses_by_four_tasters_are_typed_and_none_is_lost(opened: Any, press: Any, book: Book) -> None:
    """The panel and its attributes once; then each line as it is said, one Enter a glass and one a taster.

    The program ends while the third glass of the third taster is half typed, without leaving the sheet: all that was
    taken stands in the book, and what was half typed is in the line again.
    """
    async with opened(page="panel") as pilot:
        keys = Keys(press, pilot)
        await keys.press("n", "tab", *[" "] * 8, "tab", "tab")
        await keys.say(", ".join(TASTERS))
        await keys.press("tab")
        await keys.say(SCORED)
        await keys.press("ctrl+s", "-", "enter")
        assert len(flights(book)[0].glasses) == 8
        for taster in range(2):
            await keys.press("enter")
            for place in range(8):
                await keys.say(line_of(taster, place))
                await keys.press("enter")
        await keys.press("enter")
        for place in range(2):
            await keys.say(line_of(2, place))
            await keys.press("enter")
        await keys.say(line_of(2, 2)[:9])
    besides = keys.besides
    assert len(flights(book)[0].scores) == 18
    async with opened(page="panel") as pilot:
        keys = Keys(press, pilot)
        await keys.press("enter", "enter")
        assert pilot.app.screen.query_one("#line").value == line_of(2, 2)[:9]
        await keys.say(line_of(2, 2)[9:])
        await keys.press("enter")
        for taster, place in [*((2, place) for place in range(3, 8)), *((3, place) for place in range(8))]:
            if (taster, place) == (3, 0):
                await keys.press("enter")
            await keys.say(line_of(taster, place))
            await keys.press("enter")
        assert "All have scored every glass" in text_of(pilot)
    (poured,) = flights(book)
    assert poured.left_to_give() == []
    for taster, name in enumerate(TASTERS):
        for place, code in enumerate(poured.orders[name]):
            given = poured.scores[code, name]
            figures = [given.marks[each.name] for each in poured.attributes]
            assert figures == [(taster + place + nth) % 10 for nth in range(5)]
            assert given.value == 10.5 + (taster + place) % 8
            assert given.words == "vanilla"
            assert given.verdict is not None
            assert given.verdict.word == VERDICTS[(taster + place) % 4].removesuffix(" 8 weeks")
    glasses, tasters = 8, len(TASTERS)
    assert besides + keys.besides <= glasses * tasters + tasters + 20


async def test_the_usual_set_is_kept(opened: Any, press: Any, book: Book) -> None:
    """A flight of six in the panel and attributes of the last one: 25 keys at most."""
    start_flight(book, ["B-001", "B-002"], code="F1", attributes=["honey", "oak=0-100 mm"], tasters=["Ada", "Ben"])
    async with opened(page="panel") as pilot:
        keys = Keys(press, pilot)
        await keys.press("n", "tab", *[" "] * 6, "ctrl+s")
        assert keys.all <= 25
    poured = flights(book)[0]
    assert [(each.name, each.scale) for each in poured.attributes] == [("honey", "0-10"), ("oak", "0-100 mm")]
    assert list(poured.orders) == ["Ada", "Ben"]


async def test_a_control_is_poured_and_sampled(opened: Any, press: Any, book: Book, newest: Any) -> None:
    """Its tag may be scanned; all know it where that is ticked."""
    async with opened(page="panel") as pilot:
        await press(pilot, "n", "B-001 B-002", "enter")
        rows = pilot.app.screen.rows
        rows["control"].set_text("b-003")
        rows["known"].set_text("yes")
        rows["tasters"].set_text("Ada")
        await press(pilot, "ctrl+s")
    (poured,) = flights(book)
    assert [(glass.vessel, glass.is_reference) for glass in poured.glasses if glass.role] == [("B-003", True)]
    assert {entry.vessel for entry in newest(3) if entry.kind == "sample"} == {"B-001", "B-002", "B-003"}


async def test_tasters_of_whom_none_is_known_are_asked_back(opened: Any, press: Any, book: Book) -> None:
    """Words that went into the wrong field pour nothing and stay; a first panel is poured once it is confirmed."""
    async with opened(page="panel") as pilot:
        await press(pilot, "n", "B-001 B-002", "enter")
        form = pilot.app.screen
        form.rows["tasters"].set_text("honey, smoke")
        await press(pilot, "ctrl+s")
        assert "honey, smoke. No one of these names has tasted" in text_of(pilot)
        await press(pilot, "escape")
        assert (pilot.app.screen, form.rows["tasters"].text, flights(book)) == (form, "honey, smoke", [])
        form.rows["tasters"].set_text("Tove, Maren")
        await press(pilot, "ctrl+s", "+")
        assert flights(book)[0].panel == ["Tove", "Maren"]
        await press(pilot, "escape", "n", "B-003", "enter")
        pilot.app.screen.rows["tasters"].set_text("maren, Osk")
        await press(pilot, "ctrl+s")
    assert len(flights(book)) == 2


async def test_nothing_shows_a_blind_flight(opened: Any, press: Any, book: Book) -> None:
    """Every page, the palette, the search, the book and a vessel's page: no code with its vessel, no figure or word.

    Not to a taster in the sheet either: of others there is nothing.
    """
    poured = start_flight(
        book, ["B-001", "B-002"], code="BLIND", scale="0-90000", attributes=["oak=0-90000"], tasters=["Ada", "Bea"]
    )
    for place, glass in enumerate(poured.glasses):
        for taster, value in (("Bea", 41371.0), ("Cas", 45913.0)):
            said = f"xyzzy {glass.vessel}"
            marks = {"oak": 70001.0 + place}
            score(book, "BLIND", glass.code, taster, value + place, said, marks=marks, verdict=Judgement("quarantine"))
    seen: dict[str, str] = {}
    async with opened(size=(140, 40)) as pilot:
        pilot.app.desk.tag = "B-001"
        for page in PAGES:
            await pilot.app.switch_mode(page.name)
            await press(pilot)
            seen[page.name] = text_of(pilot)
        for sought in ("xyzzy", "BLIND", "quarantine", *(glass.code for glass in poured.glasses)):
            await press(pilot, "/", sought)
            seen[f"find {sought}"] = text_of(pilot).replace(sought, "", 1)
            await press(pilot, "escape")
            await press(pilot, "ctrl+p", sought)
            seen[f"palette {sought}"] = text_of(pilot).replace(sought, "", 1)
            await press(pilot, "escape")
        pilot.app.desk.tag = "B-001"
        await pilot.app.switch_mode("barrel")
        await press(pilot, "v")
        seen["charts"] = text_of(pilot)
        await pilot.app.switch_mode("panel")
        await press(pilot, "enter", "Ada", "enter")
        seen["sheet"] = text_of(pilot)
    hidden = ("xyzzy B", "4137", "4591", "70001", "70002", "43642", "43643")
    for where, text in seen.items():
        assert not [word for word in hidden if word in text], where
        for line in text.splitlines():
            about = [glass for glass in poured.glasses if glass.code in line]
            assert not [glass for glass in about if str(glass.vessel) in line], (where, line)
    assert not any(str(glass.vessel) in seen["sheet"] for glass in poured.glasses)

"""The book: entries newest first, found by kind, vessel and day, in full, struck, and held against the laws."""

import json
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from textual.pilot import Pilot

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.log import Entry
from cooperage.tui.shared.dialogs import Confirm
from cooperage.tui.shared.line_list import LineList


@pytest.fixture
def topped(book: Book) -> Any:
    """The last entry: B-004 topped by 1.2 L that had evaporated before."""
    book.write(acts.Sample(vessel="B-004", volume=700))
    return book.write(acts.Top(vessel="B-004", volume=1200, source="K-01", hand="Ben", note="cold day"))


def seen(pilot: Pilot[Any]) -> str:
    return pilot.app.export_screenshot().replace("&#160;", " ")


async def test_entries_are_listed_newest_first_and_told_in_full(opened: Any, topped: Any) -> None:
    """The newest entry stands on top; its moves, hand and note are told below."""
    async with opened(page="book") as pilot:
        result = seen(pilot)
        assert pilot.app.screen.current.id == topped.id
    assert "top B-004, done" in result
    assert "by Ben" in result
    assert "K-01 → B-004" in result
    assert "note: cold day" in result


@pytest.mark.slow
async def test_the_filter_understands_kind_vessel_and_day(opened: Any, press: Any, topped: Any, book: Book) -> None:
    """`sample b-004` leaves one entry; yesterday's end leaves none of today's; show all brings them back."""
    async with opened(page="book") as pilot:
        screen = pilot.app.screen
        every = len(screen._entries)
        await press(pilot, "q", "sample b-004", "enter")
        assert [(entry.kind, entry.vessel) for entry in screen._entries] == [("sample", "B-004")]
        await press(pilot, "escape")
        assert len(screen._entries) == every
        await press(pilot, "q", "yesterday", "enter")
        assert screen._entries
        assert all(entry.happened_at < book.now() - timedelta(hours=12) for entry in screen._entries)


@pytest.mark.slow
async def test_a_filter_that_means_nothing_is_refused_and_stays(opened: Any, press: Any, topped: Any) -> None:
    """The word is named, the list stays, and the text can be corrected."""
    async with opened(page="book") as pilot:
        every = len(pilot.app.screen._entries)
        await press(pilot, "q", "xylophone", "enter")
        assert "is not a kind of entry, a vessel or a day" in seen(pilot)
        assert pilot.app.screen.query_one("#book-filter").value == "xylophone"
        assert len(pilot.app.screen._entries) == every


@pytest.mark.slow
async def test_an_entry_is_struck_after_it_was_shown(
    opened: Any, press: Any, topped: Any, book: Book, newest: Callable[..., list[Entry]]
) -> None:
    """The strike writes the reverse; the entry is marked, and can neither be struck again nor its strike."""
    before = book.cellar()["K-01"].ml
    async with opened(page="book") as pilot:
        await press(pilot, "x")
        question = pilot.app.screen
        assert isinstance(question, Confirm)
        await press(pilot, "+")
        screen = pilot.app.screen
        assert "STRUCK" in seen(pilot)
        for at, entry in enumerate(screen._entries[:2]):
            screen.query_one("#entries").cursor = at
            await pilot.pause()
            assert (entry.struck_by or entry.strikes) is not None
            assert screen.check_action("strike", ()) is False
    (strike,) = newest()
    assert (strike.kind, strike.strikes) == ("strike", topped.id)
    assert book.cellar()["K-01"].ml == before + 1200


async def test_no_strikes_nothing(opened: Any, press: Any, topped: Any, newest: Callable[..., list[Entry]]) -> None:
    """The question is answered with n: the entry stands."""
    async with opened(page="book") as pilot:
        await press(pilot, "x", "-")
    assert newest()[0].id == topped.id


@pytest.mark.slow
async def test_a_strike_that_later_entries_forbid_is_refused(
    opened: Any, press: Any, book: Book, newest: Callable[..., list[Entry]]
) -> None:
    """The lot was received before it filled the barrels: striking that would leave them filled from nothing."""
    before = newest()[0].id
    async with opened(page="book") as pilot:
        await press(pilot, "q", "receive", "enter", "x", "+")
        assert "Refused:" in seen(pilot)
        assert "at a later entry" in seen(pilot)
    assert newest()[0].id == before


@pytest.mark.slow
async def test_the_end_of_the_list_reads_older_entries(
    opened: Any, press: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With pages of ten, going to the end twice reads thirty entries."""
    monkeypatch.setattr("cooperage.tui.book.screen.PAGE", 10)
    async with opened(page="book") as pilot:
        screen = pilot.app.screen
        screen._count = 10
        screen._read()
        await press(pilot)
        assert len(screen._entries) == 10
        await press(pilot, "end")
        await press(pilot, "end")
        assert len(screen._entries) == 30


@pytest.mark.slow
async def test_the_laws_of_the_book_are_checked_and_counted(opened: Any, press: Any, topped: Any) -> None:
    """Every law is told with what it looked at."""
    async with opened(page="book", size=(100, 40)) as pilot:
        await press(pilot, "c")
        result = seen(pilot)
    assert "The book is in order" in result
    assert "litres are conserved" in result


@pytest.fixture
def visited(book: Book) -> Any:
    """One visit of Ben's at B-004: topped, two figures, and what was seen."""
    book.write(acts.Sample(vessel="B-004", volume=700))
    book.write(acts.Top(vessel="B-004", volume=1200, source="K-01", hand="Ben"))
    book.write(acts.Reading(vessel="B-004", property="ph", value=3.41, hand="Ben"))
    return book.write(acts.Reading(vessel="B-004", property="va_g_l", value=0.36, hand="Ben"))


def rows(pilot: Pilot[Any]) -> list[str]:
    entries = pilot.app.screen.query_one("#entries", LineList)
    return [entries.line(y, 120).plain for y in range(entries.line_count)]


async def test_a_visit_is_one_line_and_is_unfolded_into_its_entries(opened: Any, press: Any, visited: Any) -> None:
    """Right shows each entry in a row of its own, Left tells the visit in one line again, from any of its rows."""
    words = "topped 1.2 L from K-01 · pH 3.41 · VA 0.36 g/L"
    async with opened(page="book") as pilot:
        folded = rows(pilot)
        assert folded[0].endswith(f"Ben   B-004   ▸ {words}")
        await press(pilot, "right")
        assert [row.split(maxsplit=2)[-1] for row in rows(pilot)[1:4]] == [
            "topped 1.2 L from K-01", "pH 3.41", "VA 0.36 g/L",
        ]  # fmt: skip
        assert len(rows(pilot)) == len(folded) + 3
        await press(pilot, "down", "down")
        assert pilot.app.screen.current.said["property"] == "ph"
        await press(pilot, "left")
        assert rows(pilot) == folded
        assert pilot.app.screen.query_one("#entries").cursor == 0
        await press(pilot, "left")
        assert rows(pilot) == folded


async def test_one_entry_of_a_visit_is_struck(
    opened: Any, press: Any, visited: Any, newest: Callable[..., list[Entry]]
) -> None:
    """Struck on the visit's line, the entry is chosen first; in the line it stays, as struck."""
    async with opened(page="book") as pilot:
        await press(pilot, "x")
        assert "Which entry?" in seen(pilot)
        await press(pilot, "down", "down", "x", "+")
        await press(pilot)
        assert newest()[0].strikes == visited.id
        assert any(row.endswith("topped 1.2 L from K-01 · pH 3.41 · STRUCK: VA 0.36 g/L") for row in rows(pilot))


async def test_the_kept_plan_of_a_blend_is_told_in_words(opened: Any, book: Book) -> None:
    """No brackets and no quotes: what was asked for and what was planned, in the person's units."""
    brief = {"litres": 40, "limits": {"abv": {"min": 12.1, "max": 12.6}}, "objective": ["least_cost"]}
    plan = json.dumps({"brief": brief, "answer": {"blend": {"litres": 40.0, "abv": 12.4}}})
    book.write(acts.Rack(vessel="B-004", destination="T-01", volume=1000))
    book.write(acts.Blend(vessel="T-01", draws=(("B-005", 40_000),), plan=plan, sure=True))
    async with opened(page="book", size=(140, 40)) as pilot:
        text = pilot.app.screen.query_one("#entry").plain
    assert "asked for: 40 L; strength 12.1-12.6 % vol; least cost" in text
    assert "planned: 40.0 L, strength 12.4 % vol" in text
    assert "{" not in text

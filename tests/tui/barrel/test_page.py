"""The page of a vessel: its head, its visits that unfold, its charts; nothing cut, nothing that jumps."""

from typing import Any

import pytest
from textual.widgets import Static

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.log import Entry
from cooperage.tui.barrel.history import History

SIZES = [(60, 20), (80, 24), (140, 40)]


def drawn(pilot: Any) -> list[str]:
    strips = pilot.app.screen._compositor.render_strips()
    return ["".join(segment.text for segment in strip).rstrip() for strip in strips]


def body(pilot: Any) -> str:
    """What stands between the first row and the answer."""
    return "\n".join(drawn(pilot)[1:-3])


def regions(pilot: Any) -> dict[str, Any]:
    return {each.id: each.region for each in pilot.app.screen.query("#head, #figures, #timeline")}


@pytest.mark.slow
@pytest.mark.parametrize("size", SIZES)
async def test_the_page_is_whole_at_every_size(opened: Any, press: Any, size: tuple[int, int]) -> None:
    """Tag, level, limits and the newest visit, nothing cut; where there is room, the card too."""
    async with opened(page="barrel", size=size) as pilot:
        await press(pilot)
        result = body(pilot)
    assert "…" not in result
    for words in ("B-001", " L now (", "free SO2", "molecular SO2", "≥ 0.50", "≤ 0.80", "Visits ", " tasted"):
        assert words in result, words
    assert ("What next" in result) == (size[0] > 110)


@pytest.mark.slow
async def test_nothing_is_told_of_before_it_is_calculated_and_nothing_moves_then(
    opened: Any, press: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While the page is on its way it says so, with no mark; when it comes, every part stays where it was."""
    async with opened(page="barrel") as pilot:
        await press(pilot)
        screen = pilot.app.screen
        before, marks = regions(pilot), "○" in drawn(pilot)[1]
        screen._page = None
        pilot.app.desk.rates = {}
        screen._show_page()
        screen.query_one(History).wait()
        await pilot.pause()
        waiting = body(pilot)
        assert regions(pilot) == before
    assert waiting.count("calculating") == 4
    assert not {"▲", "✓"} & set(waiting.splitlines()[0])
    assert "○" not in waiting.splitlines()[0]
    assert marks in (True, False)


@pytest.mark.slow
async def test_a_visit_unfolds_and_folds(opened: Any, press: Any, book: Book) -> None:
    """Three readings of one go stand in one line; Right shows each, Left folds them, and neither leaves the barrel."""
    with book.writing() as w:
        for name, value in (("free_so2_mg_l", 30.0), ("ph", 3.41), ("abv", 13.4)):
            w.write(acts.Reading(vessel="B-001", property=name, value=value, hand="Tove", sure=True))
    async with opened(page="barrel") as pilot:
        history = pilot.app.screen.query_one(History)
        count = history.line_count
        await press(pilot, "down")
        assert "free SO2 30 mg/L · pH 3.41 · " in history.copied
        await press(pilot, "right")
        assert history.line_count == count + 3
        await press(pilot, "down", "down")
        assert history.copied == "pH 3.41"
        await press(pilot, "left")
        assert (history.line_count, history.cursor, pilot.app.desk.tag) == (count, 1, "B-001")


@pytest.mark.slow
async def test_on_the_heading_left_and_right_go_to_the_neighbours(opened: Any, press: Any) -> None:
    """So it is when the page opens, and on the next barrel again; below the heading they stay here."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "right", "right", "left")
        assert pilot.app.desk.tag == "B-002"
        await press(pilot, "down", "right", "left", "left")
        assert pilot.app.desk.tag == "B-002"


@pytest.mark.slow
async def test_of_several_entries_one_is_chosen_before_it_is_struck(
    opened: Any, press: Any, book: Book, newest: Any
) -> None:
    """X on a folded visit of two says what to do; on one of its entries it asks, and strikes that one."""
    with book.writing() as w:
        for name, value in (("ph", 3.41), ("abv", 13.4)):
            w.write(acts.Reading(vessel="B-001", property=name, value=value, hand="Tove", sure=True))
    async with opened(page="barrel") as pilot:
        await press(pilot, "x")
        await press(pilot, "down", "x")
        assert "→ unfolds the visit" in str(pilot.app.screen.query_one("#status", Static).render())
        await press(pilot, "right", "down", "x", "+")
    struck: Entry = newest()[0]
    assert (struck.kind, struck.strikes_kind) == ("strike", "reading")
    assert book.cellar()["B-001"].figure("ph").value == 3.4


@pytest.mark.slow
@pytest.mark.parametrize(("size", "at_once"), [((60, 20), 1), ((80, 24), 1), ((140, 40), 4)])
async def test_charts_one_after_the_other_or_four_at_once_and_then_the_page(
    opened: Any, press: Any, size: tuple[int, int], at_once: int
) -> None:
    """Of free SO2, acidity, losses and pH; with a limit in words and today; no line is longer than the screen."""
    async with opened(page="barrel", size=size) as pilot:
        await press(pilot, "v")
        first = body(pilot)
        assert "free SO2, mg/L" in first
        assert "limit" in first
        assert ("volatile acidity, g/L" in first) == (at_once > 1)
        assert f"of {4} charts" in first
        assert all(len(line) <= size[0] for line in drawn(pilot))
        seen = [first]
        for _ in range(4 // at_once - 1):
            await press(pilot, "v")
            seen.append(body(pilot))
        assert len({text.splitlines()[0] for text in seen}) == 4 // at_once
        assert any("lost between visits" in text for text in seen)
        await press(pilot, "v")
        assert "Visits " in body(pilot)
        await press(pilot, "down")
        assert pilot.app.screen.query_one(History).cursor == 1


@pytest.mark.slow
async def test_a_moved_cursor_lays_nothing_out_and_draws_two_rows(opened: Any, press: Any) -> None:
    """The rest of the page is not asked for anything."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "down")
        screen, history = pilot.app.screen, pilot.app.screen.query_one(History)
        rows: list[int] = []
        line, lay_out, count = history.render_line, screen._refresh_layout, 0

        def laid_out(*given: Any, **named: Any) -> Any:
            nonlocal count
            count += 1
            return lay_out(*given, **named)

        history.render_line = lambda y: rows.append(y) or line(y)  # type: ignore[func-returns-value]
        screen._refresh_layout = laid_out
        await press(pilot, "down")
    assert count == 0
    assert 2 in rows
    assert set(rows) <= {1, 2}  # the row that was left may stand as it was drawn before

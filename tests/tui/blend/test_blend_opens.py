"""The blend screen as it opens and as keys are pressed: the last brief, stocks in order, and nothing laid out."""

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from textual.screen import Screen

from cooperage.blending.brief.brief import load_brief
from cooperage.blending.brief.saved import save_brief
from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.log import Entry
from cooperage.tui.blend.last import LastBrief, keep_last, last_brief_path, load_last
from cooperage.tui.blend.words import stock_line
from cooperage.tui.shared.ink import ink
from cooperage.units import DEFAULT

pytestmark = pytest.mark.usefixtures("blending", "graded")


def shown(pilot: Any) -> str:
    """What a person sees."""
    return str(pilot.app.export_screenshot().replace("&#160;", " ").replace("&#x27;", "'"))


@pytest.fixture
def layouts(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """Count how often a whole screen is laid out."""
    laid_out: list[Any] = []
    lay_out = Screen._refresh_layout

    def counting(self: Any, size: Any = None, scroll: bool = False) -> None:
        if not scroll or self._layout_widgets:
            laid_out.append(list(self._layout_widgets))
        lay_out(self, size, scroll)

    monkeypatch.setattr(Screen, "_refresh_layout", counting)
    return laid_out


@pytest.mark.slow
@pytest.mark.parametrize("size", [(80, 24), (140, 40)])
async def test_no_key_lays_the_screen_out(
    opened: Any, press: Any, solved: Any, layouts: list[Any], size: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A letter typed in the brief, and the cursor moved on the stocks, draw only what they change."""
    async with opened(page="blend", size=size) as pilot:
        await press(pilot, "400")
        await solved(pilot)
        monkeypatch.setattr("cooperage.tui.blend.solved.PAUSE_S", 600)
        await press(pilot, "down", "down")
        layouts.clear()
        await press(pilot, "1", "3", ".", "1")
        assert layouts == []
        screen = pilot.app.screen
        screen.set_focus(screen.query_one("#stocks"))
        await press(pilot)
        layouts.clear()
        await press(pilot, "down", "down", "up", "pagedown", "end", "home", "+", "-")
        assert layouts == []
        assert screen.query_one("#never").value


@pytest.mark.slow
async def test_a_solver_is_begun_only_when_there_is_something_to_solve(
    opened: Any, solvers_begun: list[str], press: Any, solved: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The screen alone begins no process, and looks at no clock; the first figure of a volume does."""
    monkeypatch.setattr("cooperage.tui.blend.solved.PAUSE_S", 600)
    async with opened(page="blend") as pilot:
        assert solvers_begun == []
        assert not pilot.app.screen._solving._looks._active.is_set()
        await press(pilot, "4")
        assert solvers_begun


@pytest.mark.slow
async def test_it_opens_on_the_brief_of_last_time(opened: Any, press: Any, solved: Any) -> None:
    """What was typed last in this cellar by this person is there again and solved, with the stocks in focus."""
    async with opened(page="blend") as pilot:
        assert "Or press o to open a brief" in shown(pilot)
        await press(pilot, "400", "down", "down", "13.3-13.5")
        before = (await solved(pilot))._answer
    async with opened(page="blend") as pilot:
        screen = await solved(pilot)
        assert screen.query_one("#litres").value == "400"
        assert screen.query_one("#abv").value == "13.3-13.5"
        assert [draw.stock for draw in screen._answer.draws] == [draw.stock for draw in before.draws]
        assert screen._answer.objective == pytest.approx(before.objective)
        assert screen.focused is screen.query_one("#stocks")


def test_what_is_no_brief_any_more_is_not_opened(tmp_path: Path) -> None:
    """Another's, a broken or an outdated one is passed over; a folder that cannot be made keeps none."""
    path = tmp_path / "briefs" / "last.json"
    assert load_last(path) is None
    keep_last(path, LastBrief({"litres": 400}, "winter.toml"))
    assert load_last(path) == LastBrief({"litres": 400}, "winter.toml")
    for broken in ("", "[]", '{"brief": {"litres": -1}, "path": ""}', '{"brief": {"litres": 1, "hue": 2}, "path": ""}'):
        path.write_text(broken)
        assert load_last(path) is None
    keep_last(path / "below", LastBrief({"litres": 400}))
    assert last_brief_path("a", "Ada") != last_brief_path("a", "Maren") != last_brief_path("b", "Maren")


@pytest.mark.slow
async def test_stocks_that_can_help_come_first_and_what_cannot_last(opened: Any, press: Any, solved: Any) -> None:
    """Drawn, then by how near they are to the limits, then those forbidden; a draw tells what it leaves."""
    async with opened(page="blend", size=(140, 40)) as pilot:
        await press(pilot, "400", "down", "down", "13.3-13.5")
        screen = await solved(pilot)
        screen.query_one("#never").value = "B-006"
        screen = await solved(pilot)
        rows = screen.query_one("#stocks").rows
        drawn = [row.tag for row in rows if row.litres is not None]
        assert {row.state for row in rows[: len(drawn)]} <= {"drained", "part full", ""}
        assert any(row.state == "drained" for row in rows)
        others = [row.tag for row in rows[len(drawn) :]]
        assert others[-1] == "B-006"
        strengths = {f"B-{nth + 1:03}": 12.5 + 0.2 * nth for nth in range(11)}
        away = [max(strengths[tag] - 13.5, 13.3 - strengths[tag], 0) for tag in others[:-1] if tag in strengths]
        assert away == sorted(away)
        result = shown(pilot)
        assert "never drawn" in result
        assert "strength −0.8 % vol" in result or "strength +0.8 % vol" in result


@pytest.mark.slow
async def test_a_vessel_in_quarantine_is_marked_and_refused_in_plain_words(
    book: Book, opened: Any, press: Any, solved: Any
) -> None:
    """Before anything is solved too; asked for, it is a refusal and no misunderstanding."""
    book.write(acts.Judge(vessel="B-003", verdict="quarantine"))
    async with opened(page="blend", size=(80, 24)) as pilot:
        rows = pilot.app.screen.query_one("#stocks").rows
        line = stock_line(rows[-1], DEFAULT, 43, partial(ink, pilot.app)).plain
        assert line.startswith("▲ B-003 ")
        assert line.endswith("in quarantine")
        await press(pilot, "400", "down", "down", "max 14")
        pilot.app.screen.query_one("#must").value = "B-003"
        await solved(pilot)
        assert "Refused: B-003 cannot be drawn: in quarantine;" in shown(pilot)


@pytest.mark.slow
async def test_part_full_barrels_are_avoided_unless_the_box_says_any(opened: Any, press: Any, solved: Any) -> None:
    """The plan has fewer than the best one and tells its price; with the box cleared it is the best one."""
    async with opened(page="blend", size=(140, 40)) as pilot:
        await press(pilot, "400", "down", "down", "13.3-13.5")
        screen = await solved(pilot)
        tidy = screen._answer
        assert tidy.price_of_tidiness is not None
        left = tidy.part_full or "None"
        assert f"{left} part full, not {tidy.price_of_tidiness.part_full_of_best}: " in shown(pilot)
        screen.query_one("#part_full").action_turn()
        screen = await solved(pilot)
        best = screen._answer
        assert best.price_of_tidiness is None
        assert best.objective == pytest.approx(tidy.best_objective)
        assert best.part_full >= tidy.part_full
        assert 'part_full = "any"' in screen._brief_side.copied


@pytest.mark.slow
async def test_the_brief_is_copied_as_a_file_and_the_row_as_a_line(
    opened: Any, press: Any, solved: Any, tmp_path: Path
) -> None:
    """Ctrl+C in the brief copies TOML that can be opened again; on the stocks the row; on the reasons the plan."""
    async with opened(page="blend") as pilot:
        await press(pilot, "400", "down", "down", "13.3-13.5")
        screen = await solved(pilot)
        await press(pilot, "ctrl+c")
        path = tmp_path / "copied.toml"
        path.write_text(pilot.app.clipboard)
        assert load_brief(path)["limits"] == {"abv": {"min": 13.3, "max": 13.5}}
        save_brief(tmp_path / "again.toml", load_brief(path))
        stocks = screen.query_one("#stocks")
        screen.set_focus(stocks)
        await press(pilot, "ctrl+c")
        assert pilot.app.clipboard.startswith(stocks.current.tag)
        screen.set_focus(screen.query_one("#reasons"))
        await press(pilot, "ctrl+c")
        assert pilot.app.clipboard.startswith("Best plan: 400.0 L")
        assert all(draw.stock in pilot.app.clipboard for draw in screen._answer.draws)
        screen.query_one("#abv").value = "strong"
        screen.query_one("#abv").focus()
        await solved(pilot)
        await press(pilot, "ctrl+c")
        assert "Nothing here to copy" in shown(pilot)


@pytest.mark.slow
async def test_a_pour_is_signed_by_who_is_at_work_and_dated(
    opened: Any, press: Any, solved: Any, book: Book, newest: Callable[..., list[Entry]]
) -> None:
    """Another hand took over since the program began, and the blend was poured an hour ago."""
    async with opened(page="blend") as pilot:
        await press(pilot, "400", "escape")
        await solved(pilot)
        pilot.app.desk.hand = "Tove"
        await press(pilot, "p")
        pilot.app.screen.query_one("#when").value = "soon"
        await press(pilot, "enter")
        assert "Not understood: 'soon' is not a date" in shown(pilot)
        pilot.app.screen.query_one("#when").value = "today 08:30"
        await press(pilot, "enter", "+")
    (entry,) = newest()
    assert (entry.kind, entry.hand) == ("blend", "Tove")
    assert entry.happened_at < book.now()
    assert entry.happened_at.minute == 30

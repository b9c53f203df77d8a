"""The blend screen: the brief solved as it is typed, forced and forbidden by a key, poured into the book."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from cooperage.book import Book
from cooperage.book.log import Entry
from cooperage.tui.shared.act_form import ActForm
from cooperage.tui.shared.dialogs import Shown

pytestmark = pytest.mark.usefixtures("blending", "graded")


def litres_of(book: Book) -> int:
    """What all vessels hold together [ml]."""
    return sum(standing.ml for standing in book.cellar())


def keys(pilot: Any) -> set[str]:
    return {active.binding.action for active in pilot.app.screen.active_bindings.values() if active.enabled}


@pytest.mark.slow
async def test_the_brief_is_solved_while_it_is_typed(opened: Any, press: Any, solved: Any) -> None:
    """400 L at 13.3 to 13.5 % vol: the plan is drawn, and what stands in the answer is within the limits."""
    async with opened(page="blend") as pilot:
        await press(pilot, "400", "down", "down", "13.3-13.5")
        screen = await solved(pilot)
        answer = screen._answer
        assert answer.status == "optimal"
        assert answer.blend["litres"] == pytest.approx(400, abs=1e-6)
        assert 13.3 - 1e-6 <= answer.blend["abv"] <= 13.5 + 1e-6
        shown = pilot.app.export_screenshot().replace("&#160;", " ")
        assert "Best plan: 400.0 L" in shown
        (limit,) = [row for row in screen._answer_side._limits if row.name == "strength"]
        assert (limit.wanted, limit.unit) == ("13.3 – 13.5", "% vol")
        assert all(part in shown for part in (limit.wanted, limit.comes_to, limit.chance))  # without scrolling


@pytest.mark.slow
async def test_an_answer_to_an_older_brief_cannot_be_poured(
    opened: Any, press: Any, solved: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As soon as a figure is typed the key to pour is gone, until the new answer is there."""
    async with opened(page="blend") as pilot:
        await press(pilot, "400", "escape")
        await solved(pilot)
        assert "pour" in keys(pilot)
        monkeypatch.setattr("cooperage.tui.blend.solved.PAUSE_S", 600)
        pilot.app.screen.query_one("#litres").value = "500"
        await pilot.pause()
        assert pilot.app.screen._answer is None
        assert "pour" not in keys(pilot)
        monkeypatch.setattr("cooperage.tui.blend.solved.PAUSE_S", 0.01)
        pilot.app.screen.query_one("#litres").value = "450"
        await solved(pilot)
        assert "pour" in keys(pilot)


@pytest.mark.slow
async def test_a_barrel_is_forced_and_forbidden_with_one_key(opened: Any, press: Any, solved: Any) -> None:
    """Key m puts the stock under the cursor under must, n moves it to never, n again lets it go."""
    async with opened(page="blend") as pilot:
        await press(pilot, "400", "escape")
        screen = await solved(pilot)
        stocks = screen.query_one("#stocks")
        stocks.go_to("B-011")
        await press(pilot, "+")
        await solved(pilot)
        assert "B-011" in {draw.stock for draw in screen._answer.draws}
        await press(pilot, "-")
        await solved(pilot)
        assert (screen.query_one("#must").value, screen.query_one("#never").value) == ("", "B-011")
        assert "B-011" not in {draw.stock for draw in screen._answer.draws}
        assert stocks.current.tag == "B-011"
        await press(pilot, "-")
        assert screen.query_one("#never").value == ""


@pytest.mark.slow
async def test_an_impossible_brief_is_answered_with_what_clashes_and_what_is_nearest(
    opened: Any, press: Any, solved: Any, newest: Callable[..., list[Entry]]
) -> None:
    """16 % vol is more than any barrel has: clash, nearest blend and miss are told; nothing is poured."""
    before = newest()[0].id
    async with opened(page="blend", size=(100, 40)) as pilot:
        await press(pilot, "100", "down", "down", "min 16", "escape")
        screen = await solved(pilot)
        result = pilot.app.export_screenshot().replace("&#160;", " ")
        assert screen._answer.status == "infeasible"
        assert "These limits clash" in result
        assert "The nearest blend misses" in result
        assert "pour" not in keys(pilot)
        await press(pilot, "p")
    assert newest()[0].id == before


@pytest.mark.slow
async def test_pouring_writes_one_entry_and_conserves_the_litres(
    opened: Any, press: Any, solved: Any, book: Book, newest: Callable[..., list[Entry]]
) -> None:
    """The draws leave their barrels, the tank holds them, and contraction is the only difference."""
    before = litres_of(book)
    async with opened(page="blend") as pilot:
        await press(pilot, "400", "down", "down", "13.3-13.5", "escape")
        answer = (await solved(pilot))._answer
        await press(pilot, "p")
        picked = pilot.app.screen.query_one("OptionList")
        tanks = {picked.get_option_at_index(at).id for at in range(picked.option_count)}
        assert tanks == {"T-01", "T-02", "T-03"} - {draw.stock for draw in answer.draws}
        picked.highlighted = picked.get_option_index("T-02")
        await press(pilot, "enter", "+")
        assert isinstance(pilot.app.screen, Shown)
        assert "Poured into T-02. Now:" in pilot.app.export_screenshot().replace("&#160;", " ")
        await press(pilot, "escape")
        assert (await solved(pilot)).query_one("#stocks").current.tag == "T-02"  # ready to be bottled
    (entry,) = newest()
    assert (entry.kind, entry.vessel, entry.hand) == ("blend", "T-02", "Ada")
    drawn = {move.source: move.ml for move in entry.moves if move.destination == "T-02"}
    assert drawn == {draw.stock: pytest.approx(1000 * draw.litres, abs=1) for draw in answer.draws}
    contraction = sum(move.ml for move in entry.moves if move.destination == "contraction")
    assert litres_of(book) == before - contraction
    assert json.loads(entry.said["plan"])["brief"]["limits"] == {"abv": {"min": 13.3, "max": 13.5}}
    assert all(not finding.broken for finding in book.check())


@pytest.mark.slow
async def test_a_refused_pour_keeps_the_brief_and_writes_nothing(
    opened: Any, press: Any, solved: Any, newest: Callable[..., list[Entry]]
) -> None:
    """400 L do not go into a tank of 100 L: the refusal is told, the brief and its answer stay."""
    before = newest()[0].id
    async with opened(page="blend") as pilot:
        await press(pilot, "400", "escape")
        screen = await solved(pilot)
        await press(pilot, "p")
        picked = pilot.app.screen.query_one("OptionList")
        picked.highlighted = picked.get_option_index("T-03")
        await press(pilot, "enter", "+")
        assert "T-03 has room for 100.0 L" in pilot.app.export_screenshot().replace("&#160;", " ")
        assert screen.query_one("#litres").value == "400"
        assert "pour" in keys(pilot)
    assert newest()[0].id == before


@pytest.mark.slow
async def test_no_leaves_the_blend_unpoured(
    opened: Any, press: Any, solved: Any, newest: Callable[..., list[Entry]]
) -> None:
    """The question before pouring is answered with n: nothing is written."""
    before = newest()[0].id
    async with opened(page="blend") as pilot:
        await press(pilot, "400", "escape")
        await solved(pilot)
        await press(pilot, "p", "enter", "-")
    assert newest()[0].id == before


@pytest.mark.slow
async def test_a_brief_is_opened_from_a_file_and_saved_again(
    opened: Any, press: Any, solved: Any, tmp_path: Path
) -> None:
    """What has no field of its own (share, mixing, a second aim) is kept and written back."""
    path = tmp_path / "winter.toml"
    path.write_text(
        'litres = { min = 300, max = 320 }\nmixing = "liquid"\nobjective = ["least_cost", "fewest_stocks"]\n'
        '[limits]\nabv = { target = 13.4, within = 0.1 }\n[share]\n"B-004" = { min = 0.1 }\n'
        '[draws]\nmax_stocks = 4\nnever = ["B-001"]\n'
    )
    again = tmp_path / "again.toml"
    async with opened(page="blend") as pilot:
        await press(pilot, "escape", "o")
        pilot.app.screen.query_one("Input").value = str(path)
        await press(pilot, "enter")
        screen = await solved(pilot)
        assert screen.query_one("#litres").value == "300-320"
        assert screen.query_one("#abv").value == "13.4 ± 0.1"
        answer = screen._answer
        assert answer.status == "optimal"
        assert {draw.stock for draw in answer.draws} >= {"B-004"}
        screen.action_to_answer()
        await press(pilot, "h")
        pilot.app.screen.query_one("Input").value = str(again)
        await press(pilot, "enter")
    from cooperage.blending.brief.brief import load_brief

    assert load_brief(again) == load_brief(path)


@pytest.mark.slow
async def test_what_is_not_understood_is_told_and_stays_to_be_corrected(opened: Any, press: Any, solved: Any) -> None:
    """A limit that is no figure is named; once it is corrected the brief is solved."""
    async with opened(page="blend") as pilot:
        await press(pilot, "400", "down", "down", "strong")
        screen = await solved(pilot)
        assert "Not understood: strength" in pilot.app.export_screenshot().replace("&#160;", " ")
        assert screen._answer is None
        screen.query_one("#abv").value = "max 14"
        screen = await solved(pilot)
        assert screen._answer.status == "optimal"


@pytest.mark.slow
async def test_bottling_begins_with_the_vessel_under_the_cursor(opened: Any, press: Any, solved: Any) -> None:
    """Key b opens the form of a bottling with the vessel filled in."""
    async with opened(page="blend") as pilot:
        await press(pilot, "400", "escape")
        screen = await solved(pilot)
        tag = screen.query_one("#stocks").current.tag
        await press(pilot, "b")
        assert isinstance(pilot.app.screen, ActForm)
        assert pilot.app.screen.texts["vessel"] == tag


@pytest.mark.slow
async def test_a_scanned_barrel_is_stood_on(opened: Any, press: Any, solved: Any) -> None:
    """The scanner types a tag and Enter: the cursor goes to the stock, and the screen stays."""
    async with opened(page="blend") as pilot:
        await press(pilot, "400", "escape")
        screen = await solved(pilot)
        await press(pilot, "B-007", "enter")
        assert pilot.app.current_mode == "blend"
        assert screen.query_one("#stocks").current.tag == "B-007"

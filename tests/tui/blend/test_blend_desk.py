"""The blend desk as a picture: nothing cut, nothing old kept in silence, nothing poured twice."""

from typing import Any

import pytest

from cooperage.tui.guide.key_sheet import KeySheet

pytestmark = pytest.mark.usefixtures("blending", "graded")


def lines_of(pilot: Any) -> list[str]:
    """The screen as it is drawn, line by line."""
    return [strip.text.rstrip() for strip in pilot.app.screen._compositor.render_strips()]


def keys(pilot: Any) -> set[str]:
    return {active.binding.action for active in pilot.app.screen.active_bindings.values() if active.enabled}


@pytest.mark.slow
@pytest.mark.parametrize("size", [(80, 24), (140, 40), (60, 20)])
async def test_the_answer_stands_whole(opened: Any, press: Any, solved: Any, size: Any) -> None:
    """Each limit with what it comes to and its chance, the cost, draws as bars: none of it cut, at any size."""
    async with opened(page="blend", size=size) as pilot:
        await press(pilot, "400", "down", "down", "13.3-13.5", "down", "max 70", "escape")
        screen = await solved(pilot)
        lines = lines_of(pilot)
        assert not any("…" in line for line in lines[1:])
        for row in screen._answer_side._limits:
            (line,) = [line for line in lines if f" {row.name} " in line and row.wanted in line]
            assert row.comes_to in line
            assert row.chance in line
        assert any("a bottle · 533 of 750 mL" in line for line in lines) == (size[0] >= 80)
        first = screen._answer.draws[0]
        assert any(first.stock in line and "▆" in line for line in lines)


@pytest.mark.slow
async def test_the_brief_takes_half_the_screen_only_while_it_is_typed(opened: Any, press: Any, solved: Any) -> None:
    """Esc gives the answer all of it; e brings the brief back with the cursor in it."""
    async with opened(page="blend") as pilot:
        await press(pilot, "400")
        screen = await solved(pilot)
        assert any("most stocks" in line for line in lines_of(pilot))
        await press(pilot, "escape")
        assert not any("most stocks" in line for line in lines_of(pilot))
        assert any("least cost" in line for line in lines_of(pilot))
        assert "e brief" in lines_of(pilot)[-1]
        await press(pilot, "e")
        assert any("most stocks" in line for line in lines_of(pilot))
        assert screen.focused is screen.query_one("#litres")


@pytest.mark.slow
async def test_a_plan_of_the_brief_before_is_told_so(
    opened: Any, press: Any, solved: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its figures stay while the new ones come, under a title that says what they are of."""
    async with opened(page="blend") as pilot:
        await press(pilot, "400")
        await solved(pilot)
        monkeypatch.setattr("cooperage.tui.blend.solved.PAUSE_S", 600)
        await press(pilot, "5")
        (title,) = [line for line in lines_of(pilot) if "For the brief before" in line]
        assert "○" in title
        assert "pour" not in keys(pilot)


@pytest.mark.slow
async def test_examples_in_empty_boxes_say_that_they_are_examples(opened: Any) -> None:
    """Nothing in a box that is empty could be taken for what was typed."""
    async with opened(page="blend") as pilot:
        boxes = pilot.app.screen.query("LimitBox")
        assert len(boxes) > 8
        assert all(box.placeholder.startswith("e.g. ") for box in boxes if box.placeholder)


@pytest.mark.slow
async def test_a_question_mark_in_an_empty_box_shows_the_keys(opened: Any, press: Any) -> None:
    """Where something is typed already it is a letter as any other."""
    async with opened(page="blend") as pilot:
        box = pilot.app.screen.query_one("#litres")
        await pilot.press("question_mark")
        await press(pilot)
        assert isinstance(pilot.app.screen, KeySheet)
        assert box.value == ""
        await press(pilot, "escape")
        await press(pilot, "4")
        await pilot.press("question_mark")
        await press(pilot)
        assert box.value == "4?"


@pytest.mark.slow
async def test_after_a_pour_no_plan_waits_to_be_poured_again(opened: Any, press: Any, solved: Any, newest: Any) -> None:
    """The answer says what was poured; p does nothing until the hand has asked for a new plan."""
    async with opened(page="blend") as pilot:
        await press(pilot, "200", "escape")
        await solved(pilot)
        await press(pilot, "p")
        picked = pilot.app.screen.query_one("OptionList")
        picked.highlighted = picked.get_option_index("T-02")
        await press(pilot, "enter", "+", "escape")
        screen = await solved(pilot)
        (poured,) = newest()
        assert not screen._answer
        assert "pour" not in keys(pilot)
        assert any("✓ Poured into T-02: 200.0 L" in line for line in lines_of(pilot))
        await press(pilot, "p", "p")
        assert newest()[0].id == poured.id
        await press(pilot, "e", "enter")
        await solved(pilot)
        assert screen._answer.blend["litres"] == pytest.approx(200, abs=1e-6)
        assert "pour" in keys(pilot)


@pytest.mark.slow
async def test_other_plans_stand_beside_where_there_is_room(
    opened: Any, press: Any, solved: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """At 140 columns they are looked for by themselves; at 80 they are not."""
    monkeypatch.setattr("cooperage.tui.blend.screen.OTHERS_AFTER_S", 0.01)
    async with opened(page="blend", size=(140, 40)) as pilot:
        await press(pilot, "400", "down", "down", "13.3-13.5")
        screen = await solved(pilot)
        for _ in range(200):
            await press(pilot)
            if screen._plans is not None and screen._plans.others is not None:
                break
            await pilot.pause(0.02)
        lines = lines_of(pilot)
        assert any("what changes" in line for line in lines)
        assert any("other 1" in line and " in" in line for line in lines)


@pytest.mark.slow
async def test_the_solver_waits_until_the_screen_is_wanted(
    opened: Any, solvers_begun: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Made ready beforehand, the screen begins no process and opens no brief."""
    async with opened(page="rounds") as pilot:
        monkeypatch.setattr("cooperage.tui.prepared.REST_S", 0.0)
        await pilot.app.prepare()
        assert "blend" in pilot.app._screen_stacks or pilot.app.is_screen_installed("blend")
        assert solvers_begun == []


@pytest.mark.slow
async def test_trials_are_one_key_away_from_an_empty_figure(opened: Any, press: Any) -> None:
    """No figure begins with that letter; a tag may, and what is begun is typed on."""
    async with opened(page="blend") as pilot:
        never = pilot.app.screen.query_one("#never")
        never.focus()
        await press(pilot, "c")
        assert (pilot.app.current_mode, never.value) == ("blend", "c")
        litres = pilot.app.screen.query_one("#litres")
        litres.focus()
        await press(pilot, "4", "c")
        assert (pilot.app.current_mode, litres.value) == ("blend", "4c")
        await press(pilot, "backspace", "backspace")
        assert any("c trials" in line for line in lines_of(pilot))
        await press(pilot, "c")
        assert pilot.app.current_mode == "trials"

"""The blend screen beyond its answer: a solve that is stopped, others beside the plan, the bench and back, rules."""

import re
import time
from collections.abc import Iterator
from typing import Any

import pytest
from textual.pilot import Pilot

from cooperage.blending.own_process import OwnProcess, SolverEnded
from cooperage.book import Book
from cooperage.tasting.flights import flights, reveal, score
from cooperage.tui.blend.bench import BenchScreen
from cooperage.tui.blend.others import OthersScreen
from cooperage.tui.blend.table import SideBySide
from cooperage.units import Units

pytestmark = pytest.mark.usefixtures("blending", "graded")

PATIENCE = 300


def shown(pilot: Pilot[Any]) -> str:
    """What a person sees."""
    return pilot.app.export_screenshot().replace("&#160;", " ").replace("&#x27;", "'")


def keys(pilot: Any) -> set[str]:
    return {active.binding.action for active in pilot.app.screen.active_bindings.values() if active.enabled}


@pytest.fixture
def planned(opened: Any, press: Any, solved: Any) -> Any:
    """Return a function that types a brief and waits for its plan, with the stocks focused."""

    async def plan(pilot: Any, *typed: str) -> Any:
        await press(pilot, *typed, "escape")
        return await solved(pilot)

    return plan


async def found_others(pilot: Any, press: Any) -> None:
    """Wait until the others have been looked for."""
    for _ in range(PATIENCE):
        await press(pilot)
        if pilot.app.screen._plans.others is not None:
            return
        await pilot.pause(0.02)
    raise AssertionError("no others were found")


# --- stopping -------------------------------------------------------------------------------------------------------


class Endless(OwnProcess):
    """A solver that never comes to an end until it is told to be quick."""

    is_endless = True

    def begin(self, work: Any, *args: Any, **kwargs: Any) -> Any:
        if self.is_endless:
            return super().begin(time.sleep, 100_000)
        return super().begin(work, *args, **kwargs)


@pytest.fixture
def endless(monkeypatch: pytest.MonkeyPatch) -> Iterator[Any]:
    """Give the screen a solver of its own that does not end, and wonder at once."""
    process = Endless()
    monkeypatch.setattr("cooperage.tui.blend.solved.OwnProcess", lambda: process)
    monkeypatch.setattr("cooperage.tui.blend.solving.BUSY_AFTER_S", 0.0)
    yield process
    process.close()


async def typed(pilot: Any, litres: str) -> None:
    """Type the litres in one go, so that one solve begins, and do not wait for its end."""
    box = pilot.app.screen.query_one("#litres")
    box.value, box.cursor_position = litres, len(litres)
    for _ in range(PATIENCE):
        await pilot.pause(0.02)
        if pilot.app.screen._solving.is_long:
            return
    raise AssertionError("nothing is being solved")


@pytest.mark.slow
async def test_a_long_solve_shows_its_time_and_esc_ends_it(endless: Any, opened: Any, solved: Any) -> None:
    """The bar tells what is gone of the time and how to stop; stopped, the process is dead and the next one solves."""
    async with opened(page="blend") as pilot:
        await typed(pilot, "400")
        assert re.search(r"\d+ of at most 20 s; Esc stops", shown(pilot))
        assert "stop" in keys(pilot)
        before = endless.pid
        await pilot.press("escape")
        await pilot.pause()
        assert endless.pid != before
        assert "Stopped. Change the brief to solve again." in shown(pilot)
        assert "Esc stops" not in shown(pilot)
        assert "stop" not in keys(pilot)
        endless.is_endless = False
        await pilot.press("e", "0")
        assert (await solved(pilot))._answer.status in ("optimal", "infeasible")


@pytest.mark.slow
async def test_newer_typing_takes_the_place_of_a_solve(endless: Any, opened: Any, solved: Any) -> None:
    """The older solve is killed; its end is not told as an error, and the newer brief is answered."""
    async with opened(page="blend") as pilot:
        await typed(pilot, "40")
        before = endless.pid
        endless.is_endless = False
        await pilot.press("0")
        screen = await solved(pilot)
        assert endless.pid != before
        assert screen._answer.blend["litres"] == pytest.approx(400, abs=1e-6)
        assert "Refused" not in shown(pilot)


@pytest.mark.slow
async def test_leaving_the_program_in_the_midst_of_a_solve_leaves_no_process(endless: Any, opened: Any) -> None:
    """The screen closes its solver."""
    async with opened(page="blend") as pilot:
        await typed(pilot, "400")
    assert endless.pid is None


@pytest.mark.slow
async def test_a_solver_that_dies_is_told_in_one_line(
    opened: Any, press: Any, solved: Any, monkeypatch: pytest.MonkeyPatch, blending: Any
) -> None:
    """The brief stays to be solved again."""

    def begin(*_args: Any, **_kwargs: Any) -> None:
        raise SolverEnded("could not be started (out of memory)")

    monkeypatch.setattr(blending, "begin", begin)
    async with opened(page="blend") as pilot:
        await press(pilot, "400")
        screen = await solved(pilot)
        assert "the solver could not be started (out of memory); solve again" in shown(pilot)
        assert screen.query_one("#litres").value == "400"


# --- others ---------------------------------------------------------------------------------------------------------


@pytest.mark.slow
async def test_others_stand_beside_the_plan_and_one_is_taken(opened: Any, press: Any, planned: Any) -> None:
    """Draws and figures side by side at 80x24; the chosen one is then the plan that is poured."""
    async with opened(page="blend") as pilot:
        screen = await planned(pilot, "400")
        best = screen._answer
        await press(pilot, "v")
        assert isinstance(pilot.app.screen, OthersScreen)
        await found_others(pilot, press)
        result = shown(pilot)
        for part in ("▸best", "other 1", "worse by", "draws differing", "Draws, L"):
            assert part in result
        others = pilot.app.screen._plans.others
        assert others
        await press(pilot, "right", "enter")
        assert screen._answer == others[0] != best
        assert "Other 1: 400.0 L from" in shown(pilot)
        assert "pour" in keys(pilot)
        await press(pilot, "v")
        assert "▸other 1" in shown(pilot)
        await press(pilot, "left", "enter")
        assert screen._answer == best


@pytest.mark.slow
async def test_others_are_looked_for_as_far_from_the_best_as_is_asked(opened: Any, press: Any, planned: Any) -> None:
    """What is no per cent is told and the old ones stay; leaving keeps the plan in hand."""
    async with opened(page="blend") as pilot:
        screen = await planned(pilot, "400", "down", "down", "13.3-13.5")
        best = screen._answer
        await press(pilot, "v")
        await found_others(pilot, press)
        asked = pilot.app.screen.query_one("Input")
        asked.focus()
        asked.value = "far"
        await press(pilot, "enter")
        assert "is not a percentage" in shown(pilot)
        asked.value = "0,5"
        await press(pilot, "enter")
        await found_others(pilot, press)
        assert pilot.app.screen._plans.within == 0.5
        await press(pilot, "escape")
        assert screen._answer == best


# --- the bench ------------------------------------------------------------------------------------------------------


@pytest.mark.slow
async def test_a_plan_goes_to_the_bench_and_the_chosen_glass_comes_back(
    opened: Any, press: Any, planned: Any, book: Book
) -> None:
    """Poured as a blind flight with a control, scored, revealed; the best glass is scaled up and can be poured."""
    async with opened(page="blend") as pilot:
        screen = await planned(pilot, "400", "down", "down", "13.3-13.5")
        plan = screen._answer
        await press(pilot, "g")
        assert isinstance(pilot.app.screen, BenchScreen)
        result = shown(pilot)
        for part in ("▸best", "control", "Pipette, mL", "Predicted", "Keep this from the tasters"):
            assert part in result
        await press(pilot, "enter")
        (flight,) = flights(book)
        assert f"Poured as flight {flight.code}" in shown(pilot)
        glasses = {glass.called: glass for glass in flight.glasses}
        assert set(glasses) == {"best", "control"}
        for name, given in (("best", 15.0), ("control", 11.0)):
            score(book, flight.code, glasses[name].code, "Ada", given)
        reveal(book, flight.code)
        await press(pilot, "j")
        await press(pilot)
        assert f"glass {glasses['best'].code}  mean 15.0   best" in shown(pilot)
        await press(pilot, "enter")
        assert f"Glass {glasses['best'].code} scaled up: " in shown(pilot)
        scaled = screen._answer
        assert {draw.stock for draw in scaled.draws} == {draw.stock for draw in plan.draws}
        assert all(draw.litres == round(draw.litres) for draw in scaled.draws)
        assert "pour" in keys(pilot)


@pytest.mark.slow
async def test_a_glass_of_a_blind_flight_is_not_scaled_up(opened: Any, press: Any, planned: Any, book: Book) -> None:
    """Scaling up shows what is in it: the flight is revealed first."""
    async with opened(page="blend") as pilot:
        screen = await planned(pilot, "400")
        await press(pilot, "g", "enter", "j")
        await press(pilot)
        (flight,) = flights(book)
        assert f"{flight.code} is still blind: reveal it on F6" in shown(pilot)
        reveal(book, flight.code, sure=True)
        await press(pilot, "j")
        await press(pilot, "enter")
        assert "scaled up" in shown(pilot)
        assert screen._answer.notes[0].startswith("drawn in whole steps of 1 L")


@pytest.mark.slow
async def test_without_a_bench_flight_there_is_no_glass_to_scale_up(opened: Any, press: Any, planned: Any) -> None:
    """The screen says how to get one."""
    async with opened(page="blend") as pilot:
        await planned(pilot, "400")
        await press(pilot, "j")
        assert "No bench flight has been poured yet" in shown(pilot)


@pytest.mark.slow
async def test_the_bench_keeps_to_the_glass_and_the_pipette(opened: Any, press: Any, planned: Any, book: Book) -> None:
    """Steps of 5 ml into 50 ml; a control by its tag; what cannot be drawn is told and nothing can be poured."""
    async with opened(page="blend", units=Units(decimal=",")) as pilot:
        await planned(pilot, "400", "down", "down", "13,3-13,5")
        await press(pilot, "g")
        bench = pilot.app.screen
        assert bench.query_one("#step-ml").value == "0,5"
        bench.query_one("#glass-ml").value = "50 ml"
        bench.query_one("#step-ml").value = "5"
        bench.query_one("#control").value = "b-004"
        await press(pilot)
        best, control = bench._glasses
        assert all(row.millilitres % 5 == 0 for row in best.sheet.rows)
        assert [(row.stock, row.millilitres) for row in control.sheet.rows] == [("B-004", 50.0)]
        for name, value, words in (
            ("#control", "B-999", "the pool has no stock"),
            ("#step-ml", "7", "a glass of 50 mL in steps of 7 mL cannot be drawn"),
            ("#glass-ml", "much", "is no number of millilitres"),
        ):
            bench.query_one(name).value = value
            await press(pilot)
            assert words in shown(pilot)
            bench.query_one(SideBySide).focus()
            await press(pilot, "enter")
            assert flights(book) == []


@pytest.mark.slow
async def test_the_others_go_to_the_bench_beside_the_plan(opened: Any, press: Any, planned: Any, book: Book) -> None:
    """They are looked for when they are ticked, and each has a glass of its own."""
    async with opened(page="blend") as pilot:
        await planned(pilot, "400")
        await press(pilot, "g")
        bench = pilot.app.screen
        bench.query_one("#with-others").action_turn()
        await found_others(pilot, press)
        await press(pilot)
        assert [glass.what for glass in bench._glasses] == [
            "best",
            *(f"other {number}" for number in range(1, len(bench._plans.others) + 1)),
            "control",
        ]
        assert len(bench._glasses) > 2
        await press(pilot, "right", "j")
        assert "Other 1 scaled up: " in shown(pilot)
        assert flights(book) == []


# --- rules ----------------------------------------------------------------------------------------------------------


@pytest.mark.slow
async def test_what_a_rule_costs_is_told_when_it_is_known(opened: Any, press: Any, planned: Any, solved: Any) -> None:
    """All barrels cost the same, so that a lock costs nothing; with the aim at strength it has a cost."""
    async with opened(page="blend", size=(100, 40)) as pilot:
        screen = await planned(pilot, "400")
        screen.query_one("#stocks").go_to("B-001")
        await press(pilot, "+")
        await solved(pilot)
        assert "Rule 'must B-001' costs nothing" in shown(pilot)
        screen.query_one("#objective").set_value("highest:abv")
        await solved(pilot)
        assert "Rule 'must B-001' has a cost: without it the plan" in shown(pilot)

"""Losses by every grouping, and signs of trouble that lead to their barrel."""

import re
from datetime import timedelta
from typing import Any

import pytest
from textual.widgets import Static

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.programme.losses.ledger import GROUPINGS
from cooperage.tui.losses.words import bar
from tests.tui.conftest import BARRELS


def title(pilot: Any) -> str:
    return str(pilot.app.screen.query_one("#losses-title").render())


@pytest.mark.slow
async def test_losses_are_told_by_every_grouping(opened: Any, press: Any) -> None:
    """Each of eleven barrels was topped by 1.5 L that had evaporated: 16.5 L by any grouping, and all round again."""
    async with opened(page="losses") as pilot:
        titles = [title(pilot)]
        for by in (*GROUPINGS, "barrel"):
            await press(pilot, "q", f"by {by}", "enter")
            titles.append(title(pilot))
    assert [result.split()[2].rstrip(",") for result in titles] == ["barrel", *GROUPINGS, "barrel"]
    assert all(result.endswith("16.5 L") for result in titles)


@pytest.mark.slow
async def test_the_period_is_chosen_with_a_key(opened: Any, press: Any) -> None:
    """The toppings are 35 days old: within 90 days, not within 30."""
    async with opened(page="losses") as pilot:
        found = {}
        for over in ("24 months", "all", "30 days", "90 days", "12 months"):
            await press(pilot, "q", f"over {over}", "enter")
            result = title(pilot)
            found[result.partition(", ")[2].partition(":")[0]] = result.rpartition(": ")[2]
    assert found == {
        "24 months": "16.5 L",
        "all time": "16.5 L",
        "30 days": "0.0 L",
        "90 days": "16.5 L",
        "12 months": "16.5 L",
    }


@pytest.mark.slow
async def test_a_row_about_a_barrel_opens_it_and_others_offer_nothing(opened: Any, press: Any) -> None:
    """Enter is on the key bar only while rows are barrels."""
    async with opened(page="losses") as pilot:
        await press(pilot, "q", "by cause", "enter")
        offered = {active.binding.action for active in pilot.app.screen.active_bindings.values()}
        assert "take" not in offered
        await press(pilot, "q", "by barrel", "enter", "enter")
        assert pilot.app.current_mode == "barrel"
        assert pilot.app.desk.tag == "B-001"


@pytest.mark.slow
async def test_a_sign_of_trouble_opens_its_barrel(opened: Any, press: Any, book: Book) -> None:
    """A barrel left half empty stands among the signs; Enter opens its page."""
    book.write(acts.Rack(vessel="B-006", destination="T-01", volume=100_000))
    async with opened(page="losses") as pilot:
        assert "Warnings: 1" in pilot.app.export_screenshot().replace("&#160;", " ")
        await press(pilot, "tab", "enter")
        assert pilot.app.current_mode == "barrel"
        assert pilot.app.desk.tag == "B-006"


@pytest.mark.parametrize(
    ("part", "whole", "drawn"),
    [(10, 10, "████"), (5, 10, "██"), (1, 1000, "▏"), (0, 10, ""), (-3, 10, ""), (3, 32, "▍")],
)
def test_a_bar_is_as_long_as_its_part(part: int, whole: int, drawn: str) -> None:
    """Four characters wide, in eighths: a whole, a half, at least a sliver, and none for a gain; 3/32 is 3 eighths."""
    assert bar(part, whole, 4) == drawn


def why(pilot: Any) -> str:
    return " ".join(str(pilot.app.screen.query_one("#why", Static).render()).split())


async def test_the_usual_and_the_allowance_stand_beside_what_was_lost(opened: Any, press: Any, book: Book) -> None:
    """A second topping makes a rate, 1.9 L in 200 days; all losses are held against 3 % of 4000 L."""
    book.write(acts.Top(vessel="B-002", volume=400, source="K-01"))
    async with opened(page="losses") as pilot:
        result = picture(pilot)
        allowance = why(pilot)
    assert re.search(r"B-001 +1\.5 L +1\.5 L +[12]\.[0-9] L ±[0-9]\.[0-9] +as usual", result)
    assert "within the year's allowance of 120.0 L" in allowance
    assert "27 CFR" in allowance


async def test_more_than_a_year_has_no_allowance(opened: Any, press: Any) -> None:
    """All time: the screen says why there is none."""
    async with opened(page="losses") as pilot:
        await press(pilot, "q", "over all", "enter")
        result = why(pilot)
    assert "The allowance covers one year. Press q for 12 months or less" in result


# --- pictures -------------------------------------------------------------------------------------------------------


def picture(pilot: Any) -> str:
    strips = pilot.app.screen._compositor.render_strips()
    return "\n".join("".join(segment.text for segment in strip).rstrip() for strip in strips)


@pytest.fixture
def leaky(book: Book, clock: Any) -> Book:
    """B-003 lost ten times as much as its like for four months; B-005 gave a sample."""
    for _ in range(4):
        clock.at += timedelta(days=30)
        for tag in BARRELS[:6]:
            book.write(acts.Top(vessel=tag, source="T-01", volume=7_000 if tag == "B-003" else 700, sure=True))
    book.write(acts.Sample(vessel="B-005", volume=500))
    return book


@pytest.mark.slow
@pytest.mark.parametrize("size", [(60, 20), (80, 24), (140, 40)])
async def test_the_page_shows_causes_months_and_the_worst_barrel_first(
    opened: Any, press: Any, leaky: Book, size: tuple[int, int]
) -> None:
    """Shares beside their causes, months under their bars, the leaking barrel with its mark and why; nothing cut."""
    async with opened(page="losses", size=size) as pilot:
        await press(pilot)
        result = picture(pilot)
        rows = [row.what for row in pilot.app.screen._seen.rows]
    lines = result.splitlines()
    assert "…" not in result
    assert re.search(r"evaporated \d\d % · samples 1 %", result)
    assert all(month in result for month in ("Aug", "Nov"))
    assert rows[0] == "B-003"
    worst = next(line for line in lines if line.startswith(" B-003"))
    assert re.search(r"▲ [0-9.]+ L more, leak", worst)
    assert "Warnings: 1" in result
    assert all(len(line) <= size[0] for line in lines)


@pytest.mark.slow
async def test_nothing_is_judged_before_it_is_summed(opened: Any, press: Any, leaky: Book) -> None:
    """The page comes up with what it is doing and with no mark; what comes then moves nothing."""
    async with opened(page="rounds") as pilot:
        screen = pilot.app.get_screen("losses")
        screen.show_cellar = lambda _cellar: None
        await pilot.app.switch_mode("losses")
        await press(pilot)
        waiting, before = picture(pilot), {each.id: each.region for each in screen.query("#months, #losses, #signs")}
        del screen.show_cellar
        screen.show_cellar(pilot.app.desk.cellar)
        await press(pilot)
        after = {each.id: each.region for each in screen.query("#months, #losses, #signs")}
    assert "Losses: calculating" in waiting
    assert "Warnings: calculating" in waiting
    assert not set("▲✓▆") & set(waiting)
    assert before == after


async def test_warnings_stand_worst_first_and_in_full_below(opened: Any, press: Any, leaky: Book) -> None:
    """A leak before a class of sign that can wait; the whole reason of the line under the pointer stands below."""
    leaky.write(acts.Look(vessel="B-001", bung="weeping"))
    async with opened(page="losses") as pilot:
        await press(pilot, "tab")
        kinds = [sign.kind for sign in pilot.app.screen._signs]
        assert kinds.index("leak") < kinds.index("bung")
        assert "similar barrels lose" in why(pilot)
        await press(pilot, "down")
        assert "wipe it, reseat it" in why(pilot)


@pytest.mark.slow
@pytest.mark.parametrize("size", [(60, 20), (80, 24), (140, 40)])
async def test_a_caution_is_shown_in_full_where_the_warnings_have_the_keys(
    opened: Any, press: Any, book: Book, size: tuple[int, int]
) -> None:
    """Low sulphite leads to a dose: all of what to mind stands below the list; a moved pointer lays nothing out."""
    for tag in ("B-001", "B-002"):
        book.write(acts.Reading(vessel=tag, property="free_so2_mg_l", value=6.0, sure=True))
    async with opened(page="losses", size=size) as pilot:
        assert "evaporated" in picture(pilot)
        await press(pilot, "tab", "down")
        result = " ".join(picture(pilot).split())
        before = {each.id: each.region for each in pilot.app.screen.query("#losses, #signs, #why")}
        await press(pilot, "up")
        after = {each.id: each.region for each in pilot.app.screen.query("#losses, #signs, #why")}
        await press(pilot, "tab")
        assert "evaporated" in picture(pilot)
    assert "Sulphur dioxide harms lungs and eyes" in result
    assert "your local rules and licensed practice come first." in result
    assert before == after

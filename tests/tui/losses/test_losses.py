"""Losses by every grouping, and signs of trouble that lead to their barrel."""

import re
from typing import Any

import pytest
from textual.widgets import Static

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.programme.losses.ledger import GROUPINGS
from cooperage.tui.losses.words import bar


def title(pilot: Any) -> str:
    return str(pilot.app.screen.query_one("#losses-title").render())


@pytest.mark.slow
async def test_losses_are_told_by_every_grouping(opened: Any, press: Any) -> None:
    """Each of eleven barrels was topped by 1.5 L that had evaporated: 16.5 L by any grouping, and all round again."""
    async with opened(page="losses") as pilot:
        titles = [title(pilot)]
        for by in (*GROUPINGS, "cause"):
            await press(pilot, "q", f"by {by}", "enter")
            titles.append(title(pilot))
    assert [result.split()[2].rstrip(",") for result in titles] == ["cause", *GROUPINGS, "cause"]
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


async def test_the_usual_and_the_allowance_stand_beside_what_was_lost(opened: Any, press: Any, book: Book) -> None:
    """A second topping makes a rate, 1.9 L in 200 days; all losses are held against 3 % of 4000 L."""
    book.write(acts.Top(vessel="B-002", volume=400, source="K-01"))
    async with opened(page="losses") as pilot:
        await press(pilot, "q", "by barrel", "enter")
        result = pilot.app.export_screenshot().replace("&#160;", " ")
        allowance = str(pilot.app.screen.query_one("#allowance", Static).content)
    assert re.search(r"B-001 +1\.5 L +8\.9 % +1\.5 L +[12]\.[0-9] L", result)
    assert "within the year's allowance of 120.0 L" in allowance
    assert "27 CFR" in result


async def test_more_than_a_year_has_no_allowance(opened: Any, press: Any) -> None:
    """All time: the screen says why there is none."""
    async with opened(page="losses") as pilot:
        await press(pilot, "q", "over all", "enter")
        result = str(pilot.app.screen.query_one("#allowance", Static).content)
    assert "The allowance covers one year. Press q for 12 months or less" in result

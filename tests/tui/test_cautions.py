"""What can hurt somebody shows its caution on the form, before anything is written."""

from typing import Any

import pytest

from cooperage.book.dangers.dangers import cautions
from cooperage.book.dangers.work import Work
from cooperage.book.declared.substances import TREATMENTS

DANGEROUS = [name for name in TREATMENTS if cautions(Work("treat", treatment=name))]


def caution(pilot: Any) -> str:
    return str(pilot.app.screen.query_one("#caution").render())


@pytest.mark.slow
@pytest.mark.parametrize("treatment", DANGEROUS)
async def test_every_dangerous_treatment_shows_its_caution(opened: Any, press: Any, treatment: Any) -> None:
    """Chosen on the barrel's page: burnt sulphur, gas, steam, hot water, ozone."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "w")
        row = pilot.app.screen.rows["treatment"]
        row.set_text(treatment)
        await press(pilot)
        assert all(each.line in caution(pilot) for each in cautions(Work("treat", treatment=treatment)))
        assert "licensed practice come first." in caution(pilot)


@pytest.mark.slow
async def test_carrying_a_barrel_shows_what_to_mind(opened: Any, press: Any) -> None:
    """How heavy it is stands on the form as soon as it opens."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "m")
        assert "B-001 holds 225.0 L, far too heavy for hands" in caution(pilot)


@pytest.mark.slow
@pytest.mark.parametrize("size", [(60, 20), (80, 24)])
async def test_a_long_caution_leaves_the_keys_of_its_form_in_sight(opened: Any, press: Any, size: Any) -> None:
    """The longest caution of all, of bottling what can ferment again, is whole, and so is the row of keys."""
    async with opened(page="barrel", size=size) as pilot:
        await press(pilot, "b")
        await pilot.pause()
        box = pilot.app.screen.query_one(".box")
        for name in ("#caution", "KeyBar"):
            part = pilot.app.screen.query_one(name)
            assert part.region.height
            assert part.region.bottom < box.region.bottom
        assert "licensed practice come first." in caution(pilot)

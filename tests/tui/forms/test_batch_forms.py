"""Honey and batch sheets on screen: what Enter would write stands there before, refusals stand at their field."""

from typing import Any

import pytest

from cooperage.book import Book, Lot
from cooperage.book.declared import acts
from cooperage.programme.batches.kept import keep_honey, standing_batches, standing_honeys
from cooperage.programme.batches.sheet import Honey, HoneyUsed, Juice
from cooperage.tui.forms.batch_forms import BatchForm, HoneyForm
from cooperage.tui.shared.act_form import ActForm
from cooperage.tui.shared.dialogs import Pick


@pytest.fixture(autouse=True)
def no_pause(monkeypatch: pytest.MonkeyPatch) -> None:
    """Trace at once; a person's cursor rests a moment first."""
    monkeypatch.setattr("cooperage.tui.lots.screen.PAUSE_S", 0.01)


def announced(pilot: Any) -> str:
    return str(pilot.app.screen.query_one("#announced").render())


async def test_honey_is_written_down(opened: Any, press: Any) -> None:
    """A mass without its unit is refused at its field; moisture comes from the refractive index, with its caution."""
    async with opened(page="lots") as pilot:
        book = pilot.app.desk.book
        await pilot.app.run_action("ask('honey')")
        await press(pilot)
        form = pilot.app.screen
        assert isinstance(form, HoneyForm)
        for name, text in {"code": "HB-9", "mass": "420", "flowers": "heather", "index": "1.4865"}.items():
            form.rows[name].set_text(text)
        await press(pilot, "enter")
        assert form.rows["mass"].is_focused
        form.rows["mass"].set_text("420 kg")
        form.announce()
        await press(pilot)
        assert announced(pilot).startswith("Enter writes HB-9: 420.0 kg, heather; moisture 20.0 %.")
        await press(pilot, "enter")
        with book.reading() as connection:
            [honey] = standing_honeys(connection).values()
        assert (honey.code, honey.grams, honey.floral) == ("HB-9", 420_000, "heather")
        assert honey.moisture == pytest.approx(20.0, abs=0.1)
        assert "HB-9" in str(pilot.app.screen.query_one("StatusLine").render())


@pytest.fixture
def with_honey(book: Book) -> Any:
    """A lot of 300 L in a tank, and honey for it."""
    with book.writing() as session:
        session.add_lot(Lot("", "AA-27", "heather mead"))
        session.write(acts.Receive(lot="AA-27", vessel="T-01", volume=100_000, sure=True))
    keep_honey(book, Honey("", "HB-1", 200_000, moisture=17.2))
    return book


async def test_a_batch_sheet_is_written_from_the_page_of_lots_and_corrected(
    opened: Any, press: Any, with_honey: Any
) -> None:
    """150 kg of honey in 350 L make 1.105; what stands is in the form when it is opened again."""
    async with opened(page="lots", size=(100, 40)) as pilot:
        book = pilot.app.desk.book
        await press(pilot, "e")
        assert isinstance(pilot.app.screen, Pick)
        await press(pilot, "enter")
        form = pilot.app.screen
        assert isinstance(form, BatchForm)
        assert form.rows["lot"].text == "AA-27"
        typed = {"water": "350", "with-honey": "HB-7=150kg", "juice": "pear=10.5 L at 1.055", "tolerance": "14"}
        for name, text in typed.items():
            form.rows[name].set_text(text)
        form.announce()
        await press(pilot)
        assert "there is no honey HB-7" in announced(pilot)
        form.rows["with-honey"].set_text("HB-1=150kg")
        form.announce()
        await press(pilot)
        assert announced(pilot).startswith("Enter writes the batch sheet of AA-27.\nTarget gravity 1.10")
        await press(pilot, "enter")
        with book.reading() as connection:
            batch = standing_batches(connection)["AA-27"]
        assert (batch.water_ml, batch.honeys, batch.tolerance) == (350_000, (HoneyUsed("HB-1", 150_000),), 14.0)
        assert batch.others == (Juice("pear", 10_500, 1.055),)
        await press(pilot, "e", "enter")
        again = pilot.app.screen
        assert isinstance(again, BatchForm)
        assert again.rows["with-honey"].text == "HB-1=150 kg"
        await press(pilot, "ctrl+s")
        with book.reading() as connection:
            same = standing_batches(connection)["AA-27"]
        assert (same.water_ml, same.honeys, same.others) == (batch.water_ml, batch.honeys, batch.others)


async def test_a_gravity_and_nutrients_are_entered_from_the_page_of_lots(
    opened: Any, press: Any, with_honey: Any
) -> None:
    """Key r asks for the gravity of the vessel that holds the lot, a for what is added to it."""
    async with opened(page="lots") as pilot:
        await press(pilot, "r")
        form = pilot.app.screen
        assert isinstance(form, ActForm)
        assert (form.texts["vessel"], form.texts["property"]) == ("T-01", "sg")
        await press(pilot, "escape", "a")
        form = pilot.app.screen
        assert isinstance(form, ActForm)
        assert form.texts["vessel"] == "T-01"
        await press(pilot, "escape", "w")
        assert isinstance(pilot.app.screen, ActForm)

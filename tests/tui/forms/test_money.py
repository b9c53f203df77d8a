"""Money on screen: what a code has cost, a price that is written down, and the currency beside every sum."""

from typing import Any

from textual.widgets import Input

from cooperage.programme.money.costed import costs_of
from cooperage.programme.money.pricing import every_price
from cooperage.programme.money.value import value_at
from cooperage.programme.upkeep.cellar_facts import change_facts
from cooperage.tui.forms.money import PriceForm
from cooperage.tui.forms.papers import Paper, PaperLines
from cooperage.tui.shared.dialogs import Pick


def announced(pilot: Any) -> str:
    return str(pilot.app.screen.query_one("#announced").render())


async def test_what_a_barrel_has_cost_is_read(opened: Any, press: Any) -> None:
    """From the list of all that has a name, at the barrel in hand; to the cent as the function has it."""
    async with opened(page="barrel") as pilot:
        desk = pilot.app.desk
        await pilot.app.run_action("ask('cost')")
        await press(pilot)
        assert isinstance(pilot.app.screen, Pick)
        await press(pilot, "enter")
        await pilot.app.workers.wait_for_complete()
        await press(pilot)
        paper = pilot.app.screen
        assert isinstance(paper, Paper)
        text = "\n".join(paper.query_one(PaperLines)._lines)
        [cost] = costs_of(value_at(desk.book), desk.tag)
        assert text.startswith(f"{desk.tag}: ")
        assert f"{cost.cents / 100:.2f}" in text
        assert "not tax or accounting advice" in text


async def test_a_price_is_written_down(opened: Any, press: Any) -> None:
    """What Enter would write stands there before; what is missing is shown at its field."""
    async with opened(page="racks") as pilot:
        book = pilot.app.desk.book
        await pilot.app.run_action("ask('price')")
        await press(pilot)
        form = pilot.app.screen
        assert isinstance(form, PriceForm)
        assert announced(pilot).startswith("Name what has a price")
        assert "''" not in announced(pilot)
        for name, text in {"item": "bottle", "price": "0.58"}.items():
            form.rows[name].set_text(text)
        await press(pilot, "enter")
        assert form.rows["bottle"].is_focused
        form.rows["bottle"].set_text("750 ml")
        form.announce()
        await press(pilot)
        assert announced(pilot).startswith("Enter writes: bottle of 750 mL: 0.58 a bottle, from ")
        await press(pilot, "enter")
        assert [(each.item, each.bottle_ml, each.amount) for each in every_price(book)] == [("bottle", 750, 0.58)]


async def test_sums_have_the_cellars_currency_once_it_is_set(opened: Any, press: Any) -> None:
    """On the page of lots, without a new start; it is no setting of the person."""
    async with opened(page="lots") as pilot:
        desk = pilot.app.desk
        change_facts(desk.book, {"currency": "ISK"})
        desk.read_again()
        await pilot.app.workers.wait_for_complete()
        await press(pilot)
        assert desk.units.currency == "ISK"
        shown = "\n".join(
            "".join(segment.text for segment in strip) for strip in pilot.app.screen._compositor.render_strips()
        )
        assert "ISK/L" in shown


async def test_a_lot_and_whatever_is_named_after_the_word_cost_are_costed(opened: Any, press: Any) -> None:
    """By a key on the page of lots, and in the palette by "cost" and a name, which nothing else there has."""
    async with opened(page="lots") as pilot:
        code = pilot.app.screen.current.lot.code
        await press(pilot, "v")
        await paper_of(pilot, press, f"What {code} has cost")
        await press(pilot, "escape", "ctrl+p")
        pilot.app.screen.query_one(Input).value = "cost B-002"
        await press(pilot)
        await pilot.app.workers.wait_for_complete()
        await press(pilot, "enter")
        await paper_of(pilot, press, "What B-002 has cost")


async def paper_of(pilot: Any, press: Any, title: str) -> None:
    for _ in range(100):
        if isinstance(pilot.app.screen, Paper):
            break
        await press(pilot)
        await pilot.pause(0.02)
    assert pilot.app.screen._title == title

"""What is called ready is defined, changed and withdrawn on screen, as the command does it."""

from typing import Any

import pytest

from cooperage.book import Book
from cooperage.programme.ready.definitions import RISK, definitions_in, own_definition
from cooperage.tui.forms.ready_form import ReadyForm


def announced(pilot: Any) -> str:
    return str(pilot.app.screen.query_one("#announced").render())


async def open_form(pilot: Any) -> ReadyForm:
    await pilot.app.run_action("ask('ready')")
    await pilot.pause()
    form = pilot.app.screen
    assert isinstance(form, ReadyForm)
    return form


async def type_in(pilot: Any, press: Any, form: ReadyForm, **texts: str) -> None:
    for name, text in texts.items():
        form.rows[name].set_text(text)
    form.announce()
    await press(pilot)


async def test_ready_is_defined_for_the_cellar_and_withdrawn(opened: Any, press: Any) -> None:
    """The form proposes what stands; blank limits withdraw it, and every line says so before it is written."""
    async with opened(page="racks") as pilot:
        book: Book = pilot.app.desk.book
        form = await open_form(pilot)
        await type_in(pilot, press, form, limits="overall at least 12; va at most 0.7", chance="60", risk="")
        assert announced(pilot) == (
            "Enter defines ready for the cellar: overall at least 12; VA at most 0.7 g/L; "
            f"chance 60 %, risk {100 * RISK:.0f} %."
        )
        await press(pilot, "enter")
        made = own_definition(book, None)[1]
        assert made is not None
        assert ([limit.name for limit in made.limits], made.chance, made.risk) == (["overall", "va_g_l"], 0.6, RISK)
        form = await open_form(pilot)
        assert form.texts["limits"].startswith("overall at least 12")
        assert announced(pilot) == "Nothing is changed yet."
        await type_in(pilot, press, form, limits="")
        assert announced(pilot).startswith("Enter withdraws what is ready for the cellar: overall at least 12")
        await press(pilot, "enter")
        assert own_definition(book, None)[1] is None
        assert "Nothing is defined as ready for the cellar now." in pilot.app.export_screenshot().replace("&#160;", " ")


async def test_a_lot_has_its_own(opened: Any, press: Any) -> None:
    """It is found in any case; the cellar's stands beside it, and what is unchanged is not written again."""
    async with opened(page="racks") as pilot:
        book: Book = pilot.app.desk.book
        code = next(iter(pilot.app.desk.cellar.lots))
        before = own_definition(book, None)[1]
        for _ in range(2):
            form = await open_form(pilot)
            await type_in(pilot, press, form, lot=code.lower(), limits="overall at least 15")
            await press(pilot, "enter")
        own = own_definition(book, code)[1]
        assert own is not None
        assert (own.lot, own_definition(book, None)[1]) == (code, before)
        with book.reading() as connection:
            assert [each.id for each in definitions_in(connection) if each.lot == code] == [own.id]


@pytest.mark.parametrize(
    ("field", "text", "why"),
    [
        ("lot", "QQ-47", "there is no lot 'QQ-47'"),
        ("limits", "nice", "'nice' sets no limit"),
        ("chance", "0", "chance cannot be 0 %"),
        ("risk", "often", "often"),
    ],
)
async def test_a_refusal_stands_at_its_field(opened: Any, press: Any, field: str, text: str, why: str) -> None:
    """Nothing is written, and what was typed stays."""
    async with opened(page="racks") as pilot:
        form = await open_form(pilot)
        await type_in(pilot, press, form, **{"limits": "overall at least 12", field: text})
        assert why in announced(pilot)
        await press(pilot, "enter")
        assert pilot.app.screen is form
        assert form.rows[field].is_focused
        assert form.texts[field] == text

"""The stock of bottles on screen: each act by its key with what is known filled in, asked back where it is odd."""

from typing import Any

from cooperage.book import Book
from cooperage.book.bottles import bottle_holdings, bottle_stock
from cooperage.book.declared import acts
from cooperage.tui.shared.act_form import ActForm
from cooperage.tui.shared.dialogs import Confirm
from cooperage.tui.shared.line_list import LineList
from cooperage.tui.shared.wrapped import Wrapped


def held(book: Book) -> list[tuple[str, str, int]]:
    with book.reading() as connection:
        found, stock = bottle_holdings(connection), bottle_stock(connection)
    assert sum(each.bottles for each in found) == sum(each.bottles for each in stock if each.bottles > 0)
    return [(each.place, each.holder, each.bottles) for each in found]


def listed(pilot: Any) -> list[str]:
    rows = pilot.app.screen.query_one("#stock", LineList)
    return [" ".join(str(rows.line(y, 78)).split()) for y in range(rows.line_count)]


async def test_bottles_are_stowed_sold_taken_back_counted_and_poured_back(opened: Any, press: Any, book: Book) -> None:
    """The forms know the bottling and the store; a count far from the book is asked back, and stays typed."""
    book.write(acts.Bottle(vessel="T-01", code="NIGHT", bottles=1432))
    async with opened(page="bottles") as pilot:
        assert listed(pilot) == ["NIGHT 750 mL not stowed 1432 1074.0 L"]
        await press(pilot, "m", "100x12", "tab", "Loft", "enter")
        assert listed(pilot)[1] == "NIGHT 750 mL Loft 1200 900.0 L"
        await press(pilot, "down", "z")
        form: Any = pilot.app.screen
        assert (form.rows["code"].text, form.rows["out-of"].text) == ("NIGHT", "Loft")
        form.rows["went"].set_text("sold")
        form.rows["to"].set_text("Harbour inn")
        form.rows["bottles"].take_focus()
        await press(pilot, "48", "enter")
        assert listed(pilot)[2] == "NIGHT 750 mL sold Harbour inn 48 36.0 L"
        assert "48 bottles Loft → sold, Harbour inn by Ada" in " ".join(
            pilot.app.screen.query_one(Wrapped).plain.split()
        )
        await press(pilot, "down", "i", "12", "enter", "home", "down", "c", "1072", "enter")
        assert isinstance(pilot.app.screen, Confirm)
        await press(pilot, "-")
        assert isinstance(pilot.app.screen, ActForm)
        assert pilot.app.screen.rows["bottles"].text == "1072"
        await press(pilot, "enter", "+", "home", "p", "12", "tab", "K-02", "enter")
    assert held(book) == [
        ("", "", 232),
        ("Loft", "", 1072),
        ("count", "", 80),
        ("poured back", "", 12),
        ("sold", "Harbour inn", 36),
    ]


async def test_the_palette_opens_each_form_without_a_bottling(opened: Any, press: Any) -> None:
    async with opened(page="racks") as pilot:
        for words, kind in (("stow bottles", acts.Stow), ("stocktake", acts.Stocktake)):
            await press(pilot, "ctrl+p", words, "enter")
            form = pilot.app.screen
            assert isinstance(form, ActForm)
            assert form._kind is kind
            await press(pilot, "escape")


def test_what_comes_back_without_a_name_is_whose_it_was_not(book: Book) -> None:
    """Two holders, and twelve taken back by no one who was named: they are nowhere taken off a holder."""
    book.write(acts.Bottle(vessel="T-01", code="NIGHT", bottles=100))
    for party, bottles in (("Harbour inn", 30), ("Skerry shop", 20)):
        book.write(acts.Remove(code="NIGHT", bottles=bottles, went="sold", party=party))
    book.write(acts.TakeBack(code="NIGHT", bottles=12, sure=True))
    assert held(book) == [("", "", 62), ("sold", "", -12), ("sold", "Harbour inn", 30), ("sold", "Skerry shop", 20)]


async def test_how_many_there_are_stays_in_sight_at_sixty_columns(opened: Any, press: Any, book: Book) -> None:
    """Places and holders are cut with a mark before the number of bottles is; at 80 columns none is."""
    book.write(acts.Bottle(vessel="T-01", code="NIGHT", bottles=1432))
    where, who = "in bond elsewhere", "Osk bonded stores"
    book.write(acts.Remove(code="NIGHT", bottles=48, went=where, party=who, sure=True))
    for columns, whole in ((60, False), (80, True)):
        async with opened(page="bottles", size=(columns, 20)) as pilot:
            await press(pilot)
            rows = pilot.app.screen.query_one("#stock", LineList)
            lines = [rows.line(y, columns).plain for y in range(rows.line_count)]
        assert lines[0].split()[-1 if not whole else -3] == "1384"
        assert (where in lines[1] and who in lines[1]) is whole
        assert ("…" in lines[1]) is not whole
        assert max(map(len, lines)) <= columns - 2

"""Prices go out and come back as they were, and a bad row is refused with its place."""

from collections.abc import Callable
from pathlib import Path

import pytest

from cooperage.book import Book
from cooperage.errors import CooperageError
from cooperage.exchange import export_folder, import_folder
from cooperage.exchange.copying import copy_book
from cooperage.programme.money.pricing import every_price, set_price
from cooperage.programme.upkeep.cellar_facts import change_facts


@pytest.fixture
def priced(fresh_sqlite: Callable[[], Book]) -> Book:
    """A book with prices: before there was a currency, of a size, of a thousandth of a cent, and unknown again."""
    book = fresh_sqlite()
    set_price(book, "bentonite", "12.5", since="2024-01-01", hand="Maren")
    change_facts(book, {"currency": "EUR"})
    set_price(book, "closure", "0.08755", size="750 ml", since="2024-02-01", hand="Iko")
    set_price(book, "bentonite", "unknown", since="2024-03-01", hand="Iko")
    return book


def test_they_come_back_as_they_were(priced: Book, fresh_sqlite: Callable[[], Book], tmp_path: Path) -> None:
    """As a folder, as a workbook and as a copy; a second time nothing is new."""
    prices = every_price(priced)
    assert [(each.item, each.bottle_ml, each.amount, each.currency) for each in prices] == [
        ("bentonite", None, 12.5, ""),
        ("closure", 750, 0.08755, "EUR"),
        ("bentonite", None, None, "EUR"),
    ]
    for path in (tmp_path / "out", tmp_path / "out.xlsx"):
        export_folder(priced, path)
        other = fresh_sqlite()
        assert import_folder(other, path).counts["prices"] == 3
        assert every_price(other) == prices
        assert import_folder(other, path).counts["prices"] == 0
    copy_book(priced, str(tmp_path / "copy.db"))
    assert every_price(Book.open(str(tmp_path / "copy.db"))) == prices


@pytest.mark.parametrize(
    "row",
    [
        "corks,,0.1,EUR,2024-01-01",
        "bottle,,0.5,EUR,2024-01-01",
        "hour,750 ml,30,EUR,2024-01-01",
        "honey,,-1,EUR,2024-01-01",
        "honey,,6,ZZZ,2024-01-01",
        "honey,,6,EUR,",
    ],
)
def test_a_bad_row_is_refused(fresh_sqlite: Callable[[], Book], tmp_path: Path, row: str) -> None:
    """The file and the line are named, and nothing is written."""
    (tmp_path / "prices.csv").write_text(f"item,bottle,price,currency,from\n{row}\n")
    book = fresh_sqlite()
    with pytest.raises(CooperageError, match=r"prices\.csv"):
        import_folder(book, tmp_path)
    assert not every_price(book)


def test_another_price_of_the_same_id_is_refused(priced: Book, tmp_path: Path) -> None:
    first = every_price(priced)[0]
    row = f"bentonite,,13,,{first.holds_from.isoformat()},{first.id}"
    (tmp_path / "prices.csv").write_text(f"item,bottle,price,currency,from,id\n{row}\n")
    with pytest.raises(CooperageError, match="in the book already"):
        import_folder(priced, tmp_path)


def test_an_absurd_price_is_asked_back_at_its_line(fresh_sqlite: Callable[[], Book], tmp_path: Path) -> None:
    """And goes through with yes; out and in again it is not asked about."""
    sheet = tmp_path / "prices.csv"
    sheet.write_text("item,bottle,price,currency,from,sure\nbottle,750 ml,99999,EUR,2024-01-01,\n")
    book = fresh_sqlite()
    with pytest.raises(CooperageError, match=r"prices\.csv.*line 2.*99999.*write yes in the column sure"):
        import_folder(book, tmp_path)
    sheet.write_text(sheet.read_text().replace("01-01,", "01-01,yes"))
    assert import_folder(book, tmp_path).counts["prices"] == 1
    export_folder(book, tmp_path / "out")
    assert import_folder(fresh_sqlite(), tmp_path / "out").counts["prices"] == 1

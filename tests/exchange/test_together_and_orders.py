"""What was written as one, and orders, go out and come back; copies and backups hold them."""

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.log import entries
from cooperage.exchange import export_folder, import_folder
from cooperage.exchange.copying import copy_book
from cooperage.exchange.errors import BadCell, RefusedRow
from cooperage.exchange.tables.columns import FILES
from cooperage.programme.orders.doing import do_order
from cooperage.programme.orders.kept import orders
from cooperage.programme.orders.written import withdraw, write_order
from cooperage.programme.several.wanted import Wanted
from cooperage.programme.several.written import strike_together

DAY = date(2026, 11, 27)


@pytest.fixture
def ordered(small: Book) -> Book:
    """A cellar with an order that is open, one that was done on two vessels, and one that is withdrawn."""
    write_order(
        small, Wanted("treat", {"vessel": "T-1,K-1", "treatment": "stir"}), DAY, note='"two"\nlines', hand="Ada"
    )
    do_order(small, "1")
    write_order(small, Wanted("fill", {"vessel": "B-1", "from": "T-1"}, {"B-1": {"volume": "20 L"}}), DAY)
    write_order(small, Wanted("rack", {"vessel": "T-1", "to": "K-1"}), date(2026, 12, 1))
    withdraw(small, "3", "no keg is clean")
    return small


def told(book: Book) -> Any:
    with book.reading() as connection:
        marks = {entry.id: entry.together for entry in entries(connection)}
    return orders(book), marks


def test_they_come_back_as_they_were(ordered: Book, fresh: Callable[[], Book], tmp_path: Path) -> None:
    """As a folder and as a workbook; a second time nothing is new."""
    for path in (tmp_path / "out", tmp_path / "out.xlsx"):
        export_folder(ordered, path)
        other = fresh()
        import_folder(other, path)
        assert told(other) == told(ordered)
        assert import_folder(other, path).counts == dict.fromkeys(FILES, 0)
        assert len(strike_together(other, acts.Strike(entry=orders(other)[0].entries[1]))) == 2


def test_a_copy_holds_them(ordered: Book, tmp_path: Path) -> None:
    """Row for row."""
    counts = copy_book(ordered, str(tmp_path / "copy.db"))
    assert (counts["orders"], counts["together"]) == (3, 2)
    other = Book.open(str(tmp_path / "copy.db"))
    assert told(other) == told(ordered)
    other.close()


def test_an_order_with_a_number_that_is_taken_is_given_another(
    ordered: Book, fresh: Callable[[], Book], tmp_path: Path
) -> None:
    """Two cellars that come together number their orders alike; what was written stays what it is."""
    export_folder(ordered, tmp_path / "out")
    other = fresh()
    import_folder(other, tmp_path / "out")
    write_order(ordered, Wanted("treat", {"vessel": "T-1", "treatment": "stir"}), DAY)
    mine = write_order(other, Wanted("treat", {"vessel": "K-1", "treatment": "stir"}), DAY)
    export_folder(ordered, tmp_path / "again")
    import_folder(other, tmp_path / "again")
    assert [each.number for each in orders(other) if each.id != mine.id] == [1, 2, 5, 3]
    withdraw(other, "2", "changed here")
    with pytest.raises(RefusedRow, match="order '2' is in the book already"):
        import_folder(other, tmp_path / "again")


@pytest.mark.parametrize(
    ("cells", "says"),
    [
        ("1,2026-11-27,treat,nonsense,,open,,", "as an export writes it"),
        ('1,2026-11-27,treat,"{""vessel"": 1}",,open,,', "as an export writes it"),
        ("1,27 Nov,treat,{},,open,,", "is no day"),
        ("1,2026-11-27,treat,{},,done,,", "is closed when it was done"),
        ("1,2026-11-27,tread,{},,open,,", "did you mean treat"),
    ],
)
def test_a_bad_row_names_its_line(small: Book, folder: Callable[..., Path], cells: str, says: str) -> None:
    """And nothing is imported."""
    header = "number,day,kind,fields,of_each,state,closed,id,written"
    with pytest.raises(BadCell, match=says) as refused:
        import_folder(small, folder(orders=f"{header}\n{cells},2026-11-26\n"))
    assert "line 2" in str(refused.value)
    assert orders(small) == []

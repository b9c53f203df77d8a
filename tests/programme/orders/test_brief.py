"""An order in a few words: whole where there is room, ever shorter where there is less."""

from datetime import timedelta

import pytest

from cooperage.book import Book
from cooperage.programme.orders.brief import brief_words
from cooperage.programme.orders.checked import Checked, Verdict, check_orders
from cooperage.programme.orders.written import write_order
from cooperage.programme.several.wanted import Wanted
from cooperage.programme.today.ordered import urgent_first
from cooperage.units import DEFAULT, local_day

TEXTS = [
    ("addition", {"vessel": "B-001", "substance": "metabisulphite", "amount": "13.0 g"},
     "add 13 g of potassium metabisulphite to B-001"),
    ("addition", {"vessel": "B-001,B-002", "substance": "metabisulphite", "amount": "2 g/hL"},
     "add 2 g/hL of potassium metabisulphite to B-001, B-002"),
    ("fill", {"vessel": "B-012", "from": "T-01"}, "fill B-012 with 225 L from T-01"),
    ("rack", {"vessel": "B-001", "to": "T-01", "volume": "50 L"}, "rack 50 L of B-001 to T-01"),
    ("sample", {"vessel": "B-001,B-002", "volume": "0.1 L"}, "pull 0.1 L each of B-001, B-002"),
    ("shift", {"vessel": "B-001", "room": "Low", "row": "C", "bay": "1", "tier": "1"}, "move B-001 to Low C.1.1"),
    ("shift", {"vessel": "B-001", "room": "Low"}, "move B-001 to Low"),
    ("bottle", {"vessel": "T-01", "bottles": "300", "code": "QUINCE-26"}, "bottle T-01: 300 bottles as QUINCE-26"),
    ("treat", {"vessel": "B-003", "treatment": "stir"}, "treat B-003: stir"),
]  # fmt: skip


def checked(book: Book, kind: str, texts: dict[str, str], days: int = 0, note: str = "") -> Checked:
    day = local_day(book.now()) + timedelta(days=days)
    write_order(book, Wanted(kind, texts), day, hand="Maren", note=note)
    return check_orders(book)[-1]


@pytest.mark.parametrize(("kind", "texts", "words"), TEXTS, ids=[f"{kind} {words[:20]}" for kind, _, words in TEXTS])
def test_an_order_is_whole_in_few_words(book: Book, kind: str, texts: dict[str, str], words: str) -> None:
    """Its kind, figure, vessel and where to; its note is left to the pointer."""
    found = checked(book, kind, texts, note="stir it in; measure again next week")
    assert brief_words(found) == words
    assert brief_words(found, DEFAULT, len(words)) == words


def test_less_room_takes_the_long_name_first_and_then_the_tags(book: Book) -> None:
    """The figure stays, and the number of vessels."""
    texts = {"vessel": "B-001,B-003", "substance": "metabisulphite", "amount": "2 g/hL"}
    found = checked(book, "addition", texts)
    assert brief_words(found, DEFAULT, 50) == "add 2 g/hL of metabisulphite to B-001, B-003"
    assert brief_words(found, DEFAULT, 42) == "add 2 g/hL of metabisulphite to 2 vessels"
    assert brief_words(found, DEFAULT, 10) == "add 2 g/h…"


def test_late_orders_stand_first_then_impossible_ones_then_todays(book: Book) -> None:
    """Alike in their sequence."""
    stir = {"vessel": "B-001", "treatment": "stir"}
    for days in (0, 1, -1, 0):
        checked(book, "treat", stir, days)
    checked(book, "sample", {"vessel": "B-012", "volume": "50 ml"}, 2)
    found = urgent_first(check_orders(book), local_day(book.now()))
    assert [each.order.number for each in found] == [3, 5, 1, 4, 2]
    assert found[1].verdict is Verdict.IMPOSSIBLE

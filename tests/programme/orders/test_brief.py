"""An order in a few words: whole where there is room, ever shorter where there is less."""

from datetime import timedelta

import pytest

from cooperage.book import Book
from cooperage.programme.orders.brief import brief_words
from cooperage.programme.orders.checked import Checked, Verdict, check_orders
from cooperage.programme.orders.shown import order_words
from cooperage.programme.orders.written import write_order
from cooperage.programme.several.wanted import Wanted
from cooperage.programme.today.ordered import urgent_first
from cooperage.units import DEFAULT, local_day

TEXTS = [
    ("addition", {"vessel": "B-1", "substance": "metabisulphite", "amount": "13.0 g"},
     "add 13 g of potassium metabisulphite to B-1"),
    ("addition", {"vessel": "B-1,B-2", "substance": "metabisulphite", "amount": "2 g/hL"},
     "add 2 g/hL of potassium metabisulphite to B-1, B-2"),
    ("fill", {"vessel": "B-2", "from": "T-1"}, "fill B-2 with 225 L from T-1"),
    ("rack", {"vessel": "B-1", "to": "T-1", "volume": "50 L"}, "rack 50 L of B-1 to T-1"),
    ("sample", {"vessel": "B-1,B-2", "volume": "0.1 L"}, "pull 0.1 L each of B-1, B-2"),
    ("shift", {"vessel": "B-1", "room": "Low", "row": "C", "bay": "1", "tier": "1"}, "move B-1 to Low C.1.1"),
    ("shift", {"vessel": "B-1", "room": "Low"}, "move B-1 to Low"),
    ("bottle", {"vessel": "T-1", "bottles": "300", "code": "QUINCE-26"}, "bottle T-1: 300 bottles as QUINCE-26"),
    ("treat", {"vessel": "B-2", "treatment": "stir"}, "treat B-2: stir"),
]  # fmt: skip


def checked(book: Book, kind: str, texts: dict[str, str], days: int = 0, note: str = "") -> Checked:
    day = local_day(book.now()) + timedelta(days=days)
    write_order(book, Wanted(kind, texts), day, hand="Maren", note=note)
    return check_orders(book)[-1]


@pytest.mark.parametrize(("kind", "texts", "words"), TEXTS, ids=[f"{kind} {words[:20]}" for kind, _, words in TEXTS])
def test_an_order_is_whole_in_few_words(small: Book, kind: str, texts: dict[str, str], words: str) -> None:
    """Its kind, figure, vessel and where to; its note is left to the pointer."""
    found = checked(small, kind, texts, note="stir it in; measure again next week")
    assert brief_words(found) == words
    assert brief_words(found, DEFAULT, len(words)) == words


@pytest.mark.parametrize(("kind", "texts", "words"), TEXTS, ids=[f"{kind} {words[:20]}" for kind, _, words in TEXTS])
def test_an_order_has_one_wording(small: Book, kind: str, texts: dict[str, str], words: str) -> None:
    """On the list, on paper and in its form as on the first page, which alone adds the figure that was worked out."""
    found = checked(small, kind, texts)
    assert order_words(found.order) == words.replace(" with 225 L", "")


def test_less_room_takes_the_long_name_first(small: Book) -> None:
    """The figure stays, and the vessels."""
    texts = {"vessel": "B-1,B-2", "substance": "metabisulphite", "amount": "2 g/hL"}
    found = checked(small, "addition", texts)
    assert brief_words(found, DEFAULT, 44) == "add 2 g/hL of metabisulphite to B-1, B-2"
    assert brief_words(found, DEFAULT, 10) == "add 2 g/h…"


def test_late_orders_stand_first_then_impossible_ones_then_todays(small: Book) -> None:
    """Alike in their sequence."""
    stir = {"vessel": "B-1", "treatment": "stir"}
    for days in (0, 1, -1, 0):
        checked(small, "treat", stir, days)
    checked(small, "sample", {"vessel": "B-2", "volume": "50 ml"}, 2)
    ordered = urgent_first(check_orders(small), (), local_day(small.now()))
    found = [each for each in ordered if isinstance(each, Checked)]
    assert [each.order.number for each in found] == [3, 5, 1, 4, 2]
    assert found[1].verdict is Verdict.IMPOSSIBLE

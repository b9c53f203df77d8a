"""Each taster's own order: balanced over the panel, drawn once, the same at every door; and sheets that show it."""

from collections import Counter
from collections.abc import Callable
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.tasting.flights import add_score, flight, order_for, reveal, score, start_flight
from cooperage.tasting.flights.errors import AlreadyRevealed, NotAmongTheTasters, NoTasterNamed
from cooperage.tasting.flights.line import TypedScore
from cooperage.tasting.flights.orders import orders_for
from cooperage.tasting.flights.sheet import WIDTH, sheet_lines

VESSELS = ("B-1", "B-2", "B-3", "B-4", "T-1", "T-2", "K-1")


def fill(book: Book, *tags: str) -> None:
    """Put some of a lot into each vessel: what is empty is not poured."""
    with book.writing() as session:
        for tag in tags:
            session.write(acts.Receive(lot="HEATHER", vessel=tag, volume=20_000, sure=True))


@settings(max_examples=15)
@given(st.integers(2, 7), st.integers(0, 6), st.integers(1, 14))
def test_orders_are_balanced_however_the_tasters_come(
    fresh_sqlite: Callable[[], Book], glasses: int, named: int, late: int
) -> None:
    """Named when it is poured or late: no glass stands first, second, ... more than once oftener than another."""
    book = fresh_sqlite()
    fill(book, *VESSELS[:glasses])
    tasters = [f"taster {number}" for number in range(named + late)]
    start_flight(book, VESSELS[:glasses], code="F", tasters=tasters[:named])
    for taster in tasters[named:]:
        order_for(book, "F", taster)
    poured = flight(book, "F")
    assert list(poured.orders) == tasters
    codes = {glass.code for glass in poured.glasses}
    assert all(set(order) == codes and len(order) == glasses for order in poured.orders.values())
    for place in range(glasses):
        counts = Counter(order[place] for order in poured.orders.values())
        assert max(counts[code] for code in codes) - min(counts[code] for code in codes) <= 1
    book.close()


def test_a_full_design_puts_every_glass_after_every_other_alike(cellar_book: Book) -> None:
    """Four tasters of four glasses: each of the twelve pairs of neighbours once (Williams 1949)."""
    fill(cellar_book, "B-2", "B-3", "B-4")
    start_flight(cellar_book, VESSELS[:4], code="F", tasters=["Ada", "Bea", "Cleo", "Dot"])
    orders = flight(cellar_book, "F").orders.values()
    pairs = Counter(pair for order in orders for pair in pairwise(order))
    assert len(pairs) == 12
    assert set(pairs.values()) == {1}


def test_an_order_is_drawn_once_and_a_reference_stands_before_all(cellar_book: Book) -> None:
    """Asked for again it is the same, whatever the capitals of the name; the reference is known, and first."""
    fill(cellar_book, "B-2", "B-3")
    poured = start_flight(cellar_book, VESSELS[:3], code="F", tasters=["Ada"], reference="K-1", control="B-1")
    first = order_for(cellar_book, "f", " ADA ")
    assert first == poured.orders["Ada"] == flight(cellar_book, "F").orders["Ada"]
    reference = next(glass for glass in poured.glasses if glass.is_reference)
    assert first[0] == order_for(cellar_book, "F", "Bea")[0] == reference.code
    assert sorted(glass.role for glass in poured.glasses) == ["", "", "", "control", "reference"]


def test_a_taster_who_comes_late_gets_an_order_with_the_first_score(cellar_book: Book) -> None:
    """And none once the flight is closed."""
    poured = start_flight(cellar_book, ["B-1", "T-1"], code="F")
    with pytest.raises(NoTasterNamed, match="flight F has no tasters yet; name one"):
        orders_for(cellar_book, "F")
    score(cellar_book, "F", poured.glasses[0].code, "Iko", 12.0)
    assert list(flight(cellar_book, "F").orders) == ["Iko"]
    reveal(cellar_book, "F", sure=True)
    assert orders_for(cellar_book, "F")[1] == ["Iko"]
    with pytest.raises(AlreadyRevealed):
        order_for(cellar_book, "F", "Jory")


def test_a_name_that_is_new_to_a_named_panel_is_asked_back(cellar_book: Book) -> None:
    """By the sheet and by the score, with the name that is near; nothing is kept of it, and said to be right it is."""
    poured = start_flight(cellar_book, ["B-1", "T-1"], code="F", tasters=["Anna", "Jory"])
    typed = TypedScore({"overall": 12.0})
    with pytest.raises(
        NotAmongTheTasters, match=r"^Jry is not among the tasters of F \(Anna, Jory\); did you mean Jory"
    ):
        add_score(cellar_book, "F", poured.glasses[0].code, "Jry", typed)
    with pytest.raises(NotAmongTheTasters) as asked:
        orders_for(cellar_book, "F", ["Wenzel"])
    assert asked.value.words(None) == ("Wenzel is not among the tasters of F (Anna, Jory). Give --sure to add Wenzel.")
    assert flight(cellar_book, "F").panel == ["Anna", "Jory"]
    add_score(cellar_book, "F", poured.glasses[0].code, "jory", typed)
    orders_for(cellar_book, "F", ["Wenzel"], sure=True)
    orders_for(cellar_book, "F", ["Wenzel"])
    assert flight(cellar_book, "F").panel == ["Anna", "Jory", "Wenzel"]


def test_a_flight_without_a_named_panel_asks_nothing_of_a_new_name(cellar_book: Book) -> None:
    """Whoever comes is its panel."""
    start_flight(cellar_book, ["B-1"], code="F")
    assert [orders_for(cellar_book, "F", [name])[1] for name in ("Ada", "Bea")] == [["Ada"], ["Bea"]]


def test_who_only_has_a_sheet_is_not_waited_for(cellar_book: Book) -> None:
    """Those named as it was poured are, and who has begun to score."""
    poured = start_flight(cellar_book, ["B-1", "T-1"], code="F", tasters=["Anna"])
    orders_for(cellar_book, "F", ["Iko", "Wenzel"], sure=True)
    score(cellar_book, "F", poured.glasses[0].code, "Iko", 12.0)
    assert flight(cellar_book, "F").left_to_give() == [("Anna", 2), ("Iko", 1)]


def test_a_sheet_has_the_codes_in_order_and_no_vessel(cellar_book: Book) -> None:
    """Place for every figure, words and a verdict, in the width of a page."""
    vessels = ("B-1", "T-1", "K-1")
    fill(cellar_book, "T-2")
    start_flight(cellar_book, vessels, code="F", attributes=["honey", "oak=line", "liking"], reference="T-2")
    poured, [taster] = orders_for(cellar_book, "F", ["Tove"])
    lines = sheet_lines(poured, taster)
    assert all(len(line) <= WIDTH for line in lines)
    text = "\n".join(lines)
    assert [line.split()[2] for line in lines if "  glass " in line] == poured.orders["Tove"]
    assert text.count("honey ____   oak ____   liking ____   overall ____") == 4
    assert text.count("the reference") == 1
    assert not any(tag in text for tag in (*vessels, "T-2"))

"""What the glass before did to the scores of a flight: found in balanced orders, refused where it cannot be."""

import pytest

from cooperage.book import Book
from cooperage.tasting.flights import Flight, StillBlind, flight, reveal, score, start_flight
from cooperage.tasting.order_effects import NoOrdersKept, order_effects
from cooperage.tasting.statistics.carry_over import OrdersTooAlike
from cooperage.units import Units

TASTERS = ("Ada", "Ben", "Cas", "Dot", "Eve", "Fay")
GLASSES = ("B-1", "T-1", "K-1")


ORDERS = ((0, 1, 2), (1, 2, 0), (2, 0, 1), (2, 1, 0), (0, 2, 1), (1, 0, 2))
"""Every glass after every other equally often: what each taster meets, as places in GLASSES."""


def tasted(book: Book, code: str, left_by_keg: float, tasters: tuple[str, ...] = TASTERS) -> Flight:
    """Pour three vessels and score them in those orders; the keg moves the score of the glass after it."""
    poured = start_flight(book, GLASSES, code=code)
    code_of = {glass.vessel: glass.code for glass in poured.glasses}
    for at, (taster, order) in enumerate(zip(tasters, ORDERS, strict=False)):
        for place, glass in enumerate(order):
            after_keg = place > 0 and GLASSES[order[place - 1]] == "K-1"
            wobble = 0.25 if (at + place) % 2 else 0.0
            given = 10 + glass + (left_by_keg if after_keg else 0.0) + wobble
            score(book, code, code_of[GLASSES[glass]], taster, given)
    return flight(book, code)


def closed(book: Book, code: str) -> Flight:
    """Reveal a flight, with the orders in which it was scored."""
    poured = reveal(book, code)
    code_of = {glass.vessel: glass.code for glass in poured.glasses}
    scored = [name for name in TASTERS if name in poured.tasters]
    rows = zip(scored, ORDERS, strict=False)
    poured.orders = {name: [code_of[GLASSES[glass]] for glass in order] for name, order in rows}
    return poured


def test_a_strong_glass_before_is_seen_and_allowed_for(cellar_book: Book) -> None:
    """The keg takes three points off what follows: it stands best, its trace is found, and plain means hide it."""
    tasted(cellar_book, "F1", -3.0)
    found = order_effects(closed(cellar_book, "F1"))
    assert [row.glass.vessel for row in found.rows] == ["K-1", "T-1", "B-1"]
    keg = found.rows[0]
    assert keg.carried == pytest.approx(-2, abs=0.3)  # about the mean of three, one of which takes three points
    assert keg.direct == pytest.approx(1, abs=0.3)
    assert found.words().startswith("The glass before moves a score by up to 2.0 points (p < 0.001)")
    assert found.words(Units(decimal=",")).startswith("The glass before moves a score by up to 2,0 points (p < 0,001)")


def test_where_nothing_is_carried_nothing_is_claimed(cellar_book: Book) -> None:
    """No trace: the sentence claims none; while the flight is blind nothing is shown."""
    poured = tasted(cellar_book, "F2", 0.0)
    with pytest.raises(StillBlind):
        order_effects(poured)
    assert order_effects(closed(cellar_book, "F2")).words().startswith("No effect of the glass before is shown (p = ")


def test_too_few_orders_are_refused(cellar_book: Book) -> None:
    """One taster with an order, or two whose orders leave nothing to distinguish glasses by."""
    tasted(cellar_book, "F3", 0.0, TASTERS[:1])
    with pytest.raises(NoOrdersKept):
        order_effects(closed(cellar_book, "F3"))
    tasted(cellar_book, "F4", 0.0, TASTERS[:2])
    with pytest.raises(OrdersTooAlike):
        order_effects(closed(cellar_book, "F4"))

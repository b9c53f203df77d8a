"""Lots as they stand: what the vessels hold of each."""

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.lots import lots_now


def test_a_lot_is_told_with_every_vessel_that_holds_it(cellar_book: Book) -> None:
    """Of 900 L received, 40 L are in the keg and 225 L in the barrel: 635 L are left in the tank."""
    now = {each.lot.code: each for each in lots_now(cellar_book.cellar())}
    assert [(held.vessel, held.ml) for held in now["HEATHER"].holdings] == [
        ("T-1", 635_000),
        ("B-1", 225_000),
        ("K-1", 40_000),
    ]
    assert now["HEATHER"].ml == 900_000


def test_mixed_vessels_count_by_their_fractions(cellar_book: Book) -> None:
    """120 L of a second lot in a keg of 40 L of the first: the keg is a quarter the first."""
    cellar_book.write(acts.Receive(lot="LIME", vessel="T-2", volume=120_000))
    cellar_book.write(acts.Rack(vessel="K-1", destination="T-2", sure=True))
    lime, heather = (next(e for e in lots_now(cellar_book.cellar()) if e.lot.code == c) for c in ("LIME", "HEATHER"))
    assert [(held.vessel, held.ml, round(held.fraction, 9)) for held in lime.holdings] == [("T-2", 120_000, 0.75)]
    assert ("T-2", 40_000, 0.25) in [(held.vessel, held.ml, round(held.fraction, 9)) for held in heather.holdings]


def test_a_lot_that_was_never_received_has_no_holdings(cellar_book: Book) -> None:
    """It is listed all the same."""
    lime = next(each for each in lots_now(cellar_book.cellar()) if each.lot.code == "LIME")
    assert (lime.ml, lime.holdings) == (0, ())

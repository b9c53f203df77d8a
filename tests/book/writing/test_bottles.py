"""Bottles are stock: where they may go, what is refused, and what a late entry or a strike may not do to them."""

from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import text

from cooperage.book import Book
from cooperage.book.bottles import BottlePlace, bottle_holdings, bottle_moves, bottle_stock, where_words
from cooperage.book.declared import acts
from cooperage.book.errors import (
    FewerRemoved,
    LaterEntryImpossible,
    NoSuchBottling,
    NotAStore,
    NotBottledYet,
    NothingMoved,
    SameStore,
    StoreHoldsFewer,
    WouldOverflow,
)
from cooperage.book.store.engine import writing
from cooperage.errors import AskedBack

if TYPE_CHECKING:
    from tests.conftest import Clock


@pytest.fixture
def bottled(cellar_book: Book, clock: "Clock") -> Book:
    """A book with 100 bottles of NIGHT, of 750 ml, filled from a barrel a day ago."""
    cellar_book.write(acts.Bottle(vessel="B-1", code="NIGHT", bottles=100))
    clock.pass_days(1)
    return cellar_book


def stood(book: Book, until: datetime | None = None) -> dict[str, int]:
    with book.reading() as connection:
        return {each.place: each.bottles for each in bottle_stock(connection, until=until)}


def test_a_bottling_brings_its_bottles_into_the_store_without_a_name(bottled: Book) -> None:
    assert stood(bottled) == {"": 100, BottlePlace.FILLED: -100}
    with bottled.reading() as connection:
        [move] = bottle_moves(connection)
    assert (move.code, move.bottle_ml, move.bottles, move.source, move.destination) == (
        "NIGHT",
        750,
        100,
        "filled",
        "",
    )
    assert move.entry_id == move.bottling_id


def test_bottles_go_through_their_life_and_none_is_lost(bottled: Book, clock: "Clock") -> None:
    """By hand: 100 = 30 not stowed + 47 in the loft + 12 sold + 2 broken + 8 poured back + 1 missing."""
    before = clock.time
    bottled.write(acts.Stow(code="night", bottles=60, store=" Loft "))
    bottled.write(acts.Remove(code="NIGHT", bottles=16, went="sold", party="Harbour inn", document="118"))
    clock.pass_days(1)
    bottled.write(acts.TakeBack(code="NIGHT", bottles=4, store="loft", party="harbour  Inn"))
    bottled.write(acts.Remove(code="NIGHT", bottles=2, went="breakage", source="LOFT"))
    clock.pass_days(1)
    bottled.write(acts.Stow(code="NIGHT", bottles=6, store="Loft"))
    bottled.write(acts.PourBack(code="NIGHT", bottles=8, vessel="T-2", source="Loft"))
    bottled.write(acts.Stow(code="NIGHT", bottles=12, store="", source="Loft"))
    bottled.write(acts.Stocktake(code="NIGHT", bottles=47, store="Loft"))
    assert stood(bottled) == {
        "": 30,
        "Loft": 47,
        "sold": 12,
        "broken": 2,
        "poured back": 8,
        "count": 1,
        "filled": -100,
    }
    assert stood(bottled, before) == {"": 100, "filled": -100}
    assert bottled.cellar()["T-2"].ml == 6000
    with bottled.reading() as connection:
        sold = next(move for move in bottle_moves(connection) if move.destination == "sold")
        words = where_words(bottle_stock(connection))
    assert (sold.to, sold.document) == ("Harbour inn", "118")
    assert words == "30 not stowed, 47 in Loft, 2 broken, 1 missing at a count, 8 poured back, 12 sold"
    assert all(not finding.broken for finding in bottled.check())


@pytest.mark.parametrize(
    ("act", "error", "words"),
    [
        (acts.Remove(code="NIGTH", bottles=1, went="sold"), NoSuchBottling, "did you mean NIGHT"),
        (acts.Remove(code="NIGHT", bottles=101, went="sold"), StoreHoldsFewer, "100 bottles outside the named stores"),
        (acts.Remove(code="NIGHT", bottles=1, went="sold", source="Shop"), StoreHoldsFewer, "0 bottles in Shop"),
        (acts.Remove(code="NIGHT", bottles=0, went="sold"), NothingMoved, "give how much"),
        (acts.TakeBack(code="NIGHT", bottles=1), FewerRemoved, "0 bottles sold"),
        (acts.Stow(code="NIGHT", bottles=1, store="Sold"), NotAStore, "another name"),
        (acts.Stow(code="NIGHT", bottles=1, store=" "), SameStore, "already"),
        (acts.Stocktake(code="NIGHT", bottles=101), AskedBack, "the book has 100"),
        (acts.Stocktake(code="NIGHT", bottles=10), AskedBack, "10 were counted"),
        (acts.PourBack(code="NIGHT", bottles=100, vessel="K-1"), WouldOverflow, "K-1 has room"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_written(bottled: Book, act: Any, error: Any, words: str) -> None:
    before = bottled.newest_id()
    with pytest.raises(error, match=words):
        bottled.write(act)
    assert bottled.newest_id() == before
    assert stood(bottled) == {"": 100, "filled": -100}


def test_bottles_come_back_from_who_has_them(bottled: Book) -> None:
    """Without a name only as many as are out without one, else only as many as that holder has; or by --sure."""
    for party, bottles in (("Harbour inn", 30), ("Skerry {shop}", 20), ("", 5)):
        bottled.write(acts.Remove(code="NIGHT", bottles=bottles, went="sold", party=party))
    before = bottled.newest_id()
    for party, bottles, words in (
        ("", 6, "NIGHT has 5 bottles sold without a name, and 6 came back; who gave them back? Harbour inn 30, Sk"),
        ("skerry {SHOP}", 21, "Skerry {shop} has 20 bottles of NIGHT sold, and 21 came back; who gave them back?"),
        ("Quay", 1, "Quay has 0 bottles of NIGHT sold, and 1 came back; who gave them back? without a name 5, Har"),
    ):
        with pytest.raises(AskedBack) as asked:
            bottled.write(acts.TakeBack(code="NIGHT", bottles=bottles, party=party))
        assert str(asked.value).startswith(words)
    assert bottled.newest_id() == before
    bottled.write(acts.TakeBack(code="NIGHT", bottles=5))
    bottled.write(acts.TakeBack(code="NIGHT", bottles=20, party="Skerry  {shop}"))
    with bottled.reading() as connection:
        sold = [(each.holder, each.bottles) for each in bottle_holdings(connection) if each.place == "sold"]
    assert sold == [("Harbour inn", 30)]
    bottled.write(acts.TakeBack(code="NIGHT", bottles=6, sure=True))


def test_a_store_with_braces_is_asked_about_in_words(bottled: Book) -> None:
    bottled.write(acts.Stow(code="NIGHT", bottles=40, store="{Loft}"))
    with pytest.raises(AskedBack, match=r"40 bottles of NIGHT in \{Loft\}, and 3 were"):
        bottled.write(acts.Stocktake(code="NIGHT", bottles=3, store="{Loft}"))


@pytest.mark.parametrize(("counted", "is_asked"), [(276, False), (275, True), (220, True), (300, False), (301, True)])
def test_a_count_far_from_the_book_is_asked_back(bottled: Book, counted: int, is_asked: bool) -> None:
    """Eighty short of three hundred are no slip of a case, and nor are 25, though they are less than a tenth."""
    bottled.write(acts.Bottle(vessel="T-1", code="LARGE", bottles=300, loss=0))
    act = acts.Stocktake(code="LARGE", bottles=counted)
    if is_asked:
        with pytest.raises(AskedBack, match=f"{counted} were counted: {abs(300 - counted)} m"):
            bottled.write(act)
        act = replace(act, sure=True)
    bottled.write(act)
    with bottled.reading() as connection:
        large = {each.place: each.bottles for each in bottle_stock(connection) if each.code == "LARGE"}
    assert large[""] == counted


def test_where_several_stores_have_some_one_is_to_be_named(bottled: Book) -> None:
    bottled.write(acts.Stow(code="NIGHT", bottles=40, store="Loft"))
    bottled.write(acts.Remove(code="NIGHT", bottles=60, went="sold"))
    bottled.write(acts.Remove(code="NIGHT", bottles=10, went="sold"))  # the loft is the only one left
    bottled.write(acts.Stow(code="NIGHT", bottles=5, store="Shop", source="Loft"))
    with pytest.raises(StoreHoldsFewer, match="25 in Loft and 5 in Shop: name the store they come from"):
        bottled.write(acts.Remove(code="NIGHT", bottles=1, went="tasted"))


def test_nothing_happens_to_bottles_before_they_are_filled(bottled: Book, clock: "Clock") -> None:
    with pytest.raises(NotBottledYet):
        bottled.write(acts.Remove(code="NIGHT", bottles=1, went="sold", at=clock.time - timedelta(days=2)))


def test_a_late_removal_that_a_later_sale_needs_is_refused_and_the_sale_named(bottled: Book, clock: "Clock") -> None:
    earlier = clock.time
    clock.pass_days(1)
    sale = bottled.write(acts.Remove(code="NIGHT", bottles=80, went="sold"))
    clock.pass_days(1)
    with pytest.raises(LaterEntryImpossible) as refused:
        bottled.write(acts.Remove(code="NIGHT", bottles=21, went="tasted", at=earlier))
    assert refused.value.later_id == sale.id
    bottled.write(acts.Remove(code="NIGHT", bottles=20, went="tasted", at=earlier))
    assert stood(bottled, earlier)[""] == 80


def test_what_later_entries_stand_on_is_not_struck(bottled: Book) -> None:
    """A sale is not struck before its return, nor a bottling before what happened to its bottles."""
    with bottled.reading() as connection:
        [bottling] = bottle_moves(connection)
    sale = bottled.write(acts.Remove(code="NIGHT", bottles=10, went="sold"))
    back = bottled.write(acts.TakeBack(code="NIGHT", bottles=10))
    for struck in (sale.id, bottling.entry_id):
        with pytest.raises(LaterEntryImpossible) as refused:
            bottled.write(acts.Strike(entry=struck))
        assert refused.value.later_id == back.id
    for struck in (back.id, sale.id, bottling.entry_id):
        bottled.write(acts.Strike(entry=struck))
    assert stood(bottled) == {}
    bottled.write(acts.Bottle(vessel="B-1", code="NIGHT", bottles=3))  # the code is free again
    bottled.write(acts.Remove(code="NIGHT", bottles=3, went="sold"))
    assert all(not finding.broken for finding in bottled.check())


def test_poured_back_mead_is_what_was_bottled_whatever_became_of_the_vessel(cellar_book: Book, clock: "Clock") -> None:
    """A mixed bottling brings its lots in its own proportion, and what is written late of its vessel comes along."""
    cellar_book.write(acts.Receive(lot="LIME", vessel="T-1", volume=100_000, sure=True))
    mixed = dict(cellar_book.cellar()["T-1"].lots)
    before_bottling = clock.pass_days(1)
    clock.pass_days(1)
    cellar_book.write(acts.Bottle(vessel="T-1", code="MIX", bottles=100))
    cellar_book.write(acts.Rack(vessel="T-1", destination="poured away"))
    clock.pass_days(40)  # a snapshot may lie between
    cellar_book.write(acts.PourBack(code="MIX", bottles=40, vessel="T-2", loss=500))
    assert cellar_book.cellar()["T-2"].ml == 29_500
    assert set(mixed) == {"HEATHER", "LIME"}
    assert dict(cellar_book.cellar()["T-2"].lots) == pytest.approx(mixed)
    cellar_book.write(acts.Reading(vessel="T-1", property="abv", value=9.0, at=before_bottling, sure=True))
    assert cellar_book.cellar()["T-2"].value("abv") == pytest.approx(9.0)
    lots = {share.name: share.litres for share in cellar_book.trace("T-2").lots}
    assert lots == pytest.approx({name: 29.5 * part for name, part in mixed.items()})
    assert cellar_book.trace("MIX").litres == 75
    now = {share.name: share.litres for share in cellar_book.trace("LIME").now}
    assert (now["bottling MIX"], now["T-2"]) == pytest.approx((45 * mixed["LIME"], 29.5 * mixed["LIME"]))
    assert all(not finding.broken for finding in cellar_book.check())


def test_check_finds_bottles_that_another_program_made_up(bottled: Book) -> None:
    bottled.write(acts.Remove(code="NIGHT", bottles=10, went="sold"))
    with writing(bottled._engine) as connection:
        connection.execute(text(_MADE_UP))
        connection.execute(text(_MOVED))
        connection.execute(text("DELETE FROM open_entry"))
    [law] = [finding for finding in bottled.check() if finding.law == "no store has fewer than no bottles"]
    assert law.broken
    assert "-810 bottles" in law.broken[0]


_MADE_UP = (
    "INSERT INTO entry (id, kind, happened_at, written_at, hand, note, said) SELECT 'zz', kind, happened_at, "
    "written_at, '', '', said FROM entry WHERE kind = 'remove'"
)
_MOVED = (
    "INSERT INTO bottle_move (entry_id, bottling_id, bottles, source, destination, party, document) "
    "SELECT 'zz', bottling_id, 900, source, destination, '', '' FROM bottle_move"
)

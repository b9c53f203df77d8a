"""Prices: which is in force when, for which bottle, in which currency; what is written stands."""

from collections.abc import Callable
from datetime import UTC, datetime
from fractions import Fraction
from typing import Any, cast

import pytest
from sqlalchemy import text

from cooperage.book import Book
from cooperage.book.errors import Implausible
from cooperage.book.prices import PriceList, prices_in
from cooperage.errors import BadInput
from cooperage.programme.money.pricing import every_price, prices_in_force, set_price
from cooperage.programme.money.words import gap_words
from cooperage.programme.upkeep.cellar_facts import change_facts
from cooperage.units import Units


def day(text_: str) -> float:
    return datetime.fromisoformat(text_).replace(tzinfo=UTC).timestamp() + 43_200


def listed(book: Book, currency: str = "") -> PriceList:
    with book.reading() as connection:
        return PriceList(prices_in(connection), currency)


@pytest.fixture
def small(fresh_sqlite: Callable[[], Book]) -> Book:
    return fresh_sqlite()


def test_the_price_of_a_day_is_the_last_one_before_it(small: Book) -> None:
    """A kilogram at 12.50, from July on at 13.10, corrected on the same day to 13; before all of them it is unknown."""
    for amount, since in (("13.10", "2024-07-01"), ("12.50", "2024-01-01"), ("13", "2024-07-01")):
        set_price(small, "bentonite", amount, since=since)
    prices = listed(small)
    assert prices.rate("bentonite", day("2023-12-30")) is None
    assert prices.rate("bentonite", day("2024-06-30")) == Fraction("12.50") / 1000
    assert prices.rate("bentonite", day("2024-07-01")) == Fraction(13) / 1000
    assert [each.amount for each in prices_in_force(every_price(small), small.now())] == [13.0]
    set_price(small, "bentonite", "unknown", since="2024-08-01")
    assert listed(small).rate("bentonite", day("2024-08-02")) is None
    assert listed(small).rate("bentonite", day("2024-07-02")) == Fraction(13) / 1000


def test_the_size_of_the_bottle_goes_before_any(small: Book) -> None:
    set_price(small, "closure", "0.05", since="2024-01-01")
    set_price(small, "closure", "0,0875", size="375ml", since="2024-01-01", units=Units(decimal=","))
    prices = listed(small)
    assert prices.rate("closure", day("2024-02-01"), 375) == Fraction("0.0875")
    assert prices.rate("closure", day("2024-02-01"), 750) == Fraction("0.05")
    assert prices.rate("bottle", day("2024-02-01"), 750) is None


def test_another_currency_is_not_counted(small: Book) -> None:
    """What was written before a currency was set is the cellar's; what was in another one is unknown, not converted."""
    set_price(small, "honey", "6", since="2024-01-01")
    change_facts(small, {"currency": "NOK"})
    set_price(small, "tannin", "40", since="2024-01-01")
    change_facts(small, {"currency": "EUR"})
    prices = listed(small, "EUR")
    assert prices.rate("honey", day("2024-02-01")) == Fraction(6, 1000)
    assert prices.rate("tannin", day("2024-02-01")) is None


def test_water_alone_is_free_until_it_has_a_price(small: Book) -> None:
    assert listed(small).rate("water", 0.0) == 0
    assert listed(small).rate("spirit", 0.0) is None
    set_price(small, "water", "0.004", since="2024-01-01")
    assert listed(small).rate("water", day("2024-02-01")) == Fraction("0.004") / 1000


@pytest.mark.parametrize(
    ("item", "amount", "size", "since", "words"),
    [
        ("botle", "1", "", "", "did you mean bottle"),
        ("bottle", "1", "", "", "give the size"),
        ("hour", "30", "750ml", "", "leave out the size"),
        ("honey", "-6", "", "", "under zero"),
        ("honey", "cheap", "", "", "not a sum of money"),
        ("honey", "6", "", "someday", "someday"),
        ("honey", "6 USD", "", "", "not a sum of money"),
    ],
)
def test_what_is_no_price_is_refused(small: Book, item: str, amount: str, size: str, since: str, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        set_price(small, item, amount, size=size, since=since, units=Units(currency="EUR"))
    assert not every_price(small)


def test_a_price_may_be_typed_with_the_currency(small: Book) -> None:
    assert set_price(small, "k meta", "14.5 EUR", units=Units(currency="EUR")).item == "metabisulphite"


_CHANGES = {
    "changed": ("UPDATE price SET amount = 1",) * 2,
    "deleted": ("DELETE FROM price",) * 2,
    "replaced": (
        "INSERT OR REPLACE INTO price SELECT * FROM price",
        "INSERT INTO price SELECT * FROM price ON CONFLICT (id) DO UPDATE SET amount = 1",
    ),
    "emptied away": ("DELETE FROM price WHERE amount > 0", "TRUNCATE price"),
}
"""On SQLite, and on PostgreSQL."""


@pytest.mark.parametrize("change", _CHANGES)
def test_what_is_written_stands(book: Book, change: str) -> None:
    """No row is changed, deleted, replaced or emptied away, on either database."""
    set_price(book, "honey", "6.40", since="2024-01-01")
    statement = _CHANGES[change][0 if book.file is not None else 1]
    with pytest.raises(Exception, match="a price stands"), book.writing() as session:
        session.connection.execute(text(statement))
    assert [each.amount for each in every_price(book)] == [6.4]


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("bottle 750", "the price of an empty 750 mL bottle (1.0 L)"),
        ("closure 375", "the price of the closure of a 375 mL bottle (1.0 L)"),
        ("bottle", "the price of bottle (1.0 L)"),
        ("sulphite", "the price of sulphite (1.0 L)"),
    ],
)
def test_a_price_that_is_not_known_is_named_once(name: str, words: str) -> None:
    assert gap_words(cast(Any, None), ("price", name), 1000) == words


def test_a_price_far_above_what_is_usual_is_asked_back(small: Book) -> None:
    """A bottle for 99999 once; a dear one that was accepted is not asked about again, nor is one unknown."""
    with pytest.raises(
        Implausible, match=r"empty bottle of 750 mL would cost 99999.* a bottle; more than 20.* is unusual"
    ):
        set_price(small, "bottle", "99999", size="750ml")
    assert every_price(small) == []
    set_price(small, "bottle", "25", size="750ml", sure=True)
    set_price(small, "bottle", "30", size="750ml")
    set_price(small, "bottle", "unknown", size="750ml")
    with pytest.raises(Implausible):
        set_price(small, "bottle", "25", size="375ml")

"""A vessel's figures over time."""

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.errors import NoSuchVessel
from cooperage.programme.history import series


def test_litres_and_readings_are_told_oldest_first(cellar_book: Book) -> None:
    """Filled with 225 L, 100 ml drawn, pH read twice; the tag may be in any case."""
    cellar_book.write(acts.Sample(vessel="B-1", volume=100))
    cellar_book.write(acts.Reading(vessel="B-1", property="ph", value=3.5))
    cellar_book.write(acts.Reading(vessel="B-1", property="ph", value=3.6))
    result = series(cellar_book, "b-1")
    assert [litres for _, litres in result["litres"]] == [225.0, 224.9]
    assert [value for _, value in result["ph"]] == [3.5, 3.6]


def test_a_topping_tells_how_low_the_barrel_was_found(cellar_book: Book) -> None:
    """Two litres came out of the keg: it had sunk to 223 L and is full again."""
    cellar_book.write(acts.Top(vessel="B-1", volume=2_000, source="K-1", sure=True))
    assert [litres for _, litres in series(cellar_book, "B-1")["litres"]] == [225.0, 223.0, 225.0]


def test_a_vessel_that_is_not_there_is_refused(cellar_book: Book) -> None:
    """With the nearest tags."""
    with pytest.raises(NoSuchVessel):
        series(cellar_book, "B-99")

"""A run as it is asked for: the vessels as a hand writes them."""

import pytest

from cooperage.book import Book
from cooperage.book.declared.from_text import BadField
from cooperage.programme.bottling.asked import read_asked
from cooperage.units import DEFAULT


@pytest.mark.parametrize("text", ["B-1, B-2", "B-1;B-2", "b-1 b-2", "B-1,B-2,B-1"])
def test_vessels_are_parted_by_commas_semicolons_or_spaces(cellar_book: Book, text: str) -> None:
    asked = read_asked({"code": "RUN", "vessels": text}, cellar_book.cellar(), DEFAULT)
    assert asked.vessels == ("B-1", "B-2")


def test_a_word_that_is_no_vessel_is_shown_as_it_was_typed(cellar_book: Book) -> None:
    with pytest.raises(BadField, match="no vessel 'B-1 X-9'"):
        read_asked({"code": "RUN", "vessels": "B-1 X-9"}, cellar_book.cellar(), DEFAULT)

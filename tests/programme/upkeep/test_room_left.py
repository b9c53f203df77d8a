"""What does not fit is said while it is typed."""

from typing import Any

import pytest

from cooperage.book import Book, Vessel
from cooperage.book.declared import acts
from cooperage.programme.upkeep.room_left import too_little_room
from cooperage.units import Units


@pytest.fixture
def cellar(cellar_book: Book) -> Any:
    """With a demijohn of 5 L that is empty."""
    with cellar_book.writing() as session:
        session.add_vessel(Vessel(id="", tag="D-1", kind="demijohn", capacity_ml=5_000))
    return cellar_book.cellar()


@pytest.mark.parametrize(
    ("kind", "texts", "words"),
    [
        (acts.Rack, {"vessel": "B-1", "to": "d-1", "volume": "20"}, "D-1 has room for 5 L; 20 L do not fit"),
        (acts.Rack, {"vessel": "B-1", "to": "D-1", "volume": "5"}, ""),
        (acts.Rack, {"vessel": "B-1", "to": "D-1", "volume": "five"}, ""),
        (acts.Rack, {"vessel": "B-1", "to": "poured away", "volume": "20"}, ""),
        (acts.Rack, {"vessel": "B-1", "to": "", "volume": "20"}, ""),
        (acts.Fill, {"vessel": "D-1", "from": "B-1", "volume": ""}, ""),
        (acts.Fill, {"vessel": "D-1", "from": "B-1", "volume": "5.5"}, "D-1 has room for 5 L; 5.5 L do not fit"),
        (acts.Sample, {"vessel": "D-1", "volume": "9"}, ""),
    ],
)
def test_what_does_not_fit_is_said(cellar: Any, kind: Any, texts: Any, words: str) -> None:
    """By the field that the kind of entry fills; what cannot be read yet is passed over."""
    assert too_little_room(kind, texts, cellar) == words


def test_all_that_is_in_a_vessel_is_meant_where_no_volume_is_typed(cellar: Any) -> None:
    """Racking without a volume empties it."""
    words = too_little_room(acts.Rack, {"vessel": "B-1", "to": "D-1", "volume": ""}, cellar, Units(volume="gal"))
    assert words.startswith("D-1 has room for 1.32 gal; ")

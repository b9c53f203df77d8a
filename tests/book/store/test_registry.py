"""Vessels and lots as they are registered: what a capacity can be, and what a registration asks of the database."""

from typing import Any

import pytest
from sqlalchemy import event

from cooperage.book import Book, Vessel
from cooperage.book.declared.allowed import NotAllowed
from cooperage.book.errors import AlreadyThere
from cooperage.book.store.registry import tidied_vessel


@pytest.mark.parametrize("capacity", [1, 225_000, 10**12])
def test_a_capacity_is_kept_from_a_millilitre_to_a_thousand_million_litres(capacity: int) -> None:
    """Both ends can be registered."""
    assert tidied_vessel(Vessel("", "T-9", "tank", capacity)).capacity_ml == capacity


@pytest.mark.parametrize(
    ("capacity", "line"),
    [
        (0, "a vessel must hold something; give its litres"),
        (-5, "a vessel must hold something; give its litres"),
        (225.5, "a vessel must hold something; give its litres"),
        ("225", "a vessel must hold something; give its litres"),
        (None, "a vessel must hold something; give its litres"),
        (10**12 + 1, "the capacity is more than any vessel holds; correct it"),
    ],
)
def test_a_vessel_that_holds_nothing_or_too_much_is_refused(capacity: Any, line: str) -> None:
    """A capacity is whole millilitres above zero: nothing else is guessed at."""
    with pytest.raises(NotAllowed) as refused:
        tidied_vessel(Vessel("", "T-9", "tank", capacity))
    assert (refused.value.field, str(refused.value)) == ("capacity_ml", line)


def test_the_tags_are_read_once_however_many_vessels_are_registered(book: Book) -> None:
    """A thousand barrels are imported without reading a thousand tags a thousand times, and none gets a tag twice."""
    asked: list[str] = []

    def note(_connection: Any, _cursor: Any, statement: str, _parameters: Any, _context: Any, _many: Any) -> None:
        asked.extend([statement] if statement.split()[:2] == ["SELECT", "vessel.tag"] else [])

    event.listen(book._engine, "before_cursor_execute", note)
    with book.writing() as session:
        for number in range(5):
            session.add_vessel(Vessel("", f"B-{number}", "barrel", 225_000))
        assert len(asked) == 1
        with pytest.raises(AlreadyThere):
            session.add_vessel(Vessel("", " b-3", "barrel", 225_000))

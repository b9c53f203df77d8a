"""What the tests of several vessels at once, and of orders, share."""

from collections.abc import Callable
from typing import Any

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.programme.several.proposed import Meant, meant_by
from cooperage.programme.several.wanted import Ground, Wanted


@pytest.fixture
def small(fresh_sqlite: Callable[[], Book]) -> Book:
    """A furnished book on SQLite: 900 L of HEATHER in T-1, 40 L of it in K-1, B-1 filled to the bung."""
    return filled(fresh_sqlite())


def filled(book: Book) -> Book:
    """Fill the tank, the keg and a barrel."""
    book.write(acts.Receive(lot="HEATHER", vessel="T-1", volume=900_000))
    book.write(acts.Rack(vessel="T-1", destination="K-1", volume=40_000))
    book.write(acts.Fill(vessel="B-1", source="T-1"))
    return book


def meant(book: Book, kind: str, each: Any = None, /, **texts: str) -> Meant:
    """Return what is meant by texts, `from_` standing for from."""
    named = {name.rstrip("_").replace("_", "-"): text for name, text in texts.items()}
    cellar = book.cellar()
    return meant_by(Wanted(kind, named, each or {}), cellar, Ground(book, cellar))

"""A barrel and a tank that meet in bottles."""

from typing import Any

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts


@pytest.fixture
def bottled(cellar_book: Book) -> Book:
    """B-1 topped from K-1, half of it racked into T-2 over 75 L of LIME, and T-2 bottled but for 50 L."""
    clock: Any = cellar_book.now
    cellar_book.write(acts.Top(vessel="B-1", source="K-1", volume=1_000, hand="Jory"))
    clock.pass_days(100)
    cellar_book.write(acts.Receive(lot="LIME", vessel="T-2", volume=75_000, hand="Ada"))
    cellar_book.write(acts.Rack(vessel="B-1", destination="T-2", volume=112_500, hand="Ada", sure=True))
    cellar_book.write(acts.Addition(vessel="T-2", substance="metabisulphite", amount=10.0, hand="Jory"))
    cellar_book.write(acts.Bottle(vessel="T-2", code="RUN", bottles=180, bottle=750, hand="Maren"))
    return cellar_book

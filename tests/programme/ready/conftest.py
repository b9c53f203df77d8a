"""A small cellar whose panels have scored three barrels through a year, and the moment after it."""

from collections.abc import Callable, Mapping
from datetime import datetime, timedelta

import numpy as np
import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.tasting.flights import reveal, score, start_flight

TASTERS = ("Ada", "Iko", "Maren")
Scores = Mapping[str, Mapping[str, float]]


def taste(book: Book, code: str, given: Scores, *, words: str = "") -> None:
    """Pour a flight, let three tasters score alike, and reveal it; `overall` is on 0-20."""
    names = sorted({name for own in given.values() for name in own if name != "overall"})
    poured = start_flight(book, list(given), code=code, attributes=names, rng=np.random.default_rng(3))
    for glass in poured.glasses:
        own = given[glass.vessel or ""]
        marks = {name: value for name, value in own.items() if name != "overall"}
        for place, taster in enumerate(TASTERS):
            score(book, code, glass.code, taster, own["overall"] + 0.5 * (place - 1), words, marks=marks)
    reveal(book, code, sure=True)


@pytest.fixture
def tasted_book(fresh_sqlite: Callable[[], Book]) -> Book:
    """Three barrels scored four times in their first year: B-1 ripens, B-2 is ready, B-3 has too much oak."""
    book = fresh_sqlite()
    clock = book.now
    book.write(acts.Receive(lot="HEATHER", vessel="T-1", volume=900_000))
    for tag in ("B-1", "B-2", "B-3"):
        book.write(acts.Fill(vessel=tag, source="T-1"))
    for turn in range(4):
        pass_days(clock, 91)
        taste(
            book,
            f"F-{turn + 1}",
            {
                "B-1": {"overall": 10.5 + 0.8 * turn, "oak": 2.0 + 0.2 * turn},
                "B-2": {"overall": 14.5 + 0.4 * turn, "oak": 3.0 + 0.2 * turn},
                "B-3": {"overall": 13.5 - 0.5 * turn, "oak": 7.0 + 0.5 * turn},
            },
            words="warm bread",
        )
    pass_days(clock, 7)
    return book


def pass_days(clock: Callable[[], datetime], days: float) -> None:
    """Let days pass on the clock of a test."""
    clock.time += timedelta(days=days)  # type: ignore[attr-defined]

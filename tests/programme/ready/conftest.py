"""A small cellar whose panels have scored three barrels through a year, and the moment after it."""

import shutil
from collections.abc import Iterator, Mapping
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.tasting.flights import reveal, score, start_flight
from tests.conftest import Clock

Tasted = tuple[Path, datetime]
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


@pytest.fixture(scope="session")
def tasted_cellar(tmp_path_factory: pytest.TempPathFactory, furnished_cellar: tuple[Path, datetime]) -> Tasted:
    """Three barrels scored four times in their first year: B-1 ripens, B-2 is ready, B-3 has too much oak."""
    path, clock = tmp_path_factory.mktemp("template") / "tasted.db", Clock(furnished_cellar[1])
    book = Book.open(str(shutil.copy(furnished_cellar[0], path)), clock)
    book.write(acts.Receive(lot="HEATHER", vessel="T-1", volume=900_000))
    for tag in ("B-1", "B-2", "B-3"):
        book.write(acts.Fill(vessel=tag, source="T-1"))
    for turn in range(4):
        clock.pass_days(91)
        given = {
            "B-1": {"overall": 10.5 + 0.8 * turn, "oak": 2.0 + 0.2 * turn},
            "B-2": {"overall": 14.5 + 0.4 * turn, "oak": 3.0 + 0.2 * turn},
            "B-3": {"overall": 13.5 - 0.5 * turn, "oak": 7.0 + 0.5 * turn},
        }
        taste(book, f"F-{turn + 1}", given, words="warm bread")
    clock.pass_days(7)
    book.close()
    return path, clock.time


@pytest.fixture
def tasted_book(tmp_path: Path, tasted_cellar: Tasted) -> Iterator[Book]:
    """A copy of that cellar, a week after its last flight."""
    book = Book.open(str(shutil.copy(tasted_cellar[0], tmp_path / "cellar.db")), Clock(tasted_cellar[1]))
    yield book
    book.close()

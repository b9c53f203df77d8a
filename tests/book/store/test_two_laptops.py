"""Several laptops on one cellar: they take turns, and nobody's entry is lost or judged on a stale cellar."""

from concurrent.futures import ThreadPoolExecutor

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.log import entries
from cooperage.errors import CooperageError


@pytest.mark.slow
def test_writers_take_turns_and_nothing_is_lost(cellar_book: Book) -> None:
    """Three laptops pull twenty samples each from one barrel at once: sixty entries, six litres, every law holds."""
    laptops = [Book(cellar_book._engine, cellar_book.now) for _ in range(3)]

    def walk(laptop: Book) -> None:
        for _ in range(20):
            laptop.write(acts.Sample(vessel="B-1", volume=100, hand="Iko"))

    with ThreadPoolExecutor(3) as pool:
        list(pool.map(walk, laptops))
    with cellar_book.reading() as connection:
        assert len(entries(connection, kind="sample")) == 60
    assert cellar_book.cellar()["B-1"].ml == 225_000 - 6_000
    assert not any(finding.broken for finding in cellar_book.check())


def test_the_last_litre_is_given_once(cellar_book: Book) -> None:
    """Four laptops want 15 L from a keg of 40 L at once: two get it, two are refused."""
    laptops = [Book(cellar_book._engine, cellar_book.now) for _ in range(4)]

    def draw(laptop: Book) -> bool:
        try:
            laptop.write(acts.Rack(vessel="K-1", destination="T-2", volume=15_000))
        except CooperageError:
            return False
        return True

    with ThreadPoolExecutor(4) as pool:
        assert sorted(pool.map(draw, laptops)) == [False, False, True, True]
    assert cellar_book.cellar()["K-1"].ml == 10_000

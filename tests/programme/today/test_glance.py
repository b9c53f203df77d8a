"""The day at a glance: it sums up the rounds and the signs, and adds nothing of its own."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from cooperage.book import Book
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.losses.ledger import loss_rates
from cooperage.programme.rounds.due import Task, rounds
from cooperage.programme.signs.all_signs import signs
from cooperage.programme.signs.sign import Sign
from cooperage.programme.today.glance import today_of, worst_first

pytestmark = pytest.mark.slow


@pytest.fixture
def book(demo_file: Path, tmp_path: Path) -> Iterator[Book]:
    made = Book.open(str(shutil.copy(demo_file, tmp_path / "demo.db")))
    yield made
    made.close()


def test_the_walk_adds_up_to_the_rounds_and_the_trouble_to_the_signs(book: Book) -> None:
    """Each stop once, each litre once, each sign once."""
    cellar = cellar_now(book)
    due, found = rounds(cellar, rates=loss_rates(book, cellar)), signs(book, cellar)
    today = today_of(book, cellar)
    assert today.stops == len({each.barrel for each in due})
    assert sum(work.top_ml for work in today.rooms) == sum(each.expected_ml or 0 for each in due)
    assert sum(keg.gives_ml for keg in today.kegs) == sum(each.expected_ml or 0 for each in due if each.keg)
    beside = sum(sum(work.besides.values()) for work in today.rooms)
    assert beside == sum(each.task is not Task.TOP for each in due)
    assert sorted(map(repr, today.trouble)) == sorted(map(repr, found))
    assert today.full + len(today.empty) == len([each for each in cellar.barrels if not each.is_retired])


def test_the_worst_stands_first() -> None:
    """What loses mead, then what spoils it, then what may be; of two alike the surer."""
    found = [
        Sign("B-1", "strength", ""), Sign("B-2", "leak", "", sure=0.8), Sign("B-3", "va", ""),
        Sign("B-4", "leak", "", sure=0.99), Sign("B-5", "new kind", ""),
    ]  # fmt: skip
    assert [sign.vessel for sign in worst_first(found)] == ["B-4", "B-2", "B-3", "B-1", "B-5"]

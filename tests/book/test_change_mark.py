"""What an open program sees of what another one writes: two books on one file."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from cooperage.book import Book, Lot, Upkeep, Vessel, Writing
from cooperage.book.declared import acts
from cooperage.book.facts import FACTS, set_fact

TANK = Vessel(id="", tag="T-1", kind="tank", capacity_ml=500_000)
LOT = Lot(id="", code="LIME-26", name="Lime blossom 2026")


@pytest.fixture
def two(tmp_path: Path) -> Iterator[tuple[Book, Book]]:
    """Two programs that have one cellar open."""
    here = Book.create(str(tmp_path / "cellar.db"))
    with here.writing() as session:
        session.add_vessel(TANK)
        session.add_lot(LOT)
    there = Book.open(str(tmp_path / "cellar.db"))
    yield here, there
    here.close()
    there.close()


CHANGES: dict[str, Callable[[Writing], object]] = {
    "an entry": lambda session: session.write(acts.Receive(lot="LIME-26", vessel="T-1", volume=1_000)),
    "a vessel": lambda session: session.add_vessel(Vessel(id="", tag="B-9", kind="barrel", capacity_ml=225_000)),
    "a vessel with an id of long ago": lambda session: session.add_vessel(
        Vessel(id="0", tag="B-9", kind="barrel", capacity_ml=225_000)
    ),
    "a lot": lambda session: session.add_lot(Lot(id="", code="HEATHER-26", name="Heather")),
    "an interval": lambda session: session.set_upkeep("T-1", Upkeep(taste_every_days=30)),
    "a fact": lambda session: set_fact(session.connection, FACTS["name"], "Oskmouth meadery"),
}


@pytest.mark.parametrize("change", CHANGES)
def test_what_one_program_writes_another_sees(two: tuple[Book, Book], change: str) -> None:
    """The mark changes for both, is then one for both, and stays."""
    here, there = two
    before = here.change_mark()
    assert there.change_mark() == before
    with there.writing() as session:
        CHANGES[change](session)
    assert here.change_mark() != before
    assert here.change_mark() == there.change_mark() == here.change_mark()

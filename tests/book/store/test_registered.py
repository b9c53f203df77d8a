"""Who registered a vessel or a lot, and when, is kept, told, and comes back from an export; the old have none."""

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from alembic import command
from sqlalchemy import text

from cooperage.book import Book, Lot, Vessel
from cooperage.book.store.engine import migrate
from cooperage.exchange import export_folder, import_folder
from cooperage.programme.upkeep.registering import register_lot, register_vessels, registered_words
from tests.book.store.test_migrations import alembic_config

if TYPE_CHECKING:
    pass

KEG = Vessel(id="", tag="K-77", kind="keg", capacity_ml=20_000)
LOT = Lot(id="", code="LIME-26", name="Lime blossom")


def test_the_hand_and_the_moment_are_kept(book: Book) -> None:
    """In the book they are read again as they were written."""
    register_vessels(book, [KEG], hand="Maren")
    register_lot(book, LOT, hand="Iko")
    vessel, lot = book.cellar()["K-77"].vessel, book.cellar().lots["LIME-26"]
    assert (vessel.registered_by, lot.registered_by) == ("Maren", "Iko")
    for known in (vessel, lot):
        assert known.registered_at is not None
        assert known.registered_at <= book.now()


@pytest.mark.parametrize(
    ("by", "at", "words"),
    [
        ("Ada", datetime(2026, 11, 26, 12, tzinfo=UTC), "registered 26 Nov by Ada"),
        ("Ada", datetime(2025, 11, 2, 12, tzinfo=UTC), "registered 2 Nov 2025 by Ada"),
        (None, datetime(2026, 11, 26, 12, tzinfo=UTC), "registered 26 Nov"),
        (None, None, ""),
    ],
)
def test_it_is_told_as_far_as_it_is_known(by: Any, at: Any, words: str) -> None:
    """What was registered before it was kept says nothing."""
    now = datetime(2026, 11, 27, tzinfo=UTC)
    assert registered_words(Lot(id="", code="X", name="X", registered_by=by, registered_at=at), now) == words


def test_an_export_brings_it_back(book: Book, tmp_path: Path) -> None:
    """Into an empty cellar as it was; into the same one, nothing is registered twice."""
    register_vessels(book, [KEG], hand="Maren")
    register_lot(book, LOT, hand="Iko")
    export_folder(book, tmp_path / "out")
    other = Book.create(str(tmp_path / "other.db"))
    import_folder(other, tmp_path / "out")
    assert other.cellar()["K-77"].vessel == book.cellar()["K-77"].vessel
    assert other.cellar().lots == book.cellar().lots
    assert import_folder(book, tmp_path / "out").words == "nothing new"
    other.close()


def test_a_cellar_of_before_has_none_and_takes_new_ones(cellar_book: Book) -> None:
    """The older tables get the columns empty; the way back is refused once somebody's hand is in them."""
    with cellar_book._engine.begin() as connection:
        command.downgrade(alembic_config(connection), "0005_together_and_orders")
    migrate(cellar_book._engine)
    assert cellar_book.cellar()["B-1"].vessel.registered_at is None
    register_vessels(cellar_book, [KEG], hand="Maren")
    with pytest.raises(RuntimeError, match="who registered a vessel"), cellar_book._engine.begin() as connection:
        command.downgrade(alembic_config(connection), "0005_together_and_orders")
    with cellar_book.reading() as connection:
        assert connection.execute(text("SELECT registered_by FROM vessel WHERE tag = 'K-77'")).scalar() == "Maren"

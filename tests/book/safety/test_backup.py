"""A backup is taken while the cellar is in use, and restored only when it is whole."""

import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.errors import CellarUnusable
from cooperage.book.safety.backup import back_up
from cooperage.book.safety.restore import restore


@pytest.fixture
def used(fresh_sqlite: Callable[[], Book]) -> Book:
    book = fresh_sqlite()
    book.write(acts.Receive(lot="HEATHER", vessel="T-1", volume=500_000))
    return book


def test_a_backup_holds_the_whole_book(used: Book, tmp_path: Path) -> None:
    """The copy opens as a cellar and stands as the original stood."""
    copy = Book.open(str(back_up(used, tmp_path / "copy.db")), used.now)
    assert copy.cellar()["T-1"].ml == 500_000
    assert not any(finding.broken for finding in copy.check())


def test_a_backup_never_overwrites(used: Book, tmp_path: Path) -> None:
    """A file that is there stays as it is."""
    (tmp_path / "copy.db").write_text("mine")
    with pytest.raises(CellarUnusable, match="there already"):
        back_up(used, tmp_path / "copy.db")
    assert (tmp_path / "copy.db").read_text() == "mine"


def test_a_restore_keeps_what_was_there(used: Book, tmp_path: Path) -> None:
    """The cellar is as it was backed up; what stood there is kept beside it."""
    place = Path(used.name)
    back_up(used, tmp_path / "copy.db")
    used.write(acts.Rack(vessel="T-1", destination="T-2", volume=100_000))
    used.close()
    result: list[str] = []
    restore(tmp_path / "copy.db", place, result.append)
    assert Book.open(str(place), used.now).cellar()["T-1"].ml == 500_000
    (kept,) = place.parent.glob(f"{place.name}.before-restore-*")
    assert Book.open(str(kept), used.now).cellar()["T-1"].ml == 400_000
    assert any(str(kept) in line for line in result)


def test_a_backup_that_breaks_the_laws_is_not_restored(used: Book, tmp_path: Path) -> None:
    """A tampered copy is refused and the cellar stays."""
    back_up(used, tmp_path / "copy.db")
    with sqlite3.connect(tmp_path / "copy.db") as connection:
        connection.execute("DROP TRIGGER move_no_update")
        connection.execute("UPDATE move SET ml = 99000000")
    with pytest.raises(CellarUnusable, match="not restored"):
        restore(tmp_path / "copy.db", Path(used.name), print)
    assert used.cellar()["T-1"].ml == 500_000


def test_a_cellar_without_its_guards_is_not_backed_up(used: Book, tmp_path: Path) -> None:
    """What would be refused at the restore is refused now, while something can still be done about it."""
    used.close()
    with sqlite3.connect(used.name) as connection:
        connection.execute("DROP TRIGGER move_no_update")
    with pytest.raises(CellarUnusable, match=r"no backup was made: the guard move_no_update .* `cooperage copy`"):
        back_up(used, tmp_path / "copy.db")
    assert not (tmp_path / "copy.db").exists()

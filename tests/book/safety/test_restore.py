"""Restore as people meet it: the book open elsewhere, a busy writer, a damaged file, a link, an older backup."""

import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from alembic import command
from alembic.config import Config

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.errors import CellarUnusable
from cooperage.book.log import entries
from cooperage.book.safety import restore as restoring
from cooperage.book.safety.backup import back_up
from cooperage.book.safety.restore import restore
from cooperage.book.store.engine import SCHEMA
from cooperage.outfile import is_sqlite
from cooperage.programme.walk.progress import mark, open_walk, states_of
from cooperage.resources import migrations_folder


@pytest.fixture
def used(fresh_sqlite: Callable[[], Book]) -> Book:
    book = fresh_sqlite()
    book.write(acts.Receive(lot="HEATHER", vessel="T-1", volume=500_000))
    return book


@pytest.fixture
def backup(used: Book, tmp_path: Path) -> Path:
    (tmp_path / "medium").mkdir()
    return back_up(used, tmp_path / "medium" / "backup.db")


def file_of(book: Book) -> Path:
    """The file of a cellar that lies in one, as all of these do."""
    assert book.file is not None
    return book.file


def put(backup: Path, place: Path) -> list[str]:
    result: list[str] = []
    restore(backup, place, result.append)
    return result


def ids_of(book: Book) -> set[str]:
    with book.reading() as connection:
        return {entry.id for entry in entries(connection)}


def kept_of(told: list[str]) -> Path:
    return Path(told[0].rpartition(" as ")[2])


def holds(path: Path) -> set[str]:
    book = Book.open(str(path))
    found = ids_of(book)
    assert [finding.broken for finding in book.check() if finding.broken] == []
    book.close()
    return found


def test_a_program_that_has_the_book_open_goes_on_in_the_restored_one(used: Book, backup: Path) -> None:
    """It sees the change, reads the restored cellar, and what it writes afterwards is in the live file."""
    before = ids_of(used)
    lost = used.write(acts.Sample(vessel="T-1", volume=100)).id
    assert used.cellar()["T-1"].ml == 499_900
    mark_before = used.change_mark()
    result = put(backup, file_of(used))
    assert used.change_mark() != mark_before
    assert used.cellar()["T-1"].ml == 500_000
    written = [used.write(acts.Sample(vessel="T-1", volume=200)).id for _ in range(3)]
    assert used.cellar()["T-1"].ml == 499_400
    assert holds(kept_of(result)) == before | {lost}
    used.close()
    assert holds(file_of(used)) == before | set(written)


def test_a_restore_that_takes_back_no_entry_is_seen_too(used: Book, backup: Path) -> None:
    """Only a vessel was added since the backup: an open program hears that the file is another one."""
    with used.writing() as session:
        session.set_upkeep("B-1", session.registry.vessel("B-1").upkeep)
    before = used.change_mark()
    put(backup, file_of(used))
    assert used.change_mark() != before


def test_a_walk_that_began_after_the_backup_goes_on(used: Book, backup: Path) -> None:
    """The screen of the rounds was open all the while: its next stop is written into the restored book."""
    walk = open_walk(used)
    mark(used, walk, ("B-1", "top"), "skipped")
    put(backup, file_of(used))
    mark(used, walk, ("B-2", "top"), "done")
    assert states_of(used, walk) == {("B-2", "top"): "done"}
    assert open_walk(used).id == walk.id


def test_the_kept_copy_is_named_before_anything_is_changed(
    used: Book, backup: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Stopped at the moment of its first line, the cellar is as it was, and the copy is whole."""
    used.write(acts.Sample(vessel="T-1", volume=100))
    before = ids_of(used)
    result: list[str] = []

    def stop(line: str) -> None:
        result.append(line)
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        restore(backup, file_of(used), stop)
    assert ids_of(used) == before
    assert holds(kept_of(result)) == before


def test_while_somebody_writes_nothing_is_restored(used: Book, backup: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another program holds the write lock: one line, and nothing is made or changed."""
    monkeypatch.setattr(restoring, "BUSY_S", 0.0)
    monkeypatch.setattr("cooperage.book.store.sqlite_file.BUSY_S", 0.05)
    before = ids_of(used)
    with closing(sqlite3.connect(file_of(used), isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(CellarUnusable, match="being written by someone else; nothing was changed"):
            put(backup, file_of(used))
        other.execute("ROLLBACK")
    assert ids_of(used) == before
    assert not [path for path in file_of(used).parent.iterdir() if "restore" in path.name]


@pytest.mark.parametrize("spoil", ["page", "header", "empty", "words"])
def test_what_cannot_be_read_is_set_aside_and_the_backup_takes_its_place(spoil: str, used: Book, backup: Path) -> None:
    """The damaged file and its log go under a dated name, byte for byte, and the restored cellar is whole."""
    before = ids_of(used)
    used.write(acts.Sample(vessel="T-1", volume=100))
    place = file_of(used)
    log = place.with_name(place.name + "-wal")
    kept_log = log.read_bytes()  # copied as a killed program leaves it: closing would fold it into the file
    used.close()
    raw = {"page": _spoilt(place), "header": b"\xff" * 4096, "empty": b"", "words": b"milk, eggs"}[spoil]
    place.write_bytes(raw)
    log.write_bytes(kept_log)
    result = put(backup, place)
    aside = kept_of(result)
    assert "damaged" in aside.name
    assert aside.read_bytes() == raw
    assert aside.with_name(aside.name + "-wal").read_bytes() == kept_log
    assert holds(place) == before


def _spoilt(path: Path) -> bytes:
    with closing(sqlite3.connect(path)) as connection:
        (page,) = connection.execute("SELECT rootpage FROM sqlite_master WHERE name = 'flight'").fetchone()
    raw = bytearray(path.read_bytes())
    raw[(page - 1) * 4096 : page * 4096] = b"\xa5" * 4096
    return bytes(raw)


def test_a_damaged_cellar_that_is_open_elsewhere_is_left_alone(used: Book, backup: Path) -> None:
    """Its program would take the new cellar's log away when it ends; so it is to be closed first."""
    used.cellar()
    with closing(sqlite3.connect(file_of(used))) as connection:
        (page,) = connection.execute("SELECT rootpage FROM sqlite_master WHERE name = 'flight'").fetchone()
    used.close()
    code = (
        "import sqlite3, sys\n"
        "connection = sqlite3.connect(sys.argv[1])\n"
        "connection.execute('SELECT count(*) FROM entry').fetchone()\n"
        "print('open', flush=True); sys.stdin.read()\n"
    )
    other = subprocess.Popen(
        [sys.executable, "-c", code, str(file_of(used))], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert other.stdout is not None
    assert other.stdout.readline() == "open\n"
    with file_of(used).open("rb+") as file:
        file.seek((page - 1) * 4096)
        file.write(b"\xa5" * 4096)
    before = sorted(path.name for path in file_of(used).parent.iterdir())
    with pytest.raises(CellarUnusable, match="open in another program"):
        put(backup, file_of(used))
    assert sorted(path.name for path in file_of(used).parent.iterdir()) == before
    other.communicate()
    assert "damaged" in put(backup, file_of(used))[0]


def test_a_log_that_was_left_behind_is_never_folded_into_the_restored_cellar(used: Book, backup: Path) -> None:
    """The file itself is gone, its write-ahead log is not: it is set aside, not applied to the new file."""
    before = ids_of(used)
    used.write(acts.Sample(vessel="T-1", volume=100))
    place, log = file_of(used), file_of(used).with_name(file_of(used).name + "-wal")
    left = log.read_bytes()
    used.close()
    place.unlink()
    log.write_bytes(left)
    result = put(backup, place)
    assert kept_of(result).with_name(kept_of(result).name + "-wal").read_bytes() == left
    assert holds(place) == before


def test_a_restore_through_a_link_follows_it(used: Book, backup: Path, tmp_path: Path) -> None:
    """The link stays a link; the file that it leads to is restored, and the kept copy lies beside that."""
    used.write(acts.Sample(vessel="T-1", volume=100))
    (tmp_path / "link.db").symlink_to(file_of(used))
    used.close()
    result = put(backup, tmp_path / "link.db")
    assert (tmp_path / "link.db").is_symlink()
    assert kept_of(result).parent == file_of(used).parent
    book = Book.open(str(file_of(used)))
    assert book.cellar()["T-1"].ml == 500_000
    book.close()


def test_a_backup_in_other_pages_is_restored_into_the_live_file(used: Book, backup: Path) -> None:
    """A live file keeps the size of its pages, so the backup is put into such pages first."""
    with closing(sqlite3.connect(backup)) as connection:
        connection.execute("PRAGMA page_size=8192")
        connection.execute("VACUUM")
    used.write(acts.Sample(vessel="T-1", volume=100))
    put(backup, file_of(used))
    assert used.cellar()["T-1"].ml == 500_000
    used.close()
    assert Path(file_of(used)).read_bytes()[16:18] == (4096).to_bytes(2, "big")


def test_an_older_backup_is_brought_up_to_date_and_left_as_it_is(used: Book, backup: Path) -> None:
    """A program that has the book open finds the tables it knows; the backup itself is not changed."""
    old = Book.open(str(backup))
    config = Config()
    config.set_main_option("script_location", str(migrations_folder()))
    with old._engine.begin() as connection:
        config.attributes["connection"] = connection
        command.downgrade(config, "0001_the_book")
    old.close()
    before = backup.read_bytes()
    put(backup, file_of(used))
    assert backup.read_bytes() == before
    with used.reading() as connection:
        assert connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar() == SCHEMA
    assert used.cellar()["T-1"].ml == 500_000


def test_a_backup_from_a_newer_version_and_another_programs_file_are_refused(
    used: Book, backup: Path, tmp_path: Path
) -> None:
    with closing(sqlite3.connect(tmp_path / "other.db", isolation_level=None)) as connection:
        connection.execute("CREATE TABLE recipe (name TEXT)")
    with closing(sqlite3.connect(backup, isolation_level=None)) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '0099_from_tomorrow'")
    for refused, why in ((backup, "newer cooperage"), (tmp_path / "other.db", "not a cellar")):
        with pytest.raises(CellarUnusable, match=why):
            put(refused, file_of(used))
    with pytest.raises(CellarUnusable, match="another program's database"):
        put(back_up(used, tmp_path / "good.db"), tmp_path / "other.db")
    with pytest.raises(CellarUnusable, match="is the cellar itself"):
        put(file_of(used), file_of(used))


def test_a_killed_programs_copy_is_restored_with_its_log(used: Book, tmp_path: Path) -> None:
    """A cellar copied by hand with its write-ahead log: what the log holds is restored, and nothing is made there."""
    used.write(acts.Sample(vessel="T-1", volume=100))
    before = ids_of(used)
    (tmp_path / "stick").mkdir()
    for suffix in ("", "-wal"):
        shutil.copy(f"{file_of(used)}{suffix}", tmp_path / "stick" / f"cellar.db{suffix}")
    put(tmp_path / "stick" / "cellar.db", tmp_path / "new" / "cellar.db")
    assert sorted(path.name for path in (tmp_path / "stick").iterdir()) == ["cellar.db", "cellar.db-wal"]
    assert holds(tmp_path / "new" / "cellar.db") == before


def test_a_backup_needs_nothing_beside_it(used: Book, backup: Path) -> None:
    """It is in no need of a write-ahead log, nothing is left beside it, and looking at it makes nothing."""
    assert backup.read_bytes()[18:20] == b"\1\1"
    assert [path.name for path in backup.parent.iterdir()] == ["backup.db"]
    put(backup, backup.parent.parent / "new.db")
    assert [path.name for path in backup.parent.iterdir()] == ["backup.db"]


def test_looking_whether_a_file_is_a_cellar_keeps_the_locks_on_it(used: Book) -> None:
    """Opening a file by other means and closing it would let go of every lock that this program has on it."""
    with closing(sqlite3.connect(file_of(used), isolation_level=None)) as mine:
        mine.execute("PRAGMA journal_mode")
        used.close()
        mine.execute("PRAGMA journal_mode=DELETE")
        mine.execute("BEGIN IMMEDIATE")
        assert is_sqlite(file_of(used))
        code = "import sqlite3, sys; sqlite3.connect(sys.argv[1], timeout=0).execute('BEGIN IMMEDIATE')"
        done = subprocess.run(
            [sys.executable, "-c", code, str(file_of(used))], capture_output=True, text=True, check=False
        )
        assert "database is locked" in done.stderr

"""Media as they are: read-only, full, and paths that are no files. Without the right to mount, they are skipped."""

import os
import shutil
import subprocess
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.log import entries
from cooperage.book.safety.backup import back_up
from cooperage.cli import main

Mount = Callable[[str], Path]
READING = (["check"], ["barrels"], ["rounds"], ["barrel", "B-1"], ["report", "book"], ["signs"], ["trace", "HEATHER"])


@pytest.fixture
def mount(tmp_path: Path) -> Iterator[Mount]:
    """Mount a small medium in memory, with the options asked for."""
    mounted: list[Path] = []

    def make(options: str) -> Path:
        folder = tmp_path / f"medium-{len(mounted)}"
        folder.mkdir()
        command = ["mount", "-t", "tmpfs", "-o", options, "tmpfs", str(folder)]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        if done.returncode:
            pytest.skip(f"a medium cannot be mounted here: {done.stderr.strip()}")
        mounted.append(folder)
        return folder

    if shutil.which("mount") is None:
        pytest.skip("a medium cannot be mounted here: there is no mount")
    yield make
    for folder in mounted:
        subprocess.run(["umount", str(folder)], check=True)


def make_read_only(folder: Path) -> None:
    subprocess.run(["mount", "-o", "remount,ro", str(folder)], check=True)


def cooperage(cellar: Path, *words: str) -> Result:
    return CliRunner().invoke(main, ["--cellar", str(cellar), *words])


def one_line(done: Result) -> str:
    assert done.exit_code == 2, done.output
    assert len(done.stderr.strip().splitlines()) == 1, done.stderr
    return done.stderr


@pytest.fixture
def used(fresh_sqlite: Callable[[], Book]) -> Book:
    book = fresh_sqlite()
    book.write(acts.Receive(lot="HEATHER", vessel="T-1", volume=500_000))
    book.write(acts.Fill(vessel="B-1", source="T-1"))
    return book


def ids_of(path: Path) -> set[str]:
    book = Book.open(str(path))
    with book.reading() as connection:
        found = {entry.id for entry in entries(connection)}
    book.close()
    return found


def carried(used: Book, folder: Path, suffixes: tuple[str, ...]) -> Path:
    """Copy a cellar with what belongs to it onto a medium; without the log, as it is when it was closed."""
    if not suffixes:
        used.close()
    for suffix in ("", *suffixes):
        shutil.copy(f"{used.file}{suffix}", folder / f"cellar.db{suffix}")
    return folder / "cellar.db"


@pytest.mark.parametrize("suffixes", [(), ("-wal", "-shm"), ("-wal",)], ids=["closed", "in use", "log alone"])
def test_a_read_only_medium_is_read_and_what_only_its_log_holds_too(
    suffixes: tuple[Any, ...], used: Book, mount: Mount
) -> None:
    """Every reading command works, nothing is missing, nothing is made; a write is refused in one line."""
    with used.reading() as connection:
        all_of_it = {entry.id for entry in entries(connection)}
    medium = mount("size=8m")
    cellar = carried(used, medium, suffixes)
    before = sorted(path.name for path in medium.iterdir())
    make_read_only(medium)
    for words in READING:
        done = cooperage(cellar, *words)
        assert done.exit_code == 0, (words, done.output)
    assert ids_of(cellar) == all_of_it
    assert "can only be read" in one_line(cooperage(cellar, "log", "sample", "B-1", "100ml"))
    assert sorted(path.name for path in medium.iterdir()) == before


def test_a_backup_on_a_read_only_medium_is_restored(used: Book, mount: Mount, tmp_path: Path) -> None:
    medium = mount("size=8m")
    back_up(used, medium / "backup.db")
    make_read_only(medium)
    done = cooperage(tmp_path / "new.db", "restore", str(medium / "backup.db"))
    assert done.exit_code == 0, done.output
    assert used.file is not None
    assert ids_of(tmp_path / "new.db") == ids_of(used.file)


def test_nothing_is_restored_onto_a_read_only_medium(used: Book, mount: Mount, tmp_path: Path) -> None:
    """One line, and nothing is told to be kept."""
    medium = mount("size=8m")
    cellar = carried(used, medium, ())
    backup = back_up(Book.open(str(used.file)), tmp_path / "backup.db")
    make_read_only(medium)
    done = cooperage(cellar, "restore", str(backup), "--force")
    assert "can only be read" in one_line(done)
    assert done.stdout == ""


def filled(medium: Path) -> Path:
    """Leave no byte free on a medium."""
    with (medium / "ballast").open("wb", buffering=0) as ballast:
        for size in (65_536, 4096, 1):
            try:
                while True:
                    ballast.write(bytes(size))
            except OSError:
                continue
    return medium


def test_with_no_byte_free_the_book_is_still_read(used: Book, mount: Mount) -> None:
    """Reading needs no room; a write is refused in one line; with room again, it goes through."""
    medium = mount("size=1m")
    cellar = carried(used, medium, ())
    filled(medium)
    for words in READING:
        done = cooperage(cellar, *words)
        assert done.exit_code == 0, (words, done.output)
    one_line(cooperage(cellar, "log", "sample", "B-1", "100ml"))
    (medium / "ballast").unlink()
    assert cooperage(cellar, "log", "sample", "B-1", "100ml").exit_code == 0


@pytest.mark.parametrize("command", [["backup"], ["copy", "--to"]], ids=["backup", "copy"])
def test_a_full_disk_leaves_nothing_of_a_backup_or_a_copy(command: list[Any], used: Book, mount: Mount) -> None:
    assert used.file is not None
    medium = mount("size=100k")
    done = cooperage(used.file, *command, str(medium / "copy.db"))
    line = one_line(done)
    assert str(medium / "copy.db") in line
    assert ".part" not in line
    assert list(medium.iterdir()) == []


def test_a_copy_that_fails_leaves_the_servers_schema_empty(used: Book, new_postgres: Callable[[], str]) -> None:
    """Not even tables are left behind where the copy breaks a law."""
    from sqlalchemy import create_engine, inspect

    from cooperage.book.store.naming import cellar_url

    with used.writing() as session:
        session.connection.exec_driver_sql("UPDATE reckoned SET state = '{}'")
    url = new_postgres()
    assert used.file is not None
    done = cooperage(used.file, "copy", "--to", url)
    assert done.exit_code == 1, done.output
    engine = create_engine(cellar_url(url))
    with closing(engine.connect()) as connection:
        assert inspect(connection).get_table_names() == []
    engine.dispose()


def test_no_pipe_and_no_device_is_waited_on(used: Book, tmp_path: Path) -> None:
    """Wherever a file is asked for, a pipe or a device is one line, at once."""
    assert used.file is not None
    os.mkfifo(tmp_path / "pipe")
    for what in (tmp_path / "pipe", Path("/dev/zero"), tmp_path):
        for cellar, words in (
            (what, ["check"]),
            (what, ["import", str(tmp_path)]),
            (what, ["restore", str(used.file), "--force"]),
            (used.file, ["restore", str(what), "--force"]),
            (used.file, ["backup", str(what)]),
            (used.file, ["copy", "--to", str(what)]),
            (used.file, ["import", str(what)]),
            (used.file, ["demo", "--no-ui", "--at", str(what)]),
        ):
            one_line(cooperage(cellar, *words))

"""Restore stopped at each of its changes to a file in turn: the old cellar or the new one is whole, nothing is lost.

An ordinary run takes every so many changes; COOPERAGE_FAULTS=all takes each one. The number of trials grows until one
in which no fault fires, so each of them has met its fault, and the last one none.
"""

import json
import os
import shutil
import sqlite3
import subprocess
import sys
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.log import entries
from cooperage.book.safety.backup import back_up

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
EVERY = 1 if os.environ.get("COOPERAGE_FAULTS") == "all" else 53
"""How many changes an ordinary run goes on by; a prime, so that no pattern of writes is always passed over."""

KINDS = ("kill", "tear", "eio", "full")


@pytest.fixture(scope="session")
def faulty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The library that makes system calls fail, compiled once."""
    if (compiler := shutil.which("cc")) is None:
        pytest.skip("no C compiler (cc) is here to make system calls fail with")
    if not sys.platform.startswith("linux"):
        pytest.skip("system calls are made to fail by LD_PRELOAD, which only Linux has")
    built = tmp_path_factory.mktemp("faulty") / "faulty.so"
    flags = ("-O1", "-Wall", "-Werror", "-shared", "-fPIC", "-ldl")
    subprocess.run([compiler, *flags, "-o", str(built), str(HERE / "faulty.c")], check=True)
    return built


@pytest.fixture
def template(tmp_path: Path, fresh_sqlite: Callable[[], Book]) -> Path:
    """A backup; a cellar with later entries that are only in its write-ahead log; and the same one, damaged."""
    folder = tmp_path / "template"
    for name in ("healthy", "damaged", "backup"):
        (folder / name).mkdir(parents=True)
    book = fresh_sqlite()
    book.write(acts.Receive(lot="HEATHER", vessel="T-1", volume=900_000))
    back_up(book, folder / "backup" / "backup.db")
    new = ids_of(book)
    for _ in range(7):
        book.write(acts.Sample(vessel="T-1", volume=100))
    for name in ("healthy", "damaged"):
        for suffix in ("", "-wal", "-shm"):
            shutil.copy(book.name + suffix, folder / name / f"cellar.db{suffix}")
    damage(folder / "damaged" / "cellar.db")
    (folder / "ids.json").write_text(json.dumps({"new": new, "old": ids_of(book)}))
    book.close()
    return folder


def ids_of(book: Book) -> list[str]:
    with book.reading() as connection:
        return [entry.id for entry in entries(connection)]


def damage(path: Path) -> None:
    """Overwrite a page that the write-ahead log does not hold anew: the root of the table of flights."""
    connection = sqlite3.connect(f"file:{path}?mode=ro&immutable=1", uri=True)
    (page,) = connection.execute("SELECT rootpage FROM sqlite_master WHERE name = 'flight'").fetchone()
    connection.close()
    raw = bytearray(path.read_bytes())
    raw[(page - 1) * 4096 : page * 4096] = b"\xa5" * 4096
    path.write_bytes(raw)


@pytest.mark.slow
@pytest.mark.parametrize("scenario", ["healthy", "damaged", "busy"])
def test_every_stop_of_a_restore_leaves_a_whole_cellar(
    scenario: str, faulty: Path, template: Path, tmp_path: Path
) -> None:
    """Killed, torn, failed once with EIO, or without room from then on, at one change of a file after the other."""
    command = [sys.executable, str(HERE / "trials.py"), str(template), str(tmp_path / "world"), scenario, str(EVERY)]
    env = os.environ | {"LD_PRELOAD": str(faulty), "PYTHONPATH": str(ROOT)}
    done = subprocess.run([*command, *KINDS], capture_output=True, text=True, check=False, env=env, cwd=ROOT)
    assert done.returncode == 0, done.stderr
    result = [json.loads(line) for line in done.stdout.splitlines()]
    assert [trial for trial in result if trial["wrong"]] == []
    for kind in KINDS:
        trials = [trial for trial in result if trial["kind"] == kind]
        assert [trial["fired"] for trial in trials] == [True] * (len(trials) - 1) + [False]
        assert trials[-1]["ending"] == "done"
        endings = Counter(trial["ending"] for trial in trials if trial["fired"])
        print(f"{scenario}, {kind}: {len(trials)} trials, {dict(endings)}")
        assert endings["killed"] == (len(trials) - 1 if kind in ("kill", "tear") else 0)
        assert len(trials) > (60 if EVERY == 1 else 2)

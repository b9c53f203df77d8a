"""Damaged files: whatever SQLite refuses is refused by check, backup and restore, and no command ends as our own fault.

Each file is damaged by its number alone, so a failing one can be made again. An ordinary run takes a sample;
COOPERAGE_FAULTS=all takes all 200.
"""

import os
import random
import re
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from cooperage import faults
from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.store.tables import METADATA
from cooperage.cli import main

PAGE = 4096
FILES = range(200) if os.environ.get("COOPERAGE_FAULTS") == "all" else range(0, 200, 9)
COMMANDS = {
    "check": ("check",),
    "backup": ("backup", "{folder}/copy.db"),
    "barrels": ("barrels",),
    "log top": ("log", "top", "B-1", "100ml", "--from", "K-1", "--sure"),
}


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory, empty_cellar: Path) -> Path:
    """A small cellar with every kind of row, in one file."""
    from tests.conftest import Clock, furnish

    path = tmp_path_factory.mktemp("whole") / "cellar.db"
    shutil.copy(empty_cellar, path)
    book = Book.open(str(path), Clock())
    furnish(book)
    for act in (
        acts.Receive(lot="HEATHER", vessel="T-1", volume=900_000),
        acts.Rack(vessel="T-1", destination="K-1", volume=40_000),
        acts.Fill(vessel="B-1", source="T-1"),
        acts.Top(vessel="B-1", source="K-1", volume=200, sure=True),
        acts.Reading(vessel="B-1", property="abv", value=13.0),
        acts.Addition(vessel="B-1", substance="metabisulphite", amount=5.0, sure=True),
        acts.Look(vessel="B-1", bung="weeping"),
        acts.Shift(vessel="B-2", room="Loft", row="B"),
        acts.Sample(vessel="B-1", volume=100),
        acts.Strike(entry="last"),
        acts.Bottle(vessel="T-1", code="NIGHT", bottles=10),
    ):
        book.write(act)
    book.close()
    return path


def flipped(raw: bytearray, chance: random.Random) -> None:
    for _ in range(chance.choice([1, 1, 3, 20])):
        raw[chance.randrange(len(raw))] ^= 1 << chance.randrange(8)


def zeroed(raw: bytearray, chance: random.Random) -> None:
    start = chance.randrange(len(raw) // PAGE) * PAGE
    raw[start : start + PAGE] = bytes(PAGE)


def swapped(raw: bytearray, chance: random.Random) -> None:
    each, other = (number * PAGE for number in chance.sample(range(len(raw) // PAGE), 2))
    raw[each : each + PAGE], raw[other : other + PAGE] = raw[other : other + PAGE], raw[each : each + PAGE]


def truncated(raw: bytearray, chance: random.Random) -> None:
    del raw[chance.randrange(len(raw)) :]


def scribbled(raw: bytearray, chance: random.Random) -> None:
    start = chance.randrange(len(raw) - 64)
    raw[start : start + 64] = chance.randbytes(64)


VALUES: tuple[str, ...] = (
    "'rubbish'",
    "x'00ff'",
    "NULL",
    "CAST(x'ff41' AS TEXT)",
    "-1",
    "1e300",
    "9223372036854775807",
    "''",
    "'[]'",
)
VALUES += ("'2025-13-45 00:00:00.000000'", "'{}'", "0", "'tqp'", "CAST(x'3400' AS TEXT)")


def overwritten(path: Path, chance: random.Random) -> None:
    """Put a value where it does not belong, past every guard, which all stand again afterwards."""
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        guards = connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in guards:
            connection.execute(f"DROP TRIGGER {name}")
        connection.execute("PRAGMA ignore_check_constraints=ON")
        connection.execute("PRAGMA writable_schema=ON")
        tables = connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'table'").fetchall()
        for name, sql in tables:
            loose = (re.sub("(?<!IS) NOT NULL", "", sql), name)
            connection.execute("UPDATE sqlite_master SET sql = ? WHERE type = 'table' AND name = ?", loose)
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute("PRAGMA ignore_check_constraints=ON")
        written = [table for table in METADATA.sorted_tables if _has_rows(connection, table.name)]
        table = chance.choice(written)
        column, value = chance.choice(list(table.columns)).name, chance.choice(VALUES)
        row = f"(SELECT rowid FROM {table.name} ORDER BY rowid LIMIT 1 OFFSET {chance.randrange(3)})"
        connection.execute(f'UPDATE OR IGNORE {table.name} SET "{column}" = {value} WHERE rowid = {row}')
        connection.execute("PRAGMA writable_schema=ON")
        for name, sql in tables:
            connection.execute("UPDATE sqlite_master SET sql = ? WHERE type = 'table' AND name = ?", (sql, name))
        connection.execute("PRAGMA writable_schema=RESET")
        for _, sql in guards:
            connection.execute(sql)


def _has_rows(connection: sqlite3.Connection, table: str) -> bool:
    return connection.execute(f"SELECT 1 FROM {table} LIMIT 1").fetchone() is not None


def damage(number: int, whole: Path, path: Path) -> str:
    """Damage a copy of the cellar in the way that its number says; returns how."""
    chance = random.Random(number)
    shutil.copy(whole, path)
    ways = (flipped, None, zeroed, flipped, None, swapped, truncated, None, scribbled)
    way = ways[number % len(ways)] if number % 9 else chance.choice(ways)
    if way is None:
        overwritten(path, chance)
        return overwritten.__name__
    raw = bytearray(path.read_bytes())
    way(raw, chance)
    path.write_bytes(raw)
    return way.__name__


def sqlite_refuses(path: Path) -> bool:
    """Say whether SQLite itself finds the file damaged."""
    try:
        with closing(sqlite3.connect(f"file:{path}?mode=ro&immutable=1", uri=True)) as connection:
            message = connection.execute("PRAGMA integrity_check").fetchall()
            return message != [("ok",)] or connection.execute("PRAGMA foreign_key_check").fetchone() is not None
    except (sqlite3.DatabaseError, UnicodeDecodeError):
        return True


def judged(done: Result, told: str) -> None:
    """Every ending is one line and a status of ours; a fault of the program never."""
    assert done.exit_code in (0, 1, 2), (told, done.stderr, done.exception)
    assert done.exception is None or isinstance(done.exception, SystemExit), told
    assert len(done.stderr.strip().splitlines()) <= 1, (told, done.stderr)
    assert "Traceback" not in done.output


@pytest.mark.slow
def test_no_damage_passes_and_none_is_our_fault(whole: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Bytes flipped, pages zeroed, swapped or scribbled on, files cut off, values overwritten past the guards."""
    monkeypatch.setattr(faults, "_folders", lambda: [tmp_path / "log"])
    refused = 0
    for number in FILES:
        folder = tmp_path / str(number)
        folder.mkdir()
        way = damage(number, whole, folder / "damaged.db")
        is_refused = sqlite_refuses(folder / "damaged.db")
        refused += is_refused
        for name, words in COMMANDS.items():
            shutil.copy(folder / "damaged.db", folder / "cellar.db")
            filled = [word.format(folder=folder) for word in words]
            done = CliRunner().invoke(main, ["--cellar", str(folder / "cellar.db"), *filled])
            judged(done, f"{number} {way}: {name}")
            if is_refused and name in ("check", "backup"):
                assert done.exit_code != 0, f"{number} {way}: {name} passes"
        assert not is_refused or not (folder / "copy.db").exists()
        place = ["--cellar", str(folder / "new.db")]
        done = CliRunner().invoke(main, [*place, "restore", str(folder / "damaged.db")])
        judged(done, f"{number} {way}: restore")
        assert done.exit_code != 0 or not is_refused
        shutil.rmtree(folder)
    assert refused > len(FILES) / 4  # the damage is damage


def test_a_damaged_page_is_a_finding_beside_the_laws_that_still_hold(whole: Path, tmp_path: Path) -> None:
    """The places that SQLite names come first, and check goes through the rest; the other commands say one line."""
    path = tmp_path / "cellar.db"
    shutil.copy(whole, path)
    with closing(sqlite3.connect(path)) as connection:
        (page,) = connection.execute("SELECT rootpage FROM sqlite_master WHERE name = 'reading'").fetchone()
    raw = bytearray(path.read_bytes())
    raw[(page - 1) * PAGE : page * PAGE] = b"\xa5" * PAGE
    path.write_bytes(raw)
    done = CliRunner().invoke(main, ["--cellar", str(path), "check"])
    assert done.exit_code == 1, done.output
    lines = done.stdout.splitlines()
    assert lines[0].startswith("BROKEN  the file is whole")
    assert any(line.startswith("ok   litres are conserved") for line in lines)
    done = CliRunner().invoke(main, ["--cellar", str(path), "report", "book"])
    judged(done, "report")
    assert "is damaged" in done.stderr


def spoil(path: Path, statement: str) -> None:
    """Run SQL past the guards and checks."""
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        connection.execute("PRAGMA ignore_check_constraints=ON")
        connection.execute(statement)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("statement", "names"),
    [
        ("UPDATE entry SET happened_at = 'some day' WHERE rowid = 3", "table entry, row 3, column happened_at"),
        ("UPDATE entry SET said = '{\"volume' WHERE rowid = 2", "table entry, row 2, column said"),
        ("UPDATE entry SET said = '{\"volume\": \"much\"}' WHERE kind = 'sample'", "'volume' of a sample cannot be"),
        ("UPDATE vessel SET capacity_ml = x'00ff' WHERE rowid = 4", "table vessel, row 4, column capacity_ml"),
        ("UPDATE entry SET hand = CAST(x'ff41' AS TEXT) WHERE rowid = 5", "table entry, row 5, column hand"),
        ("UPDATE reading SET value = 'high' WHERE rowid = 1", "table reading, row 1, column value"),
        ("UPDATE move SET lot_id = 'none' WHERE rowid = 1", "table move, row 1, column lot_id"),
    ],
    ids=["date", "JSON", "words", "bytes", "not UTF-8", "text for a number", "no such lot"],
)
def test_a_value_nobody_can_read_is_a_finding_that_names_its_row(
    statement: str, names: str, whole: Path, tmp_path: Path
) -> None:
    """Check ends with 1 and goes through every law; other commands say one line, and which row it is."""
    import json

    path = tmp_path / "cellar.db"
    shutil.copy(whole, path)
    spoil(path, statement)
    done = CliRunner().invoke(main, ["--cellar", str(path), "check", "--json"])
    assert done.exit_code == 1, done.stderr
    result = json.loads(done.stdout)
    assert result["ok"] is False
    assert any(names in line for law in result["laws"] for line in law["broken"])
    assert len(result["laws"]) >= 11
    for words in (["barrels"], ["report", "book"], ["log", "sample", "T-1", "100ml"]):
        done = CliRunner().invoke(main, ["--cellar", str(path), *words])
        judged(done, str(words))

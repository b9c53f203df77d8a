"""Bad input at the command line: one clear line on standard error, the right exit status, nothing changed."""

import os
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from tests.cli.conftest import Cooperage


@pytest.mark.parametrize(
    ("words", "status", "says"),
    [
        (["log", "top", "B-999", "1", "--from", "K-01"], 2, "no vessel 'B-999'"),
        (["log", "rack", "K-01", "900", "--to", "T-1"], 1, "cannot come out of it"),
        (["log", "fill", "B-001", "50", "--from", "T-1"], 1, "would run over"),
        (["log", "sample", "B-001", "100ml", "--at", "2199-01-01"], 1, "in the future"),
        (["log", "top", "B-001", "1.8 lt", "--from", "K-01"], 2, "'1.8 lt' is not a volume"),
        (["log", "top", "B-001", "6", "--from", "K-01"], 1, "--sure"),
        (["log", "reading", "B-001", "ph", "35"], 2, "lies between"),
        (["log", "reading", "B-001", "colour", "3"], 2, "is not one of abv"),
        (["log", "gauge", "B-001", "--headspace", "300"], 1, "unless a cause is named, the missing"),
        (["blend", "solve", "--brief", "none.toml", "--time-limit", "-1"], 2, "--time-limit"),
        (["log", "strike", "zzzz"], 2, "no entry 'zzzz'"),
        (["log", "addition", "B-001", "metabisulphite", "200 g"], 1, "1.5 times the usual"),
        (["trace", "NOTHING"], 2, "no bottling, lot or vessel"),
        (["barrel", "B-00"], 2, "did you mean"),
        (["taste", "reveal", "F-99"], 2, "no flight"),
        (["taste", "score", "F-1", "417", "Iko", "-3"], 2, "-3 is below 0, and scores and amounts go from 0"),
        (["blend", "solve", "--brief", "none.toml"], 2, "none.toml"),
        (["import", "nowhere"], 2, "nowhere"),
        (["copy", "--to", "mysql://a/b"], 2, "mysql"),
    ],
)
def test_one_line_and_nothing_changed(demo: "Cooperage", words: list[Any], status: int, says: str) -> None:
    """The line names what is wrong; the exit status tells bad input (2) from a refusal (1)."""
    before = _rows(demo.cellar)
    found, line = demo.refuses(*words)
    assert (found, says in line) == (status, True), line
    assert _rows(demo.cellar) == before


def _rows(cellar: Path) -> list[str]:
    """All that stands in the file, caches too, as SQL."""
    with closing(sqlite3.connect(cellar)) as connection:
        return list(connection.iterdump())


@pytest.mark.slow
def test_a_retired_vessel(demo: "Cooperage") -> None:
    """Nothing goes into a retired barrel, and the line says when and why it was retired."""
    lost = next(barrel["tag"] for barrel in demo.json("barrels", "--retired") if barrel["retired"])
    status, line = demo.refuses("log", "fill", lost, "10", "--from", "T-1")
    assert (status, "was retired on" in line) == (1, True)


@pytest.mark.slow
def test_a_malformed_csv_line_is_named_and_nothing_is_half_imported(demo: "Cooperage", tmp_path: Path) -> None:
    """Three rows, the third of them wrong: file, line and column are named, and none of the three is in the book."""
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "entries.csv").write_text(
        "when,kind,vessel,volume\n"
        "2026-08-01,sample,B-001,100 ml\n"
        "2026-08-02,sample,B-002,100 ml\n"
        "2026-08-03,sample,B-003,much\n"
    )
    before = demo.json("report", "book")
    status, line = demo.refuses("import", str(tmp_path / "in"))
    assert status == 2
    assert "entries.csv line 4, column volume: 'much' is not a volume" in line
    assert demo.json("report", "book") == before


def test_a_brief_with_an_unknown_property_is_told_which(demo: "Cooperage", tmp_path: Path) -> None:
    """The property is named."""
    brief = tmp_path / "brief.toml"
    brief.write_text("litres = 100\n[limits]\nsparkle = { min = 3 }\n")
    status, line = demo.refuses("blend", "solve", "--brief", str(brief))
    assert (status, "sparkle" in line) == (2, True)


@pytest.mark.parametrize(
    "content", [b"", b"hello", b"SQLite format 3\0" + b"\xff" * 2000], ids=["empty", "words", "torn"]
)
def test_a_cellar_file_that_is_no_database(
    cooperage_at: "Callable[[Path], Cooperage]", tmp_path: Path, content: bytes
) -> None:
    """Whatever is in it, it is left as it is."""
    path = tmp_path / "cellar.db"
    path.write_bytes(content)
    for words in (["barrels"], ["log", "strike", "last"], ["check"]):
        status, line = cooperage_at(path).refuses(*words)
        assert status == 2
        assert str(path) in line
    assert path.read_bytes() == content


def test_a_cellar_from_a_newer_version(demo: "Cooperage") -> None:
    """It says to update, and changes nothing."""
    with sqlite3.connect(demo.cellar) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '0042_later'")
    before = demo.cellar.read_bytes()
    status, line = demo.refuses("barrels")
    assert (status, "newer cooperage" in line) == (2, True)
    assert demo.cellar.read_bytes() == before


def test_no_cellar_at_all(cooperage_at: "Callable[[Path], Cooperage]", tmp_path: Path) -> None:
    """It says how to begin."""
    status, line = cooperage_at(tmp_path / "none.db").refuses("rounds")
    assert (status, "cooperage demo" in line) == (2, True)


def test_broken_settings_are_named(demo: "Cooperage", tmp_path: Path) -> None:
    """A settings file with an unknown unit is named with its key."""
    config = tmp_path / "config.toml"
    config.write_text('volume = "firkin"\n')
    done = demo.run("barrels", env={"COOPERAGE_CONFIG": str(config)})
    assert done.exit_code == 2
    assert "config.toml" in done.stderr
    assert "volume" in done.stderr


@pytest.mark.slow
def test_a_read_only_cellar(demo: "Cooperage") -> None:
    """As somebody without the right to write: the cellar can be read, and a write says that it cannot be written."""
    if os.geteuid() != 0:
        demo.cellar.chmod(0o444)
        demo.cellar.parent.chmod(0o555)
        status, line = demo.refuses("log", "sample", "B-001", "100ml")
        demo.cellar.parent.chmod(0o755)
    else:
        status, line = _as_nobody(demo.cellar, "log", "sample", "B-001", "100ml")
    assert (status, "can only be read" in line) == (2, True), line


def _as_nobody(cellar: Path, *words: str) -> tuple[int, str]:
    """Run the command as an unprivileged user, who may read the cellar and write nothing."""
    script = (
        "import os, sys\n"
        "import cooperage.cli.log, cooperage.programme.together\n"
        "import cooperage.book.words, cooperage.programme.upkeep.cautions\n"
        "from cooperage.book import Book\n"
        "from cooperage.cli import main\n"
        "book = Book.open(sys.argv[2]); book.cellar(); book.close()  # nobody may not read this virtual environment\n"
        "os.setgid(65534); os.setuid(65534)\n"
        "main(sys.argv[1:])\n"
    )
    for folder in [cellar, *cellar.parents]:
        if folder.stat().st_uid == os.geteuid() and folder != Path("/"):
            folder.chmod(folder.stat().st_mode | (0o044 if folder.is_file() else 0o055))
    words = ("--cellar", str(cellar), *words)
    env = os.environ | {"COOPERAGE_CONFIG": "/nonexistent", "PYTHONDONTWRITEBYTECODE": "1"}
    done = subprocess.run([sys.executable, "-c", script, *words], capture_output=True, text=True, check=False, env=env)
    return done.returncode, done.stderr.strip()


@pytest.mark.slow
def test_without_a_terminal_the_screen_says_so(demo: "Cooperage", tmp_path: Path) -> None:
    """Asked for the screen in a pipe, it says in one line what it needs; the demo is built all the same."""
    status, line = demo.refuses()
    assert (status, "needs a terminal" in line) == (2, True)
    done = demo.run("demo", "--at", str(tmp_path / "new.db"))
    assert (done.exit_code, "open it in a terminal" in done.stdout) == (0, True)


def test_a_folder_that_is_not_there_is_not_made(demo: "Cooperage", tmp_path: Path) -> None:
    """A mistyped folder is named, by `backup` and by `label`."""
    for words in (
        ["backup", str(tmp_path / "no" / "safe.db")],
        ["label", "B-001", "--svg", str(tmp_path / "no" / "c.svg")],
    ):
        status, line = demo.refuses(*words)
        assert (status, "there is no folder" in line) == (2, True), line
    assert not (tmp_path / "no").exists()


def test_a_backup_that_is_not_there_is_named_before_the_cellar_is(demo: "Cooperage", tmp_path: Path) -> None:
    """`restore` of a mistyped name says so, and nothing of --force."""
    status, line = demo.refuses("restore", str(tmp_path / "nope.db"))
    assert (status, "there is no file" in line, "--force" in line) == (2, True, False)


def test_striking_last_twice_names_what_it_would_strike(demo: "Cooperage") -> None:
    """The first strikes what was written just now; the second would strike an entry of another day, and asks."""
    assert demo.run("log", "sample", "B-001", "100ml").exit_code == 0
    assert demo.run("log", "strike", "last").exit_code == 0
    status, line = demo.refuses("log", "strike", "last")
    assert (status, "this would strike" in line, "--sure" in line) == (1, True, True)


def test_a_figure_below_zero_is_no_option(demo: "Cooperage") -> None:
    """A frosty loft can be written down; what cannot lie below zero is refused for that, not as an unknown option."""
    assert "Loft -3.0 °C" in demo.run("log", "climate", "Loft", "-3", "80").stdout
    assert "-5.0 °C" in demo.run("log", "reading", "B-001", "temperature", "-5", "--sure").stdout
    status, line = demo.refuses("log", "sample", "B-001", "-1l")
    assert (status, "is under zero" in line) == (2, True)
    status, line = demo.refuses("log", "sample", "B-001", "1l", "--notte", "x")
    assert (status, "there is no option --notte; did you mean --note?" in line) == (2, True)


def test_an_entry_has_its_units_in_its_keys(demo: "Cooperage") -> None:
    """Volumes of what was said and of its moves are litres; a reading has its unit beside it."""
    demo.run("log", "sample", "B-041", "150ml")
    demo.run("log", "reading", "B-041", "ph", "3.41", "--sure")
    sample, reading = demo.json("barrel", "B-041")["entries"][-2:]
    assert sample["said"] == {"vessel": "B-041", "volume_l": 0.15}
    moved = {"source": "B-041", "destination": "sample", "volume_l": 0.15, "lot": None, "substance": None}
    assert sample["moves"] == [moved]
    assert (reading["said"]["value"], reading["said"]["unit"]) == (3.41, "")
    assert reading["readings"][0] | {"uncertainty": None} == {
        "vessel": "B-041",
        "property": "ph",
        "value": 3.41,
        "unit": "",
        "uncertainty": None,
        "method": "",
    }

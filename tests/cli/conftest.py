"""The command line as a script runs it, on a demo cellar built once."""

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from cooperage.cli import main


@pytest.fixture(autouse=True)
def _quicker(learned_once: None) -> None:
    """These are doors: what they show is learned once in a run."""


class Cooperage:
    """Runs commands on one cellar."""

    def __init__(self, cellar: Path) -> None:
        self.cellar = cellar

    def run(self, *words: str, env: dict[str, str] | None = None, piped: str | None = None) -> Result:
        """Run a command; what it prints on standard error stands in `stderr`."""
        return CliRunner().invoke(main, ["--cellar", str(self.cellar), *words], env=env, input=piped)

    def json(self, *words: str) -> Any:
        """Run a command with --json and return what it says."""
        done = self.run(*words, "--json")
        assert done.exit_code == 0, done.stderr
        return json.loads(done.stdout)

    def refuses(self, *words: str) -> tuple[int, str]:
        """Run a command that must fail with one line on standard error; return its exit status and the line."""
        done = self.run(*words)
        assert done.exit_code not in (0, None), done.stdout
        assert done.exception is None or isinstance(done.exception, SystemExit)
        lines = done.stderr.strip().splitlines()
        assert len(lines) == 1, done.stderr
        return done.exit_code, lines[0]


@pytest.fixture
def demo(demo_file: Path, tmp_path: Path) -> Cooperage:
    """A demo cellar of one's own."""
    shutil.copy(demo_file, tmp_path / "cellar.db")
    return Cooperage(tmp_path / "cellar.db")


@pytest.fixture
def empty(empty_cellar: Path, tmp_path: Path) -> Cooperage:
    """A cellar with nothing in it."""
    shutil.copy(empty_cellar, tmp_path / "cellar.db")
    return Cooperage(tmp_path / "cellar.db")


@pytest.fixture
def cooperage_at() -> Callable[[Path], Cooperage]:
    """The command line on any path."""
    return Cooperage

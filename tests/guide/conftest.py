"""The demo on one fixed morning, so that what the guide shows of it can be held word for word."""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from cooperage.cli import main
from cooperage.resources import demo_folder
from tests.guide.morning import fixed_morning


@pytest.fixture(autouse=True)
def _quicker(learned_once: None) -> None:
    """These are doors: what they show is learned once in a run."""


@pytest.fixture(scope="session")
def morning_file(made_once: Callable[[str, Callable[[Path], None]], Path]) -> Path:
    """The demo as `cooperage demo` builds it on the morning of the guide; made once, tests copy the file."""

    def make(path: Path) -> None:
        with fixed_morning():
            done = CliRunner().invoke(main, ["demo", "--no-ui", "--path", str(path)])
        assert done.exit_code == 0, done.output

    return made_once("morning.db", make)


@pytest.fixture
def that_morning(morning_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A folder with the demo of that morning, its files beside it, the settings of the guide, and the clock."""
    shutil.copy(morning_file, tmp_path / "demo.db")
    shutil.copytree(demo_folder(), tmp_path / "demo_cellar")
    (tmp_path / "settings.toml").write_text('hand = "Maren"\n', encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COOPERAGE_CELLAR", "demo.db")
    monkeypatch.setenv("COOPERAGE_CONFIG", str(tmp_path / "settings.toml"))
    with fixed_morning():
        yield tmp_path

"""A cellar full of dangers, for tests that look and for tests that write."""

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from cooperage.book import Book
from tests.dangers.a_cellar import build
from tests.tui.at_rest import quick_pilot


@pytest.fixture(autouse=True)
def _quicker(learned_once: None) -> None:
    """These are doors: what they show is learned once in a run."""


@pytest.fixture(autouse=True)
def _typed_by_hand(monkeypatch: pytest.MonkeyPatch) -> None:
    """The pilot types faster than a hand, and is no scanner."""
    monkeypatch.setattr("cooperage.tui.key_queue.SCAN_GAP_S", 0.0)


@pytest.fixture(scope="session", autouse=True)
def _quick_pilot() -> Iterator[None]:
    """Ask an app itself whether it has come to rest."""
    with quick_pilot():
        yield


@pytest.fixture(scope="session")
def dangerous(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The cellar, written once; tests that write copy the file."""
    path = tmp_path_factory.mktemp("dangers") / "cellar.db"
    book = Book.create(str(path))
    build(book)
    book.close()
    return path


@pytest.fixture
def cellar(dangerous: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(dangerous, tmp_path / "cellar.db"))


@pytest.fixture
def book(cellar: Path) -> Iterator[Any]:
    opened = Book.open(str(cellar))
    yield opened
    opened.close()

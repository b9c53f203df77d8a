"""The door to every file that a person asked for."""

import os
from pathlib import Path

import pytest

from cooperage.outfile import NotReplaced, NotWritten, ThereAlready, new_file


def _write(path: Path, text: str, *, force: bool = False) -> None:
    with new_file(path, force=force) as half_done:
        half_done.write_text(text)


def test_a_new_file_is_whole_and_nothing_else_is_left(tmp_path: Path) -> None:
    _write(tmp_path / "deep" / "card.svg", "all of it")
    assert (tmp_path / "deep" / "card.svg").read_text() == "all of it"
    assert [path.name for path in (tmp_path / "deep").iterdir()] == ["card.svg"]


def test_what_is_there_is_replaced_only_when_asked(tmp_path: Path) -> None:
    there = tmp_path / "notes.txt"
    there.write_text("a year's work")
    with pytest.raises(ThereAlready, match="--force"):
        _write(there, "new")
    assert there.read_text() == "a year's work"
    _write(there, "new", force=True)
    assert there.read_text() == "new"


def test_a_cellar_is_never_replaced(tmp_path: Path, empty_cellar: Path) -> None:
    cellar = tmp_path / "cellar.db"
    cellar.write_bytes(empty_cellar.read_bytes())
    with pytest.raises(NotReplaced, match="a cellar"):
        _write(cellar, "new", force=True)
    assert cellar.read_bytes() == empty_cellar.read_bytes()


def test_a_failed_write_leaves_what_was_there(tmp_path: Path) -> None:
    there = tmp_path / "notes.txt"
    there.write_text("old")

    def fail() -> None:
        with new_file(there, force=True) as half_done:
            half_done.write_text("half")
            raise OSError(28, "No space left on device")

    with pytest.raises(NotWritten, match="no space left"):
        fail()
    assert there.read_text() == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["notes.txt"]


def test_a_pipe_and_a_folder_are_looked_at_and_not_opened(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    for name in ("pipe", "."):
        with pytest.raises(NotReplaced):
            _write(tmp_path / name, "new", force=True)


def test_a_link_is_followed(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "link.txt").symlink_to(tmp_path / "real" / "card.txt")
    _write(tmp_path / "link.txt", "new")
    assert (tmp_path / "link.txt").is_symlink()
    assert (tmp_path / "real" / "card.txt").read_text() == "new"


def test_whoever_was_quicker_keeps_the_name(tmp_path: Path) -> None:
    def race() -> None:
        with new_file(tmp_path / "card.txt") as half_done:
            half_done.write_text("ours")
            (tmp_path / "card.txt").write_text("theirs")

    with pytest.raises(ThereAlready):
        race()
    assert (tmp_path / "card.txt").read_text() == "theirs"

"""Every command that writes a file a person asked for: what is there stays, and a failure leaves nothing."""

import errno
import os
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner, Result

from cooperage import outfile
from cooperage.cli import main
from cooperage.cli.shared.out import NewFile

WRITERS = {
    "label": ["label", "B-001", "--svg"],
    "export": ["export"],
    "sheet": ["trial", "sheet", "TR-2", "--out"],
    "results": ["trial", "results", "TR-1", "--picture"],
    "hand-over": ["trial", "hand-over", "TR-1", "--out"],
}
"""How each command that has a NewFile is called; the path comes last."""
READ = {"path of import", "path of score", "brief_paths", "pool", "brief"}
CELLARS = {"path of backup", "path of restore"}
"""Paths that are read, and those of cellars, which have a door of their own."""
FORMS = [("label", "card.svg"), ("export", "book.xlsx"), ("export", "out")]


def commands(group: click.Group, ctx: click.Context) -> Iterator[click.Command]:
    for name in group.list_commands(ctx):
        command = group.get_command(ctx, name)
        if isinstance(command, click.Group):
            yield from commands(command, ctx)
        elif command is not None:
            yield command


def test_every_path_of_every_command_is_known_for_what_it_is() -> None:
    """A path is read, or a cellar's, or goes through the one door; and whatever goes through it has --force."""
    for command in commands(main, click.Context(main)):
        for param in command.params:
            if isinstance(param.type, NewFile):
                assert command.name in WRITERS
                assert "force" in {other.name for other in command.params}
            elif isinstance(param.type, click.Path | click.File):
                names = {param.name, f"{param.name} of {command.name}"}
                assert names & (READ | CELLARS), f"{param.name} of {command.name}: read, or a NewFile?"


@pytest.fixture(scope="module")
def cellar(empty_cellar: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = Path(shutil.copy(empty_cellar, tmp_path_factory.mktemp("cellar") / "cellar.db"))
    assert (
        CliRunner().invoke(main, ["--cellar", str(path), "add", "vessel", "B-001", "--capacity", "225"]).exit_code == 0
    )
    return path


class Writer:
    """One of the commands that write a file; `name` is that of the file it is asked for."""

    def __init__(self, cellar: Path, command: str, name: str) -> None:
        self.cellar, self.command, self.name = cellar, command, name

    def __call__(self, folder: Path, *more: str, at: str = "") -> tuple[Result, Path]:
        """Run the command in a folder; returns what it printed and the path it was asked for."""
        path = folder / (at or self.name)
        words = ["--cellar", str(self.cellar), *WRITERS[self.command], str(path), *more]
        return CliRunner().invoke(main, words), path


@pytest.fixture(params=FORMS, ids=" ".join)
def write(request: pytest.FixtureRequest, cellar: Path) -> Writer:
    """Each of the commands that write a file."""
    return Writer(cellar, *request.param)


def refused(done: Result, status: int = 2) -> str:
    assert (done.exit_code, len(done.stderr.splitlines())) == (status, 1), done.output
    assert done.stdout == ""
    return done.stderr


def everything_in(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def there_first(write: Writer, folder: Path, content: bytes) -> None:
    """Put a file where the command will write: in its place, or in that of one of its files."""
    (folder / write.name).mkdir() if write.name == "out" else None
    (folder / ("out/lots.csv" if write.name == "out" else write.name)).write_bytes(content)


def test_a_new_one_is_written_whole(write: Writer, tmp_path: Path) -> None:
    done, path = write(tmp_path)
    assert (done.exit_code, path.exists()) == (0, True)
    assert not [name for name in everything_in(tmp_path) if ".part" in name]


def test_one_that_is_there_stays_without_force(write: Writer, tmp_path: Path) -> None:
    there_first(write, tmp_path, b"a year's work")
    before = everything_in(tmp_path)
    assert "is there already; give another path, or --force to replace it" in refused(write(tmp_path)[0])
    assert everything_in(tmp_path) == before
    assert write(tmp_path, "--force")[0].exit_code == 0
    assert b"a year's work" not in everything_in(tmp_path).values()


def test_a_cellar_stays_with_force(write: Writer, tmp_path: Path, empty_cellar: Path) -> None:
    there_first(write, tmp_path, empty_cellar.read_bytes())
    before = everything_in(tmp_path)
    for more in ([], ["--force"]):
        assert "is a cellar and is never replaced" in refused(write(tmp_path, *more)[0])
    assert everything_in(tmp_path) == before


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_is_never_waited_for(write: Writer, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / write.name)
    assert "is never replaced" in refused(write(tmp_path, "--force")[0])


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no /dev/full")
@pytest.mark.parametrize("device", ["full", "null"])
def test_a_device_is_never_opened(write: Writer, device: str) -> None:
    assert "is never replaced" in refused(write(Path("/dev"), "--force", at=device)[0])


def test_a_folder_or_a_file_in_the_wrong_place_is_told(write: Writer, tmp_path: Path) -> None:
    wrong = tmp_path / write.name
    wrong.write_text("no folder") if write.name == "out" else wrong.mkdir()
    assert "is never replaced" in refused(write(tmp_path, "--force")[0])
    (tmp_path / "file").write_text("")
    assert "cannot be written (not a directory)" in refused(write(tmp_path / "file")[0])


@pytest.mark.parametrize("is_there", [False, True], ids=["new", "with force"])
def test_no_room_left_at_any_step_changes_nothing(
    write: Writer, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, is_there: bool
) -> None:
    """The disk is full at the nth sync or rename, until none fails: all of the old is there, nothing of the new."""
    if is_there:
        assert write(tmp_path)[0].exit_code == 0
        for path in tmp_path.rglob("*.*"):
            path.write_bytes(b"old") if path.is_file() else None
    before, force, left = everything_in(tmp_path), ["--force"] if is_there else [], [0]

    def failing(real: Any) -> Any:
        def step(*args: object, **options: object) -> None:
            left[0] -= 1
            if left[0] == 0:
                raise OSError(errno.ENOSPC, "no room")
            real(*args, **options)

        return step

    for name in ("_sync", "_put", "_put_folder"):
        monkeypatch.setattr(outfile, name, failing(getattr(outfile, name)))
    for count in range(1, 100):
        left[0] = count
        done, _ = write(tmp_path, *force)
        if left[0] > 0:
            break
        assert "cannot be written (no space left on device); nothing was changed there" in refused(done)
        assert everything_in(tmp_path) == before
    assert done.exit_code == 0
    assert count > (6 if write.name == "out" else 2)  # each file's sync and rename has failed once


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 64 KB, where this machine lets one be mounted."""
    place = tmp_path / "disk"
    place.mkdir()
    mounted = shutil.which("mount") and subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=64k", "none", str(place)], capture_output=True, check=False
    )
    if not mounted or mounted.returncode:
        pytest.skip("no small disk can be mounted here")
    yield place
    subprocess.run(["umount", str(place)], check=True)


def test_a_disk_that_is_really_full_keeps_what_was_there(write: Writer, small_disk: Path) -> None:
    """Half a kilobyte is left: the refusal is one line, and no part of anything stays."""
    (small_disk / "old.txt").write_bytes(b"x" * 1000)
    with (small_disk / "filler").open("wb", buffering=0) as filler:
        try:
            while filler.write(b"x" * 512):
                pass
        except OSError:
            pass
    before = everything_in(small_disk)
    assert "cannot be written (no space left on device)" in refused(write(small_disk)[0])
    assert everything_in(small_disk) == before


def test_a_folder_that_others_made_meanwhile_is_theirs(
    cellar: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two exports to one new name: the first to be whole is there, and the other is refused."""
    real = outfile._put_folder

    def late(half_done: Path, folder: Path) -> None:
        folder.mkdir()
        (folder / "lots.csv").write_text("theirs")
        real(half_done, folder)

    monkeypatch.setattr(outfile, "_put_folder", late)
    done = CliRunner().invoke(main, ["--cellar", str(cellar), "export", str(tmp_path / "out")])
    assert "is there already" in refused(done)
    assert everything_in(tmp_path) == {"out/lots.csv": b"theirs"}

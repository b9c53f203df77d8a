"""Runs on any system: nothing that only some have outside one place, and advice that installs from this folder."""

import ast
import re
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from io import BytesIO, TextIOWrapper
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from cooperage.cli import main
from cooperage.machine import use_utf8_output

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "cooperage"
HOME = "machine.py"
SOURCES = sorted(path for path in PACKAGE.rglob("*.py") if path.relative_to(PACKAGE).as_posix() != HOME)

MODULES = {"crypt", "curses", "fcntl", "grp", "posix", "pty", "pwd", "readline", "resource", "syslog", "termios", "tty"}
WORDS = {
    "os": "fork forkpty getegid geteuid getgid getgroups getloadavg getpgid getppid getsid getuid killpg lchown chown "
    "fchmod fchown chroot mkfifo mknod nice openpty posix_spawn pread pwrite sched_getaffinity setegid seteuid setgid "
    "setpgid setsid setuid sync uname wait wait3 wait4 waitid O_CLOEXEC O_DIRECTORY O_NOFOLLOW O_NONBLOCK O_SYNC",
    "signal": "SIGALRM SIGCHLD SIGCONT SIGHUP SIGKILL SIGPIPE SIGQUIT SIGSTOP SIGTSTP SIGUSR1 SIGUSR2 SIGWINCH alarm "
    "pause pthread_kill pthread_sigmask setitimer sigwait",
    "socket": "AF_UNIX socketpair SO_REUSEPORT",
    "time": "clock_settime pthread_getcpuclockid tzset",
}
"""What the library's documentation calls "Availability: Unix", as far as a program like this might reach for it."""
ONLY_POSIX = {(module, word) for module, words in WORDS.items() for word in words.split()}
OPTIONS = {"preexec_fn", "start_new_session", "process_group", "pass_fds", "umask", "dir_fd"}
PLACES = re.compile(r"/(dev|proc|tmp|etc|usr|var|bin)/\S*")
DASHED = re.compile(r"%-[a-zA-Z]")
REFUSED = re.compile(r'[<>"|?*]|:(?!//)')
"""Letters that Windows takes in no file's name."""


def guarded(tree: ast.AST) -> set[ast.AST]:
    """Return the imports that are tried, and done without where there is no such module."""
    return {
        inner
        for node in ast.walk(tree)
        if isinstance(node, ast.Try) and any("ImportError" in ast.dump(handler) for handler in node.handlers)
        for statement in node.body
        for inner in ast.walk(statement)
    }


def docstrings(tree: ast.AST) -> set[ast.AST]:
    return {
        node.value for node in ast.walk(tree) if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }


def only_posix(text: str) -> Iterator[str]:
    """Tell everything in a module that Windows has not."""
    tree = ast.parse(text)
    tried, result = guarded(tree), docstrings(tree)
    for node in ast.walk(tree):
        match node:
            case ast.Import(names=names) if node not in tried:
                yield from (each.name for each in names if each.name in MODULES)
            case ast.ImportFrom(module=module, names=names) if node not in tried:
                yield from [module] if module in MODULES else []
                yield from (f"{module}.{each.name}" for each in names if (module, each.name) in ONLY_POSIX)
            case ast.Attribute(value=ast.Name(id=module), attr=word) if (module, word) in ONLY_POSIX:
                yield f"{module}.{word}"
            case ast.Call(keywords=options):
                yield from (f"{each.arg}=" for each in options if each.arg in OPTIONS)
                yield from names_made(node)
            case ast.Constant(value=str(said)) if node not in result and (PLACES.match(said) or DASHED.search(said)):
                yield said


def names_made(call: ast.Call) -> Iterator[str]:
    """Yield what a call puts into a file's name that Windows takes in none, the colons of a time among it."""
    if isinstance(call.func, ast.Attribute) and call.func.attr in ("with_name", "with_stem", "with_suffix", "joinpath"):
        parts = (node.value for argument in call.args for node in ast.walk(argument) if isinstance(node, ast.Constant))
        yield from (part for part in parts if isinstance(part, str) and REFUSED.search(part))


def in_the_systems_own_letters(text: str) -> Iterator[str]:
    """Tell where text is read or written in whatever encoding the system has."""
    for node in ast.walk(ast.parse(text)):
        if not isinstance(node, ast.Call):
            continue
        name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
        given = {option.arg for option in node.keywords}
        modes = [arg.value for arg in node.args if isinstance(arg, ast.Constant) and isinstance(arg.value, str)]
        is_file = name in ("read_text", "write_text") or (
            name == "open" and modes[:1] and set(modes[-1]) <= set("rwax+t")
        )
        if is_file and "encoding" not in given and not any("b" in mode for mode in modes):
            yield f"line {node.lineno}: {name}"


@pytest.mark.slow
def test_nothing_that_only_some_systems_have_outside_one_place() -> None:
    """What Windows has not stands in machine.py, or is tried and done without; text is always UTF-8."""
    texts = {path.relative_to(PACKAGE).as_posix(): path.read_text(encoding="utf-8") for path in SOURCES}
    told = {name: [*only_posix(text), *in_the_systems_own_letters(text)] for name, text in texts.items()}
    assert {name: each for name, each in told.items() if each} == {}


@pytest.mark.parametrize(
    "line",
    [
        "import fcntl",
        "from os import fork",
        "import os\nos.setsid()",
        "import subprocess\nsubprocess.run([], start_new_session=True)",
        "import signal\nsignal.SIGKILL",
        "open('/dev/null')",
        "f'{now:%-d}'",
        "place.with_name(f'{place.stem}-{now:%H:%M}.db')",
    ],
)
def test_the_look_itself_sees(line: str) -> None:
    """Each is found; what is tried first is not."""
    assert list(only_posix(line))
    assert not list(only_posix("try:\n    import fcntl\nexcept ImportError:\n    fcntl = None"))
    assert list(in_the_systems_own_letters("path.read_text()"))
    assert list(in_the_systems_own_letters("path.open('w')"))
    assert not list(in_the_systems_own_letters("path.open('rb')"))


def test_no_file_is_shipped_under_a_name_that_windows_refuses() -> None:
    """Reserved letters and device names, and two names that differ in capitals alone."""
    listed = subprocess.run(["git", "ls-files"], capture_output=True, text=True, cwd=ROOT, check=False)
    if listed.returncode:
        pytest.skip("not a git checkout")
    names = listed.stdout.splitlines()
    refused = re.compile(r'[<>:"|?*\\]|[ .]$|(^|/)(con|nul|aux|prn|com\d)(\.|/|$)', re.IGNORECASE)
    assert [name for name in names if refused.search(name)] == []
    assert len({name.casefold() for name in names}) == len(names)


@pytest.mark.parametrize("encoding", ["cp1252", "ascii", "utf-16"])
def test_what_is_printed_into_a_file_or_pipe_is_utf_8(
    book_with_a_barrel: Path, monkeypatch: pytest.MonkeyPatch, encoding: str
) -> None:
    """Whatever the system's own letters are: the blocks of a QR symbol, and a name."""
    out = BytesIO()
    monkeypatch.setattr(sys, "stdout", TextIOWrapper(out, encoding=encoding))
    main(["--cellar", str(book_with_a_barrel), "label", "B-Å"], standalone_mode=False)
    sys.stdout.flush()
    message = out.getvalue().decode("utf-8")
    assert message.startswith("B-Å\n")
    assert "█" in message


def test_a_terminal_shows_a_question_mark_for_a_letter_that_it_has_not(monkeypatch: pytest.MonkeyPatch) -> None:
    """It keeps its encoding: UTF-8 would be garbled there."""
    out = BytesIO()
    stream = TextIOWrapper(out, encoding="ascii")
    monkeypatch.setattr(stream, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(sys, "stdout", stream)
    use_utf8_output()
    print("14 °C", flush=True)
    assert out.getvalue().split() == [b"14", b"?C"]


@pytest.fixture
def book_with_a_barrel(empty_cellar: Path, tmp_path: Path) -> Path:
    path = Path(shutil.copy(empty_cellar, tmp_path / "cellar.db"))
    CliRunner().invoke(main, ["--cellar", str(path), "add", "vessel", "B-Å", "--capacity", "225 L"])
    return path


def project() -> dict[str, Any]:
    project: dict[str, Any] = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return project


def test_the_distribution_is_called_otherwise_than_a_stranger_s() -> None:
    """The package and the command keep their names; what pip would fetch under them is somebody else's."""
    assert project()["name"] == "cooperage-book"
    assert project()["scripts"] == {"cooperage": "cooperage.cli:main"}


def test_every_advice_to_install_is_from_this_folder() -> None:
    """Messages, README, DEVELOPERS: `pip install -e .`, with an extra perhaps, and never a name from the index."""
    texts = [*PACKAGE.rglob("*.py"), ROOT / "README.md", ROOT / "DEVELOPERS.md"]
    result = [
        line
        for path in texts
        for line in re.findall(r"pip install\s+(.*)", path.read_text(encoding="utf-8"))
        if not re.match(r"-e (\.([\s;]|$)|'\.\[\w+(,\w+)*\]')", line)
    ]
    assert result == []
    extras = set(project()["optional-dependencies"])
    advised = {name for path in texts for name in re.findall(r"'\.\[(\w+)\]'", path.read_text(encoding="utf-8"))}
    assert {"postgres", "serve", "test"} <= advised <= extras

"""A small cellar in a real book and the app on it at 80 by 24; the demo, and the program on a pseudo-terminal."""

import asyncio
import fcntl
import os
import pty
import re
import select
import shutil
import signal
import struct
import sys
import termios
import time
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager, suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pyte
import pytest
from textual.worker import WorkerCancelled

from cooperage.book import Barrel, Book, Lot, Vessel
from cooperage.book.declared import acts
from cooperage.book.log import Entry, entries
from cooperage.settings import Settings
from tests.tui.at_rest import quick_pilot
from tests.tui.lent_solver import LentSolver

NOW = datetime(2026, 10, 3, 9, 0, tzinfo=UTC)
FILLED = NOW - timedelta(days=200)
TOPPED = NOW - timedelta(days=35)
BARRELS = [f"B-{number:03}" for number in range(1, 13)]
EMPTY = "B-012"


@pytest.fixture(autouse=True)
def _quicker(learned_once: None) -> None:
    """These are doors: what they show is learned once in a run."""


@pytest.fixture(scope="session", autouse=True)
def _quick_pilot() -> Iterator[None]:
    """Ask an app itself whether it has come to rest."""
    with quick_pilot():
        yield


@pytest.fixture(autouse=True)
def _own_settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing that screens keep for a person is kept for the next test, or for whoever runs them."""
    monkeypatch.setenv("COOPERAGE_CONFIG", str(tmp_path / "own" / "settings.toml"))


@pytest.fixture(autouse=True)
def _coloured(monkeypatch: pytest.MonkeyPatch) -> None:
    """A terminal with all colours, whatever the tests themselves are run on."""
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.setenv("COLORTERM", "truecolor")
    monkeypatch.delenv("NO_COLOR", raising=False)


@pytest.fixture(autouse=True)
def _typed_by_hand(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """The pilot types faster than a hand: its keys are a scanner's only in tests that are marked so."""
    if request.node.get_closest_marker("scanned") is None:
        monkeypatch.setattr("cooperage.tui.key_queue.SCAN_GAP_S", 0.0)


class Clock:
    """A clock that the test sets, and that moves a second at each look, so that entries keep their order."""

    def __init__(self) -> None:
        self.at = NOW

    def __call__(self) -> datetime:
        self.at += timedelta(seconds=1)
        return self.at


def _vessels() -> list[Vessel]:
    oak = Barrel(wood="french oak", past_life="red wine", past_kind="wine", fills_before=2)
    spirit = Barrel(wood="american oak", past_life="whiskey", past_kind="spirit", fills_before=1)
    barrels = [
        Vessel(
            id="",
            tag=tag,
            kind="barrel",
            capacity_ml=225_000,
            position=("North" if index < 8 else "South", "1", index % 8 // 2 + 1, index % 2 + 1),
            barrel=spirit if tag == EMPTY else oak,
        )
        for index, tag in enumerate(BARRELS)
    ]
    return [
        *barrels,
        Vessel(id="", tag="T-01", kind="tank", capacity_ml=5_000_000, position=("North", None, None, None)),
        Vessel(id="", tag="K-01", kind="keg", capacity_ml=50_000, position=("North", None, None, None)),
        Vessel(id="", tag="K-02", kind="keg", capacity_ml=20_000, position=("South", None, None, None)),
    ]


def build(book: Book) -> None:
    """Write eleven full barrels of one lot, topped 35 days ago, one empty one, a tank and two kegs."""
    with book.writing() as w:
        for vessel in _vessels():
            w.add_vessel(vessel)
        w.add_lot(
            Lot(id="", code="M-26", name="lime honey", abv=13.5, original_sg=1.12, final_sg=1.015, cost_per_l=4.0)
        )
        w.write(acts.Receive(lot="M-26", vessel="T-01", volume=4_000_000, at=FILLED - timedelta(days=1)))
        for keg, ml in (("K-01", 45_000), ("K-02", 6_000)):
            w.write(acts.Rack(vessel="T-01", destination=keg, volume=ml, at=FILLED))
        for tag in BARRELS:
            if tag != EMPTY:
                w.write(acts.Fill(vessel=tag, source="T-01", volume=225_000, at=FILLED))
        for tag in BARRELS:
            if tag != EMPTY:
                w.write(acts.Top(vessel=tag, source="T-01", volume=1_500, at=TOPPED))
                for name, value in (("free_so2_mg_l", 32.0), ("ph", 3.4), ("va_g_l", 0.4)):
                    w.write(acts.Reading(vessel=tag, property=name, value=value, at=NOW - timedelta(days=2)))
                w.write(acts.Treat(vessel=tag, treatment="taste", at=NOW - timedelta(days=1)))


@pytest.fixture(scope="session", autouse=True)
def _style_sheets_parsed_once() -> Iterator[Any]:
    """Keep the parsed rules of each style sheet for the next app: to read them again takes longer than most tests."""
    from textual.css.stylesheet import Stylesheet

    parsed: dict[tuple[Any, ...], list[Any]] = {}
    parse = Stylesheet._parse_rules
    numbers: dict[tuple[tuple[str, str], ...], int] = {}
    asked: tuple[Any, int] = ({}, -1)

    def number_of(variables: dict[str, str]) -> int:
        """Number what is in force by its content; an app asks of the same for dozens of sheets in a row."""
        nonlocal asked
        if asked[0] is not variables:
            asked = variables, numbers.setdefault(tuple(sorted(variables.items())), len(numbers))
        return asked[1]

    def kept(
        self: Any, css: Any, read_from: Any, is_default_rules: Any = False, tie_breaker: Any = 0, scope: Any = ""
    ) -> Any:
        key = (css, read_from, is_default_rules, tie_breaker, scope, number_of(self._variables))
        if key not in parsed:
            parsed[key] = parse(self, css, read_from, is_default_rules, tie_breaker, scope)
        return parsed[key]

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(Stylesheet, "_parse_rules", kept)
        yield


@pytest.fixture(scope="session")
def small_cellar(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, datetime]:
    """The small cellar, written once; tests copy the file, and go on from its moment."""
    path, clock = tmp_path_factory.mktemp("template") / "small.db", Clock()
    made = Book.create(str(path), now=clock)
    build(made)
    made.close()
    return path, clock.at


@pytest.fixture
def clock(small_cellar: tuple[Path, datetime]) -> Clock:
    """The clock of the small cellar, at the moment when it was written."""
    made = Clock()
    made.at = small_cellar[1]
    return made


@pytest.fixture
def book(small_cellar: tuple[Path, datetime], clock: Clock, tmp_path: Path) -> Iterator[Book]:
    """A small cellar of one's own."""
    made = Book.open(str(shutil.copy(small_cellar[0], tmp_path / "cellar.db")), now=clock)
    yield made
    made.close()


@pytest.fixture
def newest(book: Book) -> Callable[..., list[Entry]]:
    """Return the entries written last, newest first."""

    def read(count: int = 1) -> list[Entry]:
        with book.reading() as connection:
            return entries(connection, newest=count, in_written_order=True)

    return read


@pytest.fixture
def opened(book: Book) -> Any:
    """Run the app on the book, at 80x24 unless told otherwise, for use in an `async with`."""

    @asynccontextmanager
    async def run(size: Any = (80, 24), page: Any = "rounds", **settings: Any) -> AsyncIterator[Any]:
        app = _app_at(page, book, Settings(hand="Ada", **settings))
        async with app.run_test(size=size) as pilot:
            await settle(pilot)
            yield pilot

    return run


def _app_at(page: str, book: Book, settings: Settings) -> Any:
    """The app as somebody has it who went to a page from the first one, which is not drawn for it: half of a start."""
    from cooperage.tui.app import CooperageApp

    first = CooperageApp.DEFAULT_MODE
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(CooperageApp, "DEFAULT_MODE", page)
        app = CooperageApp(book, settings)
    if page != first:
        app._been.append(first)
    return app


async def settle(pilot: Any) -> None:
    """Wait until every key has had its effect, nothing is being reckoned and everything is drawn, twice over.

    Once is not enough on a busy machine: what a late key opens begins to reckon only when it is drawn.
    """
    quiet = 0
    while quiet < 2:
        await pilot.pause()
        settling = pilot.app._typed._settling
        was_busy = any(worker.is_running for worker in pilot.app.workers)
        was_busy = was_busy or (settling is not None and not settling.done())
        if settling is not None:
            await settling
        try:
            await pilot.app.workers.wait_for_complete()
        except WorkerCancelled:  # overtaken by a newer one: wait for that
            was_busy = True
        quiet = 0 if was_busy else quiet + 1


class Typing:
    """Whether the pilot is still typing what it was given."""

    is_under_way = False


@pytest.fixture
def typing() -> Typing:
    """Whether `press` is still typing."""
    return Typing()


@pytest.fixture
def press(typing: Typing) -> Any:
    """Press keys one after the other and wait until all is drawn; a text of several letters is typed."""

    async def keys(pilot: Any, *wanted: str) -> None:
        typing.is_under_way = True
        for key in wanted:
            named = len(key) == 1 or key.split("+")[-1] in _NAMED
            for each in [key] if named else key:
                await pilot.press(_KEY_OF.get(each, each))
        typing.is_under_way = False
        await settle(pilot)

    return keys


@pytest.fixture
def scanner(typing: Typing, monkeypatch: pytest.MonkeyPatch) -> None:
    """Take all that is pressed at once for one burst: the pilot is slower between two keys than a scanner.

    The burst is over when all is typed, and not only when a scanner would have typed on.
    """

    async def pause() -> None:
        end = time.monotonic() + 2.0
        while typing.is_under_way and time.monotonic() < end:
            await asyncio.sleep(0.005)

    monkeypatch.setattr("cooperage.tui.key_queue.SCAN_GAP_S", 2.0)
    monkeypatch.setattr("cooperage.tui.key_queue.scanner_pause", pause)


# --- blending -------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="session")
def one_solver() -> Iterator[LentSolver]:
    """One solver for all blend screens."""
    lent = LentSolver()
    yield lent
    lent.own.close()


@pytest.fixture
def blending(monkeypatch: pytest.MonkeyPatch, one_solver: LentSolver) -> LentSolver:
    """Solve at once when a key has been pressed, where a person pauses longer, and in a solver that is warm."""
    monkeypatch.setattr("cooperage.tui.blend.solved.PAUSE_S", 0.01)
    monkeypatch.setattr("cooperage.tui.blend.solved.OwnProcess", lambda: one_solver)
    return one_solver


@pytest.fixture
def solvers_begun(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What blend screens ask of a solver, instead of beginning one."""
    begun: list[str] = []

    class Unused:
        def warm(self) -> None:
            begun.append("warm")

        def stop(self) -> bool:
            return False

        close = stop

    monkeypatch.setattr("cooperage.tui.blend.solved.OwnProcess", Unused)
    return begun


@pytest.fixture
def graded(book: Book) -> Any:
    """Give the small cellar two tanks, and its barrels 12.5, 12.7 ... 14.5 % vol and 40, 44 ... 80 g/L of sugar."""
    with book.writing() as w:
        w.add_vessel(Vessel(id="", tag="T-02", kind="tank", capacity_ml=1_000_000))
        w.add_vessel(Vessel(id="", tag="T-03", kind="tank", capacity_ml=100_000))
        for nth in range(11):
            for name, value in (("abv", 12.5 + 0.2 * nth), ("sugar_g_l", 40.0 + 4 * nth)):
                at = w.now - timedelta(hours=1)
                w.write(acts.Reading(vessel=f"B-{nth + 1:03}", property=name, value=value, at=at, sure=True))
    return book


@pytest.fixture
def solved(press: Any) -> Any:
    """Wait until the brief as it is typed has been answered, and return the screen."""

    async def wait(pilot: Any) -> Any:
        for _ in range(200):
            await pilot.pause(0.02)
            await press(pilot)
            if not pilot.app.screen.is_waiting:
                break
        await press(pilot)
        return pilot.app.screen

    return wait


_NAMED = {
    "enter", "escape", "tab", "up", "down", "left", "right", "home", "end", "pageup", "pagedown", "backspace",
    *(f"f{number}" for number in range(1, 10)), *"abcdefghijklmnopqrstuvwxyz",
}  # fmt: skip
_KEY_OF = {
    "-": "minus", ".": "full_stop", " ": "space", "/": "slash", ",": "comma", "+": "plus", "*": "asterisk",
    "?": "question_mark", ";": "semicolon", "<": "less_than_sign", ">": "greater_than_sign",
}  # fmt: skip


COLUMNS, LINES = 80, 24
KEYS = {"enter": "\r", "tab": "\t", "esc": "\x1b", "ctrl+s": "\x13", "ctrl+z": "\x1a", "ctrl+q": "\x11"}
_FUNCTIONS = ("\x1bOQ", "\x1bOR", "\x1bOS", "\x1b[15~", "\x1b[17~", "\x1b[18~", "\x1b[19~", "\x1b[20~")
KEYS |= {f"f{nth}": sent for nth, sent in enumerate(_FUNCTIONS, 2)}
PATIENCE = 30.0


class Terminal:
    """A program on a pseudo-terminal, and the screen it has drawn."""

    def __init__(self, words: list[str], env: dict[str, str]) -> None:
        self.screen = pyte.Screen(COLUMNS, LINES)
        self._stream = pyte.ByteStream(self.screen)
        self.pid, self._master = pty.fork()
        if self.pid == 0:
            os.execvpe(words[0], words, os.environ | env)
        fcntl.ioctl(self._master, termios.TIOCSWINSZ, struct.pack("HHHH", LINES, COLUMNS, 0, 0))

    def _read(self, seconds: float) -> bool:
        ready, _, _ = select.select([self._master], [], [], seconds)
        if not ready:
            return False
        try:
            data = os.read(self._master, 65_536)
        except OSError:
            return False
        self._stream.feed(data)
        return bool(data)

    @property
    def text(self) -> str:
        """What a person sees."""
        return "\n".join(line.rstrip() for line in self.screen.display)

    def until(self, wanted: str) -> str:
        """Read on until the screen shows what is wanted (a pattern); returns the screen."""
        deadline, is_other = time.monotonic() + PATIENCE, True
        while time.monotonic() < deadline:
            while self._read(0.05):
                is_other = True
            if is_other and re.search(wanted, seen := self.text):
                return seen
            is_other = False
        raise AssertionError(f"the screen never showed {wanted!r}:\n{self.text}")

    def type(self, *keys: str) -> None:
        """Type texts and named keys in one burst, as a scanner would."""
        os.write(self._master, "".join(KEYS.get(key, key) for key in keys).encode())

    def let_go(self) -> int:
        """Return the terminal's own end, for the caller to close: the program then has no terminal."""
        return self._master

    def end(self) -> None:
        """Stop the program if a failed test has left it running."""
        with suppress(ProcessLookupError, ChildProcessError):
            os.kill(self.pid, signal.SIGKILL)
            os.waitpid(self.pid, 0)

    def leave(self) -> int:
        """Quit and return the exit status."""
        self.type("ctrl+q")
        deadline = time.monotonic() + PATIENCE
        while time.monotonic() < deadline:
            self._read(0.05)
            ended, status = os.waitpid(self.pid, os.WNOHANG)
            if ended:
                os.close(self._master)
                return os.waitstatus_to_exitcode(status)
        raise AssertionError(f"it did not leave:\n{self.text}")


@pytest.fixture
def demo(demo_file: Path, tmp_path: Path) -> Path:
    """A demo cellar of one's own."""
    return Path(shutil.copy(demo_file, tmp_path / "demo.db"))


@pytest.fixture
def run_in_terminal(tmp_path: Path) -> Iterator[Any]:
    """Run the program on a cellar in a terminal; `first` is Python to run before it. It is ended with the test."""
    running: list[Terminal] = []
    (tmp_path / "settings.toml").write_text('hand = "Ada"\n', encoding="utf-8")
    env = {
        "TERM": "xterm-256color",
        "COOPERAGE_CONFIG": str(tmp_path / "settings.toml"),
        "XDG_STATE_HOME": str(tmp_path),
    }

    def run(cellar: Path, first: str = "") -> Terminal:
        program = f"{first}\nfrom cooperage.cli import main\nmain()"
        words = [sys.executable, "-c", program, "--cellar", str(cellar)]
        running.append(Terminal(words, env | {"PYTHONPATH": str(Path.cwd())}))
        return running[-1]

    yield run
    for terminal in running:
        terminal.end()

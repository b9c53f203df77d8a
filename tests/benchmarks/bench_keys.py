"""What a key costs on every screen: CPU from the key to the drawn screen, as ratios to an empty Textual screen.

`python tests/benchmarks/bench_keys.py [--tenfold] [--turns N]`. In one process and one run, taking turns, a key that
moves down a list or types into a box is pressed on each screen and on a screen that has nothing but a list of as many
lines, or a box, and its layouts and drawn widgets are counted. A form, and the first visit of each screen, are told in
keys of the empty screen. Idle is CPU of the whole program on a terminal over some seconds at rest. `--tenfold` uses a
cellar of ten times the demo's entries beside the demo.
"""

import argparse
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
import tempfile
import termios
import time
from collections.abc import Awaitable, Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from statistics import median
from typing import Any

from rich.text import Text
from textual import events
from textual.app import App, ComposeResult
from textual.pilot import Pilot
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import Input

from cooperage.book import Book
from cooperage.exchange.demo import build_demo
from cooperage.settings import Settings
from cooperage.tui.app import PAGES, CooperageApp
from cooperage.tui.shared.line_list import LineList

SIZE = (80, 24)
LINES = 60
DRAWN_S = 0.15
"""Seconds after which a key has been drawn on the slowest screen; waiting takes no CPU."""
KEY_BUDGET, WIDE_BUDGET = 1.5, 2.0
WIDE = ("blend", "panel")
FORM_KEYS, VISIT_KEYS, IDLE_PERCENT = 8.0, 15.0, 0.6
MOVES: dict[str, tuple[str, str]] = {"racks": ("right", "left")}
"""Keys there and back where those of a list are not `down` and `up`."""


class EmptyList(App[None]):
    """Nothing but a list of lines."""

    def compose(self) -> ComposeResult:
        """One list."""
        yield LineList()

    def on_mount(self) -> None:
        """Fill it."""
        lines = self.query_one(LineList)
        lines.set_lines(LINES, lambda index, _width: Text(f"line {index}", no_wrap=True))
        lines.focus()


class EmptyBox(App[None]):
    """Nothing but a box to type into."""

    def compose(self) -> ComposeResult:
        """One box."""
        yield Input()


@dataclass(slots=True)
class Counted:
    """What was done since the last look: layouts of the whole screen, and widgets drawn."""

    layouts: int = 0
    drawn: int = 0


@dataclass(slots=True)
class Taken:
    """Milliseconds of CPU for each key, and what was laid out and drawn for it."""

    ms: list[float] = field(default_factory=list)
    layouts: list[int] = field(default_factory=list)
    drawn: list[int] = field(default_factory=list)


@contextmanager
def counting() -> Iterator[Counted]:
    """Count layouts and drawings while this is open."""
    counted = Counted()
    lay_out, draw = Screen._refresh_layout, Widget.render_lines

    def laid_out(self: Any, *given: Any, **named: Any) -> Any:
        counted.layouts += 1
        return lay_out(self, *given, **named)

    def drawn(self: Any, *given: Any, **named: Any) -> Any:
        counted.drawn += 1
        return draw(self, *given, **named)

    Screen._refresh_layout, Widget.render_lines = laid_out, drawn  # type: ignore[method-assign]
    try:
        yield counted
    finally:
        Screen._refresh_layout, Widget.render_lines = lay_out, draw  # type: ignore[method-assign]


async def worked(what: Callable[[], Awaitable[object]]) -> float:
    """Return the milliseconds of work that something takes, waiting left out."""
    began = time.process_time()
    await what()
    return 1000 * (time.process_time() - began)


async def settle(pilot: Pilot[Any]) -> None:
    """Wait until all is calculated and drawn."""
    for _ in range(3):
        await pilot.pause()
        await pilot.app.workers.wait_for_complete()
    await pilot.pause(0.05)


async def press(pilot: Pilot[Any], key: str) -> None:
    """Send a key as a terminal does, and wait until it has been drawn; the pilot's own way asks every widget."""
    event = events.Key(key, key if len(key) == 1 else None)
    event.set_sender(pilot.app)
    pilot.app.post_message(event)
    await asyncio.sleep(DRAWN_S)


async def pressed(pilot: Pilot[Any], keys: tuple[str, str], turns: int) -> Taken:
    """Press two keys in turn and take each one's cost; the first pair warms up."""
    taken = Taken()
    with counting() as counted:
        for turn in range(turns + 1):
            for key in keys:
                counted.layouts = counted.drawn = 0
                ms = await worked(partial(press, pilot, key))
                if turn:
                    taken.ms.append(ms)
                    taken.layouts.append(counted.layouts)
                    taken.drawn.append(counted.drawn)
    return taken


async def bare(turns: int) -> tuple[Taken, Taken]:
    """Return what a key takes on the two empty screens: a move, a letter."""
    async with EmptyList().run_test(size=SIZE) as pilot:
        await settle(pilot)
        moves = await pressed(pilot, ("down", "up"), turns)
    async with EmptyBox().run_test(size=SIZE) as pilot:
        await settle(pilot)
        letters = await pressed(pilot, ("a", "backspace"), turns)
    return moves, letters


async def on_screens(book: Book, turns: int) -> tuple[dict[str, Taken], dict[str, float], float]:
    """Return for each screen what a move takes and what its first visit took, and what a form took to open."""
    app = CooperageApp(book, Settings(hand="Ada"))
    moves: dict[str, Taken] = {}
    visits: dict[str, float] = {}
    forms: list[float] = []
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await app.prepare()  # as it is on a terminal a few seconds after the start
        for page in PAGES:

            async def visit(name: str = page.name) -> None:
                await app.switch_mode(name)
                await asyncio.sleep(DRAWN_S)

            visits[page.name] = await worked(visit)
            await settle(pilot)
            if page.name == "blend":
                await pilot.press("escape")
            moves[page.name] = await pressed(pilot, MOVES.get(page.name, ("down", "up")), turns)
            await settle(pilot)
        await app.switch_mode("barrel")
        await settle(pilot)
        for _ in range(max(3, turns // 4)):
            forms.append(await worked(partial(press, pilot, "s")))
            await pilot.press("escape")
            await settle(pilot)
    return moves, visits, median(forms)


class Running:
    """A program on a terminal of its own, whose CPU is read while it is typed into."""

    def __init__(self, code: str) -> None:
        ours, its = pty.openpty()
        fcntl.ioctl(its, termios.TIOCSWINSZ, struct.pack("HHHH", SIZE[1], SIZE[0], 0, 0))
        self._ours, self.pid = ours, os.fork()
        if self.pid == 0:
            os.setsid()
            for stream in (0, 1, 2):
                os.dup2(its, stream)
            os.execve(sys.executable, [sys.executable, "-c", code], os.environ | {"TERM": "xterm-256color"})
        os.close(its)

    def wait(self, seconds: float) -> None:
        """Read what is drawn for so long."""
        until = time.monotonic() + seconds
        while (left := until - time.monotonic()) > 0:
            if select.select([self._ours], [], [], left)[0]:
                os.read(self._ours, 65536)

    def cpu(self) -> float:
        """Return the CPU seconds used so far, of all threads."""
        parts = Path(f"/proc/{self.pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
        return (int(parts[11]) + int(parts[12])) / os.sysconf("SC_CLK_TCK")

    def type(self, keys: str, pause: float = 0.06) -> None:
        """Type keys one after the other, each drawn before the next."""
        for key in re.findall(r"\x1b\[?O?[^\x1b]|.", keys):
            os.write(self._ours, key.encode())
            self.wait(pause)

    def ms_a_key(self, keys: str, rounds: int) -> float:
        """Return the CPU milliseconds that a key takes, less what the program takes in as long a rest."""
        self.type(keys)
        before, began = self.cpu(), time.monotonic()
        for _ in range(rounds):
            self.type(keys)
        used, lasted = self.cpu() - before, time.monotonic() - began
        before = self.cpu()
        self.wait(lasted)
        return 1000 * (used - (self.cpu() - before)) / (rounds * len(re.findall(r"\x1b\[?O?[^\x1b]|.", keys)))

    def end(self) -> None:
        """Stop it."""
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        os.close(self._ours)


DOWN_UP, RIGHT_LEFT = "\x1b[B\x1b[A", "\x1b[C\x1b[D"
_MAIN = "from cooperage.cli import main; main(['--cellar', {!r}])"
_BARE = """
from textual.app import App
from textual.widgets import DataTable
class Bare(App):
    def compose(self): yield DataTable(cursor_type="row", show_header=False)
    def on_mount(self):
        table = self.query_one(DataTable)
        table.add_columns("what")
        for nth in range({lines}): table.add_row(f"line {{nth}} with some words to draw")
        table.focus()
Bare().run()
"""
FUNCTION = {f"f{nth}": sent for nth, sent in enumerate(("\x1bOQ", "\x1bOR", "\x1bOS"), 2)}
FUNCTION |= {f"f{nth}": f"\x1b[{code}~" for nth, code in ((5, 15), (6, 17), (7, 18), (8, 19), (9, 20))}


def in_a_terminal(cellar: Path, rounds: int) -> tuple[dict[str, float], float]:
    """Return CPU milliseconds of a key on each screen with a function key of its own, and on an empty one."""
    bare, ours = Running(_BARE.format(lines=LINES)), Running(_MAIN.format(str(cellar)))
    bare.wait(3.0)
    ours.wait(8.0)
    empty = [bare.ms_a_key(DOWN_UP, rounds)]
    found = {}
    for page in PAGES:
        if page.key:
            os.write(ours._ours, FUNCTION[page.key].encode())
            ours.wait(4.0)
            if page.name == "blend":
                ours.type("\x1b", 0.5)
            found[page.name] = ours.ms_a_key(RIGHT_LEFT if page.name == "racks" else DOWN_UP, rounds)
    empty.append(bare.ms_a_key(DOWN_UP, rounds))
    bare.end()
    ours.end()
    return found, median(empty)


def idle_percent(cellar: Path, seconds: float = 10.0) -> float:
    """Return how much of a core the program takes on a terminal while nobody types, in per cent."""
    ours = Running(_MAIN.format(str(cellar)))
    ours.wait(16.0)
    before = ours.cpu()
    ours.wait(seconds)
    used = ours.cpu() - before
    ours.end()
    return 100 * used / seconds


def tenfold(folder: Path) -> Path:
    """Make a cellar of ten times the demo, by the benchmark of the book."""
    from tests.benchmarks.bench_book import large_book

    path = folder / "tenfold.db"
    large_book(path, 520, 36_000).close()
    return path


def report(name: str, moves: dict[str, Taken], visits: dict[str, float], form: float, key: float) -> None:
    """Print each screen's ratios beside what they may be."""
    print(f"{name}: key to paint of an empty list {key:.1f} ms")
    for page, taken in moves.items():
        budget = WIDE_BUDGET if page in WIDE else KEY_BUDGET
        print(
            f"  {page:<8} {median(taken.ms):6.1f} ms {median(taken.ms) / key:5.2f} of {budget:g}"
            f"   layouts {median(taken.layouts):g}, widgets drawn {median(taken.drawn):g}"
            f"   first visit {visits[page] / key:5.1f} of {VISIT_KEYS:g} keys"
        )
    print(f"  form     {form:6.1f} ms {form / key:5.1f} of {FORM_KEYS:g} keys")


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--tenfold", action="store_true")
    parser.add_argument("--turns", type=int, default=12)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        os.environ["COOPERAGE_CACHE"] = str(folder / "kept")
        build_demo(folder / "demo.db")
        cellars = {"demo": folder / "demo.db"} | ({"ten times": tenfold(folder)} if asked.tenfold else {})
        for called, path in cellars.items():
            book = Book.open(str(shutil.copy(path, folder / "used.db")))
            moves_bare, _ = asyncio.run(bare(asked.turns))
            moves, visits, form = asyncio.run(on_screens(book, asked.turns))
            again, _ = asyncio.run(bare(asked.turns))
            book.close()
            report(called, moves, visits, form, median([*moves_bare.ms, *again.ms]))
            typed, empty = in_a_terminal(path, 30)
            print(f"  on a terminal, an empty table of as many lines {empty:.1f} ms a key")
            for page, ms in typed.items():
                print(
                    f"    {page:<8} {ms:6.1f} ms {ms / empty:5.2f} of {WIDE_BUDGET if page in WIDE else KEY_BUDGET:g}"
                )
        print(f"idle: {idle_percent(cellars['demo']):.2f} of {IDLE_PERCENT:g} % of a core")


if __name__ == "__main__":
    main()

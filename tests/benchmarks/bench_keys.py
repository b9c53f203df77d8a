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
from pathlib import Path
from statistics import median
from typing import Any

from rich.text import Text
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


async def pressed(pilot: Pilot[Any], keys: tuple[str, str], turns: int) -> Taken:
    """Press two keys in turn and take each one's cost; the first pair warms up."""
    taken = Taken()
    with counting() as counted:
        for turn in range(turns + 1):
            for key in keys:
                counted.layouts = counted.drawn = 0
                ms = await worked(lambda key=key: pilot.press(key))  # type: ignore[misc]
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
        for page in PAGES:

            async def visit(name: str = page.name) -> None:
                await app.switch_mode(name)
                await pilot.pause()

            visits[page.name] = await worked(visit)
            await settle(pilot)
            if page.name == "blend":
                await pilot.press("escape")
            moves[page.name] = await pressed(pilot, MOVES.get(page.name, ("down", "up")), turns)
            await settle(pilot)
        await app.switch_mode("barrel")
        await settle(pilot)
        for _ in range(max(3, turns // 4)):
            forms.append(await worked(lambda: pilot.press("s")))
            await pilot.press("escape")
            await settle(pilot)
    return moves, visits, median(forms)


def idle_percent(cellar: Path, seconds: float = 10.0) -> float:
    """Return how much of a core the program takes on a terminal while nobody types, in per cent."""
    ours, its = pty.openpty()
    fcntl.ioctl(its, termios.TIOCSWINSZ, struct.pack("HHHH", SIZE[1], SIZE[0], 0, 0))
    code = f"from cooperage.cli import main; main(['--cellar', {str(cellar)!r}])"
    pid = os.fork()
    if pid == 0:
        os.setsid()
        for stream in (0, 1, 2):
            os.dup2(its, stream)
        os.execve(sys.executable, [sys.executable, "-c", code], os.environ | {"TERM": "xterm-256color"})
    os.close(its)

    def read_for(waited: float) -> None:
        until = time.monotonic() + waited
        while (left := until - time.monotonic()) > 0:
            if select.select([ours], [], [], left)[0]:
                os.read(ours, 65536)

    def cpu() -> float:
        parts = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
        return (int(parts[11]) + int(parts[12])) / os.sysconf("SC_CLK_TCK")

    read_for(8.0)
    before = cpu()
    read_for(seconds)
    used = cpu() - before
    os.kill(pid, signal.SIGKILL)
    os.waitpid(pid, 0)
    os.close(ours)
    return 100 * used / seconds


def tenfold(folder: Path) -> Path:
    """Make a cellar of ten times the demo, by the benchmark of the book."""
    from tests.benchmarks.bench_book import large_book  # noqa: PLC0415 - wanted here alone

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
        print(f"idle: {idle_percent(cellars['demo']):.2f} of {IDLE_PERCENT:g} % of a core")


if __name__ == "__main__":
    main()

"""What a key, a form and a first visit cost on every screen, and what the program takes at rest.

`python tests/benchmarks/bench_keys.py [--tenfold] [--turns N] [--rounds N]`. The measure is the CPU that a key takes in
an empty Textual table of as many lines, in the same run and on a terminal of its own; each line shows how many such
keys something takes, and how many it may. "Our frame around a list" is a screen with the bars and nothing but such a
list: no screen can be cheaper. Layouts and drawn widgets of a key are counted without a terminal. `--tenfold` uses a
cellar of ten times the demo's entries beside the demo. A machine on which much else runs shows higher ratios.
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
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import timedelta
from functools import partial
from pathlib import Path
from statistics import median
from typing import Any

import sqlalchemy as sql
from rich.text import Text
from textual import events
from textual.app import App, ComposeResult
from textual.pilot import Pilot
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import Input
from textual.worker import WorkerCancelled

from cooperage.book import Book
from cooperage.book.store.tables import ENTRY
from cooperage.exchange.demo import build_demo
from cooperage.settings import Settings, save_settings
from cooperage.tasting.flights import start_flight
from cooperage.tui.app import PAGES, CooperageApp
from cooperage.tui.shared.desk import Page
from cooperage.tui.shared.line_list import LineList

SIZE = (80, 24)
LINES = 60
DRAWN_S = 0.15
"""Seconds after which a key has been drawn on the slowest screen; waiting takes no CPU."""
KEY_BUDGET, WIDE_BUDGET, SHEET_BUDGET = 1.5, 2.0, 2.0
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
        with suppress(WorkerCancelled):  # newer work has taken its place: it is waited for next
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


async def on_screens(book: Book, turns: int) -> dict[str, Taken]:
    """Return for each screen, and for a form, what a move takes."""
    app = CooperageApp(book, Settings(hand="Ada"))
    moves: dict[str, Taken] = {}
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await app.prepare()  # as it is on a terminal a few seconds after the start
        for page in PAGES:
            await app.switch_mode(page.name)
            await settle(pilot)
            if page.name == "blend":
                await pilot.press("escape")
            moves[page.name] = await pressed(pilot, MOVES.get(page.name, ("down", "up")), turns)
            await settle(pilot)
        await app.switch_mode("barrel")
        await settle(pilot)
        await press(pilot, "s")
        moves["form"] = await pressed(pilot, ("down", "up"), turns)
        moves["form, a letter"] = await pressed(pilot, ("1", "backspace"), turns)
    return moves


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
        self.drawn = b""

    def wait(self, seconds: float) -> None:
        """Read what is drawn for so long."""
        until = time.monotonic() + seconds
        while (left := until - time.monotonic()) > 0:
            if select.select([self._ours], [], [], left)[0]:
                self.drawn += os.read(self._ours, 65536)

    def cpu(self, *, drawing: bool = False) -> float:
        """Return the CPU milliseconds used so far, of all threads that still run or of the one that draws."""
        all_tasks = Path(f"/proc/{self.pid}/task")
        tasks = [all_tasks / str(self.pid)] if drawing else all_tasks.iterdir()
        return sum(int((task / "schedstat").read_text(encoding="ascii").split()[0]) for task in tasks) / 1e6

    def ms_for(self, sent: str, seconds: float) -> float:
        """Return the CPU milliseconds of what draws that follow one key, less those in as long a rest.

        What a thread calculates meanwhile holds nobody up.
        """
        before, self.drawn = self.cpu(drawing=True), b""
        os.write(self._ours, sent.encode())
        self.wait(seconds)
        used, before, drawn = self.cpu(drawing=True) - before, self.cpu(drawing=True), self.drawn
        self.wait(seconds)
        self.drawn = drawn
        return max(0.0, used - (self.cpu(drawing=True) - before))

    def type(self, keys: str, pause: float = 0.06, *, must_draw: bool = False) -> None:
        """Type keys one after the other, each drawn before the next; stop where a key that must does not draw."""
        for key in re.findall(r"\x1b\[?O?[^\x1b]|.", keys):
            before = len(self.drawn)
            os.write(self._ours, key.encode())
            self.wait(10 * pause if must_draw else pause)
            if must_draw and len(self.drawn) == before:
                raise SystemExit(f"{key!r} moved nothing; {len(self.drawn)} bytes were drawn before")

    def ms_a_key(self, keys: str, rounds: int) -> float:
        """Return the CPU milliseconds that a key takes, less what the program takes in as long a rest."""
        self.type(keys, must_draw=True)
        self.wait(RESTED_S)  # these keys come so slowly that each begins what waits for a pointer to rest
        before, began = self.cpu(), time.monotonic()
        for _ in range(rounds):
            self.type(keys)
        used, lasted = self.cpu() - before, time.monotonic() - began
        self.wait(RESTED_S)  # what a pointer that rests begins is not of the rest
        before = self.cpu()
        self.wait(lasted)
        return (used - (self.cpu() - before)) / (rounds * len(re.findall(r"\x1b\[?O?[^\x1b]|.", keys)))

    def must_show(self, words: str) -> None:
        """Stop where the last key did not lead where it should: then its cost would be that of something else."""
        if words.encode() not in self.drawn:
            raise SystemExit(f"{words} did not come up")

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
_FLOOR = """
from cooperage.book import Book
from cooperage.settings import Settings
from cooperage.tui.app import CooperageApp
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.line_list import LineList
from rich.text import Text
class Nothing(CellarScreen):
    NAME = "today"
    def compose_body(self): yield LineList()
    def on_mount(self):
        lines = self.query_one(LineList)
        lines.set_lines({lines}, lambda index, width: Text(f"line {{index}} with some words to draw", no_wrap=True))
        lines.focus()
CooperageApp.MODES = CooperageApp.MODES | {{"today": Nothing}}
CooperageApp(Book.open({cellar!r}), Settings(hand="Ada")).run()
"""
FUNCTION = {f"f{nth}": sent for nth, sent in enumerate(("\x1bOQ", "\x1bOR", "\x1bOS"), 2)}
FUNCTION |= {f"f{nth}": f"\x1b[{code}~" for nth, code in ((5, 15), (6, 17), (7, 18), (8, 19), (9, 20))}
FORMS = {"sample": "s", "top": "t", "reading": "r", "move": "m", "upkeep": "u", "racking": "k"}
"""Forms that the page of a barrel opens, by the key."""
VISIT_S, FORM_S, REST_S = 2.5, 0.8, 18.0
"""Seconds after which a first visit and a form are done, and after which all screens are made ready."""
RESTED_S = 1.5
"""Seconds after which all is done that the last of many keys began."""


@dataclass(slots=True)
class OnTerminal:
    """CPU milliseconds on a terminal: of keys, first visits, forms, a taster's sheet; per cent of a core at rest."""

    keys: dict[str, float] = field(default_factory=dict)
    visits: dict[str, float] = field(default_factory=dict)
    forms: dict[str, float] = field(default_factory=dict)
    sheet: dict[str, float] = field(default_factory=dict)
    idle: float = 0.0


def _sent_for(page: Page) -> str:
    """Return what goes to a screen: its key, or its word among everything."""
    return FUNCTION[page.key] if page.key else f"\x10{page.about.split(',')[0]}\r"


def _opened(ours: Running, key: str) -> list[float]:
    """Open a form some times; nothing where the vessel at hand has no such act, as an empty one no sample."""
    taken = []
    for _ in range(4):
        ms = ours.ms_for(key, FORM_S)
        if b"next field" not in ours.drawn:
            return []
        taken.append(ms)
        ours.type("\x1b", 0.5)
    return taken


def in_a_terminal(cellar: Path, rounds: int) -> OnTerminal:
    """Return what our program takes in a terminal of its own."""
    found, ours = OnTerminal(), Running(_MAIN.format(str(cellar)))
    ours.wait(REST_S)
    before = ours.cpu()
    ours.wait(10.0)
    found.idle = (ours.cpu() - before) / 100
    for page in PAGES:
        *ahead, last = re.findall(r"\x1b\[?O?[^\x1b]+|.", _sent_for(page), flags=re.DOTALL)
        for key in ahead:
            ours.type(key, 0.3)
        found.visits[page.name] = ours.ms_for(last, VISIT_S)
        if page is not PAGES[0] and page.key:
            ours.must_show(page.name.upper())
        if page.name == "blend":
            ours.type("\x1b", 0.5)
        found.keys[page.name] = ours.ms_a_key(RIGHT_LEFT if page.name == "racks" else DOWN_UP, rounds)
        if page.name == "panel":
            ours.type("\r\r", 1.0)
            found.sheet = {"a figure": ours.ms_a_key("7\x7f", rounds), "a glass": ours.ms_a_key(DOWN_UP, rounds)}
            ours.type("\x1b\x0f\x1b", 0.5)
        if page.name == "barrel":
            for name, key in FORMS.items():
                if taken := _opened(ours, key):
                    found.forms[name] = median(taken)
            ours.type("r", 0.8)
            found.keys["Tab in a form"] = ours.ms_a_key("\t", rounds)
            found.keys["a letter in a form"] = ours.ms_a_key("1\x7f", rounds)
            ours.type("\x1b", 0.5)
    ours.end()
    return found


def beside(code: str, rounds: int, rest: float = 4.0) -> float:
    """Return the CPU milliseconds that a key takes in another program, `rest` seconds after its start."""
    program = Running(code)
    program.wait(rest)
    ms = program.ms_a_key(DOWN_UP, rounds)
    program.end()
    return ms


def pour_for_sheet(path: Path) -> None:
    """Pour a flight with five attributes, the newest of the cellar, for a sheet to be opened on."""
    book = Book.open(str(path))
    start_flight(
        book,
        [f"B-00{n}" for n in range(3, 9)],
        attributes=("honey", "fruit", "oak", "acidity", "body"),
        tasters=("Ada",),
    )
    book.close()


def tenfold(demo: Path, path: Path) -> Path:
    """Make the demo's cellar with ten times the entries: its treatments, which move nothing, are written over again."""
    book = Book.open(str(shutil.copy(demo, path)))
    with book.writing() as session:
        connection = session.connection
        every = [dict(row) for row in connection.execute(sql.select(ENTRY)).mappings()]
        once = [row for row in every if row["kind"] == "treat"]
        for turn in range(1, 1 + 9 * len(every) // len(once)):
            aside = timedelta(seconds=turn)
            connection.execute(
                sql.insert(ENTRY),
                [row | {"id": f"{row['id']}-{turn}", "happened_at": row["happened_at"] - aside} for row in once],
            )
    book.close()
    return path


def report_counts(moves: dict[str, Taken], key: float) -> None:
    """Print what a key lays out and draws on each screen, in a screen without a terminal."""
    print(f"  without a terminal, an empty list of as many lines {key:.1f} ms a key")
    for page, taken in moves.items():
        ms, layouts, drawn = median(taken.ms), median(taken.layouts), median(taken.drawn)
        print(f"    {page:<20} {ms:6.1f} ms {ms / key:6.2f}   layouts {layouts:g}, widgets drawn {drawn:g}")


def report(found: OnTerminal, table: float, floor: float) -> None:
    """Print each ratio on a terminal beside what it may be."""
    print(f"  on a terminal, an empty table of as many lines {table:.2f} ms a key; all below are in such keys")
    _line("our frame around a list", floor, table, KEY_BUDGET)
    for page, ms in found.keys.items():
        _line(f"a key, {page}", ms, table, WIDE_BUDGET if page in WIDE else KEY_BUDGET)
    for what, ms in found.sheet.items():
        _line(f"on a taster's sheet, {what}", ms, table, SHEET_BUDGET)
    for form, ms in found.forms.items():
        _line(f"a form, {form}", ms, table, FORM_KEYS)
    for page, ms in found.visits.items():
        if page != PAGES[0].name:
            _line(f"a first visit, {page}", ms, table, VISIT_KEYS)
    print(f"    at rest {found.idle:.2f} of {IDLE_PERCENT:g} % of a core")


def _line(what: str, ms: float, table: float, budget: float) -> None:
    over = "" if ms / table <= budget else "   OVER"
    print(f"    {what:<24} {ms:6.2f} ms {ms / table:6.2f} of {budget:g}{over}")


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--tenfold", action="store_true")
    parser.add_argument("--turns", type=int, default=12)
    parser.add_argument("--rounds", type=int, default=30)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        os.environ["COOPERAGE_CACHE"] = str(folder / "kept")
        os.environ["COOPERAGE_CONFIG"] = str(folder / "settings.toml")
        save_settings(Settings(hand="Ada"), os.environ)  # else the rounds ask first who is at work
        build_demo(folder / "demo.db")
        pour_for_sheet(folder / "demo.db")
        cellars = {"demo": folder / "demo.db"}
        if asked.tenfold:
            cellars["ten times"] = tenfold(folder / "demo.db", folder / "tenfold.db")
        for called, path in cellars.items():
            book = Book.open(str(shutil.copy(path, folder / "used.db")))
            moves_bare, _ = asyncio.run(bare(asked.turns))
            moves = asyncio.run(on_screens(book, asked.turns))
            book.close()
            print(called)
            report_counts(moves, median(moves_bare.ms))
            floor = _FLOOR.format(lines=LINES, cellar=str(path))
            table = [beside(_BARE.format(lines=LINES), asked.rounds)]
            floors = beside(floor, asked.rounds, REST_S)
            found = in_a_terminal(path, asked.rounds)
            table.append(beside(_BARE.format(lines=LINES), asked.rounds))
            report(found, median(table), floors)


if __name__ == "__main__":
    main()

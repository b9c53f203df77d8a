"""Sixty toppings from the rounds on a real terminal: keys beyond the numbers, and the time from Enter to the next stop.

Run with `python tests/benchmarks/bench_rounds.py`. The program runs on a pseudo-terminal, keyboard only, at 80x24 and
140x40, with colours and with NO_COLOR, on the demo cellar and a room of 60 more barrels with half a year of toppings.
In the same run an empty Textual screen, one table of as many lines, goes from line to line with Enter. The time is
taken when the bytes arrive that show the next stop, or the next line's cursor. "calm" waits until the terminal has been
quiet for a while before it types on, as at a barrel; "hurried" types the next litres as soon as the stop is shown.
"""

import argparse
import fcntl
import os
import re
import statistics
import struct
import sys
import tempfile
import termios
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import partial
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING

from cooperage.book import Barrel, Book, Lot, Vessel, Writing
from cooperage.book.declared import acts
from cooperage.exchange import import_folder, shift_to_yesterday
from cooperage.programme.rounds.due import rounds
from cooperage.resources import demo_folder

TOPPINGS, ROOM = 60, "Annexe"
SIZES = ((80, 24), (140, 40))
QUIET, PATIENCE = 0.25, 30.0  # [s]
TYPED = "0.8"


def _terminals() -> ModuleType:
    """Load the terminal that the tests run the program in."""
    path = Path(__file__).parents[1] / "tui" / "conftest.py"
    spec = spec_from_file_location("tui_conftest", path)
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


if TYPE_CHECKING:
    from tests.tui.conftest import Terminal
else:
    Terminal = _terminals().Terminal


class Stamped(Terminal):
    """A terminal of any size that knows when it read last, and counts the keys typed into it."""

    def __init__(self, words: list[str], env: dict[str, str], size: tuple[int, int]) -> None:
        super().__init__(words, env)
        columns, lines = size
        self.screen.resize(lines, columns)
        fcntl.ioctl(self._master, termios.TIOCSWINSZ, struct.pack("HHHH", lines, columns, 0, 0))
        self.read_at = 0.0
        self.numbers = self.keys = 0

    def _read(self, seconds: float) -> bool:
        found = super()._read(seconds)
        if found:
            self.read_at = time.perf_counter()
        return bool(found)

    def type(self, *keys: str) -> None:
        """Type, and count: a named key is one key, digits and points belong to the number."""
        for key in keys:
            is_number = re.fullmatch(r"[\d.,]+", key) is not None
            self.numbers += len(key) if is_number else 0
            self.keys += 0 if is_number else 1
        super().type(*keys)

    def waits(self) -> None:
        """Wait until the terminal has been quiet for a while."""
        while self._read(QUIET):
            pass

    def shows(self, asked: re.Pattern[str]) -> bool:
        """Whether the screen shows what is asked for."""
        return asked.search(self.text) is not None

    def seconds_until(self, is_shown: Callable[[], bool], *keys: str) -> float:
        """Type keys; return the seconds until the bytes came in that made it so."""
        began = time.perf_counter()
        self.type(*keys)
        while time.perf_counter() - began < PATIENCE:
            if self._read(0.05) and is_shown():
                return self.read_at - began
        raise SystemExit(f"the screen never showed what was waited for:\n{self.text}")


@contextmanager
def running(words: list[str], size: tuple[int, int], folder: Path, *, colours: bool) -> Iterator[Stamped]:
    """Run a program in a terminal and end it."""
    (folder / "none.toml").touch()
    settings = folder / "settings.toml"
    settings.write_text('hand = "Ada"\n', encoding="utf-8")  # who is at work is not asked
    env = {"TERM": "xterm-256color", "COOPERAGE_CONFIG": str(settings), "XDG_STATE_HOME": str(folder)}
    terminal = Stamped([sys.executable, *words], env | ({} if colours else {"NO_COLOR": "1"}), size)
    try:
        yield terminal
    finally:
        terminal.end()


# --- the cellar -----------------------------------------------------------------------------------------------------


def build(path: Path) -> int:
    """Make the cellar; return how many stops its rounds have."""
    book = Book.create(str(path))
    now = datetime.now(UTC)
    import_folder(book, demo_folder(), shift_days=shift_to_yesterday(demo_folder(), now))
    with book.writing() as session:
        _fill(session, now)
    for back in range(7, 0, -1):
        with book.writing() as session:
            _top_all(session, now - timedelta(days=35 + 28 * (back - 1)))
    with book.writing() as session:
        _look_at_all(session, now - timedelta(days=2))
    stops = len(rounds(book.cellar()))
    book.close()
    return stops


def _tags() -> list[str]:
    return [f"B-{500 + number}" for number in range(TOPPINGS)]


def _fill(session: Writing, now: datetime) -> None:
    filled = now - timedelta(days=35 + 7 * 28)
    kegs = ("K-51", "K-52")
    session.add_lot(Lot("", "BENCH", "linden", abv=13.0, original_sg=1.11, final_sg=1.012))
    session.add_vessel(Vessel("", "T-50", "tank", 15_000_000, "measured", position=(ROOM, None, None, None)))
    for keg in kegs:
        session.add_vessel(Vessel("", keg, "keg", 100_000, "measured", position=(ROOM, None, None, None)))
    for number, tag in enumerate(_tags()):
        place = (ROOM, "1", number // 3 + 1, number % 3 + 1)
        oak = Barrel(wood="sessile oak", fills_before=2)
        session.add_vessel(Vessel("", tag, "barrel", 225_000, "measured", position=place, barrel=oak))
    session.write(acts.Receive(lot="BENCH", vessel="T-50", volume=14_500_000, at=filled))
    for number, tag in enumerate(_tags()):
        session.write(acts.Fill(vessel=tag, source="T-50", volume=225_000, at=filled + timedelta(minutes=number + 1)))
    for keg in kegs:
        session.write(acts.Rack(vessel="T-50", destination=keg, volume=100_000, at=filled + timedelta(hours=3)))


def _top_all(session: Writing, at: datetime) -> None:
    for number, tag in enumerate(_tags()):
        ml = 700 + 37 * number % 200
        session.write(acts.Top(vessel=tag, source="T-50", volume=ml, at=at + timedelta(minutes=number)))


def _look_at_all(session: Writing, at: datetime) -> None:
    for tag in _tags():
        for name, value in (("free_so2_mg_l", 32.0), ("ph", 3.4), ("va_g_l", 0.4)):
            session.write(acts.Reading(vessel=tag, property=name, value=value, at=at))
        session.write(acts.Treat(vessel=tag, treatment="taste", at=at))


# --- the two programs -----------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Walked:
    """Seconds from Enter to the next stop, one for each topping but the last, and keys beyond the numbers each."""

    seconds: list[float]
    keys: float = 0.0

    @property
    def middle(self) -> float:
        """The median."""
        return statistics.median(self.seconds)

    @property
    def slowest(self) -> float:
        """The 99th percentile; of sixty, the slowest."""
        return sorted(self.seconds)[min(len(self.seconds) - 1, int(0.99 * len(self.seconds)))]


def walk(cellar: Path, size: tuple[int, int], folder: Path, *, colours: bool, hurried: bool) -> Walked:
    """Walk the rounds: the litres and Enter, sixty times."""
    words = ["-c", "from cooperage.cli import main\nmain()", "--cellar", str(cellar)]
    tags, seconds = _tags(), []
    with running(words, size, folder, colours=colours) as terminal:
        terminal.until("F3 rounds")
        terminal.type("f3")
        terminal.until("stops to do")
        terminal.until(rf"(?m)^ {tags[0]} › ")
        terminal.waits()
        for tag, following in zip(tags, [*tags[1:], ""], strict=True):
            asked = re.compile(rf"(?m)^ {following} › " if following else rf"Written \d\d:\d\d  {tag}  top")
            terminal.type(TYPED)
            if not hurried:
                terminal.waits()
            seconds.append(terminal.seconds_until(partial(terminal.shows, asked), "enter"))
            if not hurried:
                terminal.waits()
        keys = terminal.keys / len(tags)
        terminal.leave()
    _assert_topped(cellar, tags)
    return Walked(seconds[:-1], keys)


def _assert_topped(cellar: Path, tags: list[str]) -> None:
    """The book must have all sixty, and hold."""
    book = Book.open(str(cellar))
    standings = book.cellar()
    missing = [tag for tag in tags if (standings[tag].days_since("top") or 0.0) > 1]
    broken = [line for finding in book.check() for line in finding.broken]
    book.close()
    if missing or broken:
        raise SystemExit(f"not topped: {missing}; broken: {broken}")


EMPTY_TABLE = """
import sys
from textual.app import App
from textual.binding import Binding
from textual.widgets import DataTable

class Empty(App):
    BINDINGS = [Binding("enter", "on", priority=True), Binding("ctrl+q", "quit", priority=True)]

    def compose(self):
        yield DataTable(cursor_type="row")

    def on_mount(self):
        table = self.query_one(DataTable)
        table.add_columns("place", "barrel", "task", "why", "litres")
        for n in range(int(sys.argv[1])):
            table.add_row("Annexe 1.1.1", f"B-{500 + n}", "top", "topped 35 days ago, every 28 days", "0.8 L")

    def action_on(self):
        self.query_one(DataTable).action_cursor_down()

Empty().run()
"""


def go_down(lines: int, size: tuple[int, int], folder: Path, *, colours: bool, hurried: bool) -> Walked:
    """Go from line to line of an empty Textual table; a line is shown when its tag looks as the first one did."""
    seconds = []
    with running(["-c", EMPTY_TABLE, str(lines)], size, folder, colours=colours) as terminal:
        terminal.until("B-500")
        terminal.waits()
        chosen = _look_of(terminal, "B-500")
        assert chosen != _look_of(terminal, "B-501")
        for number in range(1, TOPPINGS):
            tag = f"B-{500 + number}"
            is_chosen = lambda tag=tag: _look_of(terminal, tag) == chosen  # noqa: E731 - a name for what is waited for
            seconds.append(terminal.seconds_until(is_chosen, "enter"))
            if not hurried:
                terminal.waits()
        terminal.leave()
    return Walked(seconds)


def _look_of(terminal: Stamped, tag: str) -> tuple[object, ...] | None:
    """Colours and weight of the first letter of a tag on the screen; None where it is not shown."""
    for y, line in enumerate(terminal.screen.display):
        if (x := line.find(tag)) >= 0:
            letter = terminal.screen.buffer[y][x]
            return letter.fg, letter.bg, letter.bold, letter.reverse
    return None


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=1, help="how often each walk is walked")
    times = parser.parse_args().times
    os.environ.pop("NO_COLOR", None)
    with tempfile.TemporaryDirectory() as folder:
        template = Path(folder) / "template.db"
        stops = build(template)
        print(f"{TOPPINGS} toppings on rounds of {stops} stops; milliseconds from Enter to the next stop on the screen")
        print(f"{'':29}  keys   cooperage      empty table     ratio")
        print(f"{'':29}  each  median   p99   median   p99   median   p99")
        for size in SIZES:
            for colours in (True, False):
                for hurried in (False, True):
                    _compare(template, stops, size, Path(folder), times, colours=colours, hurried=hurried)


def _compare(
    template: Path, stops: int, size: tuple[int, int], folder: Path, times: int, *, colours: bool, hurried: bool
) -> None:
    """Walk both in turn and print one line."""
    ours, bare, keys = [], [], 0.0
    for _ in range(times):
        cellar = folder / "walked.db"
        cellar.write_bytes(template.read_bytes())
        walked = walk(cellar, size, folder, colours=colours, hurried=hurried)
        ours += walked.seconds
        keys = max(keys, walked.keys)
        bare += go_down(stops, size, folder, colours=colours, hurried=hurried).seconds
    a, b = Walked(ours), Walked(bare)
    how = f"{size[0]}x{size[1]} {'colours' if colours else 'NO_COLOR'}, {'hurried' if hurried else 'calm'}"
    ratios = f"{a.middle / b.middle:7.1f} {a.slowest / b.slowest:5.1f}"
    ms = [1e3 * each for each in (a.middle, a.slowest, b.middle, b.slowest)]
    print(f"{how:<29} {keys:5.1f} {ms[0]:7.0f} {ms[1]:5.0f}  {ms[2]:7.0f} {ms[3]:5.0f}  {ratios}", flush=True)


if __name__ == "__main__":
    main()

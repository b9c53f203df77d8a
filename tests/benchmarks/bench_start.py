"""What it costs to start: CPU seconds of whole processes, all taking turns in one run, as ratios to a bare start.

Commands against an interpreter that imports click; the screen against one that imports textual.app: its modules, and
the whole program in a terminal of 120 by 40, until its frame is drawn and until the day is looked over.
As where it is installed, modules come compiled: the first turn compiles them into a folder of its own, whatever the
environment says of bytecode, and is not counted. What a look learns of a cellar is kept, as on a person's computer;
`log top` writes into a cellar of its own, and the first look after a write, which learns, has lines of its own.
Run: python tests/benchmarks/bench_start.py [TURNS]
"""

import fcntl
import os
import pty
import shutil
import signal
import struct
import subprocess
import sys
import tempfile
import termios
from collections.abc import Callable
from functools import partial
from pathlib import Path
from statistics import median

from cooperage.exchange.demo import build_demo
from cooperage.resources import demo_folder

CLICK, TEXTUAL = "import click", "import textual.app"
MAIN = "from cooperage.cli import main; main()"
BUDGETS = {
    "--version": 1.5,
    "--help": 1.5,
    "log top B-041 0.8 --from K-05 --sure": 9.0,
    "rounds": 9.0,
    "barrels": 9.0,
    f"blend solve --brief {next(demo_folder().rglob('winter_bottling.toml'))}": 22.0,
}
MODULES_BUDGET = 4.0
DRAWN = {"the frame on the screen": (b"Look first", 4.0), "the day on the screen": (b"Last entry", 4.0)}
"""What has been drawn when the screen is up so far, and how much it may cost."""


def cpu_seconds(code: str, *words: str) -> float:
    """Run code in a fresh interpreter and return the CPU seconds it took, system time too."""
    child = subprocess.Popen([sys.executable, "-c", code, *words], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, status, used = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode:
        sys.exit(f"{' '.join(words) or code}: exit status {child.returncode}")
    return used.ru_utime + used.ru_stime


def cpu_seconds_until(shown: bytes, cellar: Path) -> float:
    """Open the screen in a terminal, stop it at once when it has drawn these words; return the CPU seconds so far."""
    ours, its = pty.openpty()
    fcntl.ioctl(its, termios.TIOCSWINSZ, struct.pack("HHHH", 40, 120, 0, 0))
    words = [sys.executable, "-c", MAIN, "--cellar", str(cellar)]
    child = subprocess.Popen(
        words, stdin=its, stdout=its, stderr=its, env=os.environ | {"TERM": "xterm-256color"}, start_new_session=True
    )
    os.close(its)
    drawn = b""
    while shown not in drawn:
        drawn += os.read(ours, 65536)
    child.send_signal(signal.SIGKILL)
    _, _, used = os.wait4(child.pid, 0)
    child.returncode = -signal.SIGKILL
    os.close(ours)
    return used.ru_utime + used.ru_stime


def keep_compiled(folder: Path) -> None:
    """Have the interpreters that are started compile modules once, into a folder."""
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    os.environ["PYTHONPYCACHEPREFIX"] = str(folder)
    os.environ["COOPERAGE_CACHE"] = str(folder / "kept")


def first_look(cellar: Path, *words: str) -> float:
    """Time a command with nothing kept of what was learned, as after a write; what other looks kept stays."""
    kept = os.environ["COOPERAGE_CACHE"]
    with tempfile.TemporaryDirectory() as nothing:
        os.environ["COOPERAGE_CACHE"] = nothing
        seconds = cpu_seconds(MAIN, "--cellar", str(cellar), *words)
    os.environ["COOPERAGE_CACHE"] = kept
    return seconds


def main() -> None:
    """Time each start in turn; print medians and ratios beside their budgets."""
    turns = int(sys.argv[1]) if len(sys.argv) > 1 else 7
    with tempfile.TemporaryDirectory() as folder:
        cellar = Path(folder) / "cellar.db"
        keep_compiled(Path(folder) / "compiled")
        build_demo(cellar)
        written = Path(shutil.copy(cellar, Path(folder) / "written.db"))
        starts: dict[str, Callable[[], float]] = {
            CLICK: partial(cpu_seconds, CLICK),
            TEXTUAL: partial(cpu_seconds, TEXTUAL),
            "the screen's modules": partial(cpu_seconds, "import cooperage.tui.app, cooperage.tui.today.screen"),
        }
        starts |= {name: partial(cpu_seconds_until, shown, cellar) for name, (shown, _) in DRAWN.items()}
        of_words = {words: written if words.startswith("log") else cellar for words in BUDGETS}
        starts |= {
            words: partial(cpu_seconds, MAIN, "--cellar", str(at), *words.split()) for words, at in of_words.items()
        }
        looks = [words for words in BUDGETS if words.startswith(("rounds", "barrels", "blend"))]
        starts |= {f"first look: {words}": partial(first_look, cellar, *words.split()) for words in looks}
        taken: dict[str, list[float]] = {name: [] for name in starts}
        for turn in range(turns + 1):  # the first compiles, and is not counted
            for name, start in starts.items():
                seconds = start()
                if turn:
                    taken[name].append(seconds)
    allowed: dict[str, float | None] = {"the screen's modules": MODULES_BUDGET}
    allowed |= {name: budget for name, (_, budget) in DRAWN.items()}
    for name, figures in taken.items():
        ratio = median(figures) / median(taken[TEXTUAL if name in allowed else CLICK])
        budget = BUDGETS.get(name, allowed.get(name))
        beside = "" if name in (CLICK, TEXTUAL) else f"{ratio:7.2f}"
        beside += "" if budget is None else f" of {budget:g} allowed"
        print(f"{name[:40]:<40} {1000 * median(figures):6.0f} ms {beside}")


if __name__ == "__main__":
    main()

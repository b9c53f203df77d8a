"""What it costs to start: CPU seconds of whole processes, all taking turns in one run, as ratios to a bare start.

Commands against an interpreter that imports click; the screen's modules against one that imports textual.app.
As where it is installed, modules come compiled: the first turn compiles them into a folder of its own, whatever the
environment says of bytecode, and is not counted.
Run: python tests/benchmarks/bench_start.py [TURNS]
"""

import os
import subprocess
import sys
import tempfile
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
SCREEN_BUDGET = 4.0


def cpu_seconds(environ: dict[str, str], code: str, *words: str) -> float:
    """Run code in a fresh interpreter and return the CPU seconds it took, system time too."""
    quiet = subprocess.DEVNULL
    child = subprocess.Popen([sys.executable, "-c", code, *words], stdout=quiet, stderr=quiet, env=environ)
    _, status, used = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode:
        sys.exit(f"{' '.join(words) or code}: exit status {child.returncode}")
    return used.ru_utime + used.ru_stime


def compiled_in(folder: Path) -> dict[str, str]:
    """Return an environment in which modules are compiled once, into a folder."""
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return kept | {"PYTHONPYCACHEPREFIX": str(folder)}


def main() -> None:
    """Time each start in turn; print medians and ratios beside their budgets."""
    turns = int(sys.argv[1]) if len(sys.argv) > 1 else 7
    with tempfile.TemporaryDirectory() as folder:
        cellar, environ = Path(folder) / "cellar.db", compiled_in(Path(folder) / "compiled")
        build_demo(cellar)
        starts: dict[str, tuple[str, ...]] = {
            CLICK: (CLICK,),
            TEXTUAL: (TEXTUAL,),
            "the screen's modules": ("import cooperage.tui.app",),
        }
        starts |= {words: (MAIN, "--cellar", str(cellar), *words.split()) for words in BUDGETS}
        taken: dict[str, list[float]] = {name: [] for name in starts}
        for turn in range(turns + 1):  # the first compiles
            for name, start in starts.items():
                seconds = cpu_seconds(environ, *start)
                if turn:
                    taken[name].append(seconds)
    for name, figures in taken.items():
        bare, budget = (TEXTUAL, SCREEN_BUDGET) if "screen" in name else (CLICK, BUDGETS.get(name))
        ratio = median(figures) / median(taken[bare])
        beside = "" if budget is None else f"{ratio:7.2f} of {budget:g} allowed"
        print(f"{name[:40]:<40} {1000 * median(figures):6.0f} ms {beside}")


if __name__ == "__main__":
    main()

"""The trials: each mutant in a forked child, until the first test that fails."""

import gc
import importlib
import os
import resource
import shutil
import signal
import tempfile
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial
from pathlib import Path
from types import FunctionType

import pytest

from tests.benchmarks.mutants.choosing import Trial
from tests.benchmarks.mutants.in_place import Mark, import_instead, living_functions, swap_in
from tests.benchmarks.mutants.reach import files_of, pytest_options
from tests.benchmarks.mutants.sample import Mutant

CANNOT_BE_SWAPPED_IN = "cannot be swapped in"
"""The answer for a mutant whose code runs in an import: it is then imported afresh."""

WIDEST = 2 * 1024**3  # bytes that a mutant may take beyond what its parent has


class _FirstFailure:
    """A pytest plugin: run only these tests, in this order, and stop at the first that fails."""

    def __init__(self, tests: Sequence[str], tell: Callable[[str], None]) -> None:
        self.order = {name: at for at, name in enumerate(tests)}
        self.tell = tell

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        """Keep the tests asked for."""
        items[:] = sorted((i for i in items if i.nodeid in self.order), key=lambda item: self.order[item.nodeid])

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        """A module that cannot be imported any more has noticed the mutant."""
        if report.failed:
            self.tell(f"killed by the import of {report.nodeid}")

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """End at the first failure."""
        if report.failed:
            self.tell(f"killed by {report.nodeid}")

    def pytest_internalerror(self) -> None:
        """An error while collecting, too, is noticed."""
        self.tell("killed by an error in the collecting")


def _in_child(work: Callable[[Callable[[str], None]], str], seconds: float) -> tuple[str, float]:
    """Do something in a forked child with limits on its time and memory; returns its answer and its seconds of CPU."""
    room = tempfile.mkdtemp(prefix="mutant-")
    reading, writing = os.pipe()
    limit = int(8 + 2 * min(seconds, 600))  # which were measured with coverage on, and so are about twice as long
    child = os.fork()
    if child == 0:
        os.setpgid(0, 0)
        os.close(reading)
        silent = os.open(os.devnull, os.O_RDWR)
        for at in (0, 1, 2):
            os.dup2(silent, at)

        def tell(answer: str) -> None:
            os.write(writing, answer.encode())
            os._exit(0)

        try:
            os.environ["PYTEST_DEBUG_TEMPROOT"] = os.environ["TMPDIR"] = tempfile.tempdir = room
            resource.setrlimit(resource.RLIMIT_CPU, (limit, limit + 5))
            taken = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
            resource.setrlimit(resource.RLIMIT_AS, (taken + WIDEST, taken + WIDEST))
            tell(work(tell))
        except BaseException as error:  # noqa: BLE001 - whatever a mutant does, the child ends here
            tell(f"killed by {type(error).__name__} outside of a test")
    os.close(writing)
    _end_if_stuck(child, 4 * limit)
    _, status, used = os.wait4(child, 0)
    with os.fdopen(reading, "rb") as pipe:
        answer = pipe.read().decode(errors="replace") if os.WIFEXITED(status) else ""
    shutil.rmtree(room, ignore_errors=True)
    if not answer:
        answer = f"killed by {'the time limit' if _ran_out(status) else 'a crash'}"
    return answer, used.ru_utime + used.ru_stime


def _ran_out(status: int) -> bool:
    return os.WIFSIGNALED(status) and os.WTERMSIG(status) in (signal.SIGXCPU, signal.SIGKILL)


def _end_if_stuck(child: int, seconds: float) -> None:
    """Wait for a child; end it, and what it started, when it neither ends nor works."""
    pause, waited = 0.01, 0.0
    while os.waitid(os.P_PID, child, os.WEXITED | os.WNOHANG | os.WNOWAIT) is None:
        if waited > seconds:
            os.killpg(child, signal.SIGKILL)
            return
        time.sleep(pause)
        waited += pause
        pause = min(0.2, pause * 1.2)


class _Warm:
    """A pytest plugin: with everything collected, fork a child for each mutant instead of running the tests."""

    def __init__(self, tree: Path, trials: Iterable[Trial], keep: Callable[[Trial, str, float], None]) -> None:
        self.tree, self.trials, self.keep = tree, trials, keep
        self.living: Mapping[Mark, list[FunctionType]] = {}

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Run every trial."""
        items = {item.nodeid: item for item in session.items}
        gc.collect()
        self.living = living_functions(self.tree)
        gc.freeze()  # so that children share its memory
        for trial in self.trials:
            chosen = [items[name] for name in trial.tests if name in items]
            self.keep(trial, *_in_child(partial(self._try, session, trial.mutant, chosen), trial.seconds))
        return True

    def _try(
        self, session: pytest.Session, mutant: Mutant, items: Sequence[pytest.Item], tell: Callable[[str], None]
    ) -> str:
        failed: list[str] = []
        if mutant.order < 0:  # no mutant: what fails by itself is gathered
            tell = failed.append
        elif not swap_in(self.tree, mutant, self.living):
            return CANNOT_BE_SWAPPED_IN
        session.config.pluginmanager.register(_FirstFailure([], tell))
        for item, following in zip(items, [*items[1:], None], strict=True):
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
        return "\n".join(failed) or "survived"


def try_warm(
    tree: Path, tests: Sequence[str], trials: Iterable[Trial], keep: Callable[[Trial, str, float], None]
) -> None:
    """Try mutants in children of a process that has imported everything."""
    pytest.main([*pytest_options(tree), *files_of(tree, tests)], plugins=[_Warm(tree, trials, keep)])


def try_cold(tree: Path, trials: Iterable[Trial], keep: Callable[[Trial, str, float], None]) -> None:
    """Try mutants in children that import the program afresh; only what it builds on is there already."""
    for name in ("numpy", "scipy.optimize", "scipy.stats", "pandas", "sqlalchemy", "alembic", "hypothesis"):
        importlib.import_module(name)

    def work(trial: Trial, tell: Callable[[str], None]) -> str:
        import_instead(tree, trial.mutant)
        files = sorted({str(tree / name.partition("::")[0]) for name in trial.tests})
        code = pytest.main([*pytest_options(tree), *files], plugins=[_FirstFailure(trial.tests, tell)])
        return "survived" if code == pytest.ExitCode.OK else f"killed by pytest ({code!r})"

    for trial in trials:
        keep(trial, *_in_child(partial(work, trial), trial.seconds + 5))

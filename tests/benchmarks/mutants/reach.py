"""Which test runs which line, and for how long: one pass with coverage."""

import importlib
import json
import time
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

# These start processes of their own, in which no mutant lives.
LEFT_OUT = ("test_killed.py", "test_restore.py", "test_docstrings.py", "test_light_start.py")

LONGEST_TEST = 8.0  # s, measured with coverage on; laws may take longer


@dataclass
class Reach:
    """What the one pass with coverage found: seconds of each test, and the tests of each line by number."""

    seconds: dict[str, float]
    lines: dict[str, dict[int, list[int]]]
    imported: dict[str, set[int]]
    names: list[str]


class _Measuring:
    """A pytest plugin: the name of each test is the context of the lines it runs; shared fixtures have their own."""

    def __init__(self, coverage: Any) -> None:
        self.coverage, self.test = coverage, ""
        self.seconds: dict[str, float] = defaultdict(float)
        self.shared: dict[str, float] = {}
        self.fixtures: dict[str, list[str]] = {}
        self.unfit: set[str] = set()

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        """Count what runs from here as this test's."""
        self.test = item.nodeid
        self.fixtures[item.nodeid] = list(getattr(item, "fixturenames", ()))
        self.coverage.switch_context(self.test)
        result = yield
        self.coverage.switch_context("between")
        return result

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef: pytest.FixtureDef[Any]) -> Iterator[None]:
        """Count what makes a shared fixture as run by all who ask for it."""
        if fixturedef.scope == "function":
            return (yield)
        self.coverage.switch_context(f"fixture {fixturedef.argname}")
        began = time.process_time()
        result = yield
        self.shared[fixturedef.argname] = time.process_time() - began
        self.coverage.switch_context(self.test)
        return result

    def seconds_alone(self, name: str) -> float:
        """How long a test takes that must make the shared fixtures it asks for."""
        return self.seconds[name] + sum(self.shared.get(fixture, 0.0) for fixture in self.fixtures[name])

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Keep how long it took, and whether it can be used."""
        self.seconds[report.nodeid] += report.duration
        if report.outcome != "passed":
            self.unfit.add(report.nodeid)


def measure(tree: Path, tests: Sequence[str], keep: Path) -> None:
    """Run the tests once, unchanged, and write which of them run which line."""
    coverage = importlib.import_module("coverage")
    counted = coverage.Coverage(data_file=None, source=[str(tree / "cooperage")], config_file=False)
    counted.start()
    plugin = _Measuring(counted)
    pytest.main([*pytest_options(tree), *files_of(tree, tests)], plugins=[plugin])
    counted.stop()
    fit = [
        name
        for name, seconds in plugin.seconds.items()
        if name not in plugin.unfit and (seconds <= LONGEST_TEST or "laws" in name)
    ]
    number = {name: at for at, name in enumerate(fit)}
    who: dict[str, list[int]] = {name: [at] for name, at in number.items()}
    for name in fit:
        for fixture in plugin.fixtures[name]:
            who.setdefault(f"fixture {fixture}", []).append(number[name])
    data = counted.get_data()
    lines: dict[str, dict[int, list[int]]] = {}
    imported: dict[str, list[int]] = {}
    for path in sorted(data.measured_files()):
        module = str(Path(path).relative_to(tree))
        contexts = data.contexts_by_lineno(path)
        lines[module] = {line: sorted({at for name in by for at in who.get(name, ())}) for line, by in contexts.items()}
        imported[module] = sorted(line for line, by in contexts.items() if "" in by)
    keep.write_text(
        json.dumps(
            {"names": fit, "seconds": {n: plugin.seconds_alone(n) for n in fit}, "lines": lines, "imported": imported}
        )
    )
    print(f"{len(fit)} tests that pass and are quick enough; {len(plugin.seconds) - len(fit)} left out")


def read_reach(path: Path) -> Reach:
    """Read what `measure` wrote."""
    kept = json.loads(path.read_text())
    lines = {module: {int(line): by for line, by in of.items()} for module, of in kept["lines"].items()}
    imported = {module: set(of) for module, of in kept["imported"].items()}
    return Reach(kept["seconds"], lines, imported, kept["names"])


def pytest_options(tree: Path) -> list[str]:
    return [f"--rootdir={tree}", f"--confcutdir={tree}", "-q", "-s", "--no-header", "-p", "no:cacheprovider"]


def files_of(tree: Path, tests: Iterable[str]) -> list[str]:
    found: list[str] = []
    for each in tests:
        path = tree / each
        found += [str(file) for file in (sorted(path.glob("**/test_*.py")) if path.is_dir() else [path])]
    return [file for file in found if not file.endswith(LEFT_OUT)]

"""The simulated cellars of the benchmarks, for tests that need barrels whose true rates are known."""

import shutil
import sys
from collections.abc import Iterator
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from typing import Any

import pytest

from cooperage.book import Barrel, Book, Vessel

BENCHMARKS = Path(__file__).parents[1] / "benchmarks"


def _benchmark(name: Any) -> Any:
    spec = spec_from_file_location(name, BENCHMARKS / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def walks() -> Any:
    """The benchmark of the rounds' thirst: `simulate`, `watch`, `pooling_errors`."""
    return _benchmark("bench_walk")


@pytest.fixture(scope="session")
def leaks() -> Any:
    """The benchmark of leaks and of a cellar's first year: `watch`, `look_ahead`."""
    return _benchmark("bench_leaks")


@pytest.fixture(scope="session")
def meads() -> Any:
    """The benchmark of trouble in the mead: `watch`, `watch_litres`."""
    return _benchmark("bench_signs")


@pytest.fixture(scope="session")
def agings() -> Any:
    """The benchmark of figures as they are now: `walk`, `together`, `against_truth`."""
    return _benchmark("bench_ageing")


@pytest.fixture(scope="session")
def periods() -> Any:
    """The benchmark of periods: `simulate`, `furnish`, `draw_act`."""
    return _benchmark("bench_periods")


@pytest.fixture(scope="session")
def mornings() -> Any:
    """The benchmark of the first page: `look`, `judged`, `wolf`."""
    return _benchmark("bench_morning")


@pytest.fixture(scope="session")
def small_cellar(tmp_path_factory: pytest.TempPathFactory, empty_cellar: Path) -> Iterator[Any]:
    """A cellar to match against, read once."""
    path = tmp_path_factory.mktemp("slip") / "cellar.db"
    shutil.copy(empty_cellar, path)
    book = Book.open(str(path))
    with book.writing() as session:
        session.add_vessel(Vessel("", "B-1", "barrel", 225_000, barrel=Barrel()))
    yield book.cellar()
    book.close()

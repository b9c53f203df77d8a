"""The simulated cellars of the benchmark, for tests that need barrels whose true rates are known."""

import sys
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest

BENCH = Path(__file__).parents[1] / "benchmarks" / "bench_walk.py"


@pytest.fixture(scope="session")
def walks():
    """The benchmark's module: `simulate`, `watch`, `pooling_errors`."""
    spec = spec_from_file_location("bench_walk", BENCH)
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module

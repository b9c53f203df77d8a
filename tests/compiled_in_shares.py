"""Bytecode of a new checkout: each worker of a run compiles a share of it, where each would compile all of it.

Without this nothing is missing: what is not compiled yet is compiled as it is imported.
"""

import os
import py_compile
from collections.abc import Iterator
from contextlib import suppress
from importlib.util import cache_from_source
from pathlib import Path

import pytest
from _pytest.assertion import rewrite

ROOT = Path(__file__).parents[1]


def _is_fresh(compiled: Path, source: Path) -> bool:
    return compiled.exists() and compiled.stat().st_mtime >= source.stat().st_mtime


def _sources() -> Iterator[tuple[Path, Path]]:
    """Every module and the place of its bytecode; that of tests, whose asserts pytest rewrites, is pytest's own."""
    for package in ("cooperage", "tests"):
        for source in sorted((ROOT / package).rglob("*.py")):
            compiled = Path(cache_from_source(str(source)))
            is_test = source.name.startswith("test_")
            yield source, compiled.with_name(source.stem + rewrite.PYC_TAIL) if is_test else compiled


def _compile(source: Path, compiled: Path, config: pytest.Config) -> None:
    if not source.name.startswith("test_"):
        py_compile.compile(str(source), doraise=True)
        return
    stat, code = rewrite._rewrite_test(source, config)
    compiled.parent.mkdir(exist_ok=True)
    rewrite._write_pyc(config.stash[rewrite.assertstate_key], code, stat, compiled)


def compile_share(config: pytest.Config) -> None:
    """Compile what falls to this worker, if there are several."""
    count = int(os.environ.get("PYTEST_XDIST_WORKER_COUNT", "1"))
    if count == 1:
        return
    number = int(os.environ["PYTEST_XDIST_WORKER"].removeprefix("gw"))
    for source, compiled in list(_sources())[number::count]:
        with suppress(Exception):  # whoever imports it is shown what is wrong
            if not _is_fresh(compiled, source):
                _compile(source, compiled, config)

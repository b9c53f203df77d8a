"""What notebooks rely on: each name that a package hands on has an example in its docstring, and the example runs."""

import doctest
import importlib
import inspect
from collections.abc import Iterator
from typing import Any

import pytest

PACKAGES = ("liquid", "tasting", "blending", "programme")


def handed_on() -> Iterator[Any]:
    for package in PACKAGES:
        module = importlib.import_module(f"cooperage.{package}")
        yield from (pytest.param(module, name, id=f"{package}.{name}") for name in module.__all__)


def is_plain(value: Any) -> Any:
    """Constants need no example; errors and the values that a function returns are shown by that function's own."""
    returned = inspect.isclass(value) and value.__module__.startswith("cooperage.liquid")
    return not callable(value) or returned


@pytest.mark.parametrize(("module", "name"), list(handed_on()))
def test_every_name_has_an_example_that_runs(module: Any, name: Any) -> None:
    """`help(name)` in a notebook shows how to call it; what it prints is what comes out."""
    value = getattr(module, name)
    if is_plain(value):
        assert inspect.getdoc(value)
        return
    names = {"np": importlib.import_module("numpy"), **vars(module), name: value}
    test = doctest.DocTestParser().get_doctest(inspect.getdoc(value) or "", names, name, None, 0)
    assert test.examples
    assert doctest.DocTestRunner(verbose=False).run(test).failed == 0

"""Names that a package hands on, each imported from its module only when it is asked for (PEP 562)."""

import sys
from collections.abc import Callable, Mapping
from importlib import import_module
from typing import Any


def names_on_demand(
    package: str, names_of: Mapping[str, tuple[str, ...]]
) -> tuple[list[str], Callable[[str], Any], Callable[[], list[str]]]:
    """Return `__all__`, `__getattr__` and `__dir__` of a package, from the names that each of its modules gives.

    A name stays in the package once it was asked for, so only its first use pays. No name may be a module's too: that
    module, once imported, would stand in its place.
    """
    module_of = {name: module for module, names in names_of.items() for name in names}

    def find(name: str) -> Any:  # noqa: ANN401 - any public name
        if name not in module_of:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        value = getattr(import_module(f"{package}.{module_of[name]}"), name)
        setattr(sys.modules[package], name, value)
        return value

    def listed() -> list[str]:
        return sorted({*vars(sys.modules[package]), *module_of})

    return sorted(module_of), find, listed

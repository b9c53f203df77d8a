"""The code of a mutant, in the place of a function's that lives or of a module's that is yet to be imported."""

import ast
import gc
import warnings
from collections import defaultdict
from collections.abc import Mapping
from importlib.machinery import SourceFileLoader
from inspect import CO_OPTIMIZED
from pathlib import Path
from types import CodeType, FunctionType

from tests.benchmarks.mutants.changes import changes
from tests.benchmarks.mutants.sample import Mutant, source_of


def mutated(tree: Path, mutant: Mutant) -> CodeType:
    """Compile the module with the change in it."""
    path = tree / mutant.module
    parsed = ast.parse(source_of(path))
    change = next(each for order, each in enumerate(changes(parsed)) if order == mutant.order)
    change.spot.put(change.new)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # "is" with a number, and the like
        return compile(ast.fix_missing_locations(parsed), str(path), "exec", dont_inherit=True)


def _functions(code: CodeType) -> list[CodeType]:
    """List the code of the outermost functions of a module or class, in order."""
    found: list[CodeType] = []
    for inner in code.co_consts:
        if isinstance(inner, CodeType):
            found += [inner] if inner.co_flags & CO_OPTIMIZED else _functions(inner)
    return found


Mark = tuple[str, str, int]


def _mark(code: CodeType) -> Mark:
    return code.co_filename, code.co_qualname, code.co_firstlineno


def living_functions(tree: Path) -> dict[Mark, list[FunctionType]]:
    """Find every function of the program that has been made so far, by where its code stands."""
    within = str(tree / "cooperage")
    found: dict[Mark, list[FunctionType]] = defaultdict(list)
    for each in gc.get_objects():
        if isinstance(each, FunctionType) and each.__code__.co_filename.startswith(within):
            found[_mark(each.__code__)].append(each)
    return found


def swap_in(tree: Path, mutant: Mutant, living: Mapping[Mark, list[FunctionType]]) -> bool:
    """Give the living functions the mutant's code; False where that cannot be done."""
    path = str(tree / mutant.module)
    before = _functions(compile(source_of(tree / mutant.module), path, "exec", dont_inherit=True))
    after = _functions(mutated(tree, mutant))
    if len(before) != len(after):
        return False
    differ = [(old, new) for old, new in zip(before, after, strict=True) if old != new]
    if len(differ) != 1:
        return False
    old, new = differ[0]
    functions = living.get(_mark(old), [])
    if len({each.__code__ for each in functions}) != 1:  # none, or two lambdas on one line
        return False
    if any(each.__code__.co_freevars != new.co_freevars for each in functions):
        return False
    for each in functions:
        each.__code__ = new
    return True


def import_instead(tree: Path, mutant: Mutant) -> None:
    """Let the module be imported with the change in it."""
    code, path = mutated(tree, mutant), str(tree / mutant.module)
    ordinary = SourceFileLoader.get_code

    def get_code(self: SourceFileLoader, fullname: str) -> CodeType | None:
        return code if self.get_filename(fullname) == path else ordinary(self, fullname)

    SourceFileLoader.get_code = get_code  # type: ignore[method-assign, assignment]

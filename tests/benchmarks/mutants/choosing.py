"""Which tests a mutant meets: those that run its line, the quick ones first."""

import ast
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from tests.benchmarks.mutants.changes import changes
from tests.benchmarks.mutants.reach import Reach
from tests.benchmarks.mutants.sample import Mutant, source_of

FIRST_TESTS, FIRST_SECONDS = 60, 6.0

MOST_TESTS, MOST_SECONDS = 1000, 45.0  # of those that stand near the mutant, and a quarter of it of others


@cache
def _users(tree: Path) -> Mapping[str, list[tuple[str, int]]]:
    """Where in functions each name is used, over the whole program: module and line."""
    used: dict[str, list[tuple[str, int]]] = defaultdict(list)
    for path in sorted(tree.glob("cooperage/**/*.py")):
        module = str(path.relative_to(tree))
        for node in ast.walk(ast.parse(source_of(path))):
            if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
                used[node.id].append((module, node.lineno))
            elif isinstance(node, ast.Attribute):
                used[node.attr].append((module, node.lineno))
    return used


def tests_of(tree: Path, mutant: Mutant, reach: Reach) -> list[str]:
    """Name the tests that run a mutant's line; for a constant, those that run a line that uses it."""
    of = reach.lines.get(mutant.module, {})
    hit: set[int] = set(of.get(mutant.line, ()))
    if not hit:
        hit = {at for line in mutant.lines for at in of.get(line, ())}
    if not hit and _is_at_import(mutant, reach):
        statement = _statement_at(tree, mutant)
        targets = {node.id for node in ast.walk(statement) if isinstance(node, ast.Name) and _is_stored(node)}
        for name in targets:
            for module, line in _users(tree).get(name, ()):
                hit.update(reach.lines.get(module, {}).get(line, ()))
        if not hit:
            hit = {at for by in of.values() for at in by}
    return [reach.names[at] for at in sorted(hit) if reach.names[at] in reach.seconds]


def _is_stored(node: ast.Name) -> bool:
    return isinstance(node.ctx, ast.Store)


def _statement_at(tree: Path, mutant: Mutant) -> ast.stmt:
    parsed = ast.parse(source_of(tree / mutant.module))
    return next(each for order, each in enumerate(changes(parsed)) if order == mutant.order).spot.statement


def _is_at_import(mutant: Mutant, reach: Reach) -> bool:
    imported = reach.imported.get(mutant.module, set())
    return mutant.line in imported or any(line in imported for line in mutant.lines)


def needs_import(tree: Path, mutant: Mutant, reach: Reach) -> bool:
    """Say whether a mutant's code, or the function that makes the functions it is in, runs during an import."""
    imported = reach.imported.get(mutant.module, set())
    around = next((each for each in _bodies(tree / mutant.module) if mutant.line in each), range(0))
    return _is_at_import(mutant, reach) or any(line in imported for line in around)


@cache
def _bodies(path: Path) -> list[range]:
    """List the lines of the bodies of all functions that stand in no other function."""
    found: list[range] = []

    def look(statements: Iterable[ast.stmt]) -> None:
        for each in statements:
            if isinstance(each, ast.FunctionDef | ast.AsyncFunctionDef):
                found.append(range(each.body[0].lineno, (each.end_lineno or 0) + 1))
            else:
                look(node for node in ast.iter_child_nodes(each) if isinstance(node, ast.stmt))

    look(ast.parse(source_of(path)).body)
    return found


def choose(tests: Sequence[str], seconds: Mapping[str, float], most: int, budget: float) -> list[str]:
    """Choose the quick tests of every file in turn, up to a number and a time; they come back the quickest first."""
    files: dict[str, list[str]] = defaultdict(list)
    for name in sorted(tests, key=lambda name: seconds[name]):
        files[name.partition("::")[0]].append(name)
    chosen: list[str] = []
    for turn in range(max(map(len, files.values()), default=0)):
        for name in (each[turn] for each in files.values() if turn < len(each)):
            if len(chosen) < most and (not chosen or seconds[name] <= budget):
                chosen.append(name)
                budget -= seconds[name]
    return sorted(chosen, key=lambda name: seconds[name])


def is_near(test: str, mutant: Mutant) -> bool:
    """Say whether a test's file or folder bears the name of the mutant's."""
    module = Path(mutant.module)
    return f"/{module.parent.name}/" in test or f"test_{module.stem}.py" in test


@dataclass(frozen=True)
class Trial:
    """A mutant and the tests it is to meet."""

    mutant: Mutant
    tests: list[str]
    seconds: float
    covering: int


def trials_of(tree: Path, mutants: Iterable[Mutant], reach: Reach, *, again: bool) -> list[Trial]:
    """Choose the tests for each mutant, the quickest trial first; `again` for those that the first tests let pass."""
    made = []
    for mutant in mutants:
        covering = tests_of(tree, mutant, reach)
        chosen = choose(covering, reach.seconds, FIRST_TESTS, FIRST_SECONDS)
        if again:
            left = set(covering) - set(chosen)
            near = {name for name in left if is_near(name, mutant)}
            chosen = choose(sorted(near), reach.seconds, MOST_TESTS, MOST_SECONDS)
            chosen += choose(sorted(left - near), reach.seconds, MOST_TESTS, MOST_SECONDS / 4)
        if chosen or not again:
            made.append(Trial(mutant, chosen, sum(reach.seconds[name] for name in chosen), len(covering)))
    return sorted(made, key=lambda trial: trial.seconds)

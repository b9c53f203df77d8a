"""Measure how strong the tests are: change the code a little in many places, and see which changes no test notices.

    python tests/benchmarks/mutants.py --out /tmp/mutants    # sample, measure, run, write results.json and .txt
    python tests/benchmarks/mutants.py --out /tmp/later --again tests/benchmarks/mutants_of_0_1.json

The second finds the same changes again in code that has moved; that file holds what the tests of 0.1 noticed.

Each mutant is one small change of one expression. The sample is drawn by a fixed seed, room by room. One pass with
`coverage` finds which tests run which line; then each mutant meets only the tests that run its line, the quick ones
first, until one fails. Nothing is written into the tree: a mutant lives in a forked child, where it takes the place of
the function's code, or of the whole module where the code has already run while it was imported.
"""

import argparse
import ast
import copy
import difflib
import gc
import hashlib
import importlib
import json
import math
import os
import random
import resource
import shutil
import signal
import sys
import tempfile
import time
import warnings
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace
from functools import cache, partial
from importlib.machinery import SourceFileLoader
from inspect import CO_OPTIMIZED
from pathlib import Path
from types import CodeType, FunctionType
from typing import Any

import pytest

ROOMS: Mapping[str, tuple[str, ...]] = {
    "book": ("cooperage/book/**/*.py",),
    "units": ("cooperage/units/*.py",),
    "liquid": ("cooperage/liquid/*.py",),
    "blending": (
        "cooperage/blending/*.py",
        "cooperage/blending/lp/*.py",
        "cooperage/blending/stocks/*.py",
        "cooperage/blending/brief/brief.py",
        "cooperage/blending/answer/chance.py",
    ),
    "programme": (
        "cooperage/programme/losses/*.py",
        "cooperage/programme/signs/*.py",
        "cooperage/programme/upkeep/*.py",
        "cooperage/programme/air/*.py",
        "cooperage/programme/ahead/forecast.py",
    ),
}
TESTS = (
    "tests/book",
    "tests/test_units.py",
    "tests/test_units_edges.py",
    "tests/liquid",
    "tests/blending",
    "tests/programme",
    "tests/tasting",
)
# These start processes of their own, in which no mutant lives.
LEFT_OUT = ("test_killed.py", "test_restore.py", "test_docstrings.py", "test_light_start.py")
LONGEST_TEST = 8.0  # s, measured with coverage on; laws may take longer
FIRST_TESTS, FIRST_SECONDS = 60, 6.0
MOST_TESTS, MOST_SECONDS = 1000, 45.0  # of those that stand near the mutant, and a quarter of it of others
WIDEST = 2 * 1024**3  # bytes that a mutant may take beyond what its parent has
LEAST_LIKE = 0.72  # of two lines of code, to count as the same line after a renaming


# ---------------------------------------------------------------------------------------------- the changes


@dataclass(frozen=True)
class Spot:
    """Where an expression stands in a tree: its parent's field, and the function and statement around it."""

    node: ast.expr
    parent: ast.AST
    name: str
    index: int | None
    function: str
    returns: str
    statement: ast.stmt

    def put(self, new: ast.expr) -> None:
        """Put another expression in its place."""
        if self.index is None:
            setattr(self.parent, self.name, new)
        else:
            getattr(self.parent, self.name)[self.index] = new


@dataclass(frozen=True)
class Change:
    """One small change of one expression: of which kind, and what comes in its place."""

    spot: Spot
    kind: str
    new: ast.expr

    @property
    def words(self) -> str:
        """What it changes into what, as code."""
        return f"{ast.unparse(self.spot.node)}  ->  {ast.unparse(self.new)}"


@dataclass(frozen=True)
class Mutant:
    """A change by what it can be found by when code has moved; `order` counts the changes of its module."""

    key: str
    room: str
    module: str
    function: str
    line: int
    text: str
    kind: str
    change: str
    nth: int
    order: int = field(compare=False, default=-1)
    lines: tuple[int, ...] = field(compare=False, default=())
    was: str = ""
    """The key of the mutant of an earlier tree that this is."""


_NO_CODE_FIELDS = {"annotation", "returns", "decorator_list", "type_params", "bases"}
_NO_CODE_CALLS = {"TypeVar", "NewType", "cast", "NamedTuple", "TypedDict", "ParamSpec"}

_COMPARISONS: Mapping[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
}
_ARITHMETIC: Mapping[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult,
    ast.Pow: ast.Mult,
    ast.BitOr: ast.BitAnd,
    ast.BitAnd: ast.BitOr,
}
_OPPOSITES = {"min": "max", "max": "min", "any": "all", "all": "any", "minimum": "maximum", "maximum": "minimum"}


def _is_text(node: ast.expr) -> bool:
    return isinstance(node, ast.JoinedStr) or (isinstance(node, ast.Constant) and isinstance(node.value, str))


def _called(node: ast.AST) -> str:
    if not isinstance(node, ast.Call):
        return ""
    return node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")


def spots(tree: ast.Module) -> Iterator[Spot]:
    """Every expression that does something, in the order of the source."""
    for statement in tree.body:
        yield from _in_statement(statement, "<module>", "")


def _in_statement(statement: ast.stmt, function: str, returns: str) -> Iterator[Spot]:
    if isinstance(statement, ast.Assert | ast.Import | ast.ImportFrom):
        return
    if isinstance(statement, ast.If) and ast.unparse(statement.test) == "TYPE_CHECKING":
        return
    if isinstance(statement, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
        if statement.name == "__repr__":
            return
        inner = statement.name if function == "<module>" else f"{function}.{statement.name}"
        if not isinstance(statement, ast.ClassDef):
            yield from _in_fields(statement.args, function, returns, statement)
            returns = ast.unparse(statement.returns) if statement.returns else ""
        for each in statement.body:
            yield from _in_statement(each, inner, returns)
        return
    yield from _in_fields(statement, function, returns, statement)


def _in_fields(parent: ast.AST, function: str, returns: str, statement: ast.stmt) -> Iterator[Spot]:
    for name, value in ast.iter_fields(parent):
        if name in _NO_CODE_FIELDS:
            continue
        each = value if isinstance(value, list) else [value]
        for index, node in enumerate(each):
            if not isinstance(node, ast.AST):
                continue
            if isinstance(node, ast.stmt):
                yield from _in_statement(node, function, returns)
                continue
            if isinstance(node, ast.JoinedStr) or _called(node) in _NO_CODE_CALLS:
                continue
            if _called(parent) == "isinstance" and name == "args" and index == 1:
                continue
            if isinstance(node, ast.expr):
                where = index if isinstance(value, list) else None
                yield Spot(node, parent, name, where, function, returns, statement)
            yield from _in_fields(node, function, returns, statement)


def changes(tree: ast.Module) -> Iterator[Change]:
    """Every change this tool knows, of every expression, in the order of the source."""
    for spot in spots(tree):
        for kind, make in _MAKERS.items():
            for new in make(spot):
                yield Change(spot, kind, ast.copy_location(new, spot.node))


def _comparisons(spot: Spot) -> Iterator[ast.expr]:
    node = spot.node
    if isinstance(node, ast.Compare):
        for at, operator in enumerate(node.ops):
            new = copy.deepcopy(node)
            new.ops[at] = _COMPARISONS[type(operator)]()
            yield new


def _arithmetic(spot: Spot) -> Iterator[ast.expr]:
    node = spot.node
    if isinstance(node, ast.BinOp) and not (_is_text(node.left) or _is_text(node.right)):
        other = _ARITHMETIC.get(type(node.op))
        is_of_types = isinstance(node.op, ast.BitOr) and spot.function == "<module>"
        if other and not is_of_types:
            yield ast.BinOp(copy.deepcopy(node.left), other(), copy.deepcopy(node.right))
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub) and not isinstance(node.operand, ast.Constant):
        yield copy.deepcopy(node.operand)


def _booleans(spot: Spot) -> Iterator[ast.expr]:
    node = spot.node
    if isinstance(node, ast.BoolOp):
        yield ast.BoolOp(ast.Or() if isinstance(node.op, ast.And) else ast.And(), copy.deepcopy(node.values))
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
        yield copy.deepcopy(node.operand)


def _conditions(spot: Spot) -> Iterator[ast.expr]:
    is_test = (spot.name == "test" and isinstance(spot.parent, ast.If | ast.IfExp)) or spot.name == "ifs"
    if is_test:
        yield ast.Constant(True)
    if is_test or (spot.name == "test" and isinstance(spot.parent, ast.While)):
        yield ast.Constant(False)


def _constants(spot: Spot) -> Iterator[ast.expr]:
    value = getattr(spot.node, "value", None) if isinstance(spot.node, ast.Constant) else None
    if isinstance(value, bool):
        if spot.function != "<module>":
            yield ast.Constant(not value)
    elif isinstance(value, int):
        yield ast.Constant(value + 1)
    elif isinstance(value, float):
        yield ast.Constant(value * 1.1 if value else 1.0)


def _opposites(spot: Spot) -> Iterator[ast.expr]:
    other = _OPPOSITES.get(_called(spot.node))
    if isinstance(spot.node, ast.Call) and other:
        new = copy.deepcopy(spot.node)
        if isinstance(new.func, ast.Name):
            new.func.id = other
        elif isinstance(new.func, ast.Attribute):
            new.func.attr = other
        yield new


def _returns(spot: Spot) -> Iterator[ast.expr]:
    node = spot.node
    if not (isinstance(spot.parent, ast.Return) and spot.name == "value") or isinstance(node, ast.Constant):
        return
    same = copy.deepcopy(node)
    kind = spot.returns.strip("'\"")
    if kind == "bool":
        yield ast.UnaryOp(ast.Not(), same)
    elif kind in ("float", "Floats"):
        yield ast.BinOp(same, ast.Mult(), ast.Constant(1.1))
    elif kind == "int":
        yield ast.BinOp(same, ast.Add(), ast.Constant(1))
    elif kind.startswith(("list[", "Sequence[")) or (kind.startswith("tuple[") and kind.endswith("...]")):
        yield ast.Subscript(same, ast.Slice(None, ast.UnaryOp(ast.USub(), ast.Constant(1))), ast.Load())
    elif kind not in ("str", "") and ast.unparse(node) != "self":
        yield ast.Constant(None)


_MAKERS: Mapping[str, Callable[[Spot], Iterator[ast.expr]]] = {
    "comparison": _comparisons,
    "arithmetic": _arithmetic,
    "boolean": _booleans,
    "condition": _conditions,
    "constant": _constants,
    "opposite call": _opposites,
    "return": _returns,
}


# ---------------------------------------------------------------------------------------------- the sample


@cache
def _source(path: Path) -> str:
    return path.read_text(encoding="utf-8")


@cache
def mutants_of(tree: Path, module: str, room: str) -> tuple[Mutant, ...]:
    """Every mutant of a module, in the order of its source."""
    source = _source(tree / module)
    lines = source.splitlines()
    found, seen = [], Counter[tuple[str, ...]]()
    for order, change in enumerate(changes(ast.parse(source))):
        at, statement = change.spot.node.lineno, change.spot.statement
        text, words = lines[at - 1].strip(), change.words
        same = (change.spot.function, text, change.kind, words)
        key = hashlib.sha256("|".join((module, *same, str(seen[same]))).encode()).hexdigest()[:10]
        around = tuple(range(statement.lineno, (change.spot.node.end_lineno or at) + 1))
        found.append(
            Mutant(key, room, module, change.spot.function, at, text, change.kind, words, seen[same], order, around)
        )
        seen[same] += 1
    return tuple(found)


def modules_of(tree: Path, room: str) -> list[str]:
    """Name the modules of a room that are there."""
    return sorted({str(path.relative_to(tree)) for pattern in ROOMS[room] for path in tree.glob(pattern)})


def sample(tree: Path, room: str, count: int, seed: int) -> list[Mutant]:
    """Draw mutants of a room: the kinds in turn, at most one on a line, no module with much more than its share."""
    rng = random.Random(f"{seed} {room}")
    modules = modules_of(tree, room)
    most = math.ceil(2 * count / max(1, len(modules))) + 1
    kinds: dict[str, list[Mutant]] = {kind: [] for kind in _MAKERS}
    for module in modules:
        for mutant in mutants_of(tree, module, room):
            kinds[mutant.kind].append(mutant)
    for each in kinds.values():
        rng.shuffle(each)
    drawn: list[Mutant] = []
    taken: set[tuple[str, int]] = set()
    per_module = Counter[str]()
    while len(drawn) < count and any(kinds.values()):
        for each in kinds.values():
            while each:
                mutant = each.pop()
                if (mutant.module, mutant.line) not in taken and per_module[mutant.module] < most:
                    drawn.append(mutant)
                    taken.add((mutant.module, mutant.line))
                    per_module[mutant.module] += 1
                    break
    return drawn[:count]


def find_again(
    tree: Path, before: Sequence[Mapping[str, Any]], renames: Mapping[str, str]
) -> tuple[list[Mutant], list[str]]:
    """Find the mutants of an earlier tree in this one; returns them and the keys of those that are no more."""
    everywhere = [
        mutant
        for path in sorted(tree.glob("cooperage/**/*.py"))
        for mutant in mutants_of(tree, str(path.relative_to(tree)), "")
    ]
    by_kind: dict[str, list[Mutant]] = defaultdict(list)
    by_code: dict[tuple[str, str, str], list[Mutant]] = defaultdict(list)
    for mutant in everywhere:
        by_kind[mutant.kind].append(mutant)
        by_code[mutant.kind, mutant.text, mutant.change].append(mutant)
    found, lost = [], []
    taken: set[tuple[str, int]] = set()
    wanted = [{name: _renamed(str(value), renames) for name, value in old.items()} for old in before]
    for old in sorted(wanted, key=lambda old: (old["kind"], old["text"], old["change"]) not in by_code):
        same = by_code.get((old["kind"], old["text"], old["change"])) or by_kind[old["kind"]]
        near = [each for each in same if (each.module, each.order) not in taken]
        likely = max(near, key=partial(_likeness, old), default=None)
        if likely is None or _likeness(old, likely) < LEAST_LIKE:
            lost.append(old["key"])
            continue
        taken.add((likely.module, likely.order))
        found.append(replace(likely, room=old["room"], was=old["key"]))
    return found, lost


def _renamed(text: str, renames: Mapping[str, str]) -> str:
    for old, new in renames.items():
        text = text.replace(old, new)
    return text


def _likeness(wanted: Mapping[str, str], mutant: Mutant) -> float:
    """How like a mutant is to an earlier one, 0 to 1: above all the line and the change, then function and module."""
    of_code = 1.0
    if (wanted["text"], wanted["change"]) != (mutant.text, mutant.change):
        of_change = _alike(wanted["change"], mutant.change)
        of_code = 0.5 * of_change + 0.5 * _alike(wanted["text"], mutant.text) if of_change else 0.0
    place = 0.2 * _alike(wanted["function"], mutant.function) + 0.07 * _alike(wanted["module"], mutant.module)
    return 0.7 * of_code + place + 0.03 * (wanted["nth"] == str(mutant.nth)) if of_code else 0.0


def _alike(one: str, other: str) -> float:
    if one == other:
        return 1.0
    matcher = difflib.SequenceMatcher(None, one, other, autojunk=False)
    return matcher.ratio() if matcher.real_quick_ratio() > 0.6 and matcher.quick_ratio() > 0.6 else 0.0


# ---------------------------------------------------------------------------------------------- the code of a mutant


def mutated(tree: Path, mutant: Mutant) -> CodeType:
    """Compile the module with the change in it."""
    path = tree / mutant.module
    parsed = ast.parse(_source(path))
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


_Mark = tuple[str, str, int]


def _mark(code: CodeType) -> _Mark:
    return code.co_filename, code.co_qualname, code.co_firstlineno


def living_functions(tree: Path) -> dict[_Mark, list[FunctionType]]:
    """Find every function of the program that has been made so far, by where its code stands."""
    within = str(tree / "cooperage")
    found: dict[_Mark, list[FunctionType]] = defaultdict(list)
    for each in gc.get_objects():
        if isinstance(each, FunctionType) and each.__code__.co_filename.startswith(within):
            found[_mark(each.__code__)].append(each)
    return found


def swap_in(tree: Path, mutant: Mutant, living: Mapping[_Mark, list[FunctionType]]) -> bool:
    """Give the living functions the mutant's code; False where that cannot be done."""
    path = str(tree / mutant.module)
    before = _functions(compile(_source(tree / mutant.module), path, "exec", dont_inherit=True))
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


# ---------------------------------------------------------------------------------------------- which test runs what


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
    pytest.main([*_options(tree), *_files(tree, tests)], plugins=[plugin])
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


def _options(tree: Path) -> list[str]:
    return [f"--rootdir={tree}", f"--confcutdir={tree}", "-q", "-s", "--no-header", "-p", "no:cacheprovider"]


def _files(tree: Path, tests: Iterable[str]) -> list[str]:
    found: list[str] = []
    for each in tests:
        path = tree / each
        found += [str(file) for file in (sorted(path.glob("**/test_*.py")) if path.is_dir() else [path])]
    return [file for file in found if not file.endswith(LEFT_OUT)]


@cache
def _users(tree: Path) -> Mapping[str, list[tuple[str, int]]]:
    """Where in functions each name is used, over the whole program: module and line."""
    used: dict[str, list[tuple[str, int]]] = defaultdict(list)
    for path in sorted(tree.glob("cooperage/**/*.py")):
        module = str(path.relative_to(tree))
        for node in ast.walk(ast.parse(_source(path))):
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
    parsed = ast.parse(_source(tree / mutant.module))
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

    look(ast.parse(_source(path)).body)
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


# ---------------------------------------------------------------------------------------------- the trial


@dataclass(frozen=True)
class Trial:
    """A mutant and the tests it is to meet."""

    mutant: Mutant
    tests: list[str]
    seconds: float
    covering: int


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
        self.living: Mapping[_Mark, list[FunctionType]] = {}

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
            return "cannot be swapped in"
        session.config.pluginmanager.register(_FirstFailure([], tell))
        for item, following in zip(items, [*items[1:], None], strict=True):
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
        return "\n".join(failed) or "survived"


def try_warm(
    tree: Path, tests: Sequence[str], trials: Iterable[Trial], keep: Callable[[Trial, str, float], None]
) -> None:
    """Try mutants in children of a process that has imported everything."""
    pytest.main([*_options(tree), *_files(tree, tests)], plugins=[_Warm(tree, trials, keep)])


def try_cold(tree: Path, trials: Iterable[Trial], keep: Callable[[Trial, str, float], None]) -> None:
    """Try mutants in children that import the program afresh; only what it builds on is there already."""
    for name in ("numpy", "scipy.optimize", "scipy.stats", "pandas", "sqlalchemy", "alembic", "hypothesis"):
        importlib.import_module(name)

    def work(trial: Trial, tell: Callable[[str], None]) -> str:
        import_instead(tree, trial.mutant)
        files = sorted({str(tree / name.partition("::")[0]) for name in trial.tests})
        code = pytest.main([*_options(tree), *files], plugins=[_FirstFailure(trial.tests, tell)])
        return "survived" if code == pytest.ExitCode.OK else f"killed by pytest ({code!r})"

    for trial in trials:
        keep(trial, *_in_child(partial(work, trial), trial.seconds + 5))


# ---------------------------------------------------------------------------------------------- all of it


def _trials(tree: Path, mutants: Iterable[Mutant], reach: Reach, *, again: bool) -> list[Trial]:
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


class _Results:
    """What came out so far, kept in a file as it comes, so that a run can be stopped and taken up."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.by_key: dict[str, dict[str, Any]] = {}
        self.read()

    def read(self) -> None:
        """Read what is kept, also by a child."""
        self.by_key.clear()
        for line in self.path.read_text().splitlines() if self.path.exists() else ():
            self._take(json.loads(line))

    def _take(self, result: dict[str, Any]) -> None:
        before = self.by_key.get(result["key"], {"cpu_seconds": 0.0, "tests_run": 0, "passes": 0})
        cpu, tests = (round(before[name] + result[name], 2) for name in ("cpu_seconds", "tests_run"))
        added = {"cpu_seconds": cpu, "tests_run": tests, "passes": before["passes"] + 1}
        self.by_key[result["key"]] = result | added

    def keep(self, trial: Trial, answer: str, cpu: float) -> None:
        """Keep one answer."""
        outcome = answer.split()[0] if answer.startswith(("killed", "survived", "uncovered")) else answer
        result = asdict(trial.mutant) | {
            "outcome": outcome,
            "killer": answer.removeprefix("killed by ") if outcome == "killed" else "",
            "tests_run": len(trial.tests),
            "tests_covering": trial.covering,
            "cpu_seconds": round(cpu, 2),
        }
        self._take(result)
        with self.path.open("a") as out:
            out.write(json.dumps(result) + "\n")
        print(f"{answer[:110]:<60} {trial.mutant.module}:{trial.mutant.line} {trial.mutant.change[:70]}", flush=True)

    def is_done(self, mutant: Mutant) -> bool:
        """Say whether a mutant has met all the tests it is to meet."""
        return int(self.by_key.get(mutant.key, {}).get("passes", 0)) > 1

    def outcome(self, mutant: Mutant) -> str:
        """How a mutant fared, or "" if it was not tried."""
        return str(self.by_key.get(mutant.key, {}).get("outcome", ""))


def _check_harness(tree: Path, tests: Sequence[str], reach: Reach) -> None:
    """Run every test as in a trial, with no mutant, and leave out what fails; a mutant must not be blamed for that."""
    nothing = Mutant("", "", "", "", 0, "", "", "", 0)
    trial = Trial(nothing, choose(reach.names, reach.seconds, len(reach.names), math.inf), math.inf, 0)
    answers: list[str] = []
    try_warm(tree, tests, [trial], lambda _, answer, __: answers.append(answer))
    for failed in answers[0].splitlines():
        print(f"without any mutant: {failed}")
        if failed != "survived":
            del reach.seconds[failed.removeprefix("killed by ")]


def run(tree: Path, tests: Sequence[str], mutants: Sequence[Mutant], reach: Reach, results: _Results) -> None:
    """Try every mutant that was not tried: first against some tests, and what survives against all."""
    for wanted in ("", "survived"):
        due = [mutant for mutant in mutants if results.outcome(mutant) == wanted]
        trials = _trials(tree, [each for each in due if not results.is_done(each)], reach, again=bool(wanted))
        for trial in (each for each in trials if not each.tests):
            results.keep(trial, "uncovered", 0.0)
        cold = [each for each in trials if each.tests and needs_import(tree, each.mutant, reach)]
        warm = [each for each in trials if each.tests and each not in cold]
        if warm:  # in a process of its own, so that this one stays free of the program
            _apart(partial(try_warm, tree, tests, warm, results.keep))
            results.read()
        unfit = [each for each in warm if results.outcome(each.mutant) == "cannot be swapped in"]
        try_cold(tree, cold + unfit, results.keep)


def table(results: Iterable[Mapping[str, Any]], lost: Sequence[str], cpu: float, earlier: Mapping[str, str]) -> str:
    """Write the result for a reader: a row for each room, then each mutant that no test noticed."""
    every = list(results)
    rooms = list(dict.fromkeys(each["room"] for each in every))
    rows = [f"{'room':<12}{'sampled':>9}{'killed':>9}{'survived':>10}{'uncovered':>11}{'killed of covered':>20}"]
    for room in [*rooms, "all"]:
        of = [each for each in every if room in (each["room"], "all")]
        by = Counter(each["outcome"] for each in of)
        share = 100 * by["killed"] / max(1, len(of) - by["uncovered"])
        rows.append(f"{room:<12}{len(of):>9}{by['killed']:>9}{by['survived']:>10}{by['uncovered']:>11}{share:>18.1f} %")
    rows += ["", f"{cpu:.0f} s of CPU for the mutants"]
    if lost:
        rows += [f"{len(lost)} of the earlier mutants are no more: {', '.join(lost)}"]
    for each in every:
        before = earlier.get(each["was"], each["outcome"])
        if before != each["outcome"]:
            rows += [f"{each['key']} (was {each['was']}) {before} before, {each['outcome']} now"]
    for room in rooms:
        left = [each for each in every if each["room"] == room and each["outcome"] != "killed"]
        rows += ["", f"{room}: {len(left)} not killed"]
        for each in sorted(left, key=lambda one: (one["module"], one["line"])):
            rows += [
                f"  {each['key']} {each['module']}:{each['line']} in {each['function']}, {each['kind']}, "
                f"{each['outcome']} ({each['tests_run']} of {each['tests_covering']} covering tests run)",
                f"      {each['change']}",
                f"      {each['text']}",
            ]
    return "\n".join(rows) + "\n"


def main() -> None:
    """Sample, measure, run, and write the results."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--tree", type=Path, default=Path.cwd(), help="the checkout to measure")
    asked.add_argument("--out", type=Path, required=True, help="a folder for what is measured")
    asked.add_argument("--name", default="results", help="the name of the result files")
    asked.add_argument("--per-room", type=int, default=66)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--tests", nargs="*", default=list(TESTS))
    asked.add_argument("--again", type=Path, help="results of an earlier tree, whose mutants to find again")
    asked.add_argument("--renames", type=Path, help="lines of OLD=NEW, used on the earlier tree's names")
    asked.add_argument("--only-sample", action="store_true", help="list the mutants and stop")
    given = asked.parse_args()
    tree = given.tree.resolve()
    given.out.mkdir(parents=True, exist_ok=True)
    lost: list[str] = []
    earlier: dict[str, str] = {}
    if given.again:
        pairs = given.renames.read_text().splitlines() if given.renames else []
        renames = dict(pair.split("=", 1) for pair in pairs if "=" in pair)
        before = json.loads(given.again.read_text())["mutants"]
        earlier = {each["key"]: each["outcome"] for each in before}
        mutants, lost = find_again(tree, before, renames)
    else:
        mutants = [each for room in ROOMS for each in sample(tree, room, given.per_room, given.seed)]
    if given.only_sample:
        for each in mutants:
            print(f"{each.room} {each.module}:{each.line} {each.function} {each.kind}: {each.change} | {each.text}")
        print(f"{len(mutants)} mutants, {len(lost)} of the earlier ones not found")
        return
    _settle_in(tree)
    reach_file = given.out / f"{given.name}.reach.json"
    if not reach_file.exists():
        _apart(partial(measure, tree, given.tests, reach_file))
    reach = read_reach(reach_file)
    results = _Results(given.out / f"{given.name}.jsonl")
    if not results.by_key:
        _apart(partial(_check_harness_into, tree, given.tests, reach, reach_file))
        reach = read_reach(reach_file)
    run(tree, given.tests, mutants, reach, results)
    done = [results.by_key[each.key] for each in mutants]
    cpu = sum(each["cpu_seconds"] for each in done)
    (given.out / f"{given.name}.json").write_text(
        json.dumps({"seed": given.seed, "lost": lost, "mutants": done}, indent=1)
    )
    (given.out / f"{given.name}.txt").write_text(table(done, lost, cpu, earlier))
    print(table(done, lost, cpu, earlier))


def _check_harness_into(tree: Path, tests: Sequence[str], reach: Reach, path: Path) -> None:
    _check_harness(tree, tests, reach)
    kept = json.loads(path.read_text())
    path.write_text(json.dumps(kept | {"seconds": reach.seconds}))


def _apart(work: Callable[[], None]) -> None:
    """Do something in a process of its own, so that this one imports nothing of the program."""
    child = os.fork()
    if child == 0:
        work()
        sys.stdout.flush()
        os._exit(0)
    os.waitpid(child, 0)


def _settle_in(tree: Path) -> None:
    """Make the run repeatable: this tree's code, no bytecode left behind, one thread, hypothesis without chance."""
    os.chdir(tree)
    sys.path.insert(0, str(tree))
    sys.dont_write_bytecode = True
    os.environ |= {
        "CI": "true",
        "PYTHONPATH": str(tree),
        "PYTHONDONTWRITEBYTECODE": "1",
        "OMP_NUM_THREADS": "1",
        "OPENBLAS_NUM_THREADS": "1",
        "COOPERAGE_TEST_POSTGRES": "postgresql://localhost:1/none",
    }


if __name__ == "__main__":
    main()

"""The sample: which mutants of which rooms, drawn by a seed, or found again in code that has moved."""

import ast
import difflib
import hashlib
import math
import random
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache, partial
from pathlib import Path
from typing import Any

from tests.benchmarks.mutants.changes import MAKERS, changes

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

LEAST_LIKE = 0.72  # of two lines of code, to count as the same line after a renaming


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


@cache
def source_of(path: Path) -> str:
    return path.read_text(encoding="utf-8")


@cache
def mutants_of(tree: Path, module: str, room: str) -> tuple[Mutant, ...]:
    """Every mutant of a module, in the order of its source."""
    source = source_of(tree / module)
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
    kinds: dict[str, list[Mutant]] = {kind: [] for kind in MAKERS}
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

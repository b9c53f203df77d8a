"""A new kind of entry cannot be forgotten anywhere: each has a plan, a command, a form, a row, a reverse, a law."""

import ast
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from cooperage.book.declared.acts import KINDS, Strike, faces, figure_of
from cooperage.book.declared.fields import is_required
from cooperage.book.declared.substances import TREATMENTS
from cooperage.book.writing import plans
from cooperage.cli.given import can_be_several
from cooperage.cli.log import log_command

kinds = pytest.mark.parametrize("kind", KINDS.values(), ids=list(KINDS))


@kinds
def test_it_has_a_plan(kind: Any) -> None:
    """Every kind but a strike, which the writer reverses itself, has a plan."""
    assert kind in plans._PLANS or kind is Strike


@kinds
def test_it_declares_every_field(kind: Any) -> None:
    """Every field of its own has a label and says what it holds; arguments come before options, required first."""
    own = faces(kind)
    assert own
    assert all(face.label and face.name for _, face in own)
    places = [face.argument for _, face in own]
    assert places == sorted(places, reverse=True) or kind.kind in ("fill", "rack")


@kinds
def test_it_has_a_command_with_its_options(kind: Any) -> None:
    """`cooperage log KIND` exists, documented, with a parameter for each field."""
    command = log_command.commands[kind.kind]
    assert command.help
    assert len(command.params) >= len(faces(kind))
    left_out = figure_of(kind) if can_be_several(kind) else None
    required = [declared for declared, face in faces(kind) if is_required(declared) and face != left_out]
    assert sum(parameter.required for parameter in command.params) == len(required)


@kinds
def test_the_laws_are_held_against_it(kind: Any) -> None:
    """The generated runs of test_laws.py contain it."""
    laws = Path(__file__).with_name("test_laws.py").read_text()
    assert f"acts.{kind.__name__}" in laws


ROOT = Path(__file__).parents[2] / "cooperage"
LISTED = {
    "programme/several/proposed.py": "which function proposes a figure for which kind; else all get what is typed",
    "book/writing/plans.py": "which function drafts which kind; test_it_has_a_plan fails where one is missing",
    "book/writing/bottle_plans.py": "the same for what is done with bottles",
    "book/writing/lot_plans.py": "the same for what is given of lots",
    "programme/bottling/typed_line.py": "words of a line of a bottling run; some are those of a kind of entry",
    "tui/forms/openers.py": "names of forms; some are those of a kind of entry",
    "programme/today/kinds.py": "which kinds of entry are a remedy for which sign",
    "cli/__init__.py": "names of commands; some are the words of a kind of entry",
}
"""The modules that may name several kinds of entry together, and why."""


def named_together(source: str) -> Iterator[str]:
    """Yield each literal collection or call that names two or more kinds of entry or treatments."""
    names, classes = {*KINDS, *TREATMENTS}, {kind.__name__ for kind in KINDS.values()}
    for node in ast.walk(ast.parse(source)):
        parts: list[Any] = []
        if isinstance(node, ast.Tuple | ast.List | ast.Set):
            parts = node.elts
        elif isinstance(node, ast.Dict):
            parts = node.keys
        elif isinstance(node, ast.Call) and ast.unparse(node.func) != "Binding":
            parts = [part for part in node.args if not isinstance(part, ast.Name | ast.Attribute)]
        texts = {part.value for part in parts if isinstance(part, ast.Constant)} & names
        own = {getattr(part, "id", getattr(part, "attr", None)) for part in parts} & classes
        if len(texts | own) > 1:
            yield ast.unparse(node)


def test_what_is_true_of_several_kinds_is_declared_with_them() -> None:
    """No module keeps a list of kinds of entry or treatments of its own: a new one would be forgotten there."""
    files = {file.relative_to(ROOT).as_posix(): file for file in sorted(ROOT.rglob("*.py"))}
    elsewhere = {name for name in files if not name.startswith("book/declared/")} - LISTED.keys()
    found = {name: kept for name in sorted(elsewhere) if (kept := [*named_together(files[name].read_text())])}
    assert not found
    assert all([*named_together(files[name].read_text())] for name in LISTED), "no exception that is not needed"


@pytest.mark.parametrize(
    "source",
    [
        "CLOSED = ('shift', 'retire')",
        "CLOSED = frozenset({'shift', 'retire'})",
        "CLOSED = {'hot water': 1, 'steam': 2}",
        "CLOSED = [acts.Top, acts.Gauge]",
        "latest(standing, 'taste', 'sample')",
    ],
)
def test_a_list_of_kinds_is_found(source: str) -> None:
    assert [*named_together(source)]


def test_a_field_is_named_without_an_example() -> None:
    """Forms and help put one beside the name."""
    labels = [face.label for kind in KINDS.values() for _, face in faces(kind)]
    assert not [label for label in labels if "such as" in label]

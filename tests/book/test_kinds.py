"""A new kind of entry cannot be forgotten anywhere: each has a plan, a command, a form, a row, a reverse, a law."""

from pathlib import Path
from typing import Any

import pytest

from cooperage.book.declared.acts import KINDS, Strike, faces
from cooperage.book.declared.fields import is_required
from cooperage.book.writing import plans
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
    required = [declared.name for declared, _ in faces(kind) if is_required(declared)]
    assert sum(parameter.required for parameter in command.params) == len(required)


@kinds
def test_the_laws_are_held_against_it(kind: Any) -> None:
    """The generated runs of test_laws.py contain it."""
    laws = Path(__file__).with_name("test_laws.py").read_text()
    assert f"acts.{kind.__name__}" in laws

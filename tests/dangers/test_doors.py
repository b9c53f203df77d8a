"""Every declared danger is shown in every door before anything is written; a new one cannot be declared without.

A door is somewhere work is announced or written. For each there stands, danger by danger, how it comes up there, or why
it cannot. Both tables (`scenarios.py`, `doors.py`) must be complete, and every command must be a door or be named as
none.
"""

from typing import Any

import click
import pytest

from cooperage.book.dangers.dangers import DANGERS
from cooperage.cli import main
from tests.dangers.doors import DOORS, NO_DOOR
from tests.dangers.scenarios import Why


def test_every_command_is_a_door_or_named_as_none() -> None:
    """A new command is one or the other, and somebody has thought about it."""
    doors = {door.split()[0].rstrip(",") for door in DOORS}
    assert doors | set(NO_DOOR) == set(main.list_commands(click.Context(main)))
    assert not doors & set(NO_DOOR)


@pytest.mark.parametrize("door", DOORS)
def test_every_door_knows_of_every_danger(door: Any) -> None:
    """Either how it comes up there, or why it cannot."""
    assert set(DOORS[door][1]) == set(DANGERS)


WALKED = [(door, name) for door, (_, table) in DOORS.items() for name in table if not isinstance(table[name], Why)]


@pytest.mark.slow
@pytest.mark.parametrize(("door", "name"), WALKED)
def test_a_danger_is_shown_in_a_door(request: pytest.FixtureRequest, door: Any, name: Any) -> None:
    """What to do stands there in so many words, and it comes before what is written."""
    show, table = DOORS[door]
    fixture = "cellar" if door.startswith(("log", "orders", "blend")) else "dangerous"
    given = [request.getfixturevalue("monkeypatch")] if door.startswith("blend") else []
    shown = show(request.getfixturevalue(fixture), table[name], *given)
    assert DANGERS[name].short[1:] in " ".join(shown.split())

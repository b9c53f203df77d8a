"""A screen names what the screen can do: no message of the program sends a hand on a screen to a shell."""

import ast
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from cooperage.book.errors import NoSuchEntry, NoSuchVessel
from cooperage.tui.on_screen import INSTEAD, on_screen, said
from cooperage.tui.shared.bars import StatusLine
from cooperage.units import DEFAULT

PACKAGE = Path(__file__).parents[2] / "cooperage"
NOT_ON_SCREEN = {
    "programme/upkeep/beginnings.py": "screens give their own words (first_days.MENDS)",
    "exchange/reports/flows.py": "a note at the foot of a printed report",
    "exchange/reports/reports.py": "a sheet of paper, read by a key and by a command",
    "programme/rules/listed.py": "no screen lists rules",
    "programme/rules/kept.py": "no screen lists rules",
    "programme/batches/sheet.py": "no screen writes honeys and batches",
    "book/store/engine.py": "no cellar was opened: there is no screen yet",
}
"""Modules with messages that need no saying on screen, and why."""


def messages(source: str) -> Iterator[str]:
    """Yield every text of a module but its docstrings and examples; X stands for what is filled in."""
    tree = ast.parse(source)
    apart = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    apart |= {id(part) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for part in node.values}
    for node in ast.walk(tree):
        if id(node) in apart:
            continue
        if isinstance(node, ast.JoinedStr):
            yield "".join(str(part.value) if isinstance(part, ast.Constant) else "X" for part in node.values)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value


def found() -> list[tuple[str, str]]:
    """List every message with a command in it, by module."""
    files = [file for file in sorted(PACKAGE.rglob("*.py")) if file.relative_to(PACKAGE).parts[0] != "cli"]
    return [
        (file.relative_to(PACKAGE).as_posix(), text)
        for file in files
        if file.name != "on_screen.py" and "cooperage " in (source := file.read_text())
        for text in messages(source)
        if "`cooperage " in text
    ]


@pytest.mark.parametrize(("module", "text"), [each for each in found() if each[0] not in NOT_ON_SCREEN])
def test_no_message_sends_a_hand_from_a_screen_to_a_shell(module: str, text: str) -> None:
    assert "cooperage " not in on_screen(text), module


def test_every_exception_and_every_saying_is_still_needed() -> None:
    """A message that went away takes its row with it."""
    texts = found()
    assert NOT_ON_SCREEN.keys() <= {module for module, _ in texts}
    for pattern, instead in INSTEAD.items():
        assert any(instead in on_screen(text) for _, text in texts), pattern


def test_what_names_no_command_stays_as_it_is() -> None:
    assert on_screen("B-017 holds 1.8 L") == "B-017 holds 1.8 L"


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (NoSuchVessel("Q-1"), "there is no vessel 'Q-1'; / finds one by a part of its tag"),
        (NoSuchEntry("77"), "there is no entry '77'; F9 shows the entries"),
    ],
)
def test_a_refusal_names_the_key(error: Any, words: str) -> None:
    assert said(error, DEFAULT) == words


async def test_a_tag_that_is_not_there_is_refused_with_keys(opened: Any, press: Any) -> None:
    """On the status line of a screen, where most refusals stand."""
    async with opened(page="book") as pilot:
        await press(pilot, "QQ-4711", "enter")
        words = str(pilot.app.screen.query_one(StatusLine).render())
    assert words == "Not understood: there is no vessel 'QQ-4711'; / finds one by a part of its tag. + registers it."

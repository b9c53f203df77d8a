"""One key has one meaning: every binding comes from the one table, and every bar and list of keys reads it."""

import ast
import re
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from cooperage.tui.app import PAGES
from cooperage.tui.keys import ENTERS, TABLE, key_of, key_words
from cooperage.tui.shared.bars import active_keys

TUI = Path("cooperage/tui")
_KEPT_BY_OTHERS = {"ctrl+a", "ctrl+b", "ctrl+w", "ctrl+t", "ctrl+n", "ctrl+h", "ctrl+i", "ctrl+m", "f10", "f11", "f12"}
"""Keys of multiplexers, browsers and windows, and other names of Backspace, Tab and Enter."""


def test_no_key_has_two_rows_and_no_word_two_keys() -> None:
    """The table is one to one."""
    keys = Counter(key for row in TABLE.values() for key in row.key.split(","))
    assert [key for key, count in keys.items() if count > 1] == []
    assert len({row.means for row in TABLE.values()}) == len(TABLE)


def test_every_key_can_be_sent_and_is_free() -> None:
    """None with Alt, none that a multiplexer, a browser or a window keeps; letters are small: capitals begin a tag."""
    keys = {key for row in TABLE.values() for key in row.key.split(",")}
    assert not keys & _KEPT_BY_OTHERS
    assert not [key for key in keys if key.startswith("alt+") or (len(key) == 1 and not key.islower())]
    assert ENTERS == ("enter", "ctrl+j")


def test_no_binding_is_made_elsewhere() -> None:
    """`Binding(...)` stands in `keys.py` alone; everything else binds a row of the table by its word."""
    made = [
        f"{path}:{node.lineno}"
        for path in sorted(TUI.rglob("*.py"))
        if path.name != "keys.py"
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Binding"
    ]
    assert made == []


@pytest.mark.slow
@pytest.mark.parametrize("page", [page.name for page in PAGES])
async def test_what_a_screen_binds_is_as_the_table_has_it(opened: Any, page: str) -> None:
    """Whatever a screen's own key does, its key is the one that the table has for that word."""
    async with opened(page=page) as pilot:
        for active in active_keys(pilot.app.screen, with_cursor=True):
            key = key_of(active.binding)
            assert key is not None, active.binding
            assert active.binding.key in key.key.split(",")


def test_messages_name_keys_by_the_table() -> None:
    """A sentence that says which key to press asks the table for it."""
    found = [
        f"{path}: {line.strip()}"
        for path in sorted(TUI.rglob("*.py"))
        for line in path.read_text(encoding="utf-8").splitlines()
        if re.search(r"[Pp]ress ([a-z]|F\d|Ctrl\+\w)\b", line) and '"""' not in line
    ]
    assert found == []


def test_keys_are_written_as_they_stand_on_the_keyboard() -> None:
    """No name of the code is shown."""
    assert [key_words(key) for key in ("enter", "ctrl+z", "f1", "question_mark", "plus", "t")] == [
        "Enter", "Ctrl+Z", "F1", "?", "+", "t",
    ]  # fmt: skip

"""The short way of a key of the cursor: from the app to what it moves, past every queue in between.

Textual sends a key to what is focused and lets it rise from there, through the queue of each room around it, to the
app, which only then asks what the key is bound to. That way takes as long as to draw what the key moves.
"""

from functools import cache
from typing import Any

from textual import events
from textual.app import App
from textual.widget import Widget
from textual.widgets import Input

from cooperage.tui.keys import TABLE

_MOVES = frozenset(TABLE[word].key for word in ("next", "previous", "up", "down", "page up", "page down"))
_BESIDE = frozenset(TABLE[word].key for word in ("left", "right", "first", "last"))
"""Keys that move the cursor of a list, and within the text of a box."""


async def moved_at_once(app: App[Any], key: events.Key) -> bool:
    """Do what a key of the cursor is bound to, and return True; False of all other keys, and where a key is wanted."""
    focused = app.focused
    if focused is None or app.screen.maximized is not None:
        return False
    moves = key.key in _MOVES or (key.key in _BESIDE and not isinstance(focused, Input))
    if not moves or any(_wants_keys(type(node)) for node in focused.ancestors_with_self):
        return False
    return await app._check_bindings(key.key, priority=True) or await app._check_bindings(key.key)


@cache
def _wants_keys(kind: type) -> bool:
    """Return True if a kind of widget may do something with a key of the cursor besides what it is bound to."""
    if getattr(kind, "HEARS_LETTERS_ALONE", False):
        return False
    mine = (base for base in kind.__mro__ if base not in (Widget, Input, App))
    return any(name in ("on_key", "_on_key") or name.startswith("key_") for base in mine for name in vars(base))

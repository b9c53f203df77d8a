"""The one table of keys: what each key means, everywhere. Every screen, dialog, list and box binds its keys from here.

A letter acts only where no box has the cursor. Capitals and digits begin a scanned tag, so no act has one. No key is
one that a terminal, a multiplexer, a browser or a window keeps for itself. `Ctrl+J` counts as Enter: it is the line
feed that the number pad's Enter sends in many terminals.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from textual.binding import Binding
from textual.dom import DOMNode

Group = Literal["act", "go", "always", "cursor"]
"""Where a key stands on the bar: acts first, then ways to go, then what works always; cursor keys stand in none."""


@dataclass(frozen=True, slots=True)
class Key:
    """A key and its one meaning: `word` is short, for the bar; `means` stands in the list of keys.

    `key` is the name Textual has for it, with other keys that terminals send for it after commas.
    """

    key: str
    word: str
    means: str
    group: Group = "act"

    @property
    def first(self) -> str:
        """The key itself, without what else counts as it."""
        return self.key.partition(",")[0]


TABLE: Mapping[str, Key] = {
    key.word: key
    for key in (
        Key("enter,ctrl+j", "enter", "do what is announced; open; choose"),
        Key("escape", "back", "one step back: clear, leave, return where you were", "go"),
        Key("tab", "next", "next field, list or rack", "cursor"),
        Key("shift+tab", "previous", "field, list or rack before", "cursor"),
        Key("up", "up", "row before", "cursor"),
        Key("down", "down", "next row", "cursor"),
        Key("left", "left", "sideways: cursor, column, neighbour before", "cursor"),
        Key("right", "right", "sideways: cursor, column, next neighbour", "cursor"),
        Key("pageup", "page up", "page before", "cursor"),
        Key("pagedown", "page down", "next page", "cursor"),
        Key("home", "first", "first, or start of the text", "cursor"),
        Key("end", "last", "last, or end of the text", "cursor"),
        Key("f1", "guide", "the guide, open at the page of this screen", "always"),
        Key("f2", "today", "today: what is wrong, what is to do", "go"),
        Key("f3", "rounds", "rounds: the walk, stop by stop", "go"),
        Key("f4", "racks", "racks: the cellar as it stands", "go"),
        Key("f5", "barrel", "the page of one vessel", "go"),
        Key("f6", "panel", "panel: flights and scores", "go"),
        Key("f7", "blend", "blend: a brief and what answers it", "go"),
        Key("f8", "lots", "lots, bottlings, recall", "go"),
        Key("f9", "book", "the book: entries; losses", "go"),
        Key("ctrl+p", "all", "every act, place, vessel and setting by name", "always"),
        Key("ctrl+z", "strike last", "strike the last entry, after showing it", "always"),
        Key("ctrl+s", "write", "write the whole page: form, slip, flight, brief; close a run"),
        Key("ctrl+o", "who", "who is at work", "always"),
        Key("ctrl+l", "list", "list what may stand in this field"),
        Key("ctrl+c", "copy", "copy the row, or what is selected", "always"),
        Key("ctrl+q", "quit", "leave the program", "always"),
        Key("slash", "find", "find a vessel, lot, bottling, word or note", "go"),
        Key("question_mark", "keys", "the keys that act now", "always"),
        Key("plus", "yes", "yes: it is so; all in order; draw it in any case"),
        Key("minus", "no", "no: leave this out; skip this vessel; never draw it"),
        Key("less_than_sign", "trace back", "trace back: what this came from"),
        Key("greater_than_sign", "trace on", "trace on: what this reached"),
        Key("asterisk", "out of reach", "this vessel is out of reach"),
        Key("space", "mark", "choose this row too; tick a box"),
        Key("a", "add", "add a substance"),
        Key("b", "bottle", "bottle"),
        Key("c", "check", "check: a count against the book, the book against itself; blends by trials"),
        Key("d", "dip", "dip or weigh: how much is in it"),
        Key("e", "edit", "edit: brief, place, lot, vessel"),
        Key("f", "fill", "fill from a tank or barrel"),
        Key("g", "glasses", "glasses: what to pour for a flight or on the bench"),
        Key("h", "print", "print or save this"),
        Key("i", "receive", "receive mead, or bottles that come back"),
        Key("j", "judge", "judge: what becomes of it; which glass to scale up"),
        Key("k", "rack", "rack: pump it elsewhere"),
        Key("l", "look", "look: what is seen and smelled"),
        Key("m", "move", "move: set down on the racks, its place typed elsewhere; bottles into a store"),
        Key("n", "new", "new: vessel, lot, flight, trial, run"),
        Key("o", "open", "open a file, or what was kept"),
        Key("p", "pour", "pour the plan; pour bottles back"),
        Key("q", "rows", "rows: filter and order of the list"),
        Key("r", "read", "read: any readings, or a lab's"),
        Key("s", "sample", "pull a sample"),
        Key("t", "top", "top up"),
        Key("u", "upkeep", "upkeep: how often, and what limits"),
        Key("v", "view", "view: the next side of this"),
        Key("w", "barrel work", "barrel work: rinse, steam, sulphur, swell, taste, sniff"),
        Key("x", "strike", "strike this entry"),
        Key("y", "order", "order: write down what is to be done"),
        Key("z", "retire", "end of service; a taster or bottles leave"),
    )
}
"""Every key by its word."""


OVER_DIALOGS: Mapping[str, str] = {
    **{word: f"go('{word}')" for word, key in TABLE.items() if key.group == "go" and key.key.startswith("f")},
    "guide": "guide",
    "keys": "keys",
    "all": "everything",
    "who": "who",
}
"""What keys of the app act under a dialog too, by their words, with what the app does; what is typed there waits."""

ENTERS = tuple(TABLE["enter"].key.split(","))
"""The keys that count as Enter."""


def bound(word: str, action: str, here: str = "", *, show: bool | None = None, priority: bool = False) -> Binding:
    """Return the binding of a key, by its word in the table, to an action; `here` is its word in this place.

    Keys of the cursor are not on the bar unless asked for.
    """
    key = TABLE[word]
    is_shown = key.group != "cursor" if show is None else show
    return Binding(key.key, action, here or word, show=is_shown, priority=priority, id=word)


def pressed(word: str) -> str:
    """Return a key of the table as a sentence names it: of "view" it is "v"."""
    return key_words(TABLE[word].first)


def rebind(node: DOMNode, binding: Binding) -> None:
    """Give one screen, list or box of its kind another binding than its kind has for a key."""
    for each in Binding.make_bindings([binding]):
        node._bindings.key_to_bindings[each.key] = [each]


def key_of(binding: Binding) -> Key | None:
    """Return the row of the table that a binding was made from; None for what a library binds by itself."""
    return TABLE.get(binding.id or "")


def words_of_key(binding: Binding) -> str:
    """Return what a key does here; where that is its word alone, what it means everywhere."""
    key = key_of(binding)
    if key is None or key.group == "act" or binding.description != key.word:
        return binding.description
    return key.means


_WRITTEN = {
    "enter": "Enter", "escape": "Esc", "slash": "/", "question_mark": "?", "plus": "+", "minus": "-", "asterisk": "*",
    "less_than_sign": "<", "greater_than_sign": ">",
    "up": "↑", "down": "↓", "left": "←", "right": "→", "space": "Space", "tab": "Tab", "shift+tab": "Shift+Tab",
    "pageup": "PgUp", "pagedown": "PgDn", "home": "Home", "end": "End", "backspace": "Backspace", "delete": "Del",
}  # fmt: skip


def key_words(key: str) -> str:
    """Write a key as it stands on the keyboard: "enter" is Enter, "ctrl+z" is Ctrl+Z, "f1" is F1."""
    if key in _WRITTEN:
        return _WRITTEN[key]
    if key.startswith("ctrl+"):
        return f"Ctrl+{key_words(key[5:]).upper()}"
    return key.upper() if len(key) > 1 and key[0] == "f" and key[1:].isdigit() else key

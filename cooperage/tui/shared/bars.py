"""The frame around every screen: the bar of screens, the status line, the bar of keys, the find box."""

from dataclasses import dataclass
from typing import Any, ClassVar

from rich.cells import cell_len
from textual.app import ComposeResult
from textual.binding import ActiveBinding, Binding, BindingType
from textual.containers import Horizontal
from textual.content import Content
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Input, Label, ProgressBar, Static

from cooperage.errors import CooperageError

_WRITTEN_KEYS = {
    "enter": "Enter",
    "escape": "Esc",
    "slash": "/",
    "question_mark": "?",
    "up": "↑",
    "down": "↓",
    "left": "←",
    "right": "→",
    "space": "Space",
    "tab": "Tab",
    "shift+tab": "Shift+Tab",
    "pageup": "PgUp",
    "pagedown": "PgDn",
    "home": "Home",
    "end": "End",
    "backspace": "Backspace",
    "delete": "Del",
    "left_square_bracket": "[",
    "right_square_bracket": "]",
    "comma": ",",
    "full_stop": ".",
    "plus": "+",
    "minus": "-",
}


_GAP = "   "


def key_words(key: str) -> str:
    """Write a key as it stands on the keyboard: "enter" is Enter, "ctrl+z" is Ctrl+Z, "f1" is F1."""
    if key in _WRITTEN_KEYS:
        return _WRITTEN_KEYS[key]
    if key.startswith("ctrl+"):
        return f"Ctrl+{key_words(key[5:]).upper()}"
    return key.upper() if len(key) > 1 and key[0] == "f" and key[1:].isdigit() else key


class KeyBar(Static):
    """The keys that work right now, for what is focused; a click presses a key."""

    def on_mount(self) -> None:
        """Follow every change of focus and of what is possible."""
        self.screen.bindings_updated_signal.subscribe(self, self._bindings_changed)
        self.call_after_refresh(self._show)

    def _bindings_changed(self, _screen: Screen[Any]) -> None:
        self._show()

    def on_resize(self) -> None:
        """Fill the lines again."""
        self._show()

    def _show(self) -> None:
        if not self.is_attached:
            return
        shown: dict[str, Content] = {}
        for key, active in sorted(self.screen.active_bindings.items(), key=self._place):
            if active.binding.show and active.enabled and active.binding.action not in shown:
                shown[active.binding.action] = _key(key, active.binding.description)
        lines = _in_lines(list(shown.values()), self.scrollable_content_region.width or 76)
        if lines != self.content:
            least = self.styles.min_height
            self.styles.height = max(len(lines.split("\n")), int(least.value) if least else 1)
            self.update(lines, layout=False)

    def _place(self, item: tuple[str, ActiveBinding]) -> tuple[bool, bool]:
        """Put the screen's own keys first and quitting last."""
        active = item[1]
        return active.node is self.app, active.binding.action == "quit"


def _key(key: str, what: str) -> Content:
    return Content.assemble((key_words(key), "bold underline"), " ", what).stylize(f"@click=app.press('{key}')")


def _in_lines(keys: list[Content], width: int) -> Content:
    """Set keys in lines of `width`; a key and its word stay on the same line."""
    lines: list[list[Content]] = [[]]
    for key in keys:
        taken = sum(each.cell_length + len(_GAP) for each in lines[-1])
        if taken + key.cell_length > width and lines[-1]:
            lines.append([])
        lines[-1].append(key)
    return Content("\n").join([Content(_GAP).join(line) for line in lines])


class TopBar(Static):
    """The screens and their keys, the current screen in reverse."""

    def __init__(self, pages: tuple[tuple[str, str], ...], current: str) -> None:
        super().__init__(id="top-bar")
        self._pages, self._current = pages, current

    def on_mount(self) -> None:
        """Write the bar once; it does not change."""
        pages = [self._page(key, name) for key, name in self._pages]
        self.update(Content(" ").join(pages))

    def _page(self, key: str, name: str) -> Content:
        words = Content.from_markup(f"[bold]{key.upper()}[/bold] {name}")
        if name == self._current:
            words = words.stylize("reverse")
        return words.stylize(f"@click=app.press('{key}')")


class StatusLine(Static):
    """The line of a screen that shows what was written, or what was refused and why."""

    def __init__(self) -> None:
        super().__init__("", id="status", markup=False)

    def show_message(self, words: str) -> None:
        """Show a message."""
        self.set_class(False, "refused")
        self._lay_out(words)

    def refuse(self, error: CooperageError, words: str) -> None:
        """Show what was not done and why; the word comes first, since colour alone is not enough."""
        self.set_class(True, "refused")
        before = "Refused" if error.exit_status == 1 else "Not understood"
        self._lay_out(f"{before}: {words}")

    def _lay_out(self, words: str) -> None:
        """Lay the screen out again only if the words may take another number of lines."""
        width = self.content_size.width
        fits_a_line = all(text and cell_len(text) <= width for text in (words, str(self.content)))
        self.update(words, layout=not fits_a_line)


class BusyBar(Horizontal):
    """A bar that moves during slow work; shown only when that takes more than a moment."""

    DEFAULT_CSS = "BusyBar { height: 1; padding: 0 1; display: none; } BusyBar ProgressBar { width: 24; }"

    def compose(self) -> ComposeResult:
        """Show what goes on and how to stop it."""
        yield Label("Calculating ")
        yield ProgressBar(show_percentage=False, show_eta=False)
        yield Label(" Esc to cancel")


class FindBox(Input):
    """The box for a typed or scanned tag; hidden until its first letter."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter", "find", "find barrel")]

    @dataclass
    class Typed(Message):
        """Enter was pressed on this tag."""

        tag: str

    def __init__(self) -> None:
        super().__init__(id="find-box", compact=True, placeholder="tag, then Enter")

    def action_find(self) -> None:
        """Post the tag."""
        self.post_message(self.Typed(self.value))

"""Small answers on a form, readable without colour: yes or no, and a choice from a list."""

from collections.abc import Sequence
from typing import ClassVar

from textual import events
from textual.binding import BindingType
from textual.message import Message
from textual.screen import ModalScreen
from textual.widgets import Static

from cooperage.tui.keys import bound
from cooperage.tui.shared.dialogs import Pick


class FlagBox(Static, can_focus=True):
    """Yes or no: "[x] words" or "[ ] words"; Space changes it."""

    DEFAULT_CSS = """
    FlagBox { height: 1; width: auto; text-wrap: nowrap; text-overflow: ellipsis; }
    FlagBox:focus { text-style: reverse; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [bound("mark", "turn", "yes or no")]

    class Changed(Message):
        """It was changed."""

    def __init__(self, words: str, *, id: str) -> None:
        super().__init__("", id=id, markup=False)
        self._words = words
        self.value = False

    def on_mount(self) -> None:
        """Show the answer."""
        self.set_value(self.value)

    def set_value(self, value: bool) -> None:
        """Answer yes or no."""
        self.value = value
        self.update(f"[{'x' if value else ' '}] {self._words}")
        self.post_message(self.Changed())

    def action_turn(self) -> None:
        """Change the answer."""
        self.set_value(not self.value)

    def on_click(self) -> None:
        """Change the answer."""
        self.action_turn()


class Choice(Static, can_focus=True):
    """A choice from a list of (value, words); Enter or Space opens the list."""

    DEFAULT_CSS = """
    Choice { height: 1; width: auto; text-wrap: nowrap; text-overflow: ellipsis; }
    Choice:focus { text-style: reverse; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("enter", "choose", "choose"),
        bound("mark", "choose", "choose", show=False),
    ]

    class Changed(Message):
        """Another value was chosen."""

    def __init__(self, title: str, choices: Sequence[tuple[str, str]], *, id: str) -> None:
        super().__init__("", id=id, markup=False)
        self._title, self._choices = title, list(choices)
        self.value = self._choices[0][0]

    def on_mount(self) -> None:
        """Show the answer."""
        self.set_value(self.value)

    def set_value(self, value: str) -> None:
        """Choose a value, or several separated by commas; a value not on the list is shown as it is."""
        self.value = value
        words = dict(self._choices)
        self.update(f"▾ {', '.join(words.get(part, part) for part in value.split(', '))}")
        self.post_message(self.Changed())

    def on_key(self, event: events.Key) -> None:
        """Open the list narrowed by a letter that is typed in a dialog; on a page letters are keys."""
        if isinstance(self.screen, ModalScreen) and event.is_printable and event.character not in (None, " "):
            event.stop()
            self.action_choose(str(event.character))

    def action_choose(self, letters: str = "") -> None:
        """Open the list, narrowed by letters that were typed."""

        def chosen(value: str | None) -> None:
            if value is not None:
                self.set_value(value)

        self.app.push_screen(Pick(self._title, self._choices, self.value, letters=letters), chosen)

    def on_click(self) -> None:
        """Open the list."""
        self.action_choose()

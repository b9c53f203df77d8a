"""The box of the rounds: a volume or other figure, a scanned tag, and letter keys while it is empty."""

from collections.abc import Callable
from typing import ClassVar

from textual import events
from textual.binding import Binding, BindingType
from textual.geometry import Size
from textual.reactive import Reactive
from textual.widgets import Input


class AnswerBox(Input):
    """A box that leaves small letters and / to the keys of the screen while nothing is typed in it.

    A figure begins with a digit and a scanned tag with a capital, so both still go in.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "hand_over", "write, next"),
        Binding("ctrl+k", "screen.keg", "keg", show=False),
    ]
    # What is typed never changes the room the box takes; else every letter would lay out the whole screen again.
    virtual_size = Reactive(Size(0, 0), layout=False)

    def __init__(self, answer: Callable[[str], None]) -> None:
        super().__init__(id="answer", compact=True, select_on_focus=False)
        self._answer = answer
        self._given_back = ""
        self._is_for_words = False

    def open_to_words(self) -> None:
        """Accept a small letter at the beginning of the next line; Escape, or an empty line, closes that again."""
        self._set_words("full, low, weeping, vinegar, dip 30, so2 24, air 13 78; note")

    def forget(self) -> None:
        """Empty the box, and close it to words."""
        self.value = ""
        self._close_to_words()

    def _close_to_words(self) -> None:
        if self._is_for_words:
            self._set_words("")

    def _set_words(self, hint: str) -> None:
        self._is_for_words, self.placeholder = bool(hint), hint
        if self.parent is not None:
            self.parent.set_class(bool(hint), "words")  # the row gives the line the room it needs
        self.refresh_bindings()

    def _is_command(self, character: str | None) -> bool:
        return (
            not self.value
            and not self._is_for_words
            and character is not None
            and (character.islower() or character in "/?")
        )

    def check_consume_key(self, key: str, character: str | None) -> bool:
        """Leave commands to the screen, and to its key bar."""
        return not self._is_command(character) and super().check_consume_key(key, character)

    def on_key(self, event: events.Key) -> None:
        """Pass a command to the screen's bindings instead of typing it."""
        if self._is_command(event.character):
            event.prevent_default()

    def action_hand_over(self) -> None:
        """Empty the box, so that what is typed next belongs to the next answer, and answer with what was in it."""
        text, self.value = self.value.strip(), ""
        self._close_to_words()
        self._answer(text)

    def give_back(self, text: str) -> None:
        """Put back what was not written, unless something has been typed since."""
        if not self.value:
            self.value = self._given_back = text
            self.cursor_position = len(text)

    def settle(self) -> None:
        """Remove what was given back and has been written since."""
        if self.value == self._given_back:
            self.value = ""
        self._given_back = ""

    def watch_value(self, before: str, value: str) -> None:
        """The keys that work change with the first letter typed, and with the last letter deleted."""
        if bool(before) != bool(value):
            self.refresh_bindings()

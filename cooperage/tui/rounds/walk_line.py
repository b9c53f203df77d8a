"""The line of the rounds: the cursor is there from the start, letters are words, and while it is empty signs act."""

from typing import ClassVar

from rich.text import Text
from textual import events
from textual.binding import BindingType

from cooperage.tui.drafts import HalfTyped
from cooperage.tui.keys import bound
from cooperage.tui.shared.bars import FindBox

_YES_OR_NO, _SIGNS = "+-", "+-*/?"


class WalkLine(FindBox):
    """A line in which every letter is text; + - * / ? act while nothing is typed, + and - also answer a question."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("enter", "screen.hand_over", "write"),
        bound("yes", "screen.answer_yes", "yes"),
        bound("no", "screen.answer_no", "back to the line"),
        bound("yes", "screen.do_order", "as ordered"),
        bound("yes", "screen.all_in_order", "in order"),
        bound("no", "screen.leave_stop('skipped')", "skip"),
        bound("out of reach", "screen.leave_stop('out of reach')", "out of reach"),
    ]

    def __init__(self) -> None:
        super().__init__("line", "litres, then what else: 1.0; so2 24; weeping, vinegar")
        self.can_focus = True
        self.select_on_focus = False
        self.is_asked = False
        self.may_be_brought_back = ""
        self._refused_word: tuple[int, int] | None = None

    @property
    def draft(self) -> HalfTyped:
        """What is typed, and where the cursor stands."""
        return HalfTyped(self.value, self.cursor_position)

    def put(self, draft: HalfTyped) -> None:
        """Show what was typed before."""
        self.mark_refused(None)
        if self.value != draft.text:
            self.value = draft.text
        self.cursor_position = draft.cursor

    def mark_refused(self, place: tuple[int, int] | None) -> None:
        """Show where the word stands that is not understood."""
        if place != self._refused_word:
            self._refused_word = place
            self.refresh()

    @property
    def _value(self) -> Text:
        text = super()._value
        if self._refused_word is not None:
            text.stylize("reverse", *self._refused_word)
        return text

    def _is_sign(self, character: str | None) -> bool:
        acts = _SIGNS if not self.value else _YES_OR_NO if self.is_asked else ""
        return bool(character) and str(character) in acts

    def check_consume_key(self, key: str, character: str | None) -> bool:
        """Leave the signs that act to the keys of the line and of the screen."""
        return not self._is_sign(character) and super().check_consume_key(key, character)

    def on_key(self, event: events.Key) -> None:
        """Pass a sign that acts to the bindings instead of typing it."""
        if self._is_sign(event.character):
            event.prevent_default()

    def action_cursor_right(self, select: bool = False) -> None:
        """Go right; in an empty line, bring back what was cleared."""
        if not self.value and self.may_be_brought_back:
            self.put(HalfTyped(self.may_be_brought_back, len(self.may_be_brought_back)))
        else:
            super().action_cursor_right(select)

    def watch_value(self, before: str, value: str) -> None:
        """The keys that work change with the first letter typed, and with the last letter deleted."""
        self.mark_refused(None)
        if bool(before) != bool(value):
            self.refresh_bindings()

"""The line of a score sheet: a taster's name, then a line for each glass; words are proposed by first letters."""

from collections.abc import Callable
from typing import ClassVar

from textual.binding import BindingType
from textual.geometry import Size
from textual.reactive import Reactive, reactive
from textual.widgets import Input

from cooperage.tui.drafts import HalfTyped
from cooperage.tui.keys import bound


class GlassLine(Input):
    """A line that takes every letter; Right takes what is proposed, or brings back what was cleared."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("enter", "screen.take_line", "take"),
        bound("up", "screen.step(-1)", "glass before", show=True),
        bound("down", "screen.step(1)", "next glass", show=True),
    ]
    HEARS_LETTERS_ALONE: ClassVar = True
    virtual_size = Reactive(Size(0, 0), layout=False)  # what is typed never changes the room it takes
    _suggestion = reactive("")

    def __init__(self, whole: Callable[[str], str]) -> None:
        super().__init__(id="line", compact=True, select_on_focus=False)
        self.cursor_blink = False  # to blink draws the line twice a second
        self._whole = whole
        self.cleared = ""

    @property
    def draft(self) -> HalfTyped:
        """What is typed, and where the cursor stands."""
        return HalfTyped(self.value, self.cursor_position)

    def put(self, text: str, cursor: int | None = None) -> None:
        """Show another line without posting that it was typed."""
        with self.prevent(Input.Changed):
            self.value = text
        self.cursor_position = len(text) if cursor is None else cursor
        self._suggestion = ""

    def propose(self) -> None:
        """Propose the rest of what is begun at the end of the line."""
        whole = self._whole(self.value) if self.cursor_at_end else ""
        self._suggestion = whole if whole != self.value else ""

    def action_cursor_right(self, select: bool = False) -> None:
        """Take what is proposed; bring back what was cleared; else go right."""
        if self.cleared and self.cursor_at_end and not self._suggestion:
            self.value, self.cleared = self.cleared, ""
            self.cursor_position = len(self.value)
        else:
            super().action_cursor_right(select)

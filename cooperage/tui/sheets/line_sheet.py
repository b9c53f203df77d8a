"""A sheet with one line that does it all; what is half typed is kept for the day, on disk too."""

from collections.abc import Callable
from typing import ClassVar, TypeVar

from textual.binding import BindingType
from textual.geometry import Size
from textual.reactive import Reactive, reactive
from textual.screen import ModalScreen
from textual.timer import Timer
from textual.widgets import Input

from cooperage.errors import CooperageError
from cooperage.tui.drafts import Drafts, HalfTyped
from cooperage.tui.drawing import KeepsStyles
from cooperage.tui.keys import bound
from cooperage.tui.on_screen import said
from cooperage.tui.shared.bars import StatusLine
from cooperage.tui.shared.desk import Desk, desk_of
from cooperage.units import local_day

T = TypeVar("T")

_SAVED_S = 0.2
"""Seconds until what is half typed stands on disk: to write it at each key would take longer than to draw the key."""


def _nothing(_text: str) -> str:
    return ""


class SheetInput(Input):
    """A line that takes every letter; Right takes what is proposed, or brings back what was cleared."""

    BINDINGS: ClassVar[list[BindingType]] = [bound("enter", "screen.take_line", "take")]
    HEARS_LETTERS_ALONE: ClassVar = True
    virtual_size = Reactive(Size(0, 0), layout=False)  # what is typed never changes the room it takes
    _suggestion = reactive("")

    def __init__(self, whole: Callable[[str], str] = _nothing) -> None:
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


class LineSheet(KeepsStyles[T], ModalScreen[T]):
    """A sheet whose line is kept half typed by the name of what it is about, and for the day on disk too."""

    def __init__(self) -> None:
        super().__init__()
        self._drafts = Drafts()
        self._saving: Timer | None = None

    @property
    def desk(self) -> Desk:
        """Where it is written."""
        return desk_of(self.app)

    @property
    def _subject(self) -> str:
        """What the sheet is about: its half-typed lines are kept in one file by it."""
        raise NotImplementedError

    @property
    def _draft_name(self) -> str:
        """By what the line in hand is kept."""
        raise NotImplementedError

    @property
    def _is_written(self) -> bool:
        """Return True if the book holds what stands in the line."""
        return not self._line.value.strip()

    @property
    def _kept_as(self) -> tuple[str, str]:
        """By what half-typed lines of this sheet are kept, and for which day."""
        return f"{self.desk.book.name}\n{self._subject}", str(local_day(self.desk.book.now()))

    @property
    def _line(self) -> SheetInput:
        return self.query_one(SheetInput)

    def _keep_draft(self) -> None:
        """Keep what is half typed, a moment later on disk too; what is written is no draft."""
        self._drafts.keep(self._draft_name, HalfTyped() if self._is_written else self._line.draft)
        if self._saving is None:
            self._saving = self.set_timer(_SAVED_S, self._save)

    def _save(self) -> None:
        self._saving = None
        self._drafts.save(*self._kept_as)

    def on_unmount(self) -> None:
        """Save what is half typed before the sheet or the program ends."""
        self._save()

    def _show(self, words: str) -> None:
        self.query_one(StatusLine).show_message(words)

    def _refused(self, error: CooperageError) -> None:
        self.query_one(StatusLine).refuse(error, said(error, self.desk.units))

"""The sheet that tasters sit down to, and its line: a name, then what is given; half typed, it is kept for the day."""

from collections.abc import Callable
from typing import ClassVar

from rich.style import Style
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal
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
from cooperage.tui.shared.bars import KeyBar, StatusLine
from cooperage.tui.shared.desk import Desk, desk_of
from cooperage.tui.shared.ink import ground
from cooperage.tui.shared.line_list import LineList
from cooperage.tui.shared.steady import Steady
from cooperage.units import local_day

_SAVED_S = 0.2
"""Seconds until what is half typed stands on disk: to write it at each key would take longer than to draw the key."""


class GlassRows(LineList):
    """The rows of a glass; they stand on the plain ground, which the style sheet need not be asked for each."""

    @property
    def rich_style(self) -> Style:
        """The style of the ground."""
        return ground(self.app)


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


class TasterSheet(KeepsStyles[None], ModalScreen[None]):
    """A sheet of a blind flight: whose turn it is, the glasses, what Enter takes, and one line that does it all.

    What is half typed is kept by the name of its line, and for the day on disk too.
    """

    CSS_PATH = "screen.tcss"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (80, "-usual")]  # noqa: RUF012 - typed by Textual
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("who", "other_taster", "other taster"),
        bound("back", "clear_or_close", "close"),
    ]
    HINT: ClassVar = ""

    def __init__(self, flight_code: str) -> None:
        super().__init__()
        self._taster = ""
        self._drafts = Drafts()
        self._saving: Timer | None = None
        self._flight_code = flight_code

    @property
    def desk(self) -> Desk:
        """Where it is written."""
        return desk_of(self.app)

    def compose(self) -> ComposeResult:
        """The flight and whose turn it is; the glasses; what Enter takes; the line; the keys."""
        yield Steady("", id="sheet-title")
        yield GlassRows(id="glass", can_focus=False, takes=False)
        yield StatusLine()
        yield Steady(self.HINT, id="hint", markup=False)
        with Horizontal(id="line-bar"):
            yield Steady("taster ›", id="prompt", markup=False)
            yield GlassLine(self._whole)
        yield KeyBar()

    def on_mount(self) -> None:
        """Take up what was half typed today, and ask for the taster."""
        self._drafts.take_up(*self._kept_as)
        self.set_focus(self._line)
        self.ask_for_taster("")

    def ask_for_taster(self, done: str) -> None:
        """Close the glasses and ask who comes next; `done` is what was done."""
        raise NotImplementedError

    def _whole(self, text: str) -> str:
        """Return the line with what is begun completed."""
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
        """By what half-typed lines of this flight are kept, and for which day."""
        return f"{self.desk.book.name}\n{self._flight_code}", str(local_day(self.desk.book.now()))

    @property
    def _line(self) -> GlassLine:
        return self.query_one(GlassLine)

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

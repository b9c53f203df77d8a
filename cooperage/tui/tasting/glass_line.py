"""The sheet that tasters sit down to, and its line: a name, then what is given; half typed, it is kept for the day."""

from typing import ClassVar

from rich.style import Style
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal

from cooperage.tui.keys import bound
from cooperage.tui.shared.bars import KeyBar, StatusLine
from cooperage.tui.shared.ink import ground
from cooperage.tui.shared.line_list import LineList
from cooperage.tui.shared.steady import Steady
from cooperage.tui.sheets.line_sheet import LineSheet, SheetInput


class GlassRows(LineList):
    """The rows of a glass; they stand on the plain ground, which the style sheet need not be asked for each."""

    @property
    def rich_style(self) -> Style:
        """The style of the ground."""
        return ground(self.app)


class GlassLine(SheetInput):
    """A line that takes every letter; Right takes what is proposed, or brings back what was cleared."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("up", "screen.step(-1)", "glass before", show=True),
        bound("down", "screen.step(1)", "next glass", show=True),
    ]


class TasterSheet(LineSheet[None]):
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
        self._flight_code = flight_code

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
    def _subject(self) -> str:
        return self._flight_code

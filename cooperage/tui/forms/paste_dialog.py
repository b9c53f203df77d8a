"""What dialogs share into which text is pasted: the place for it, what it means below, and the keys.

Nothing that was pasted is lost by a refusal: the dialog closes only when all is written, or when it is left.
"""

from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Label, Static, TextArea

from cooperage.book import Cellar
from cooperage.errors import BadInput, CooperageError
from cooperage.programme.pasted.table import Unread, read_text_file
from cooperage.tui.keys import bound
from cooperage.tui.on_screen import said
from cooperage.tui.shared.bars import KeyBar, StatusLine
from cooperage.tui.shared.desk import Desk, desk_of
from cooperage.tui.shared.line_list import LineList
from cooperage.units import read_when


class PasteDialog(ModalScreen[str | None]):
    """Text above, what it means below; closes with the words of what was written, or None.

    A subclass returns what the text means (`look`), and writes it (`action_write`).
    """

    CSS_PATH = "paste_dialog.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("write", "write"),
        bound("next", "app.focus_next", "next field", show=True),
        bound("previous", "app.focus_previous", "previous field"),
        bound("back", "dismiss(None)", "close"),
    ]
    TITLE_WORDS: ClassVar[str]
    HOW: ClassVar[str]

    def __init__(self) -> None:
        super().__init__(classes="dialog paste")
        self._cellars: dict[str, Cellar] = {}

    @property
    def desk(self) -> Desk:
        """Where it is written."""
        return desk_of(self.app)

    def compose(self) -> ComposeResult:
        """Stack the text, when and by whom it was done, what it means, what was refused, and the keys."""
        with Vertical(classes="box"):
            yield Static(self.TITLE_WORDS, markup=False, classes="title")
            yield Static(self.how(), markup=False, classes="how")
            yield TextArea(id="pasted", show_line_numbers=True, compact=True)
            with Horizontal(classes="asked"):
                yield from self.compose_when()
                yield from self.compose_more()
                yield Label("by ")
                yield Input(self.desk.hand, id="hand", compact=True, placeholder="name")
            yield Static("", id="meant", markup=False)
            yield LineList(id="preview", takes=False)
            yield StatusLine()
            yield KeyBar()

    def how(self) -> str:
        """Return what may be pasted, with an example."""
        return self.HOW

    def compose_when(self) -> ComposeResult:
        """Ask when it was done."""
        yield Label("when ")
        yield Input(id="when", placeholder="now", compact=True)

    def compose_more(self) -> ComposeResult:
        """Yield what is asked for between when and hand."""
        yield from ()

    def on_mount(self) -> None:
        """Begin in the text."""
        self.set_focus(self.query_one(TextArea))
        self._looked()

    @property
    def text(self) -> str:
        """What was typed or pasted, or what the file holds whose path it is; raises NotText, FileUnreadable."""
        typed = self.query_one(TextArea).text
        path = _path_in(typed)
        return typed if path is None else read_text_file(path)

    @property
    def hand(self) -> str:
        """Who did it."""
        return self.query_one("#hand", Input).value.strip()

    @property
    def when(self) -> datetime | None:
        """When it was done, None for now; raises NotATime."""
        typed = self.query_one("#when", Input).value.strip()
        return read_when(typed, self.desk.book.now()) if typed else None

    def on_text_area_changed(self) -> None:
        """Show what the text means while it is typed."""
        self._looked()

    def on_input_changed(self) -> None:
        """Show what it means at that time."""
        self._looked()

    @property
    def cellar(self) -> Cellar | None:
        """The cellar as it stood at the time given; None while it is still calculated. Raises NotATime."""
        at, typed = self.when, self.query_one("#when", Input).value.strip()
        if at is None:
            return self.desk.cellar
        if typed not in self._cellars:
            self.run_worker(lambda: self._read_cellar(typed, at), thread=True, exclusive=True)
        return self._cellars.get(typed)

    def _read_cellar(self, typed: str, at: datetime) -> None:
        try:
            cellar = self.desk.book.cellar(at)
        except CooperageError as error:
            self.app.call_from_thread(self._take_cellar, typed, error)
        else:
            self.app.call_from_thread(self._take_cellar, typed, cellar)

    def _take_cellar(self, typed: str, found: Cellar | CooperageError) -> None:
        if not self.is_attached:
            return  # the dialog was left meanwhile
        if isinstance(found, CooperageError):
            self.refused(found)
        else:
            self._cellars[typed] = found
            self._looked()

    def _looked(self) -> None:
        self.query_one(StatusLine).show_message("")
        try:
            meant, lines = self.look()
        except BadInput as error:
            meant, lines = said(error, self.desk.units), []
        self.query_one("#meant", Static).update(meant)
        self.query_one(LineList).set_lines(len(lines), lambda index, _width: Text(lines[index], no_wrap=True))

    def look(self) -> tuple[str, list[str]]:
        """Return what the text means: in a line, and line by line; what needs a check comes first."""
        return "", []

    def action_write(self) -> None:
        """Write what the text means."""

    def refused(self, error: CooperageError) -> None:
        """Show what the book refused; all that was typed stays."""
        self.query_one(StatusLine).refuse(error, error.words(self.desk.units))


def _path_in(typed: str) -> Path | None:
    """Return the file that a text names by its path, if it is nothing but that."""
    words = typed.strip()
    if "\n" in words or not ("/" in words or words.lower().endswith((".csv", ".txt"))):
        return None
    with suppress(OSError, ValueError, RuntimeError):  # too long, or odd letters: no path then
        path = Path(words).expanduser()
        if path.is_file():
            return path
    return None


def unread_line(unread: Unread) -> str:
    """Return a line that was not understood, and why."""
    return f"line {unread.line} NOT UNDERSTOOD: {unread.reason}"

"""A paper sheet of the rounds: when it was walked, and how it is saved."""

from datetime import datetime
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from cooperage.book import Book
from cooperage.errors import BadInput
from cooperage.outfile import new_file
from cooperage.tui.keys import bound
from cooperage.tui.shared.bars import KeyBar
from cooperage.tui.shared.desk import desk_of
from cooperage.units import WHENS, Span, Units, read_when, show_zone


class When(ModalScreen[datetime]):
    """Asks for a day and time, until it is understood."""

    DEFAULT_CSS = "When Input { width: 48; margin: 1 0; }  When #refusal { width: auto; max-width: 68; }"
    BINDINGS: ClassVar[list[BindingType]] = [bound("back", "dismiss(None)", "close")]

    def __init__(self, question: str) -> None:
        super().__init__(classes="dialog")
        self._question = question

    def compose(self) -> ComposeResult:
        """Ask."""
        with Vertical(classes="box"):
            yield Static(self._question, classes="title", markup=False)
            yield Input(id="when", compact=True, placeholder=f"{WHENS[3]}, or {WHENS[1]}")
            yield Static("", id="refusal", markup=False)
            yield KeyBar()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Close with the moment, or show what is wrong with it and keep the text."""
        event.stop()
        try:
            self.dismiss(read_when(event.value, desk_of(self.app).book.now()))
        except BadInput as error:
            self.query_one("#refusal", Static).update(str(error))


def save_sheet(book: Book, path: Path, units: Units, *, force: bool = False) -> None:
    """Save the sheet as a text; raises what `new_file` raises."""
    from cooperage.exchange.reports.reports import rounds_report  # only where a sheet is wanted
    from cooperage.exchange.reports.texts import as_text

    text = as_text(rounds_report(book, Span(), units), units, zone=show_zone(book.now()))
    with new_file(path, force=force) as half_done:
        half_done.write_text(text, encoding="utf-8")

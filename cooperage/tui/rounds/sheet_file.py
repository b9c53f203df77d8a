"""Where the paper sheet of the rounds is saved."""

from datetime import datetime
from pathlib import Path
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from cooperage.book import Book
from cooperage.infile import at_home
from cooperage.outfile import new_file
from cooperage.tui.keys import bound
from cooperage.tui.shared.bars import KeyBar
from cooperage.units import Span, Units, local_day, show_zone


class SheetFile(ModalScreen[Path | None]):
    """Asks for the file of the sheet; one named for the day is proposed."""

    DEFAULT_CSS = "SheetFile Input { width: 60; margin: 1 0; }"
    BINDINGS: ClassVar[list[BindingType]] = [bound("back", "dismiss(None)", "close")]

    def __init__(self, now: datetime) -> None:
        super().__init__(classes="dialog")
        self._now = now

    def compose(self) -> ComposeResult:
        """Ask for the path."""
        with Vertical(classes="box"):
            yield Static("Save the paper sheet of the rounds", markup=False, classes="title")
            yield Input(f"rounds-{local_day(self._now)}.txt", compact=True, placeholder="path of a text, then Enter")
            yield KeyBar()

    @on(Input.Submitted)
    def _typed(self, event: Input.Submitted) -> None:
        event.stop()
        if event.value.strip():
            self.dismiss(at_home(Path(event.value.strip())))


def save_sheet(book: Book, path: Path, units: Units, *, force: bool = False) -> None:
    """Save the sheet as a text; raises what `new_file` raises."""
    from cooperage.exchange.reports.reports import as_text, rounds_report  # only where a sheet is wanted

    text = as_text(rounds_report(book, Span(), units), units, zone=show_zone(book.now()))
    with new_file(path, force=force) as half_done:
        half_done.write_text(text, encoding="utf-8")

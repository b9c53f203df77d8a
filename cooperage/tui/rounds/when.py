"""A dialog that asks for a moment."""

from datetime import datetime
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from cooperage.errors import BadInput
from cooperage.tui.keys import bound
from cooperage.tui.shared.bars import KeyBar
from cooperage.tui.shared.desk import desk_of
from cooperage.units import WHENS, read_when


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

"""A dialog that tells something and is closed again."""

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Static

from cooperage.tui.shared.bars import KeyBar


class Shown(ModalScreen[None]):
    """Lines under a title; longer ones scroll."""

    DEFAULT_CSS = "Shown VerticalScroll { height: auto; max-height: 14; width: 68; margin: 1 0 0 0; }"
    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter,escape", "dismiss(None)", "close")]

    def __init__(self, title: str, lines: Sequence[str]) -> None:
        super().__init__(classes="dialog")
        self._title, self._lines = title, lines

    def compose(self) -> ComposeResult:
        """Show the lines with the key that closes them."""
        with Vertical(classes="box"):
            yield Static(self._title, markup=False, classes="title")
            with VerticalScroll():
                yield Static("\n".join(self._lines), markup=False)
            yield KeyBar()

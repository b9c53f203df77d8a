"""The help screen: the keys that really work where the person was, read from the bindings themselves."""

from collections.abc import Iterable
from typing import ClassVar

from rich.table import Table
from rich.text import Text
from textual.app import ComposeResult
from textual.binding import ActiveBinding, Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.dom import DOMNode
from textual.screen import ModalScreen, Screen
from textual.widgets import Static

from cooperage.tui.shared.bars import KeyBar, key_words
from cooperage.tui.shared.desk import HOW_STRIKING_WORKS

_FINDING = (
    "A barcode scanner is a keyboard that types a tag and Enter: it finds the barrel on every screen. By hand, type "
    "the tag (or / first, where its letters are keys) and Enter. Where function keys do not arrive, Ctrl+G lists the "
    "screens."
)
_PARTS = ("Here", "In this box or list", "Anywhere")


class HelpScreen(ModalScreen[None]):
    """Every key of the screen it was called from, in three parts."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,f1,q", "dismiss(None)", "close")]

    def __init__(self, screen_name: str, about: str, active: Iterable[ActiveBinding]) -> None:
        super().__init__(classes="dialog")
        self._name, self._about = screen_name, about
        self._active = list(active)

    def compose(self) -> ComposeResult:
        """List the keys by where they work."""
        with Vertical(classes="box"):
            yield Static(f"Keys on {self._name}", classes="title")
            with VerticalScroll(id="keys"):
                yield Static(" ".join(self._about.split()), markup=False)
                for title, rows in self.parts().items():
                    yield Static(title, classes="title")
                    yield Static(_table(rows))
                yield Static(f"{_FINDING}\n\n{HOW_STRIKING_WORKS}", markup=False)
            yield KeyBar()

    def parts(self) -> dict[str, list[tuple[str, str]]]:
        """Return (key, what it does) by part: this screen, what is focused, everywhere."""
        parts: dict[str, dict[tuple[str, str], list[str]]] = {part: {} for part in _PARTS}
        for active in self._active:
            if not active.binding.description:
                continue
            rows = parts[self._part(active.node)]
            rows.setdefault((active.binding.action, active.binding.description), []).append(active.binding.key)
        return {
            title: [(" or ".join(map(key_words, keys)), what) for (_, what), keys in rows.items()]
            for title, rows in parts.items()
            if rows
        }

    def _part(self, node: DOMNode) -> str:
        if node is self.app:
            return "Anywhere"
        return "Here" if isinstance(node, Screen) else "In this box or list"


def _table(rows: list[tuple[str, str]]) -> Table:
    table = Table.grid(padding=(0, 2))
    table.add_column(min_width=12, no_wrap=True)
    table.add_column()
    for key, what in rows:
        table.add_row(Text(key), Text(what))
    return table

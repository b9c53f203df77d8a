"""The help screen: the keys that really work where the person was, read from the bindings themselves."""

from collections.abc import Sequence
from typing import ClassVar

from rich.table import Table
from rich.text import Text
from textual.app import ComposeResult
from textual.binding import ActiveBinding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.screen import ModalScreen, Screen
from textual.widgets import Static

from cooperage.tui.drawing import KeepsStyles
from cooperage.tui.keys import bound, key_of, key_words, words_of_key
from cooperage.tui.shared.bars import KeyBar
from cooperage.tui.shared.desk import HOW_STRIKING_WORKS

_FINDING = (
    "A barcode scanner is a keyboard that types a tag and Enter: it finds the barrel on every screen. By hand, type "
    "the tag and Enter; / searches lots, bottlings, words and notes as well. Where function keys do not arrive, Ctrl+P "
    "lists the screens."
)
_PARTS = ("Here", "In this box or list", "Moving the cursor", "Everywhere")


class HelpScreen(KeepsStyles[None], ModalScreen[None]):
    """Every key that acts on the screen it was called from, in parts; with `about`, what the screen is for."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("back", "dismiss(None)", "close"),
        bound("keys", "dismiss(None)", "close", show=False),
        bound("guide", "dismiss(None)", "close", show=False),
    ]

    def __init__(self, screen_name: str, about: str, active: Sequence[ActiveBinding]) -> None:
        super().__init__(classes="dialog")
        self._name, self._about, self._active = screen_name, about, active

    def compose(self) -> ComposeResult:
        """List the keys by where they work."""
        with Vertical(classes="box"):
            yield Static(f"Keys on {self._name}", classes="title")
            with VerticalScroll(id="keys"):
                if self._about:
                    yield Static(" ".join(self._about.split()), markup=False)
                for title, rows in self.parts().items():
                    yield Static(title, classes="title")
                    yield Static(_table(rows))
                yield Static(f"{_FINDING}\n\n{HOW_STRIKING_WORKS}", markup=False)
            yield KeyBar()

    def parts(self) -> dict[str, list[tuple[str, str]]]:
        """Return (key, what it does) by part: this screen, what is focused, the cursor, everywhere."""
        parts: dict[str, dict[tuple[str, str], list[str]]] = {part: {} for part in _PARTS}
        for active in self._active:
            rows = parts[self._part(active)]
            rows.setdefault((active.binding.action, words_of_key(active.binding)), []).append(active.binding.key)
        return {
            title: [(" or ".join(map(key_words, keys)), what) for (_, what), keys in rows.items()]
            for title, rows in parts.items()
            if rows
        }

    def _part(self, active: ActiveBinding) -> str:
        key = key_of(active.binding)
        if active.node is self.app or (key is not None and key.group in ("go", "always")):
            return "Everywhere"
        if key is not None and key.group == "cursor":
            return "Moving the cursor"
        return "Here" if isinstance(active.node, Screen) else "In this box or list"


def _table(rows: list[tuple[str, str]]) -> Table:
    table = Table.grid(padding=(0, 2))
    table.add_column(min_width=12, no_wrap=True)
    table.add_column()
    for key, what in rows:
        table.add_row(Text(key), Text(what))
    return table

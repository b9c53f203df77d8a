"""Which file is read or saved: one dialog for sheets, orders and briefs."""

from collections.abc import Mapping
from pathlib import Path
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Static
from textual.widgets.option_list import Option

from cooperage.infile import at_home
from cooperage.tui.keys import bound
from cooperage.tui.shared.bars import KeyBar
from cooperage.tui.shared.dialogs import PickList


class PathDialog(ModalScreen[Path | None]):
    """Asks for the path of a file of some sort, such as "a text"; one is proposed, and typing takes its place.

    Files that are `there` already can be chosen from a list under `heading`: their words by their paths.
    """

    DEFAULT_CSS = "PathDialog .box { width: 74; max-width: 100%; } PathDialog Input { width: 1fr; margin: 1 0; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("next", "app.focus_next", "next field", show=True),
        bound("back", "dismiss(None)", "close"),
    ]

    def __init__(
        self, title: str, path: str, of: str, *, heading: str = "", there: Mapping[Path, str] | None = None
    ) -> None:
        super().__init__(classes="dialog")
        self._title, self._path, self._of = title, path, of
        self._heading, self._there = heading, there or {}

    def compose(self) -> ComposeResult:
        """Ask for the path, over the list."""
        with Vertical(classes="box"):
            yield Static(self._title, markup=False, classes="title")
            yield Input(self._path, compact=True, placeholder=f"path of {self._of}, then Enter")
            if self._there:
                yield Static(self._heading, classes="hint", markup=False)
                yield PickList(*(Option(words, id=str(path)) for path, words in self._there.items()))
            yield KeyBar()

    @on(Input.Submitted)
    def _typed(self, event: Input.Submitted) -> None:
        event.stop()
        if event.value.strip():
            self.dismiss(at_home(Path(event.value.strip())))

    def on_option_list_option_selected(self, event: PickList.OptionSelected) -> None:
        """Choose a file that is there."""
        self.dismiss(Path(str(event.option_id)))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002 - Textual's
        """There is a next field only where there is a list."""
        return bool(self._there) or action != "app.focus_next"

"""Which file a brief is read from, or saved to."""

from pathlib import Path
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option

from cooperage.infile import at_home
from cooperage.resources import demo_folder
from cooperage.tui.keys import bound
from cooperage.tui.shared.bars import KeyBar


def shipped_briefs() -> list[Path]:
    """List the demo's briefs."""
    return sorted((demo_folder() / "briefs").glob("*.toml"))


class BriefFile(ModalScreen[Path | None]):
    """Asks for the path of a brief; a new path is typed, a shipped brief can be chosen from the list."""

    DEFAULT_CSS = "BriefFile .box { width: 74; max-width: 100%; } BriefFile Input { width: 1fr; margin: 1 0; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("next", "app.focus_next", "next field", show=True),
        bound("back", "dismiss(None)", "close"),
    ]

    def __init__(self, title: str, path: str, *, with_list: bool) -> None:
        super().__init__(classes="dialog")
        self._title, self._path = title, path
        self._listed = shipped_briefs() if with_list else []

    def compose(self) -> ComposeResult:
        """Ask for the path, over the list."""
        with Vertical(classes="box"):
            yield Static(self._title, markup=False, classes="title")
            yield Input(self._path, compact=True, placeholder="path of a TOML file, then Enter")
            if self._listed:
                yield Static("or a brief that came with Cooperage:", classes="hint")
                yield OptionList(
                    *(Option(path.stem.replace("_", " "), id=str(path)) for path in self._listed), markup=False
                )
            yield KeyBar()

    @on(Input.Submitted)
    def _typed(self, event: Input.Submitted) -> None:
        event.stop()
        if event.value.strip():
            self.dismiss(at_home(Path(event.value.strip())))

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Choose a shipped brief."""
        self.dismiss(Path(str(event.option_id)))

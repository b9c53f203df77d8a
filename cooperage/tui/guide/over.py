"""What the sheet of keys and the guide have in common: each lies over a screen, and Esc or a place leaves it."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal
from textual.screen import ModalScreen
from textual.widgets import Static

from cooperage.tui.keys import OVER_DIALOGS, bound
from cooperage.tui.shared.bars import KeyBar, TopBar
from cooperage.tui.shared.desk import desk_of

LEAVES_FOR = tuple(word for word in OVER_DIALOGS if word not in ("guide", "who"))


class OverScreen(ModalScreen[None]):
    """A page in the frame of the screens, over the one it was called from; `here` is that one's name."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("back", "dismiss(None)", "close"),
        *(bound(word, f"leave_for('{word}')", show=False) for word in LEAVES_FOR),
        bound("quit", "app.quit", show=False),
    ]

    def __init__(self, here: str) -> None:
        super().__init__(classes="over")
        self.here = here

    def compose(self) -> ComposeResult:
        """Put the page between the places and the keys."""
        desk = desk_of(self.app)
        yield TopBar(tuple((page.key, page.name) for page in desk.pages if page.key), self.here)
        with Horizontal(classes="over-title"):
            yield Static("", id="over-title", markup=False)
            yield Static("", id="over-aside", markup=False)
        yield from self.compose_page()
        yield KeyBar()

    def compose_page(self) -> ComposeResult:
        """Yield the page itself."""
        yield from ()

    def on_screen_resume(self) -> None:
        """Show who is at work, as every screen does."""
        self.query_one(TopBar).show_hand(desk_of(self.app).hand)

    def show_title(self, title: str, aside: str) -> None:
        """Show what this is, and at the right end what else helps."""
        self.query_one("#over-title", Static).update(title)
        self.query_one("#over-aside", Static).update(aside)

    def action_leave_for(self, word: str) -> None:
        """Leave this for what another key opens, by its word: there is nothing here to come back to."""
        self.dismiss()
        self.app.call_later(self.app.run_action, OVER_DIALOGS[word])

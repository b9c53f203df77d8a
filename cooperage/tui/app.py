"""The terminal UI's wiring, and how to add a screen to it.

A screen takes four files: a folder of `tui` with an `__init__.py`, whose docstring names the screen and the module to
read first, and a `screen.py` with a `CellarScreen` (see `shared/cellar_screen.py`); its line in `PAGES` below; and the
folder's name among the layers of `cooperage.tui` in `pyproject.toml`. The screen itself:

    class LotsScreen(CellarScreen):
        '''The lots in the cellar.'''            # shown on the help screen

        NAME = "lots"                            # its word on the top bar and its mode: app.switch_mode("lots")
        CSS_PATH = "screen.tcss"                 # if it needs one; by the class name: LotsScreen #list {...}
        BINDINGS = [Binding("t", "trace", "trace")]   # lower-case letters only: capitals and digits begin a scanned tag

        def compose_body(self): yield ...        # the frame (top bar, find box, status line, key bar) is around it
        def show_cellar(self, cellar): ...       # called when it comes up and after every change of the book
        def found(self, tag): ...                # only if a scanned tag should do something other than open its page

Its line is `Page("f7", "lots", "cooperage.tui.lots.screen.LotsScreen")`; it is imported when it is first shown, so that
the program opens without it. The digit after the f is also its key in the list of Ctrl+G. F2 to F9 are taken, terminals
keep F10, and eight words fill the top bar at 80 columns: a new screen takes the place of another, or goes without a
key, as `Page("", "figures", ...)` does. Such a page is in the list of Ctrl+G under its first letter, and the screens
it belongs to open it by a key of their own: `Binding("v", "app.switch_mode('figures')", "worth reading")`.
In a screen use:

- `self.desk.book`, `.cellar` (as last read), `.units`, `.settings`, `.tag` (the vessel in hand; `open_page(tag)`
  shows it);
- `self.desk.write(act, then, self.refuse)` to write an act, or `self.desk.attempt(lambda sure: pour(book, ...,
  sure=sure), then, self.refuse)` for any other work that writes. Questions back and refusals are dealt with there;
  clear what was typed only in `then(result)`. The cellar is read again afterwards and `show_cellar` called;
- `self.open_form(acts.Rack, {"vessel": tag}, then)` for any kind of entry, by the fields' outside names;
- `self.run_slow_work("trace", lambda: book.trace(code), self._show_trace)` for slow work: a thread, the newest of its
  group wins;
- `self.show_message("Poured ...")`, `self.refuse(error)` for the line above the keys;
- `Confirm(question)` and `Pick(title, choices)` (shared/dialogs.py), opened by `self.app.push_screen(dialog, then)`;
- `LineList` (shared/line_list.py) for lists of any length; `book/words.py`, `book/vessel_words.py`,
  `shared/gauges.py` for the words of entries and vessels, and for bars;
  `FlagBox` and `Choice` (shared/choices.py) for yes or no and a choice from a list.

The key bar shows the `screen.active_bindings` of what is focused: hide a key with `show=False`, offer it only when it
works with `check_action`, and call `self.refresh_bindings()` when that changes. Focus a list or box in `on_mount`. No
arithmetic here: a screen shows what a function of a lower room returns. An action has the same word on every screen
(`tests/tui/test_plain_words.py`).
"""

import gc
from collections.abc import Sequence
from typing import ClassVar

from textual import events
from textual.app import App
from textual.binding import Binding, BindingType
from textual.filter import LineFilter

from cooperage.book import Book
from cooperage.errors import CooperageError
from cooperage.faults import ProgramFault
from cooperage.settings import Settings
from cooperage.tui.go_to import GoTo
from cooperage.tui.help import HelpScreen
from cooperage.tui.key_queue import TypedAhead
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.desk import Desk, Page
from cooperage.tui.shared.plain_lines import PlainLines
from cooperage.tui.themes import DARK, LIGHT

PAGES: tuple[Page, ...] = (
    Page("f2", "rounds", "cooperage.tui.rounds.screen.RoundsScreen"),
    Page("f3", "racks", "cooperage.tui.racks.screen.RacksScreen"),
    Page("f4", "barrel", "cooperage.tui.barrel.screen.BarrelScreen"),
    Page("f5", "tasting", "cooperage.tui.tasting.screen.TastingScreen"),
    Page("f6", "blend", "cooperage.tui.blend.screen.BlendScreen"),
    Page("f7", "lots", "cooperage.tui.lots.screen.LotsScreen"),
    Page("f8", "book", "cooperage.tui.book.screen.BookScreen"),
    Page("f9", "losses", "cooperage.tui.losses.screen.LossesScreen"),
    Page("", "figures", "cooperage.tui.figures.screen.FiguresScreen"),
)


LOOK_UP_S = 5.0
"""Seconds between checks whether the book was changed elsewhere."""

LOADED_S = 2.0
"""Seconds until the first screen has loaded all it needs. The garbage collector then leaves that memory alone: scanning
it would delay a key by a tenth of a second now and then."""


class CooperageApp(App[None]):
    """Wires the screens to their keys, and the desk to the book."""

    TITLE = "Cooperage"
    CSS_PATH = "style.tcss"
    ENABLE_COMMAND_PALETTE = False
    MODES: ClassVar = {page.name: page.make for page in PAGES}
    DEFAULT_MODE = "rounds"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f1", "help", "help"),
        *(Binding(page.key, f"switch_mode('{page.name}')", page.name, show=False) for page in PAGES if page.key),
        Binding("ctrl+g", "go_to", "go to"),
        Binding("ctrl+z", "strike_last", "strike last"),
        Binding("ctrl+q", "quit", "quit", priority=True),
    ]

    def __init__(self, book: Book, settings: Settings) -> None:
        super().__init__()
        self.desk = Desk(self, book, settings, PAGES)
        self._typed = TypedAhead(self, self._deliver)
        self.fault: CooperageError | None = None
        self._plain_lines = PlainLines()
        for theme in (DARK, LIGHT):
            self.register_theme(theme)
        self.theme = LIGHT.name if settings.theme == "light" else DARK.name

    def get_line_filters(self) -> Sequence[LineFilter]:
        """Return the filters of every drawn line, the plain lines last."""
        return [*super().get_line_filters(), self._plain_lines]

    def on_mount(self) -> None:
        """Check the book now and then, since several laptops may share it; keep the garbage collector off the keys."""
        self.set_interval(LOOK_UP_S, self.desk.look_up)
        if not self.is_headless:
            self.set_timer(LOADED_S, gc.freeze)

    def on_app_blur(self, event: events.AppBlur) -> None:
        """Keep the focus where it is while the window is elsewhere: the next key belongs there.

        In a browser the page begins without focus, and not every terminal reports when it comes back.
        """
        event.prevent_default()

    async def on_event(self, event: events.Event) -> None:
        """Handle typed keys in order; everything else as it comes."""
        if isinstance(event, events.Key) and not event.is_forwarded:
            await self._typed.take(event)
        else:
            await super().on_event(event)

    async def _deliver(self, key: events.Key) -> None:
        """Deliver a key; the first letter of a tag goes to the find box, which must have the focus by then."""
        if isinstance(self.screen, CellarScreen):
            self.screen.begin_find_with(key)
        await super().on_event(key)

    def _handle_exception(self, error: Exception) -> None:
        """Leave with one line instead of Textual's traceback when the program itself is at fault."""
        if self.is_headless:
            super()._handle_exception(error)  # a test shall get the error itself
            return
        self.fault = self.fault or self.desk.book.explained() or ProgramFault(error)
        self.exit(return_code=self.fault.exit_status)

    def action_press(self, key: str) -> None:
        """Press a key on the bar that was clicked."""
        self.simulate_key(key)

    def action_help(self) -> None:
        """Show the keys of what is focused."""
        active = self.screen.active_bindings.values()
        about = type(self.screen).__doc__ or ""
        self.push_screen(HelpScreen(self.current_mode, about, active))

    def action_go_to(self) -> None:
        """List the screens."""

        def go(name: str | None) -> None:
            if name:
                self.switch_mode(name)

        self.push_screen(GoTo(self.desk.pages, self.current_mode), go)

    def action_strike_last(self) -> None:
        """Strike the last entry, after showing it."""
        screen = self.screen
        if isinstance(screen, CellarScreen):
            self.desk.strike_last(screen.struck, screen.refuse)


def run_app(book: Book, settings: Settings) -> None:
    """Open the terminal UI on a book."""
    app = CooperageApp(book, settings)
    app.run()
    if app.fault is not None:
        raise app.fault

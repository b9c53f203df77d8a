"""The terminal UI's wiring, and how to add a screen to it.

A screen takes five files: a folder of `tui` with an `__init__.py`, whose docstring names the screen and the module to
read first, and a `screen.py` with a `CellarScreen` (see `shared/cellar_screen.py`); its line in `PAGES` below; its page
of the guide in `TOPIC_OF` of `guide/screen.py`; and the folder's name among the layers of `cooperage.tui` in
`pyproject.toml`. The screen itself:

    class LotsScreen(CellarScreen):
        '''The lots in the cellar.'''            # what it is for

        NAME = "lots"                            # its word on the top bar and its mode: app.switch_mode("lots")
        CSS_PATH = "screen.tcss"                 # if it needs one; by the class name: LotsScreen #list {...}
        BINDINGS = [bound("view", "trace", "trace")]   # a key of the one table of keys, `keys.py`, by its word

        def compose_body(self): yield ...        # the frame (top bar, answer, line, key bar) is around it
        def show_cellar(self, cellar): ...       # called when it comes up and after every change of the book
        def found(self, tag): ...                # only if a scanned tag should do something other than open its page

Its line is `Page("f8", "lots", "cooperage.tui.lots.screen.LotsScreen")`; it is imported when it is first shown, so that
the program opens without it. F2 to F9 are taken, terminals keep F10, and eight words fill the top bar at 80 columns: a
new screen takes the place of another, or goes without a key, as `Page("", "figures", ...)` does. Such a page is found
by Ctrl+P, and the screens it belongs to open it by a key of their own: `bound("view", "app.switch_mode('figures')")`.
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
- `app.ask('label', code)` as an action for what every screen can open (`forms/openers.py`), without knowing the form;
- `Confirm(question)` and `Pick(title, choices)` (shared/dialogs.py), opened by `self.app.push_screen(dialog, then)`;
- `LineList` (shared/line_list.py) for lists of any length; `book/words.py`, `book/vessel_words.py`,
  `shared/gauges.py` for the words of entries and vessels, and for bars;
  `FlagBox` and `Choice` (shared/choices.py) for yes or no and a choice from a list.

The key bar shows what the keys of what is focused do: hide a key with `show=False`, offer it only when it works with
`check_action`, and call `self.refresh_bindings()` when that changes. Focus a list or box in `on_mount`. No
arithmetic here: a screen shows what a function of a lower room returns. An action has the same word on every screen
(`tests/tui/test_plain_words.py`).
"""

import gc
from collections.abc import Iterator, Sequence
from itertools import islice
from pathlib import Path, PurePath
from typing import Any, ClassVar

from rich.color import ColorSystem
from textual import events
from textual.app import App
from textual.binding import BindingType
from textual.css.query import NoMatches
from textual.filter import LineFilter, Monochrome
from textual.screen import ModalScreen, Screen, SystemModalScreen
from textual.widget import AwaitMount

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.errors import CooperageError
from cooperage.faults import ProgramFault
from cooperage.machine import end_with_terminal
from cooperage.settings import Settings
from cooperage.tui.at_work import ask_who, show_hand
from cooperage.tui.drawing import begin_leanly, lay_out_at_rest
from cooperage.tui.filters.ascii_marks import ASCII, AsciiMarks
from cooperage.tui.filters.fewer_colours import Of256, TwoColours
from cooperage.tui.filters.plain_lines import PlainLines
from cooperage.tui.key_path import moved_at_once
from cooperage.tui.key_queue import Scanned, TypedAhead
from cooperage.tui.keys import bound, pressed
from cooperage.tui.over_dialogs import led_away
from cooperage.tui.prepared import prepare
from cooperage.tui.scans import scanned_in_dialog
from cooperage.tui.shared.act_form import form_for
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.desk import Desk, Page
from cooperage.tui.shared.dialogs import show_in_dialog
from cooperage.tui.shared.line_list import HasCopy
from cooperage.tui.themes import NUMBERS, PLAIN, THEMES, fitting

PAGES: tuple[Page, ...] = (
    Page("f2", "today", "cooperage.tui.today.screen.TodayScreen"),
    Page("f3", "rounds", "cooperage.tui.rounds.screen.RoundsScreen"),
    Page("f4", "racks", "cooperage.tui.racks.screen.RacksScreen"),
    Page("f5", "barrel", "cooperage.tui.barrel.screen.BarrelScreen"),
    Page("f6", "panel", "cooperage.tui.tasting.screen.TastingScreen"),
    Page("f7", "blend", "cooperage.tui.blend.screen.BlendScreen"),
    Page("f8", "lots", "cooperage.tui.lots.screen.LotsScreen"),
    Page("f9", "book", "cooperage.tui.book.screen.BookScreen"),
    Page("", "losses", "cooperage.tui.losses.screen.LossesScreen", "losses and warnings"),
    Page(
        "", "figures", "cooperage.tui.figures.screen.FiguresScreen", "figures: readings worth taking, forecasts scored"
    ),
    Page("", "trials", "cooperage.tui.trials.screen.TrialsScreen", "trials: of blends, and across barrels"),
    Page("", "recall", "cooperage.tui.recall.screen.RecallScreen", "recall: what something reached, and comes from"),
    Page(
        "", "bottling", "cooperage.tui.bottling.screen.BottlingScreen", "bottling runs: risks, counts, what it came to"
    ),
    Page("", "bottles", "cooperage.tui.bottles.screen.BottlesScreen", "bottles: in stock, sold, by place and holder"),
    Page("", "periods", "cooperage.tui.periods.screen.PeriodsScreen", "periods: figures by class, closed ones filed"),
)


SHEETS: list[str | PurePath] = ["style.tcss", *(str(path) for path in sorted(Path(__file__).parent.glob("*/*.tcss")))]
"""All style sheets, read at the start: with each that came later Textual would read all of them again."""

LOOK_UP_S = 5.0
"""Seconds between checks whether the book was changed elsewhere."""

_FARTHEST_BACK, _SHOWN_OF_COPY = 20, 60

LOADED_S = 2.0
"""Seconds until the first screen has loaded all it needs. The garbage collector then leaves that memory alone: scanning
it would delay a key by a tenth of a second now and then."""


class CooperageApp(App[None]):
    """Wires the screens to their keys, and the desk to the book."""

    TITLE = "Cooperage"
    CSS_PATH = SHEETS
    ENABLE_COMMAND_PALETTE = False
    SCREENS: ClassVar = {page.name: page.make for page in PAGES}
    MODES: ClassVar = {page.name: page.name for page in PAGES}
    DEFAULT_MODE = "today"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("keys", "keys"),
        bound("all", "everything"),
        bound("strike last", "strike_last"),
        bound("guide", "guide"),
        *(bound(page.name, f"go('{page.name}')", show=False) for page in PAGES if page.key),
        bound("who", "who", show=False),
        bound("copy", "copy", show=False),
        bound("quit", "quit", show=False, priority=True),
    ]

    def __init__(self, book: Book, settings: Settings) -> None:
        super().__init__()
        self.desk = Desk(self, book, settings, PAGES)
        self._typed = TypedAhead(self, self._deliver)
        self.fault: CooperageError | None = None
        self._been: list[str] = []
        self._plain_lines = PlainLines()
        self._two_colours, self._ascii_marks = TwoColours(), AsciiMarks()
        self._of_256 = {name: Of256(name) for name in NUMBERS}
        for theme in THEMES.values():
            self.register_theme(theme)
        self._choose_theme()

    def get_line_filters(self) -> Sequence[LineFilter]:
        """Return the filters of every drawn line, the plain lines last; always the same ones, which Textual remembers.

        Textual's own filter for NO_COLOR turns colours into greys, which are colours too.
        """
        usual = [each for each in super().get_line_filters() if not isinstance(each, Monochrome)]
        ascii_marks = [self._ascii_marks] if self.desk.settings.marks == ASCII else []
        return [*usual, *self._fewer_colours(), *ascii_marks, self._plain_lines]

    def _fewer_colours(self) -> list[LineFilter]:
        if self.theme == PLAIN.name:
            return [self._two_colours]
        return [self._of_256[self.theme]] if self.console.color_system == "256" else []

    def get_screen(self, screen: Any, screen_class: Any = None) -> Any:  # noqa: ANN401 - Textual's
        """Return a screen by itself or its name; one that comes up for the first time draws only what changes."""
        found = super().get_screen(screen, screen_class)
        if not found.is_running:
            begin_leanly(found, self)
        return found

    def on_mount(self) -> None:
        """Check the book now and then, since several laptops may share it; keep the garbage collector off the keys."""
        self.set_interval(LOOK_UP_S, self.desk.look_up)
        if not self.is_headless:
            end_with_terminal(LOOK_UP_S)  # all that was acknowledged is in the book
            self.set_timer(LOADED_S, gc.freeze)
            self.set_timer(LOADED_S, self._prepare)

    def _prepare(self) -> None:
        self.run_worker(self.prepare(), group="prepare")

    async def prepare(self) -> None:
        """Make the screens ready while no key comes; none calculates anything before it comes up."""
        await prepare(self, PAGES, lambda: self._typed.last_key)
        for form in self._kept_forms():
            screen, mounted = self._get_screen(form)
            await mounted
            lay_out_at_rest(screen, self)
        if not self.is_headless:
            gc.freeze()  # all that was made ready stays

    def _kept_forms(self) -> Iterator[Screen[Any]]:
        """Make the forms that are kept mounted, about any vessel."""
        from cooperage.tui.forms.upkeep_form import upkeep_form
        from cooperage.tui.racks.shift_form import shift_form

        yield form_for(self, acts.Sample, {})
        for standing in islice(self.desk.cellar, 1):
            yield shift_form(self, standing)
            yield upkeep_form(self, standing)

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

    def take_scan(self, text: str, stood: str | None) -> Scanned:
        """Take a scan for a dialog that does not take scans itself."""
        return scanned_in_dialog(self.screen, self.desk, text, stood)

    async def _deliver(self, key: events.Key) -> bool:
        """Deliver a key; the first letter of a tag goes to the find box, which must have the focus by then.

        Return True if the key has acted already.
        """
        if await moved_at_once(self, key):
            return True
        if isinstance(self.screen, CellarScreen):
            self.screen.begin_find_with(key)
        elif await led_away(self, key):
            return False
        await super().on_event(key)
        return False

    def _handle_exception(self, error: Exception) -> None:
        """Leave with one line instead of Textual's traceback when the program itself is at fault."""
        if self._exit and isinstance(error, NoMatches):
            return  # a screen that was being made ready as the program ended has no widgets: nothing is at fault
        if self.is_headless:
            super()._handle_exception(error)  # a test shall get the error itself
            return
        self.fault = self.fault or self.desk.book.explained() or ProgramFault(error)
        self.exit(return_code=self.fault.exit_status)

    def action_press(self, key: str) -> None:
        """Press a key on the bar that was clicked."""
        self.simulate_key(key)

    def action_keys(self) -> None:
        """Show the keys of what is focused."""
        from cooperage.tui.guide.key_sheet import KeySheet  # found when it is wanted: the program opens without it

        self.push_screen(KeySheet(self.screen, self.current_mode))

    def action_guide(self, topic: str = "", section: str = "") -> None:
        """Open the guide at the page of the screen that is up, or at another and one of its sections."""
        from cooperage.tui.guide.screen import GuideScreen  # and so is its Markdown

        self.push_screen(GuideScreen(self.screen, self.current_mode, topic, section))

    # --- going places -----------------------------------------------------------------------------------------------

    def switch_mode(self, mode: str) -> AwaitMount:
        """Switch to a screen, and remember where one was; a dialog left open there shows how it is closed."""
        if mode != self.current_mode and self.screen_stack:
            self._been = [*self._been[-_FARTHEST_BACK:], self.current_mode]
        switched = super().switch_mode(mode)
        if isinstance(self.screen, ModalScreen):
            show_in_dialog(self.screen, f"This was left open here; {pressed('back')} closes it.")
        return switched

    async def action_go(self, place: str) -> None:
        """Go to a place, the page of a vessel to the one that is pointed at; what is open here stays for the return."""
        here = self.screen_stack[0]
        if place == self.current_mode:
            if isinstance(self.screen, ModalScreen):
                show_in_dialog(self.screen, f"This is open over {place}; {pressed('back')} closes it.")
            return
        if place == "barrel" and isinstance(here, CellarScreen):
            self.desk.tag = here.pointed or self.desk.tag
        await self.switch_mode(place)

    async def action_return(self) -> None:
        """Return to the screen one came from; from the first there is nowhere to return to."""
        if self._been:
            await super().switch_mode(self._been.pop())

    def action_everything(self) -> None:
        """Open the palette over everything."""
        self._open_palette(with_acts=True)

    def action_search(self) -> None:
        """Search vessels, lots, bottlings, flights, words and notes."""
        self._open_palette(with_acts=False)

    def _open_palette(self, *, with_acts: bool) -> None:
        from cooperage.tui.palette.providers import Palette  # found when it is wanted: the program opens without it

        if not isinstance(self.screen, SystemModalScreen):
            self.push_screen(Palette(with_acts=with_acts))

    # --- forms that every screen opens ------------------------------------------------------------------------------

    def action_ask(self, what: str, *given: str) -> None:
        """Open what every screen can open (`forms/openers.py`), over the screen that is up."""
        from cooperage.tui.forms.openers import OPENERS

        if isinstance(below := self.screen_stack[0], CellarScreen):
            OPENERS[what](below, *given)

    async def action_trace(self, code: str = "", direction: str = "", hand: str = "") -> None:
        """Trace what has a code or what a hand did, on the screen of recalls."""
        self.desk.traced = {"code": code, "direction": direction, "hand": hand}
        if self.current_mode == "recall":
            await self.run_action("take_wanted", self.screen_stack[0])
        else:
            await self.switch_mode("recall")

    def action_several(self, kind: str) -> None:
        """Ask for an act on several vessels, which are named in its form."""
        from cooperage.tui.several.asked import ask_several

        if isinstance(below := self.screen_stack[0], CellarScreen):
            ask_several(below, kind)

    def action_settings(self) -> None:
        """Ask for the person's own settings, and let them hold at once."""
        from cooperage.tui.forms.settings_forms import SettingsForm

        before = self.desk.settings

        def saved(settings: Settings | None) -> None:
            if settings is None or settings == before:
                return
            self.desk.settings = settings
            if settings.hand != before.hand:
                show_hand(self, settings.hand)
            self._choose_theme()
            self.refresh_css(animate=False)  # what is drawn may have other marks
            if settings.units != before.units:
                self.call_later(self._open_screens_again)

        self.push_screen(SettingsForm(), saved)

    def _choose_theme(self) -> None:
        system = self.console.color_system
        self.theme = fitting(self.desk.settings.theme, system, no_color=self.no_color).name
        if system is None:  # then Rich would leave out bold and reverse as well
            self.console._color_system = ColorSystem.STANDARD

    async def _open_screens_again(self) -> None:
        """Make every screen new, since each is made for the units it shows."""
        here = self.current_mode
        aside = next(page for page in self.desk.pages if page.name != here)
        others = [page for page in self.desk.pages if page.name != aside.name]
        with self.batch_update():
            await super().switch_mode(aside.name)  # the screen that is shown cannot be removed
            for page in others:
                await self._make_new(page)
            await super().switch_mode(here)
            await self._make_new(aside)

    async def on_currency_changed(self) -> None:
        """Show sums in the new currency; where a dialog is open, screens show it as they are next drawn."""
        if len(self.screen_stack) == 1:
            await self._open_screens_again()

    async def _make_new(self, page: Page) -> None:
        await self.remove_mode(page.name)
        self.add_mode(page.name, page.make)

    # --- who is at work, and what everyone does ---------------------------------------------------------------------

    def action_who(self) -> None:
        """Ask who is at work; what is written from now on is signed with that name."""
        ask_who(self)

    def action_copy(self) -> None:
        """Copy the row under the cursor, or what is selected, to the clipboard."""
        selected = self.screen.get_selected_text()
        inwards = self.focused.ancestors_with_self if self.focused is not None else ()
        text = selected or next((each.copied for each in inwards if isinstance(each, HasCopy)), "")
        if text:
            self.copy_to_clipboard(text)
        if isinstance(self.screen, CellarScreen):
            short = text if len(text) <= _SHOWN_OF_COPY else f"{text[:_SHOWN_OF_COPY]}…"
            self.screen.show_message(
                f"Copied: {short}" if text else "Nothing here to copy: choose a row, or select text."
            )

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

"""The base of every main screen: its frame, finding a barrel, messages, slow work in the background."""

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import ClassVar, TypeVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.widget import Widget
from textual.widgets import Input, Label
from textual.worker import get_current_worker

from cooperage.book import Act, Cellar, Written
from cooperage.book.errors import NoSuchVessel
from cooperage.book.log import Entry
from cooperage.book.words import entry_words
from cooperage.errors import CooperageError
from cooperage.outfile import ThereAlready
from cooperage.tui.drawing import KeepsStyles
from cooperage.tui.key_queue import Scanned
from cooperage.tui.keys import bound, pressed
from cooperage.tui.on_screen import said
from cooperage.tui.shared.act_form import form_for
from cooperage.tui.shared.bars import BusyBar, FindBox, KeyBar, StatusLine, TopBar
from cooperage.tui.shared.desk import BookChanged, Desk, desk_of
from cooperage.tui.shared.dialogs import Confirm
from cooperage.units import Units, counted

T = TypeVar("T")

_BUSY_AFTER = 1.0
"""Seconds of work after which a bar shows it: no one loses the thread over less (J. Nielsen, Usability Engineering,
1993, section 5.5), and the bar moves the page twice."""
_HELD_S = 0.1
"""Seconds that a page which comes up waits for what it calculates, so that it is drawn once: what comes within a tenth
of a second comes at once for a person (the same section)."""


class CellarScreen(KeepsStyles[None]):
    """A main screen in its frame; a new screen fills in `NAME`, `compose_body` and `show_cellar`.

    From top to bottom: the screens and who is at work; the screen's own body; the answer (what was written, or was
    refused and why); the line where a tag is typed or scanned; the keys.
    """

    NAME: ClassVar[str]
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (110, "-wide")]  # noqa: RUF012 - typed by Textual
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("find", "app.search"),
        bound("back", "back"),
        bound("next", "app.focus_next", "next list"),
        bound("previous", "app.focus_previous", "previous list"),
    ]

    _shown: Cellar | None = None
    _focus_before_find: Widget | None = None
    _shown_ids: tuple[str, ...] = ()
    _shown_flight = ""
    _is_held = False

    def compose(self) -> ComposeResult:
        """Put the screen's own body into the frame."""
        yield TopBar(tuple((page.key, page.name) for page in self.desk.pages if page.key), self.NAME)
        with Vertical(id="body"):
            yield from self.compose_body()
        yield BusyBar()
        yield self.make_answer()
        with Horizontal(id="find-bar"):
            yield from self.compose_line()
        yield KeyBar()

    def compose_body(self) -> ComposeResult:
        """Yield the screen's own widgets."""
        yield from ()

    def make_answer(self) -> StatusLine:
        """Make the line that shows what was written or refused."""
        return StatusLine()

    def compose_line(self) -> ComposeResult:
        """Yield the line where a tag is typed or scanned."""
        yield Label("›", id="prompt")
        yield FindBox()

    def show_cellar(self, cellar: Cellar) -> None:
        """Show the cellar as it stands; called when the screen comes up, and whenever the book changed."""

    def found(self, tag: str) -> None:
        """Go to a barrel that was found by its tag; a screen with a place for it stays."""
        self.open_page(tag)

    @property
    def pointed(self) -> str:
        """The tag of the vessel that is pointed at, whose page the key of the pages opens; empty where none is."""
        return ""

    async def action_trace_pointed(self, direction: str) -> None:
        """Trace what the vessel that is pointed at holds: back to what it came from, or on to what it reached."""
        await self.app.run_action(f"trace({self.pointed!r}, {direction!r})")

    def registered(self, names: Sequence[str]) -> None:
        """Show which vessels or which lot were registered; a screen with a place for them goes there."""
        ends = names if len(names) < 3 else (f"{names[0]} to {names[-1]}",)
        self.show_message(f"Registered: {', '.join(ends)}.")

    def action_go_to_wanted(self) -> None:
        """Go to the lot, bottling, flight or trial that was asked for by its code; a screen that lists them does."""

    def batch_written(self, lot: str) -> None:
        """Show the batch sheet of a lot that was written; a screen with a place for it does."""

    def open_page(self, tag: str) -> None:
        """Open the page of a vessel."""
        self.desk.tag = tag
        self.app.switch_mode("barrel")

    def struck(self, entry: Entry, count: int = 1) -> None:
        """Show which entry was struck, and how many that were written with it."""
        more = f" and {counted(count - 1, 'entry', 'entries')} written with it" if count > 1 else ""
        self.show_message(f"Struck: {entry_words(entry, self.units, short=True)}{more}")

    # --- what screens use -------------------------------------------------------------------------------------------

    @property
    def desk(self) -> Desk:
        """The book, the settings, the cellar, and the place to write."""
        return desk_of(self.app)

    @property
    def units(self) -> Units:
        """The person's units."""
        return self.desk.units

    def open_form(
        self,
        kind: type[Act],
        texts: Mapping[str, str],
        then: Callable[[Written], None],
        title: str = "",
        first: str = "",
    ) -> None:
        """Ask for an act in a form, show what was written, then call `then`."""

        def closed(written: Written | None) -> None:
            if written is not None:
                self.show_written(written)
                then(written)

        self.app.push_screen(form_for(self.app, kind, texts, title, first), closed)

    def show_message(self, words: str) -> None:
        """Show a message on the status line."""
        self._shown_ids, self._shown_flight = (), ""
        self.query_one(StatusLine).show_message(words)

    def show_written(self, *written: Written) -> None:
        """Show on the status line what was written, for as long as it stands."""
        self.show_done(self.desk.describe_written(*written), [each.id for each in written])

    def show_done(self, words: str, ids: Sequence[str]) -> None:
        """Show on the status line what was done, for as long as these entries stand."""
        self.show_message(words)
        self._shown_ids = tuple(ids)

    def show_poured(self, words: str, flight: str) -> None:
        """Show on the status line what comes next for a flight, for as long as it is blind."""
        self.show_message(words)
        self._shown_flight = flight

    def save_file(self, path: Path, save: Callable[[bool], None], *, force: bool = False) -> None:
        """Save a file by `save(force)` and show where; ask before one that is there is replaced."""
        try:
            save(force)
        except ThereAlready:
            question = Confirm(f"{path} already exists.\n\nReplace it?", yes="replace it")
            self.app.push_screen(question, lambda yes: self.save_file(path, save, force=True) if yes else None)
        except CooperageError as error:
            self.refuse(error)
        else:
            self.show_message(f"Saved {path}")

    def refuse(self, error: CooperageError) -> None:
        """Show what the book refused, in the person's units."""
        self.query_one(StatusLine).refuse(error, error.words(self.units))

    def run_slow_work(self, group: str, work: Callable[[], T], then: Callable[[T], None]) -> None:
        """Run slow work in a thread and hand its result to `then`, unless newer work of the group has begun.

        Escape cancels it: the result is dropped.
        """
        self.run_quietly(group, work, then)
        self.set_timer(_BUSY_AFTER, self._show_working)

    def run_quietly(self, group: str, work: Callable[[], T], then: Callable[[T], None]) -> None:
        """Run slow work likewise that no one waits for: nothing shows that it goes on."""

        def run() -> None:
            worker = get_current_worker()
            try:
                result = work()
            except CooperageError as error:
                self.app.call_from_thread(self.refuse, error)
                return
            if not worker.is_cancelled:
                self.app.call_from_thread(then, result)

        self.run_worker(run, thread=True, exclusive=True, group=group)

    def on_worker_state_changed(self) -> None:
        """Draw what was waited for; hide the bar when the last slow work is done or cancelled."""
        if not self._calculates:
            self._draw_now()
        if self.query_one(BusyBar).display:
            self._show_working()

    def _show_working(self) -> None:
        self.query_one(BusyBar).show_working(any(w.node is self and w.is_running for w in self.workers))

    # --- keeping up with the book -----------------------------------------------------------------------------------

    def on_screen_resume(self) -> None:
        """Catch up with what was written while another screen was up."""
        self.query_one(TopBar).show_hand(self.desk.hand)
        self._catch_up(self.desk.cellar)
        is_first, self.desk.is_up = not self.desk.is_up, True
        if (
            self._calculates and not self._is_held and not is_first
        ):  # as the program opens, anything is better than none
            self._is_held = True
            self.app._begin_batch()
            self.set_timer(_HELD_S, self._draw_now)

    def on_screen_suspend(self) -> None:
        """Hold up no other page."""
        self._draw_now()

    @property
    def _calculates(self) -> bool:
        """Whether work in the background of this page goes on."""
        return any(worker.node is self and not worker.is_finished for worker in self.workers)

    def _draw_now(self) -> None:
        """Draw a page that came up, with what was calculated by now."""
        if self._is_held:
            self._is_held = False
            self.app._end_batch()
            self.app.screen.check_idle()  # the end of a batch alone wakes the app, and not the screen that draws

    def on_book_changed(self, event: BookChanged) -> None:
        """Show the book as it is now."""
        self._catch_up(event.cellar)

    def _catch_up(self, cellar: Cellar) -> None:
        if self._shown is not cellar:
            self._shown = cellar
            if self._shown_ids and not self.desk.do_stand(self._shown_ids):
                self.show_message("")
            if self._shown_flight and not self.desk.is_blind(self._shown_flight):
                self.show_message("")
            self.show_cellar(cellar)

    # --- finding -------------------------------------------------------------------------------------------

    def begin_find_with(self, event: events.Key) -> None:
        """Open the find box for a key that starts a tag, before the key itself is delivered to it."""
        starts_tag = event.character is not None and (event.character.isupper() or event.character.isdigit())
        if starts_tag and not isinstance(self.focused, Input) and event.key not in self.active_bindings:
            self.action_find()

    def action_find(self) -> None:
        """Go to the line; what was focused before has the focus again when it is left."""
        box = self.query_one(FindBox)
        if self.focused is not box:
            self._focus_before_find = self.focused
        box.can_focus = True
        self.set_focus(box)

    def action_back(self) -> None:
        """Go one step back: leave the line, else cancel slow work, else return to the screen one came from."""
        if self.focused is self.query_one(FindBox):
            self.leave_find()
        elif self.query_one(BusyBar).display:
            self.workers.cancel_node(self)
        else:
            self.go_back()

    def go_back(self) -> None:
        """Return to the screen one came from, as it was left."""
        self.app.call_later(self.app.run_action, "return")

    def leave_find(self) -> None:
        """Empty the line and leave it; what had the focus before has it again."""
        box = self.query_one(FindBox)
        box.value = ""
        box.can_focus = False
        if self.focused is box or self.focused is None:
            self.set_focus(self._focus_before_find)

    @on(FindBox.Changed, "#find-box")
    def _show_near(self, event: FindBox.Changed) -> None:
        event.stop()
        typed = event.value.strip().upper()
        near = [s.tag for s in self.desk.cellar if typed and typed in s.tag.upper()][:6]
        self.query_one(FindBox).near = "  ".join(near)

    @on(FindBox.Typed)
    def _go_to_typed(self, event: FindBox.Typed) -> None:
        self.find_tag(event.tag)

    @on(FindBox.Unregistered)
    def _register(self, event: FindBox.Unregistered) -> None:
        self.leave_find()
        self.app.call_later(self.app.run_action, f"ask('vessel', {event.tag!r})")

    def take_scan(self, text: str, stood: str | None) -> Scanned:  # noqa: ARG002 - as screens are given it
        """Go to what was scanned, or refuse it in the line; what stood in another box stays there.

        What is no tag and does not look like one is left to the box.
        """
        box = self.query_one(FindBox)
        if not self.desk.is_like_a_tag(text):
            return Scanned.LEFT
        if self.focused is not box:
            self.action_find()
        box.value = text
        return Scanned.TAKEN if self.find_tag(text) else Scanned.REFUSED

    def find_tag(self, typed: str) -> bool:
        """Go to the vessel with this tag, or to the lot, bottling or flight with this code.

        Where there is none, show so, keep what was typed in the line and selected, so that the next scan takes its
        place, and return False.
        """
        try:
            tag = self.desk.find(typed)
        except NoSuchVessel as error:
            if (place := self.desk.page_of(typed)) is not None:
                self.leave_find()
                self.app.call_later(self.desk.go_to, *place)
                return True
            words = f"{said(error, self.units).rstrip('.')}. {pressed('yes')} registers it."
            self.query_one(StatusLine).refuse(error, words)
            self.query_one(FindBox).select_all_typed()
            return False
        self.leave_find()
        self.found(tag)
        return True

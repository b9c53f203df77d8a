"""The only place where screens write to the book, and where every refusal and question arrives.

A screen never catches an error of the book itself: it hands its work to `Desk.attempt` (or an act to `Desk.write`) and
passes what to do on success. What was typed stays where it is until then.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from importlib import import_module
from typing import Any, Protocol, TypeVar, cast

from textual.app import App
from textual.message import Message
from textual.screen import Screen

from cooperage.book import Act, Book, Cellar, Standing, Written
from cooperage.book.book import ChangeMark
from cooperage.book.declared import acts
from cooperage.book.errors import NothingToStrike
from cooperage.book.log import Entry, entries, hands_in, written_together
from cooperage.book.words import entry_line, entry_words
from cooperage.errors import AskedBack, CooperageError
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.losses.level import Level, level_now
from cooperage.programme.losses.loss_rate import LossRate
from cooperage.programme.search.everything import Found, code_named
from cooperage.programme.several.written import strike_together
from cooperage.programme.together import write_act
from cooperage.settings import Settings
from cooperage.tasting.flights.stored import find_flight
from cooperage.tui.on_screen import on_screen, said
from cooperage.tui.shared.dialogs import Confirm, Pick
from cooperage.units import Units

T = TypeVar("T")

_PAGE_OF: Mapping[str, str] = {"lot": "lots", "bottling": "lots", "flight": "panel"}
_ALONE, _ALL = "alone", "all"
STRIKE_THIS = "Strike this entry?"
HOW_STRIKING_WORKS = "Striking cancels an entry: its reverse is written, and nothing is deleted."


@dataclass
class BookChanged(Message):
    """The book was written, here or elsewhere, and `cellar` is its state now."""

    cellar: Cellar


class CurrencyChanged(Message):
    """The cellar counts in another currency from now on."""


@dataclass(frozen=True, slots=True)
class Page:
    """One main screen: its function key (none: "", and it is not on the top bar), its word, its class's full name.

    `about` is what it is, where it has no key whose meaning shows that.
    """

    key: str
    name: str
    screen: str
    about: str = ""

    def load(self) -> type[Screen[None]]:
        """Import the screen's module, with all that only this screen needs, and return its class."""
        module, _, kind = self.screen.rpartition(".")
        found: type[Screen[None]] = getattr(import_module(module), kind)
        return found

    def make(self) -> Screen[None]:
        """Make the screen; what it needs is imported by then at the latest."""
        return self.load()()


class HasDesk(Protocol):
    """The app, as far as screens need to know it."""

    desk: "Desk"


class Desk:
    """The book, the person's settings, who is at work (`hand`), the cellar as last read, the barrel in hand (`tag`).

    `code` is the lot, bottling or flight that a screen is asked to show next, `brief` what the blend desk is to take up
    next, `traced` what is to be traced next (code, hand and direction of a question to a recall). `rates` are the loss
    rates by tag as a screen last calculated them. `is_up` is True once a page has come up.
    """

    def __init__(self, app: App[None], book: Book, settings: Settings, pages: tuple[Page, ...]) -> None:
        self._app = app
        self.book = book
        self.settings = settings.in_currency(book.currency())
        self.pages = pages
        self.cellar: Cellar = cellar_now(book)
        self.hand = settings.hand
        self.tag = ""
        self.code = ""
        self.brief: Mapping[str, Any] | None = None
        self.traced: Mapping[str, str] | None = None
        self.rates: Mapping[str, LossRate] = {}
        self._mark = book.change_mark()
        self.is_up = False
        self._is_reading = False
        self._is_stale = False

    def level(self, standing: Standing) -> Level:
        """Return what a vessel holds now, by the loss rates that a screen calculated last."""
        return level_now(standing, self.rates.get(standing.tag))

    @property
    def units(self) -> Units:
        """The units in which this person types and reads."""
        return self.settings.units

    def attempt(
        self,
        work: Callable[[bool], T],
        then: Callable[[T], None],
        refused: Callable[[CooperageError], None],
        *,
        rereads: bool = True,
        ask: Callable[[AskedBack, Callable[[], None]], None] | None = None,
    ) -> None:
        """Do `work(sure)`; show the book's question or its refusal; read the cellar again when it is done.

        `then` runs before the cellar is read again, so the next stop is up at once; `rereads` is False for what changes
        nothing in the cellar. `ask` shows a question in place of a dialog; it is given what a yes does.
        """

        def then_read(done: T) -> None:
            then(done)
            if rereads:
                self.read_again()

        self._attempt(work, then_read, refused, ask or self._ask, sure=False)

    def _ask(self, question: AskedBack, yes: Callable[[], None]) -> None:
        def answered(is_so: bool | None) -> None:
            if is_so:
                yes()

        self._app.push_screen(Confirm(self.question(question)), answered)

    def _attempt(
        self,
        work: Callable[[bool], T],
        then: Callable[[T], None],
        refused: Callable[[CooperageError], None],
        ask: Callable[[AskedBack, Callable[[], None]], None],
        *,
        sure: bool,
    ) -> None:
        try:
            done = work(sure)
        except AskedBack as question:
            ask(question, lambda: self._attempt(work, then, refused, ask, sure=True))
        except CooperageError as error:
            refused(error)
        else:
            then(done)

    def write(self, act: Act, then: Callable[[Written], None], refused: Callable[[CooperageError], None]) -> None:
        """Write an act, signed with the person's hand when it has none."""

        def work(sure: bool) -> Written:
            return write_act(self.book, replace(act, hand=act.hand or self.hand, sure=act.sure or sure))

        self.attempt(work, then, refused)

    def describe_written(self, *written: Written) -> str:
        """Return what was just written, as the book has it; of several entries, the last comes first."""
        with self.book.reading() as connection:
            done = entries(connection, ids=[each.id for each in written], in_written_order=True)
        found = [entry_words(entry, self.units, short=True) for entry in reversed(done)]
        return f"Written: {'; '.join(found or [each.act.kind for each in written])}"

    def do_stand(self, ids: Sequence[str]) -> bool:
        """Return True if none of some entries is struck, as far as the book can be asked."""
        try:
            with self.book.reading() as connection:
                return not any(entry.struck_by for entry in entries(connection, ids=list(ids)))
        except CooperageError:
            return True

    def is_blind(self, flight: str) -> bool:
        """Return True until the codes of a flight are revealed, as far as the book can be asked."""
        try:
            with self.book.reading() as connection:
                return find_flight(connection, flight).is_blind
        except CooperageError:
            return True

    def question(self, error: AskedBack) -> str:
        """Return a question of the book as a sentence to answer with yes or no."""
        text = on_screen(error.question(self.units))
        asked = "" if text.endswith("?") else "\n\nIs this correct?"
        return f"{text[:1].upper()}{text[1:]}{'' if text.endswith(('.', '?')) else '.'}{asked}"

    def strike_last(self, then: Callable[[Entry, int], None], refused: Callable[[CooperageError], None]) -> None:
        """Show the last standing entry and strike it when the person answers yes."""
        try:
            last = self.last_entry()
        except CooperageError as error:
            refused(error)
        else:
            self.strike(last, then, refused, "Strike the last entry?")

    def strike(
        self,
        entry: Entry,
        then: Callable[[Entry, int], None],
        refused: Callable[[CooperageError], None],
        asks: str = STRIKE_THIS,
    ) -> None:
        """Show an entry and strike it when the person answers yes; of several written as one, ask: it alone, or all.

        `then` is given the entry and how many were struck.
        """
        try:
            with self.book.reading() as connection:
                count = len(written_together(connection, entry.id))
        except CooperageError as error:
            refused(error)
            return
        question = f"{asks}\n\n{entry_line(entry, self.units)}\n\n{HOW_STRIKING_WORKS}"

        def strike_it(strike: Callable[[Book, acts.Strike], list[Written]]) -> None:
            act = acts.Strike(entry=entry.id, hand=self.hand)
            self.attempt(lambda _sure: strike(self.book, act), lambda done: then(entry, len(done)), refused)

        def answered(yes: bool | None) -> None:
            if yes:
                strike_it(_strike_alone)

        def chosen(which: str | None) -> None:
            if which is not None:
                strike_it(_strike_alone if which == _ALONE else strike_together)

        if count > 1:
            choices = [(_ALONE, "this one"), (_ALL, f"all {count} that were written with it")]
            choices = choices if asks == STRIKE_THIS else choices[::-1]  # the last thing done is the whole of it
            self._app.push_screen(Pick(question, choices), chosen)
        else:
            self._app.push_screen(Confirm(question, yes="strike it"), answered)

    def last_entry(self) -> Entry:
        """Return the entry written last that still stands; raises NothingToStrike."""
        with self.book.reading() as connection:
            found = entries(connection, newest=1, standing=True, in_written_order=True)
        if not found:
            raise NothingToStrike
        return found[0]

    def find(self, typed: str) -> str:
        """Return the tag that was typed or scanned, as it is written in the book; raises NoSuchVessel."""
        return self.cellar[typed].tag

    def page_of(self, typed: str) -> tuple[str, str] | None:
        """Return the screen and the code of the lot, bottling or flight that was typed or scanned; None for others."""
        with self.book.reading() as connection:
            found = code_named(connection, self.cellar, typed)
        return None if found is None else (_PAGE_OF[found.kind], found.name)

    def is_like_a_tag(self, text: str) -> bool:
        """Return True if a text is a tag or a code, or has the shape of one: a scan of it was meant as such."""
        names = [*(standing.tag for standing in self.cellar), *self.cellar.lots]
        return shape_of(text) in {shape_of(name) for name in names} or self.page_of(text) is not None

    async def go_to(self, page: str, code: str = "") -> None:
        """Switch to a screen, and there to a lot, bottling or flight."""
        self.code = code
        if self._app.current_mode == page:  # nothing comes up that would look where to go
            await self._app.run_action("go_to_wanted", self._app.screen_stack[0])
        else:
            await self._app.switch_mode(page)

    async def go_to_found(self, found: Found) -> None:
        """Go to what a search found: a vessel, a lot, a bottling, a flight; an entry at its vessel, or in the book."""
        if found.vessel is not None:
            self.tag = found.vessel
            await self._app.switch_mode("barrel")
        else:
            await self.go_to(_PAGE_OF.get(found.kind, "book"), found.name)

    def hands(self) -> list[str]:
        """List who has written in the book, who wrote last first; the person at work is among them."""
        with self.book.reading() as connection:
            found = hands_in(connection)
        return found if self.hand in found or not self.hand else [self.hand, *found]

    def read_again(self) -> None:
        """Read the cellar again in the background and show it; only one read at a time, so the newest comes last."""
        self._is_stale = self._is_reading
        if not self._is_reading:
            self._is_reading = True
            self._app.run_worker(self._read, thread=True, group="cellar")

    def _read(self) -> None:
        try:
            mark, cellar, currency = self.book.change_mark(), cellar_now(self.book), self.book.currency()
        except CooperageError as error:
            self._app.call_from_thread(self._not_read, error)
        else:
            self._app.call_from_thread(self._take, mark, cellar, currency)

    def look_up(self) -> None:
        """Check in the background whether the book was changed elsewhere, and if so read the cellar again."""
        if not self._is_reading:
            self._app.run_worker(self._look_up, thread=True, group="look up", exclusive=True)

    def _look_up(self) -> None:
        try:
            mark = self.book.change_mark()
        except CooperageError:
            return  # the next read or write shows it
        if mark != self._mark:
            self._app.call_from_thread(self.read_again)

    def _not_read(self, error: CooperageError) -> None:
        self._is_reading = False
        self._app.notify(said(error, self.units), severity="error", markup=False)

    def _take(self, mark: ChangeMark, cellar: Cellar, currency: str) -> None:
        self._is_reading = False
        if currency != self.units.currency:
            self.settings = self.settings.in_currency(currency)
            self._app.post_message(CurrencyChanged())
        self._mark, self.cellar = mark, cellar
        self._app.screen_stack[0].post_message(BookChanged(cellar))
        if self._is_stale:
            self.read_again()


def _strike_alone(book: Book, strike: acts.Strike) -> list[Written]:
    return [book.write(strike)]


def shape_of(name: str) -> str:
    """Return the shape of a tag: "A-9" of "B-017", where letters are A and figures 9, each once."""
    return re.sub(r"\d+", "9", re.sub(r"[^\W\d_]+", "A", name.strip()))


def desk_of(app: App[Any]) -> Desk:
    """Return the desk of the running app."""
    return cast(HasDesk, app).desk

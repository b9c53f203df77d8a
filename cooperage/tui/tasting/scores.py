"""Score entry: taster after taster, one glass at a time by its blind code, each in the taster's own order.

One line does it all: the taster's name first, then a line for each glass. What Enter takes is written at once; what is
half typed is kept with its glass and its taster, on disk too.
"""

from collections.abc import Sequence
from contextlib import suppress
from functools import partial

from rich.text import Text
from textual import on

from cooperage.errors import CooperageError
from cooperage.tasting.flights import Flight, Score, flight, flights, order_for, score
from cooperage.tasting.flights.line import TooManyFigures
from cooperage.tasting.flights.scales import OffTheScale
from cooperage.tasting.flights.vocabulary import Term, vocabulary
from cooperage.tasting.in_line import whole_name
from cooperage.tasting.turns import LineRead, line_of, next_taster, read_line, still_to_come, whole_line, words_near
from cooperage.tui.keys import pressed
from cooperage.tui.shared.ink import ink
from cooperage.tui.shared.steady import Steady
from cooperage.tui.tasting.glass_line import GlassLine, GlassRows, TasterSheet
from cooperage.tui.tasting.sheet_words import GlassInHand, sheet_lines, sheet_title
from cooperage.tui.tasting.words import waiting_lines
from cooperage.units import counted

_HINTS = {
    True: (
        "A dash leaves one out. Then words; a verdict: vanilla, soft wood; look again 8 weeks",
        "Scores in a row are for the glasses that follow. Words may follow one: 14 vanilla; ready",
        "A dash leaves one out. Then words; a verdict.",
    ),
    False: (
        "A dash leaves one out. Then words: vanilla, soft wood",
        "Scores in a row are for the glasses that follow. Words may follow one: 14 vanilla",
        "A dash leaves one out. Then words.",
    ),
}
"""By whether a flight takes verdicts: what is typed with attributes, without, and where there is little room."""
_CLOSED = "codes stay closed until the flight is revealed"
_NOTHING = LineRead({}, "", 0)


class ScoreSheet(TasterSheet):
    """One glass at a time by its code, for one taster, in the order that was drawn for that taster.

    Nothing here shows what is in a glass, or what another taster gave it.
    """

    def __init__(self, poured: Flight) -> None:
        super().__init__(poured.code)
        self._flight = poured
        self._proposed = ""
        self._known: list[str] = []
        self._order: list[str] = []
        self._at = 0
        self._read = _NOTHING
        self._terms: Sequence[Term] = ()

    def on_mount(self) -> None:
        """Read who may taste and which words there are, and ask for the taster."""
        book = self.desk.book
        tasters = [taster for each in flights(book) for taster in each.panel]
        self._known = list(dict.fromkeys([*self._flight.panel, *tasters, *self.desk.hands()]))
        self._terms = vocabulary(book)
        super().on_mount()

    @property
    def code(self) -> str:
        """The code of the glass in hand."""
        return self._order[self._at]

    # --- taster after taster ----------------------------------------------------------------------------------------

    def ask_for_taster(self, done: str) -> None:
        """Close the glasses and ask who comes next, who must not see these scores; `done` is what was done."""
        self._taster = ""
        self.refresh_bindings()
        self._flight = flight(self.desk.book, self._flight.code)
        self._proposed = next_taster(self._flight, self.desk.hand)
        self._line.put("")
        self._line.cleared = ""
        self.query_one("#prompt", Steady).update("taster ›")
        self._show_title("")
        waiting = waiting_lines(self._flight)
        self.query_one(GlassRows).set_lines(len(waiting), lambda index, _width: Text(waiting[index], no_wrap=True))
        opens = f"Enter opens the sheet of {self._proposed}; or type another name." if self._proposed else ""
        if not self._proposed and self._flight.panel:
            opens = "All have scored every glass. Esc closes; or type another name."
        self._show(" ".join(filter(None, (done, opens or "Type the name of the taster."))))
        self._show_hint("Each scores alone, and sees no other's scores.")

    def _begin(self) -> None:
        """Open the glasses for the taster whose name is typed or proposed, at the first that is not scored."""
        typed = self._line.value
        name = whole_name(typed, self._known) if typed.strip() else self._proposed
        if not name:
            self._show("Type the name of the taster first.")
            return
        code = self._flight.code
        self.desk.attempt(
            lambda _sure: order_for(self.desk.book, code, name),
            partial(self._opened, name),
            self._refused,
            rereads=False,
        )

    def _opened(self, name: str, order: list[str]) -> None:
        self._flight = flight(self.desk.book, self._flight.code)
        self._taster = self._flight.taster_named(name)
        self._order = order
        self.refresh_bindings()
        self._go_to(next((at for at, code in enumerate(order) if self._of(code) is None), 0))

    def _of(self, code: str) -> Score | None:
        """Return what the taster in hand gave a glass."""
        return self._flight.scores.get((code, self._taster))

    def action_other_taster(self) -> None:
        """Let another taster sit down; what is half typed stays with its glass."""
        if self._taster:
            self._keep_draft()
            self.ask_for_taster("")

    # --- one glass --------------------------------------------------------------------------------------------------

    def _go_to(self, at: int) -> None:
        """Put a glass in hand, with what is half typed or written for it in the line."""
        self._at = min(max(at, 0), len(self._order) - 1)
        draft, kept = self._drafts.of(self._draft_name), self._kept_line
        if draft.text:
            self._line.put(draft.text, draft.cursor)
        else:
            self._line.put(f"{kept} " if kept and len(kept.split()) < len(self._flight.attributes) + 1 else kept)
        self._line.cleared = ""
        self.query_one("#prompt", Steady).update(f"{self.code} ›")
        self._read = _NOTHING
        self._show_title(self._taster)
        self._understand()

    @property
    def _draft_name(self) -> str:
        return f"{self._taster}\n{self.code}"

    @property
    def _kept_line(self) -> str:
        return line_of(self._of(self.code), self._flight)

    @property
    def _is_written(self) -> bool:
        """Return True if the book holds what stands in the line."""
        return self._line.value.strip() in ("", self._kept_line)

    @on(GlassLine.Changed)
    def _typed(self, event: GlassLine.Changed) -> None:
        event.stop()
        if self._taster:
            self._keep_draft()
            self._understand()
            return
        whole = whole_name(self._line.value, self._known)
        whose = f"the sheet of {whole}" if whole in self._known else f"a sheet for a new taster: {whole}"
        self._show(f"Enter opens {whose}" if whole else "Type the name of the taster.")

    def _understand(self) -> None:
        """Draw what the line gives, and show what Enter takes or why it takes nothing."""
        text = self._line.value.strip()
        try:
            self._read = self._read_line() if text else _NOTHING
        except CooperageError as error:
            self._read = self._read_as_far_as_understood(text)
            are_figures_wrong = isinstance(error, OffTheScale | TooManyFigures)
            if are_figures_wrong or self._whole(self._line.value) == self._line.value:
                self._refused(error)
            else:
                self._show("Right completes what is begun.")
        else:
            self._show(self._next_words() if self._is_written else f"Enter takes  {self._read.words}")
        self._line.propose()
        self._draw()
        near = words_near(self._line.value, self._terms)
        self._show_hint(f"words: {' · '.join(near)}" if near else self._hint)

    @property
    def _hint(self) -> str:
        one, row, short = _HINTS[self._flight.takes_verdicts]
        hint = one if self._flight.attributes else row
        return hint if len(hint) <= self.app.size.width - 2 else short

    def _next_words(self) -> str:
        """Return what Enter does with a line that is written, or with none."""
        if not self._kept_line:
            return "Type the figures in the order they stand." if self._flight.attributes else "Type the score."
        missing = still_to_come(self._of(self.code), self._flight)
        rest = f"Still to come: {', '.join(missing)}. " if missing else ""
        return f"{self.code} is written. {rest}Enter goes on."

    def _whole(self, text: str) -> str:
        """Return the line with what is begun completed: a name, a tasting word, a verdict."""
        if self._taster:
            return whole_line(text, self._terms)
        whole = whole_name(text, self._known)
        return text + whole[len(text) :] if whole.casefold().startswith(text.casefold()) else text

    def action_take_line(self) -> None:
        """Take the taster's name; write what is typed for this glass, or go on where it is written."""
        if not self._taster:
            self._begin()
            return
        if self._is_written:
            self._go_on(self._at + 1)
            return
        try:
            read = self._read_line()
        except CooperageError as error:
            self._refused(error)
            return
        self.desk.attempt(
            lambda sure: self._write(read, sure=sure), lambda _done: self._taken(read), self._refused, rereads=False
        )

    def _read_line(self) -> LineRead:
        return self._read_text(self._line.value)

    def _read_text(self, text: str) -> LineRead:
        return read_line(text, self._flight, self._taster, self._order[self._at :], self.desk.units)

    def _read_as_far_as_understood(self, text: str) -> LineRead:
        """Return what a refused line gives up to the first part that is not understood, so that nothing old stands."""
        parts = text.split()
        for count in range(len(parts) - 1, 0, -1):
            with suppress(CooperageError):
                return self._read_text(" ".join(parts[:count]))
        return _NOTHING

    def _write(self, read: LineRead, *, sure: bool) -> None:
        book, code, taster = self.desk.book, self._flight.code, self._taster
        for glass, each in read.given.items():
            marks, verdict = each.marks, each.verdict
            score(book, code, glass, taster, each.value, each.words, marks=marks, verdict=verdict, sure=sure)

    def _taken(self, read: LineRead) -> None:
        """Go on to the next glass when all figures of this one are in; else stay for the rest."""
        for code, each in read.given.items():
            self._flight.scores[code, self._taster] = each
        self._drafts.written(self._draft_name)
        self._save()
        is_whole = read.reached > len(self._flight.attributes)
        self._go_on(self._at + read.glasses) if is_whole else self._go_to(self._at)

    def _go_on(self, at: int) -> None:
        """Put the next glass in hand; after the last, let the next taster sit down."""
        if at < len(self._order):
            self._go_to(at)
            return
        given = counted(sum(self._of(code) is not None for code in self._order), "glass is", "glasses are")
        left = [code for code in self._order if self._of(code) is None]
        missing = f" Not scored: {', '.join(left)}." if left else ""
        self.ask_for_taster(f"{self._taster}: {given} written.{missing}{self._partly_scored()}")

    def _partly_scored(self) -> str:
        """Return which glasses lack figures that others of this taster have; none where all lack some on purpose."""
        scored = [code for code in self._order if self._of(code) is not None]
        lacking = [code for code in scored if still_to_come(self._of(code), self._flight)]
        return f" Figures missing: {', '.join(lacking)}." if 0 < len(lacking) < len(scored) else ""

    def action_step(self, glasses: int) -> None:
        """Go to the glass beside; what is half typed stays with this one."""
        if self._taster:
            self._keep_draft()
            self._go_to(self._at + glasses)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002 - Textual's
        """Only a taster goes from glass to glass, or gives the sheet to another."""
        return action not in ("step", "other_taster") or bool(self._taster)

    def action_clear_or_close(self) -> None:
        """Clear what is half typed, which Right brings back; else close."""
        line = self._line
        if not line.value.strip() or (self._taster and self._is_written):
            self.dismiss()
            return
        cleared = line.value
        line.put(self._kept_line if self._taster else "")
        line.cleared = cleared
        if self._taster:
            self._keep_draft()
            self._understand()
        self._show(f"Cleared: {cleared.strip()}. Right brings it back, {pressed('back')} closes.")

    # --- what is shown ----------------------------------------------------------------------------------------------

    @property
    def hand(self) -> GlassInHand:
        """The glass in hand as it is shown."""
        done = frozenset(code for code in self._order if self._of(code) is not None)
        given = self._read.given.get(self.code, Score(None))
        return GlassInHand(self._flight, self._order, self._at, given, self._read.reached, done, self._terms)

    def on_resize(self) -> None:
        """Draw to the room there is."""
        if self._taster:
            self.call_after_refresh(self._draw)
        self._show_title(self._taster)

    def _draw(self) -> None:
        """Draw the glass; only the lines that differ are drawn again."""
        listed = self.query_one(GlassRows)
        lines, at = sheet_lines(
            self.hand, listed.size.width, listed.size.height, self.desk.units, partial(ink, self.app)
        )
        listed.set_lines(len(lines), lambda index, _width: lines[index].copy())
        listed.cursor = min(at, len(lines) - 1)

    def _show_title(self, taster: str) -> None:
        whose = f"   {sheet_title(taster, self.hand)}" if taster else ""
        title = Text(no_wrap=True).append(f"{self._flight.code}  {self._flight.name}".rstrip(), "bold").append(whose)
        room = self.app.size.width - 2 - title.cell_len - len(_CLOSED)
        if room > 1:
            title.append(" " * room).append(_CLOSED, ink(self.app, "quiet"))
        self.query_one("#sheet-title", Steady).update(title)

    def _show_hint(self, words: str) -> None:
        self.query_one("#hint", Steady).update(words)

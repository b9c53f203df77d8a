"""Score entry: taster after taster, one glass at a time by its blind code; Enter goes to the next glass."""

from functools import partial
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.geometry import Size
from textual.reactive import Reactive
from textual.screen import ModalScreen
from textual.widgets import Input, Label, Static

from cooperage.errors import CooperageError
from cooperage.tasting.flights import Flight, flight, flights, score
from cooperage.tasting.in_line import LEFT_OUT, scores_in_line, whole_name
from cooperage.tui.keys import bound
from cooperage.tui.shared.bars import KeyBar, StatusLine
from cooperage.tui.shared.desk import Desk, desk_of
from cooperage.tui.shared.ink import ink
from cooperage.tui.shared.line_list import LineList
from cooperage.tui.tasting.sheet_words import ScoredGlass, announced, as_typed, code_lines, sheet_head, sheet_line
from cooperage.units import Quantity, counted, read


class SheetBox(Input):
    """A box of the sheet; what is typed never changes the room it takes, so no key lays the sheet out."""

    virtual_size = Reactive(Size(0, 0), layout=False)


class ScoreSheet(ModalScreen[None]):
    """One glass at a time by its code, for one taster; written as it is left, it can be changed until the reveal.

    Several scores typed in a row go to the glasses in their order; a dash leaves one out.
    """

    CSS_PATH = "screen.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("enter", "next", "next glass", priority=True),
        bound("next", "app.focus_next", "next field", show=True),
        bound("down", "step(1)", "next glass"),
        bound("previous", "app.focus_previous", "previous field"),
        bound("up", "step(-1)", "glass before"),
        bound("back", "leave", "close"),
    ]

    def __init__(self, poured: Flight) -> None:
        super().__init__(classes="dialog")
        self._flight = poured
        self._taster = ""
        self._known: list[str] = []
        self.rows = [ScoredGlass(glass.code, glass.position) for glass in poured.glasses]
        self._at = 0

    @property
    def desk(self) -> Desk:
        """Where it is written."""
        return desk_of(self.app)

    def compose(self) -> ComposeResult:
        """Ask who tastes; then one glass, over the list of all in the order poured."""
        with Vertical(classes="box"):
            yield Static(f"{self._flight.code}  {self._flight.name}".rstrip(), classes="title", markup=False)
            with Horizontal(classes="asked"):
                yield Label("Taster")
                yield SheetBox(id="taster", compact=True, placeholder="e.g. a name, then Enter")
                yield Label(f"scale {self._flight.scale}; codes stay closed", classes="hint", markup=False)
            yield Static("", id="code", markup=False)
            with Horizontal(classes="asked"):
                yield Label("Score")
                yield SheetBox(id="score", compact=True, disabled=True, select_on_focus=False)
                yield Label("Words", classes="second")
                yield SheetBox(id="words", compact=True, disabled=True, select_on_focus=False)
            yield Static(sheet_head(), classes="head", markup=False)
            yield LineList(id="glasses", can_focus=False, takes=False)
            yield StatusLine()
            yield KeyBar()

    def on_mount(self) -> None:
        """Ask for the taster's name."""
        tasters = [taster for each in flights(self.desk.book) for taster in each.tasters]
        self._known = list(dict.fromkeys([*tasters, *self.desk.hands()]))
        self._glasses.styles.height = len(self.rows)
        self._draw()
        self.query_one("#taster").focus()

    # --- what is shown ----------------------------------------------------------------------------------------------

    @property
    def _glasses(self) -> LineList:
        return self.query_one(LineList)

    def _draw(self) -> None:
        """Draw the glasses; only the lines that differ are drawn again."""
        inks, rows = partial(ink, self.app), self.rows
        self._glasses.set_lines(
            len(rows),
            lambda index, _width: sheet_line(
                rows[index], self._flight.scale, bool(self._taster) and index == self._at, self.desk.units, inks
            ),
        )

    def _box(self, name: str) -> Input:
        return self.query_one(f"#{name}", Input)

    def _show_words(self, words: str) -> None:
        self.query_one(StatusLine).show_message(words)

    # --- one glass --------------------------------------------------------------------------------------------------

    def _go_to(self, at: int) -> None:
        """Put a glass in hand, with what is typed or kept for it."""
        self._at = min(max(at, 0), len(self.rows) - 1)
        row = self.rows[self._at]
        with self.prevent(Input.Changed):
            for name, text in zip(("score", "words"), row.typed, strict=True):
                box = self._box(name)
                box.value, box.cursor_position = text, len(text)
        self.query_one("#code", Static).update(code_lines(row.code), layout=False)
        self._glasses.cursor = self._at
        self._draw()
        self.set_focus(self._box("score"))

    @on(Input.Changed, "#score, #words")
    def _typed(self) -> None:
        """Keep what is typed with its glass, and show which glass gets which score."""
        if not self._taster:
            return
        self.rows[self._at].typed = self._box("score").value.strip(), self._box("words").value.strip()
        self._draw()
        codes = [row.code for row in self.rows[self._at :]]
        self._show_words(announced(self._box("score").value, self._flight.scale, codes))

    def action_step(self, glasses: int) -> None:
        """Write this glass and go to the one beside."""
        if self._taster and self._write(self._at):
            self._go_to(self._at + glasses)

    def action_next(self) -> None:
        """Take the taster's name, or write this glass and go to the next."""
        if self.focused is None or self.focused.id == "taster":
            self._begin()
            return
        first, following = self._at, self._at + self._spread()
        for at in range(first, following):
            if not self._write(at):
                self._go_to(at)
                return
        if following < len(self.rows):
            self._go_to(following)
        else:
            self._hand_over()

    def _spread(self) -> int:
        """Put several scores typed at one glass to it and the glasses after it; return for how many there were."""
        rows = self.rows[self._at :]
        figures = scores_in_line(rows[0].typed[0], self._flight.scale, len(rows))
        for row, figure in zip(rows, figures, strict=False):
            row.typed = "" if figure == LEFT_OUT else figure, row.typed[1]
        return len(figures)

    # --- taster after taster ----------------------------------------------------------------------------------------

    def _begin(self) -> None:
        """Open the glasses for the taster whose name is typed, with what that taster gave before."""
        box = self._box("taster")
        if not box.value.strip():
            self._show_words("Type the name of the taster first.")
            return
        taster = box.value = whole_name(box.value, self._known)
        self._taster = taster
        self._flight = flight(self.desk.book, self._flight.code)
        for row in self.rows:
            row.typed = row.kept = as_typed(self._flight.scores.get((row.code, taster)), self.desk.units)
        self._box("score").disabled = self._box("words").disabled = False
        self._show_words("")
        self._go_to(next((at for at, row in enumerate(self.rows) if not row.kept[0]), 0))

    def _hand_over(self) -> None:
        """Clear the sheet for the next taster, who must not see these scores; a refused glass stays."""
        if not self._write_all():
            return
        given = counted(sum(bool(row.kept[0]) for row in self.rows), "score is", "scores are")
        done = f"{self._taster}: {given} written. Next taster? (Esc to close)"
        self._close_rows()
        box = self._box("taster")
        box.value = ""
        box.focus()
        self._show_words(done)

    def _close_rows(self) -> None:
        self._taster = ""
        for row in self.rows:
            row.typed = row.kept = ("", "")
        with self.prevent(Input.Changed):
            for name in ("score", "words"):
                self._box(name).value = ""
                self._box(name).disabled = True
        self.query_one("#code", Static).update("", layout=False)
        self._draw()

    def _write_all(self) -> bool:
        """Write every glass that was changed; put the first that is refused in hand and return False."""
        refused = next((at for at in range(len(self.rows)) if not self._write(at)), None)
        if refused is not None:
            self._go_to(refused)
        return refused is None

    def _write(self, at: int) -> bool:
        """Write a glass if it was changed; return True if the book then holds what is typed."""
        row = self.rows[at]
        if self._taster and row.is_changed:
            value, words = row.typed
            self.desk.attempt(
                lambda _sure: self._score(row, value, words), lambda _done: self._kept(row), self._refused
            )
        return not row.is_changed

    def _score(self, row: ScoredGlass, value: str, words: str) -> None:
        number = float(read(Quantity.NUMBER, value, self.desk.units)) if value else None
        score(self.desk.book, self._flight.code, row.code, self._taster, number, words)

    def _kept(self, row: ScoredGlass) -> None:
        row.kept = row.typed
        self._show_words("")

    def _refused(self, error: CooperageError) -> None:
        self.query_one(StatusLine).refuse(error, error.words(self.desk.units))

    @on(Input.Changed, "#taster")
    def _other_taster(self, event: Input.Changed) -> None:
        """Write and close the glasses when another name is typed, so that no score goes to the wrong taster.

        A name that is begun is completed from those who have tasted or written before; that is shown first.
        """
        whole = whole_name(event.value, self._known)
        if not self._taster and whole:
            self._show_words(f"Enter opens the sheet of {whole}")
        if self._taster and event.value.strip() != self._taster and self._write_all():
            self._close_rows()

    def action_leave(self) -> None:
        """Close when everything typed is written; a refused score stays until it is changed or cleared."""
        if self._write_all():
            self.dismiss()

"""Score entry: taster after taster, blind codes only, Enter goes to the next glass."""

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Input, Label, Static

from cooperage.errors import CooperageError
from cooperage.tasting.flights import Flight, Glass, Score, flight, flights, score
from cooperage.tasting.in_line import LEFT_OUT, scores_in_line, whole_name
from cooperage.tui.keys import bound
from cooperage.tui.shared.bars import KeyBar, StatusLine
from cooperage.tui.shared.desk import Desk, desk_of
from cooperage.units import Quantity, Units, read, show


class ScoreBox(Horizontal):
    """A glass: its code, a score and words; `kept` is what the book holds of it."""

    def __init__(self, glass: Glass) -> None:
        super().__init__(classes="glass")
        self.glass = glass
        self.kept = ("", "")
        self._score = Input(compact=True, classes="score", disabled=True, placeholder="score")
        self._words = Input(compact=True, classes="words", disabled=True, placeholder="words")

    def compose(self) -> ComposeResult:
        """Put score and words beside the code."""
        yield Label(f"{self.glass.position:>2}  {self.glass.code}", classes="code", markup=False)
        yield self._score
        yield self._words
        yield Label("", classes="state")

    @property
    def typed(self) -> tuple[str, str]:
        """Score and words as they stand."""
        return self._score.value.strip(), self._words.value.strip()

    @property
    def is_changed(self) -> bool:
        """Return True if something is typed that the book does not hold."""
        return self.typed != self.kept

    def show(self, given: Score | None, units: Units) -> None:
        """Open the row with what the book holds of this taster."""
        value = (
            ""
            if given is None or given.value is None
            else show(Quantity.NUMBER, given.value, units).rstrip("0").rstrip(".,")
        )
        self._score.value, self._words.value = value, given.words if given else ""
        self.keep()
        self._score.disabled = self._words.disabled = False

    def clear(self) -> None:
        """Close the row until the next taster begins."""
        self._score.value = self._words.value = ""
        self.kept = ("", "")
        self._score.disabled = self._words.disabled = True
        self.query_one(".state", Label).update("")

    def keep(self) -> None:
        """Note that the book holds what is typed."""
        self.kept = self.typed
        self.query_one(".state", Label).update("written" if any(self.kept) else "")

    def take_score(self, text: str) -> None:
        """Put a score in."""
        self._score.value = text

    def take_focus(self) -> None:
        """Type the score next."""
        self.screen.set_focus(self._score)


class ScoreSheet(ModalScreen[None]):
    """The glasses by code for one taster; each score is written as it is left, and can be changed until revealed."""

    CSS_PATH = "screen.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("enter", "next", "next glass", priority=True),
        bound("next", "app.focus_next", "next field", show=True),
        bound("down", "app.focus_next", "next field"),
        bound("previous", "app.focus_previous", "previous field"),
        bound("up", "app.focus_previous", "previous field"),
        bound("back", "leave", "close"),
    ]

    def __init__(self, poured: Flight) -> None:
        super().__init__(classes="dialog")
        self._flight = poured
        self._taster = ""
        self._known: list[str] = []

    @property
    def desk(self) -> Desk:
        """Where it is written."""
        return desk_of(self.app)

    def compose(self) -> ComposeResult:
        """Ask who tastes, then each glass in the order poured."""
        with Vertical(classes="box"):
            yield Static(f"{self._flight.code}  {self._flight.name}".rstrip(), classes="title", markup=False)
            with Horizontal(classes="asked"):
                yield Label("Taster")
                yield Input(id="taster", compact=True, placeholder="your name, then Enter")
                yield Label(f"scale {self._flight.scale}", classes="hint", markup=False)
            yield Static("     glass  score     words", classes="head")
            with VerticalScroll(id="glasses", can_focus=False):
                for glass in self._flight.glasses:
                    yield ScoreBox(glass)
            yield StatusLine()
            yield KeyBar()

    def on_mount(self) -> None:
        """Ask for the taster's name."""
        tasters = [taster for each in flights(self.desk.book) for taster in each.tasters]
        self._known = list(dict.fromkeys([*tasters, *self.desk.hands()]))
        self.query_one("#taster").focus()

    @property
    def rows(self) -> list[ScoreBox]:
        """The glasses' rows."""
        return list(self.query(ScoreBox))

    def action_next(self) -> None:
        """Take the taster's name, or write this glass and go to the next."""
        focused = self.focused
        if focused is None or focused.id == "taster":
            self._begin()
            return
        here = self.rows.index(next(row for row in self.rows if row in focused.ancestors))
        following = here + self._spread(here)
        if not all(self._write(row) for row in self.rows[here:following]):
            return
        if following < len(self.rows):
            self.rows[following].take_focus()
        else:
            self._hand_over()

    def _spread(self, here: int) -> int:
        """Put several scores typed at one glass to it and the glasses after it; return for how many there were."""
        figures = scores_in_line(self.rows[here].typed[0], self._flight.scale, len(self.rows) - here)
        for row, figure in zip(self.rows[here:], figures, strict=False):
            row.take_score("" if figure == LEFT_OUT else figure)
        return len(figures)

    @on(Input.Changed, ".score")
    def _announce(self, event: Input.Changed) -> None:
        """Show which glass gets which score while several are typed in a row."""
        rows = self.rows
        here = next((nth for nth, row in enumerate(rows) if row in event.input.ancestors), None)
        if here is None or not event.input.has_focus:
            return
        figures = scores_in_line(event.value.strip(), self._flight.scale, len(rows) - here)
        given = [f"{row.glass.code} {figure}" for row, figure in zip(rows[here:], figures, strict=False)]
        self.query_one(StatusLine).show_message(f"Enter writes {' · '.join(given)}" if len(given) > 1 else "")

    def _begin(self) -> None:
        """Open the glasses for the taster whose name is typed, with what that taster gave before."""
        box = self.query_one("#taster", Input)
        if not box.value.strip():
            self.query_one(StatusLine).show_message("Type the name of the taster first.")
            return
        taster = box.value = whole_name(box.value, self._known)
        self._taster = taster
        self._flight = flight(self.desk.book, self._flight.code)
        for row in self.rows:
            row.show(self._flight.scores.get((row.glass.code, taster)), self.desk.units)
        self.query_one(StatusLine).show_message("")
        next((row for row in self.rows if not row.kept[0]), self.rows[0]).take_focus()

    def _hand_over(self) -> None:
        """Clear the sheet for the next taster, who must not see these scores; refused rows stay."""
        refused = next((row for row in self.rows if not self._write(row)), None)
        if refused is not None:
            refused.take_focus()
            return
        done = f"{self._taster}'s scores are written. Next taster? (Esc to close)"
        self._close_rows()
        box = self.query_one("#taster", Input)
        box.value = ""
        box.focus()
        self.query_one(StatusLine).show_message(done)

    def _close_rows(self) -> None:
        self._taster = ""
        for row in self.rows:
            row.clear()

    def _write(self, row: ScoreBox) -> bool:
        """Write a row if it was changed; return True if the book then holds what is typed."""
        if self._taster and row.is_changed:
            value, words = row.typed
            self.desk.attempt(
                lambda _sure: self._score(row, value, words), lambda _done: self._kept(row), self._refused
            )
        return not row.is_changed

    def _score(self, row: ScoreBox, value: str, words: str) -> None:
        number = float(read(Quantity.NUMBER, value, self.desk.units)) if value else None
        score(self.desk.book, self._flight.code, row.glass.code, self._taster, number, words)

    def _kept(self, row: ScoreBox) -> None:
        row.keep()
        self.query_one(StatusLine).show_message("")

    def _refused(self, error: CooperageError) -> None:
        self.query_one(StatusLine).refuse(error, error.words(self.desk.units))

    @on(Input.Blurred)
    def _left(self, event: Input.Blurred) -> None:
        """Write what was typed when the focus leaves the row."""
        row = next((row for row in self.rows if row in event.input.ancestors), None)
        if row is not None:
            self._write(row)

    @on(Input.Changed, "#taster")
    def _other_taster(self, event: Input.Changed) -> None:
        """Write and close the rows when another name is typed, so that no score goes to the wrong taster.

        A name that is begun is completed from those who have tasted or written before; that is shown first.
        """
        whole = whole_name(event.value, self._known)
        if not self._taster and whole:
            self.query_one(StatusLine).show_message(f"Enter opens the sheet of {whole}")
        if self._taster and event.value.strip() != self._taster:
            for row in self.rows:
                self._write(row)
            self._close_rows()

    def action_leave(self) -> None:
        """Close when everything typed is written; a refused score stays until it is changed or cleared."""
        refused = next((row for row in self.rows if not self._write(row)), None)
        if refused is None:
            self.dismiss()
        else:
            refused.take_focus()

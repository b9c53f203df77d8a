"""Figures: which readings are worth most, and how near forecasts of figures have come."""

from datetime import datetime
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.widgets import Static

from cooperage.book import Cellar
from cooperage.programme.ageing.scoring.scoreboard import NOTHING_SCORED, ScoreLine, scoreboard
from cooperage.programme.rounds.worth import NOTHING_WORTH, ReadingWorth, readings_worth_most
from cooperage.tui.figures.words import (
    question_words,
    score_head,
    score_text,
    score_verdict,
    worth_head,
    worth_text,
)
from cooperage.tui.keys import bound, pressed
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.first_days import missing
from cooperage.tui.shared.line_list import LineList
from cooperage.tui.shared.steady import Steady
from cooperage.units import show_moment

_TITLE = "Worth measuring; spares: mead one would be wrong about"
_NOT_SCORED = f"Scores: press {pressed('view')} to calculate them"


class FiguresScreen(CellarScreen):
    """Which readings may change what is done, the best first, and how near forecasts came; Enter opens the vessel.

    A reading spares so much mead that one would be wrong about without it, on average. Each figure was forecast from
    what was known before it was measured; off by is the mean error, bias how much too high, 50 % how many came within
    the band that should hold half of them. A level is held against what the barrel lost last time.
    """

    NAME = "figures"
    CSS_PATH = "screen.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("view", "calculate", "scores again"),
        bound("next", "app.focus_next", "next list", show=True),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._worth: list[ReadingWorth] = []
        self._scores: list[ScoreLine] = []
        self._scored_at = _NOT_SCORED
        self._is_begun = False

    def compose_body(self) -> ComposeResult:
        """The readings, and the scores."""
        with Vertical(id="worth"):
            yield Static("Worth measuring: calculating", id="worth-title", classes="title", markup=False)
            yield Static("", id="worth-head", markup=False)
            yield LineList(id="readings")
            yield Steady("", id="question", markup=False)
        with Vertical(id="scored"):
            yield Static(_NOT_SCORED, id="scored-title", classes="title", markup=False)
            yield Static("", id="scored-head", markup=False)
            yield LineList(id="scores", takes=False)
            yield Steady("", id="verdict", markup=False)

    def on_mount(self) -> None:
        """Begin on the readings."""
        self.set_focus(self._reading_list)

    @property
    def _reading_list(self) -> LineList:
        return self.query_one("#readings", LineList)

    @property
    def _score_list(self) -> LineList:
        return self.query_one("#scores", LineList)

    def show_cellar(self, cellar: Cellar) -> None:
        """Find the readings worth most; when it first comes up calculate the scores too, which takes seconds."""
        if not self._is_begun:  # a screen made ready beforehand calculates nothing
            self._is_begun = True
            self.action_calculate()
        self.run_slow_work("worth", lambda: readings_worth_most(cellar, self.units), self._take_worth)

    def _take_worth(self, found: list[ReadingWorth]) -> None:
        self._worth = found
        self._reading_list.set_lines(
            len(found), lambda index, width: worth_text(found[index], self.app, width, self.units)
        )
        nothing = missing(self.desk.cellar) or NOTHING_WORTH
        self.query_one("#worth-title", Static).update(_TITLE if found else nothing, layout=False)
        self._show_heads()
        self._show_question()

    def _show_question(self) -> None:
        at = self._reading_list.cursor
        words = question_words(self._worth[at]) if at < len(self._worth) else ""
        self.query_one("#question", Static).update(words, layout=False)

    def action_calculate(self) -> None:
        """Calculate the scores, in the background."""
        book, at = self.desk.book, self.desk.book.now()
        self.query_one("#scored-title", Static).update("Scores: calculating")
        self.run_slow_work("scores", lambda: scoreboard(book), lambda found: self._take_scores(found, at))

    def _take_scores(self, found: list[ScoreLine], at: datetime) -> None:
        self._scores, self._scored_at = found, f"Scores at {show_moment(at, at)}" if found else NOTHING_SCORED
        self._score_list.set_lines(
            len(found), lambda index, width: score_text(found[index], self.app, width, self.units)
        )
        self.query_one("#scored-title", Static).update(self._scored_at, layout=False)
        self._show_heads()
        self._show_verdict()

    def _show_verdict(self) -> None:
        at, width = self._score_list.cursor, self._width
        words = score_verdict(self._scores[at], width, self.units) if at < len(self._scores) else ""
        self.query_one("#verdict", Static).update(words, layout=False)

    @property
    def _width(self) -> int:
        """The columns of a line: those of the lists, without the scroll bar's."""
        return self.app.size.width - 3

    def _show_heads(self) -> None:
        """Name the columns for which there is room, where anything stands below them."""
        self.query_one("#worth-head", Static).update(worth_head(self._width) if self._worth else "", layout=False)
        self.query_one("#scored-head", Static).update(score_head(self._width) if self._scores else "", layout=False)

    def on_resize(self) -> None:
        """Name the columns for which there is room now."""
        self.call_after_refresh(self._show_heads)
        self.call_after_refresh(self._show_verdict)

    def action_back(self) -> None:
        """Cancel what is being calculated, and show what stood there before; else go back."""
        if any(worker.group == "scores" and worker.is_running for worker in self.workers):
            self.workers.cancel_node(self)
        else:
            super().action_back()
        self.query_one("#scored-title", Static).update(self._scored_at)

    def on_line_list_moved(self) -> None:
        """Describe what is under the cursor of the list in hand."""
        if self.focused is self._score_list:
            self._show_verdict()
        else:
            self._show_question()

    @property
    def pointed(self) -> str:
        """The vessel of the reading under the cursor."""
        at = self._reading_list.cursor
        return self._worth[at].vessel if at < len(self._worth) else ""

    def on_line_list_taken(self) -> None:
        """Open the vessel of a reading."""
        self.open_page(self.pointed)

"""Blend: the brief on one side, the answer on the other, solved again as the brief is typed."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.timer import Timer

from cooperage.blending.answer import Answer
from cooperage.blending.brief import load_brief
from cooperage.blending.cellar import pool_of, solve_in_cellar
from cooperage.blending.saved import save_brief
from cooperage.blending.typed import heard, spoken, toggled
from cooperage.book import Cellar, acts
from cooperage.book.spoken import Misheard
from cooperage.errors import CooperageError
from cooperage.tasting.flights import VesselScore, last_scores
from cooperage.tui.blend_answer import AnswerSide, StockList
from cooperage.tui.blend_brief import BriefSide
from cooperage.tui.blend_files import BriefFile
from cooperage.tui.blend_pour import Poured, ask_to_pour, has_tanks
from cooperage.tui.blend_words import stock_rows
from cooperage.tui.forms import ActForm
from cooperage.tui.frame import Said
from cooperage.tui.lines import LineList
from cooperage.tui.screen import CellarScreen
from cooperage.tui.shown import Shown

PAUSE_S = 0.35
"""How long nothing is typed before the brief is solved."""
TIME_LIMIT_S = 20.0

Outcome = Answer | CooperageError


class BlendScreen(CellarScreen):
    """Write what the blend must meet; the answer follows: what to draw, what it comes to, and what holds it back."""

    NAME = "blend"
    CSS_PATH = "blend.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("p", "pour", "pour"),
        Binding("e", "edit", "edit"),
        Binding("o", "open", "open"),
        Binding("s", "save", "save"),
        Binding("b", "bottle", "bottle"),
        Binding("escape", "to_answer", "to the answer"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._began_from: Mapping[str, Any] = {}
        self._path = ""
        self._scores: dict[str, VesselScore] = {}
        self._stocks: list[str] = []
        self._brief: dict[str, Any] = {}
        self._answer: Answer | None = None
        self._waiting: Timer | None = None
        self._is_solving = False
        self._stand_on: str | None = None

    def compose_body(self) -> ComposeResult:
        """The two sides."""
        with Horizontal(id="sides"):
            yield BriefSide(self.units)
            yield AnswerSide(self.units)

    def on_mount(self) -> None:
        """Begin with the litres."""
        self._brief_side.begin()

    @property
    def _brief_side(self) -> BriefSide:
        return self.query_one(BriefSide)

    @property
    def _answer_side(self) -> AnswerSide:
        return self.query_one(AnswerSide)

    # --- solving ----------------------------------------------------------------------------------------------------

    def show_cellar(self, cellar: Cellar) -> None:
        """List the stocks as they stand, and solve the brief over them."""
        book = self.desk.book

        def stocks_and_scores() -> tuple[list[str], dict[str, VesselScore]]:
            return [str(tag) for tag in pool_of(cellar, {})["stock"]], last_scores(book)

        self.reckon("stocks", stocks_and_scores, self._take_stocks)

    def _take_stocks(self, found: tuple[list[str], dict[str, VesselScore]]) -> None:
        self._stocks, self._scores = found
        self._show_rows()
        self._solve_soon()

    def on_brief_side_changed(self) -> None:
        """Solve when nothing has been typed for a moment."""
        self._solve_soon()

    def _solve_soon(self) -> None:
        self._drop_answer()
        if self._waiting is not None:
            self._waiting.stop()
        self._waiting = self.set_timer(PAUSE_S, self._solve)

    def _drop_answer(self) -> None:
        """Let go of an answer that belongs to an older brief or cellar: it can no longer be poured."""
        self._answer, self._is_solving = None, False
        self.workers.cancel_group(self, "solve")
        self.refresh_bindings()

    @property
    def is_waiting(self) -> bool:
        """Say whether the answer to what is typed is still to come."""
        return self._waiting is not None

    def _solve(self) -> None:
        self._waiting = None
        texts, cellar = self._brief_side.texts, self.desk.cellar
        if not texts["litres"].strip():
            self._answer_side.show_none("How many litres are wanted?")
            self._show_rows()
            return
        try:
            brief = heard(texts, self.units, self._began_from, self._stocks)
        except Misheard as error:
            self._answer_side.show_none("The brief is not understood yet.")
            self.refuse(error)
            return
        self._is_solving = True
        self._answer_side.begin_solving()
        means = {tag: given.mean for tag, given in self._scores.items()}
        self.reckon("solve", lambda: _solved(cellar, means, brief), lambda outcome: self._take_outcome(brief, outcome))

    def _take_outcome(self, brief: dict[str, Any], outcome: Outcome) -> None:
        self._is_solving = False
        if isinstance(outcome, CooperageError):
            self._answer_side.show_none("The brief is not understood yet.")
            self.refuse(outcome)
            return
        self._brief, self._answer = brief, outcome
        if self.query_one(Said).has_class("refused"):
            self.say("")
        self._answer_side.show(outcome)
        self._show_rows()
        if self._stand_on is not None:
            self._answer_side.stand_on(self._stand_on)
            self._stand_on = None
        self.refresh_bindings()

    def _show_rows(self) -> None:
        texts = self._brief_side.texts
        rules = {tag.upper(): rule for rule in ("must", "never") for tag in texts[rule].replace(",", " ").split()}
        rules = {tag: rules[tag.upper()] for tag in self._stocks if tag.upper() in rules}
        rows = stock_rows(self._answer, self.desk.cellar, self._stocks, self._scores, rules)
        self._answer_side.show_rows(rows)

    # --- keys -------------------------------------------------------------------------------------------------------

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002 - Textual's
        """A blend is poured only while there is a plan for the brief as it stands, and a tank."""
        if action == "pour":
            return self._answer is not None and bool(self._answer.draws) and has_tanks(self.desk.cellar)
        return self.focused is not self._answer_side.stocks if action == "to_answer" and self.is_mounted else True

    def on_stock_list_ruled(self, event: StockList.Ruled) -> None:
        """Write the rule into the brief, which is then solved again."""
        self._brief_side.set_texts(toggled(self._brief_side.texts, event.rule, event.tag))

    def on_line_list_taken(self, event: LineList.Taken) -> None:
        """Open the stock's page."""
        if isinstance(event.lines, StockList) and event.lines.current is not None:
            self.open_page(event.lines.current.tag)

    def found(self, tag: str) -> None:
        """Stand on the stock that was scanned; a vessel that is none opens its page."""
        if self._answer_side.stocks.go_to(tag):
            self.set_focus(self._answer_side.stocks)
        else:
            self.open_page(tag)

    def action_edit(self) -> None:
        """Go to the brief."""
        self._brief_side.begin()

    def action_to_answer(self) -> None:
        """Go from the brief to the stocks, and stop a solve that takes long."""
        if self._is_solving:
            self._is_solving = False
            self._answer_side.show_none("Stopped. Change the brief to solve it again.")
        self.action_leave_find()
        self.set_focus(self._answer_side.stocks)

    def action_open(self) -> None:
        """Read a brief from a file."""
        self.app.push_screen(BriefFile("Open a brief", "", with_list=True), self._opened)

    def _opened(self, path: Path | None) -> None:
        if path is None:
            return
        try:
            brief = load_brief(path)
        except CooperageError as error:
            self.refuse(error)
            return
        self._began_from, self._path, self._stand_on = brief, str(path), ""
        self._brief_side.set_texts(spoken(brief, self.units))
        kept = [key for key in brief if key in ("share", "mixing", "price_per_l", "slack")]
        self._brief_side.set_title(
            f"Brief: {path.stem.replace('_', ' ')}", f"and {', '.join(kept)} as in the file" if kept else ""
        )
        self.say(f"Opened {path}")

    def action_save(self) -> None:
        """Write the brief to a file."""
        try:
            brief = heard(self._brief_side.texts, self.units, self._began_from, self._stocks)
        except Misheard as error:
            self.refuse(error)
            return

        def named(path: Path | None) -> None:
            if path is not None:
                self.desk.attempt(
                    lambda _sure: save_brief(path, brief), lambda _: self.say(f"Saved {path}"), self.refuse
                )

        self.app.push_screen(BriefFile("Save the brief as", self._path or "brief.toml", with_list=False), named)

    def action_pour(self) -> None:
        """Write the blend into the book, after asking."""
        if self._answer is not None:
            ask_to_pour(self, self._answer, self._brief, self._poured)

    def _poured(self, poured: Poured) -> None:
        self.say(f"Poured into {poured.tank}.")
        self._stand_on = poured.tank
        self.app.push_screen(Shown(f"Poured into {poured.tank}. Now:", poured.words))

    def action_bottle(self) -> None:
        """Bottle the vessel under the cursor."""
        row = self._answer_side.stocks.current
        known = {"vessel": row.tag} if row else {}
        self.app.push_screen(
            ActForm(acts.Bottle, known), lambda done: self.say(f"Bottled from {row.tag}.") if done and row else None
        )


def _solved(cellar: Cellar, means: Mapping[str, float], brief: Mapping[str, Any]) -> Outcome:
    """Solve, or return why the brief is no brief, so that a stale refusal is dropped like a stale answer."""
    try:
        return solve_in_cellar(cellar, means, brief, time_limit=TIME_LIMIT_S)
    except CooperageError as error:
        return error

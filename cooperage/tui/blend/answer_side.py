"""The answer's side of the blend screen: what the blend comes to, the stocks, and what holds it back."""

from collections.abc import Sequence
from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical, VerticalScroll
from textual.message import Message
from textual.timer import Timer
from textual.widgets import Static

from cooperage.blending.answer.answer import Answer
from cooperage.blending.answer.compared import RuleCost, rule_lines
from cooperage.blending.answer.summary import figures, headline, reasons, tidy_line
from cooperage.blending.own_process import OwnProcess
from cooperage.book.dangers.dangers import Caution
from cooperage.tui.blend.solving import BUSY_AFTER_S, Solving
from cooperage.tui.blend.words import StockRow, stock_line, stock_words, stocks_head
from cooperage.tui.keys import bound
from cooperage.tui.shared.line_list import LineList
from cooperage.units import Units

_COPIED = 120
"""The width of a copied plan."""


class StockList(LineList):
    """The stocks, those drawn first; a key to force and a key to forbid the stock under the cursor."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("enter", "take", "barrel page"),
        bound("yes", "rule('must')", "must draw"),
        bound("no", "rule('never')", "never draw"),
    ]

    class Ruled(Message):
        """A stock is to be forced or forbidden, or no longer."""

        def __init__(self, tag: str, rule: str) -> None:
            super().__init__()
            self.tag, self.rule = tag, rule

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        self.rows: Sequence[StockRow] = ()

    def show_rows(self, rows: Sequence[StockRow], units: Units) -> None:
        """List these stocks; the cursor stays where the focus is, else goes to the first draw."""
        stood_on = self.current.tag if self.current and self.has_focus else ""
        self.rows = rows
        self.cursor = 0
        self.set_lines(len(rows), lambda index, width: Text(stock_line(rows[index], units, width), no_wrap=True))
        self.go_to(stood_on)

    def go_to(self, tag: str) -> bool:
        """Put the cursor on a stock; return True if it is listed."""
        at = next((index for index, row in enumerate(self.rows) if row.tag == tag), None)
        if at is not None:
            self.cursor = at
        return at is not None

    @property
    def current(self) -> StockRow | None:
        """The stock under the cursor."""
        return self.rows[self.cursor] if self.cursor < len(self.rows) else None

    def action_rule(self, rule: str) -> None:
        """Force or forbid the stock under the cursor, or stop doing so."""
        if self.current is not None:
            self.post_message(self.Ruled(self.current.tag, rule))


class AnswerSide(Vertical):
    """The answer to the brief."""

    def __init__(self, units: Units, process: OwnProcess) -> None:
        super().__init__(id="blend-answer")
        self._units, self._process = units, process
        self._answer: Answer | None = None
        self._rules: list[str] = []
        self._minded: Sequence[Caution] = ()
        self._short: Sequence[str] = ()
        self._are_listed = False
        self._waiting: Timer | None = None

    def compose(self) -> ComposeResult:
        """Put the ending and the figures over the stocks, and the reasons under them."""
        yield Static("", id="headline", classes="title", markup=False)
        yield Solving(self._process)
        yield Static("", id="figures", markup=False)
        yield Static("", id="stocks-head", markup=False)
        yield StockList(id="stocks")
        yield Static("", id="tidy", markup=False)
        yield Static("", id="stock-words", markup=False)
        with VerticalScroll(id="reasons"):
            yield Static("", id="reasons-words", markup=False)

    @property
    def stocks(self) -> StockList:
        """The list of stocks."""
        return self.query_one(StockList)

    def begin_solving(self) -> None:
        """Show that an answer is on its way, if it takes more than a moment: till then what stands there stays."""
        self._end_waiting()
        self._waiting = self.set_timer(BUSY_AFTER_S, lambda: self._head("Solving …"))

    def _end_waiting(self) -> None:
        if self._waiting is not None:
            self._waiting.stop()
        self._waiting = None

    def _head(self, words: str) -> None:
        """Show how it ended, in the one line there is for it."""
        self._end_waiting()
        self.query_one("#headline", Static).update(words, layout=False)

    def show_none(self, words: str, hint: str = "") -> None:
        """Show why there is no answer, and perhaps what could be done."""
        self._answer = None
        self._head(words)
        self.query_one("#tidy", Static).update("", layout=False)
        for name, text in (("#figures", ""), ("#reasons-words", hint)):
            self.query_one(name, Static).update(text)

    def show(self, answer: Answer, called: str = "", minded: Sequence[Caution] = (), short: Sequence[str] = ()) -> None:
        """Show an answer, or a plan under the name `called`, with its cautions and which barrels are `short` now."""
        self._answer, self._rules, self._minded, self._short = answer, [], minded, short
        self._head(headline(answer, self._units, called))
        self._show_figures(answer)
        self.query_one("#tidy", Static).update(tidy_line(answer, self._units), layout=False)
        self._show_reasons()
        self.query_one("#reasons").scroll_home(animate=False)

    def show_rules(self, costs: tuple[RuleCost, ...]) -> None:
        """Show above the reasons what the rules on single stocks cost."""
        self._rules = ["What the rules on stocks cost:", *(f"· {line}" for line in rule_lines(costs, self._units))]
        self._show_reasons()

    def _show_reasons(self) -> None:
        lines = reasons(self._answer, self._units) if self._answer is not None else []
        cautions = [f"Caution: {each.text}" for each in self._minded]
        self.query_one("#reasons-words", Static).update("\n".join([*self._short, *self._rules, *lines, *cautions]))

    def _show_figures(self, answer: Answer) -> None:
        box = self.query_one("#figures", Static)
        box.update(figures(answer, self._units, box.size.width))

    def on_resize(self) -> None:
        """Wrap the figures and set the head of the stocks again."""
        self.query_one("#stocks-head", Static).update(stocks_head(self.stocks.size.width), layout=False)
        if self._answer is not None:
            self._show_figures(self._answer)

    def show_rows(self, rows: Sequence[StockRow]) -> None:
        """List the stocks."""
        self._are_listed = True
        self.stocks.show_rows(rows, self._units)
        self.show_stock()

    def put_cursor_on(self, tag: str) -> None:
        """Put the cursor on a stock, or on the first where there is no such stock."""
        if not self.stocks.go_to(tag):
            self.stocks.cursor = 0

    def on_line_list_moved(self) -> None:
        """Describe the stock under the cursor."""
        self.show_stock()

    def show_stock(self) -> None:
        """Describe the stock under the cursor."""
        row = self.stocks.current
        none = "No barrel or tank holds anything to blend." if self._are_listed else ""
        text = none if row is None else stock_words(row, self._units)
        self.query_one("#stock-words", Static).update(text, layout=False)

    @property
    def copied(self) -> str:
        """The plan: how it ended, its draws and figures, and what holds it back."""
        if self._answer is None:
            return ""
        drawn = [stock_line(row, self._units, _COPIED) for row in self.stocks.rows if row.litres is not None]
        ended = str(self.query_one("#headline", Static).content)
        lines = [ended, *drawn, figures(self._answer, self._units, _COPIED), *reasons(self._answer, self._units)]
        return "\n".join(line.strip() for line in lines)

"""The answer's side of the blend screen: what the blend comes to, the stocks, and what holds it back."""

from collections.abc import Sequence
from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical, VerticalScroll
from textual.message import Message
from textual.widgets import Static

from cooperage.blending.answer.answer import Answer
from cooperage.blending.answer.compared import RuleCost, rule_lines
from cooperage.blending.answer.summary import figures, headline, reasons
from cooperage.blending.own_process import OwnProcess
from cooperage.book.dangers.dangers import Caution
from cooperage.tui.blend.solving import Solving
from cooperage.tui.blend.words import STOCKS_HEAD, StockRow, stock_line, stock_words
from cooperage.tui.keys import bound
from cooperage.tui.shared.line_list import LineList
from cooperage.units import Units


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
        self.set_lines(len(rows), lambda index, _width: Text(stock_line(rows[index], units), no_wrap=True))
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

    def compose(self) -> ComposeResult:
        """Put the ending and the figures over the stocks, and the reasons under them."""
        yield Static("", id="headline", classes="title", markup=False)
        yield Solving(self._process)
        yield Static("", id="figures", markup=False)
        yield Static(STOCKS_HEAD, id="stocks-head", markup=False)
        yield StockList(id="stocks")
        yield Static("", id="stock-words", markup=False)
        with VerticalScroll(id="reasons"):
            yield Static("", id="reasons-words", markup=False)

    @property
    def stocks(self) -> StockList:
        """The list of stocks."""
        return self.query_one(StockList)

    def begin_solving(self) -> None:
        """Show that an answer is on its way; the figures still belong to the previous brief."""
        self.query_one("#headline", Static).update("Solving …")

    def show_none(self, words: str) -> None:
        """Show why there is no answer."""
        self._answer = None
        self.query_one("#headline", Static).update(words)
        for name in ("#figures", "#reasons-words"):
            self.query_one(name, Static).update("")

    def show(self, answer: Answer, called: str = "", minded: Sequence[Caution] = (), short: Sequence[str] = ()) -> None:
        """Show an answer, or a plan under the name `called`, with its cautions and which barrels are `short` now."""
        self._answer, self._rules, self._minded, self._short = answer, [], minded, short
        self.query_one("#headline", Static).update(headline(answer, self._units, called))
        self._show_figures(answer)
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
        """Wrap the figures again."""
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
        self.query_one("#stock-words", Static).update(text)

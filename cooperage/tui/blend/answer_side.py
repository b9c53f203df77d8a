"""The answer's side of the blend screen: the limits and what they come to, the draws as bars, what holds it back."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from typing import Any

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.timer import Timer
from textual.visual import VisualType
from textual.widgets import Static

from cooperage.blending.answer.answer import Answer
from cooperage.blending.answer.compared import RuleCost, rule_lines
from cooperage.blending.answer.limit_rows import LimitRow, limit_rows, together_words
from cooperage.blending.answer.summary import (
    figures,
    headline,
    other_figures,
    reasons,
    reasons_beside,
    tidy_line,
    value_words,
)
from cooperage.blending.brief.brief import read_brief
from cooperage.blending.own_process import OwnProcess
from cooperage.blending.stocks.pool import Stocks
from cooperage.book.dangers.dangers import Caution
from cooperage.tui.blend.compare import plans_table
from cooperage.tui.blend.limits import limits_table
from cooperage.tui.blend.others import Plans
from cooperage.tui.blend.solving import BUSY_AFTER_S, Solving
from cooperage.tui.blend.stock_list import StockList
from cooperage.tui.blend.words import Inks, StockRow, stock_line, stocks_head
from cooperage.tui.shared.gauges import whole_phrases
from cooperage.tui.shared.ink import DONE, DUE, TROUBLE, ink
from cooperage.tui.shared.line_list import LineList
from cooperage.tui.shared.steady import Steady
from cooperage.tui.shared.wrapped import Wrapped
from cooperage.units import Units

_WITH_ASKED = 70
"""From so many columns on what the brief asks besides its limits stands over them."""
_COPIED = 120
"""The width of a copied plan."""


@dataclass(frozen=True)
class ShownPlan:
    """An answer and what is shown with it: its brief and stocks, a name of its own, cautions, barrels short now.

    `into` is the tank for it, `asked` what the brief asks besides its limits.
    """

    answer: Answer
    brief: Mapping[str, Any]
    stocks: Stocks
    called: str = ""
    minded: Sequence[Caution] = ()
    short: Sequence[str] = ()
    into: str = ""
    asked: str = ""


class Reasons(Wrapped):
    """What holds the plan back, in sentences; copied with the whole plan."""

    @property
    def copied(self) -> str:
        """The plan."""
        side = self.parent
        return side.copied if isinstance(side, AnswerSide) else self.plain


class AnswerSide(Vertical):
    """The answer to the brief."""

    def __init__(self, units: Units, process: OwnProcess, now: Callable[[], datetime]) -> None:
        super().__init__(id="blend-answer")
        self._units, self._process, self._now = units, process, now
        self._plan: ShownPlan | None = None
        self._limits: list[LimitRow] = []
        self._rules: list[str] = []
        self._plans: Plans | None = None
        self._tidy = Text()
        self._ended: tuple[str, str, str, str] = ("", "", "", "")
        self._are_listed = False
        self._waiting: Timer | None = None

    def compose(self) -> ComposeResult:
        """Put the ending and the limits over the stocks, and other plans and the reasons under them."""
        yield Steady("", id="headline", markup=False)
        yield Solving(self._process)
        yield Steady("", id="limits", markup=False)
        yield StockList(id="stocks")
        yield Steady("", id="tidy", markup=False)
        yield Steady("", id="others", markup=False)
        yield Reasons(id="reasons")

    @property
    def _inks(self) -> Inks:
        return partial(ink, self.app)

    @property
    def stocks(self) -> StockList:
        """The list of stocks."""
        return self.query_one(StockList)

    # --- how it ended -----------------------------------------------------------------------------------------------

    def begin_solving(self) -> None:
        """Show that an answer is on its way, if it takes more than a moment: till then what stands there stays."""
        self._end_waiting()
        self._waiting = self.set_timer(BUSY_AFTER_S, lambda: self._head("Solving …"))

    def _end_waiting(self) -> None:
        if self._waiting is not None:
            self._waiting.stop()
        self._waiting = None

    def _head(self, words: str, value: str = "", mark: str = "", role: str = "") -> None:
        """Show how it ended, in the one line there is for it; what it costs at the right end, where there is room."""
        self._end_waiting()
        self._ended = words, value, mark, role
        self._show_head()

    def _show_head(self) -> None:
        words, value, mark, role = self._ended
        line = Text(no_wrap=True, overflow="ellipsis")
        if mark:
            line.append(f"{mark} ", self._inks(role))
        line.append(words, "bold")
        room = self.query_one("#headline").size.width - line.cell_len - len(value)
        if value and room >= 2:
            line.append(f"{' ' * room}{value}", self._inks("quiet"))
        self._put("#headline", line)

    def _put(self, name: str, content: VisualType) -> None:
        self.query_one(name, Static).update(content, layout=False)

    def show_old(self, before: str) -> None:
        """Show by its title that the plan is of the brief, or of the cellar, `before`: it can be poured no more."""
        if self._plan is not None:
            words = headline(self._plan.answer, self._units, before)
            room = self.query_one("#headline").size.width - 2
            self._head(words if len(words) <= room else before, mark=DUE, role="honey")

    def show_poured(self, tank: str) -> None:
        """Show that the plan was poured; its figures stay as those of what was poured."""
        if self._plan is not None:
            litres = headline(self._plan.answer, self._units, f"Poured into {tank}")
            self._head(litres, mark=DONE, role="rain")

    def show_none(self, words: str, hint: str = "") -> None:
        """Show why there is no answer, and perhaps what could be done."""
        self._plan, self._limits, self._plans = None, [], None
        self._head(words)
        self._tidy = Text()
        self.show_stock()
        self._show_limits()
        self._show_others()
        self.query_one(Reasons).show_text(*([hint] if hint else []))

    # --- a plan -----------------------------------------------------------------------------------------------------

    def show(self, plan: ShownPlan) -> None:
        """Show an answer, or a plan under a name of its own."""
        answer = plan.answer
        is_met = bool(answer.draws)
        self._plan, self._rules, self._plans = plan, [], None
        mark, role = ("", "") if is_met else (TROUBLE, "ember")
        self._head(headline(answer, self._units, plan.called), value_words(answer, self._units), mark, role)
        self._limits = limit_rows(read_brief(plan.brief), answer, plan.stocks, self._units)
        self._show_limits()
        self._show_others()
        self._show_tidy(answer)
        self._show_reasons()

    def _show_limits(self) -> None:
        together = "" if self._plan is None else together_words(self._plan.answer)
        width, quiet = self.query_one("#limits").size.width, self._inks("quiet")
        lines = [limits_table(self._limits, together, width, self._inks)] if self._limits else []
        asked = whole_phrases(self._plan.asked, width, " · ") if self._plan is not None else ""
        if asked and width >= _WITH_ASKED:
            lines.insert(0, Text(asked, quiet))
        head = Text(stocks_head(self._units, self.stocks.size.width), quiet)
        self.query_one("#limits", Steady).update(Text("\n").join([*lines, head]))

    def _show_tidy(self, answer: Answer) -> None:
        words = tidy_line(answer, self._units)
        self._tidy = Text()
        if words:
            mark, role = (DUE, "honey") if answer.part_full else (DONE, "rain")
            self._tidy.append(f"{mark} ", self._inks(role)).append(words)
        self.show_stock()

    def show_others(self, plans: Plans) -> None:
        """Show the plan beside others nearly as good."""
        self._plans = plans
        self._show_others()

    def _show_others(self) -> None:
        plans = self._plans
        has_others = plans is not None and plans.others
        table = plans_table(plans.all, plans.names, self._units, self._inks) if plans and has_others else ""
        self.query_one("#others", Steady).update(table)

    def show_rules(self, costs: tuple[RuleCost, ...]) -> None:
        """Show above the reasons what the rules on single stocks cost."""
        lines = [f"· {line}" for line in rule_lines(costs, self._units)]
        self._rules = ["What the rules on stocks cost:", *lines] if lines else []
        self._show_reasons()

    def _show_reasons(self) -> None:
        plan = self._plan
        if plan is None:
            return
        limited = plan.brief.get("limits", {})
        besides = other_figures(plan.answer, limited, self._units)
        lines = [*plan.short, *self._rules, *reasons_beside(plan.answer, self._units), besides, plan.into]
        cautions = [Text().append(f"Caution: {each.text}", "bold") for each in plan.minded]
        self.query_one(Reasons).show_text(*(line for line in lines if line), *cautions)

    def on_resize(self) -> None:
        """Set what is drawn to a width again."""
        self._show_head()
        self._show_limits()

    # --- the stocks -------------------------------------------------------------------------------------------------

    def show_rows(self, rows: Sequence[StockRow]) -> None:
        """List the stocks."""
        self._are_listed = True
        self.stocks.show_rows(rows, self._units)
        self.show_stock()

    def put_cursor_on(self, tag: str) -> None:
        """Put the cursor on a stock, or on the first where there is no such stock."""
        if not self.stocks.go_to(tag):
            self.stocks.cursor = 0

    def on_line_list_moved(self, event: LineList.Moved) -> None:
        """Describe the stock under the cursor."""
        event.stop()
        self.show_stock()

    def show_stock(self) -> None:
        """Describe the stock under the cursor, under what the plan leaves part full."""
        row = self.stocks.current
        none = "No barrel or tank holds anything to blend." if self._are_listed else ""
        words = Text(none if row is None else self.stocks.words(self._units, self._now()), self._inks("quiet"))
        self._put("#tidy", words if row is None else Text("\n").join([self._tidy, words]))

    @property
    def copied(self) -> str:
        """The plan: how it ended, its draws and figures, and what holds it back."""
        if self._plan is None:
            return ""
        answer, inks = self._plan.answer, self._inks
        drawn = [
            stock_line(row, self._units, _COPIED, inks).plain for row in self.stocks.rows if row.litres is not None
        ]
        lines = [self._ended[0], *drawn, figures(answer, self._units), *reasons(answer, self._units)]
        return "\n".join(line.strip() for line in lines)

"""Other plans beside the best: found within some per cent of it and compared column by column, to choose from."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Label, Static

from cooperage.blending.answer.answer import Answer
from cooperage.blending.handed_over import alternatives
from cooperage.blending.own_process import OwnProcess
from cooperage.blending.stocks.pool import Stocks
from cooperage.errors import BadInput, CooperageError
from cooperage.tui.blend.compare import plan_rows
from cooperage.tui.blend.solving import TIME_LIMIT_S, Solving
from cooperage.tui.blend.table import SideBySide
from cooperage.tui.keys import bound
from cooperage.tui.on_screen import said
from cooperage.tui.shared.bars import KeyBar
from cooperage.units import Quantity, Units, read

MOST_OTHERS = 3
WITHIN = 5.0


@dataclass(frozen=True, slots=True)
class Plans:
    """The best plan of a brief, others within so many per cent of it (None: not looked for), and the chosen plan."""

    brief: Mapping[str, Any]
    best: Answer
    others: tuple[Answer, ...] | None = None
    within: float = WITHIN
    chosen: int = 0

    @property
    def all(self) -> tuple[Answer, ...]:
        """The best, then the others."""
        return (self.best, *(self.others or ()))

    @property
    def names(self) -> tuple[str, ...]:
        """Their names, in the same order."""
        return ("best", *(f"other {number}" for number in range(1, len(self.all))))


def seek_others(
    solving: Solving,
    stocks: Stocks,
    plans: Plans,
    then: Callable[[Plans], None],
    refuse: Callable[[CooperageError], None],
    *,
    quietly: bool = False,
) -> None:
    """Look for other plans within the per cent asked for; `quietly` where no one waits for them."""

    def found(came: tuple[Answer, ...] | CooperageError) -> None:
        if isinstance(came, CooperageError):
            refuse(came)
        else:
            then(replace(plans, others=came, chosen=0))

    each = TIME_LIMIT_S / MOST_OTHERS
    solving.begin(
        lambda process: process.begin(
            alternatives, stocks, plans.brief, MOST_OTHERS, plans.within / 100, each, plans.best
        ),
        found,
        None if quietly else TIME_LIMIT_S,
    )


class OthersScreen(ModalScreen[Plans | None]):
    """The best plan beside others nearly as good; the chosen plan is poured or tasted."""

    CSS = """
    OthersScreen.dialog .box { width: 100%; max-width: 90; height: 100%; max-height: 32; }
    OthersScreen.dialog KeyBar { width: 1fr; max-width: 100%; }
    OthersScreen #asked { height: 1; }
    OthersScreen #asked Label { width: auto; }
    OthersScreen #asked Input { width: 7; }
    OthersScreen #columns-head, OthersScreen #status-of-others { height: 1; width: 1fr; }
    OthersScreen Solving { width: 40; margin: 0 0 0 2; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("next", "app.focus_next", "next field", show=True),
        bound("back", "leave", "close"),
    ]

    def __init__(self, plans: Plans, stocks: Stocks, units: Units, process: OwnProcess) -> None:
        super().__init__(classes="dialog")
        self._plans, self._stocks, self._units, self._process = plans, stocks, units, process

    def compose(self) -> ComposeResult:
        """Put the per cent over the columns."""
        with Vertical(classes="box"):
            yield Static("The best plan, and others nearly as good", classes="title", markup=False)
            with Horizontal(id="asked"):
                yield Label("within ")
                yield Input(f"{self._plans.within:g}".replace(".", self._units.decimal), compact=True)
                yield Label(" % of the best")
                yield Solving(self._process)
            yield Static("", id="columns-head")
            yield SideBySide(id="columns", takes="choose this plan")
            yield Static("", id="status-of-others", markup=False)
            yield KeyBar()

    def on_mount(self) -> None:
        """Look for other plans, unless they are known."""
        self.query_one(SideBySide).focus()
        self._show()
        if self._plans.others is None:
            self._seek()

    def _seek(self) -> None:
        self._show_status("Looking for other plans …")
        seek_others(self.query_one(Solving), self._stocks, self._plans, self._found, self._refuse)

    def _found(self, plans: Plans) -> None:
        self._plans = plans
        self._show()

    def _show(self) -> None:
        plans = self._plans
        columns = self.query_one(SideBySide)
        columns.show_columns(plans.names, plan_rows(plans.all, self._units), plans.chosen)
        self.query_one("#columns-head", Static).update(columns.head())
        count = len(plans.others or ())
        if plans.others is not None and count < MOST_OTHERS:
            more = "There is no further plan" if count else "There is no other plan"
            self._show_status(f"{more} within {plans.within:g} % of the best.")
        else:
            self._show_status("")

    def _show_status(self, words: str) -> None:
        self.query_one("#status-of-others", Static).update(words)

    def _refuse(self, error: CooperageError) -> None:
        self._show_status(f"Not understood: {said(error, self._units)}")

    @on(SideBySide.Stepped)
    def _stepped(self) -> None:
        columns = self.query_one(SideBySide)
        self._plans = replace(self._plans, chosen=columns.chosen)
        self.query_one("#columns-head", Static).update(columns.head())

    @on(SideBySide.Taken)
    def _take(self) -> None:
        self.dismiss(self._plans)

    @on(Input.Submitted)
    def _within(self, event: Input.Submitted) -> None:
        event.stop()
        try:
            within = float(read(Quantity.PERCENT, event.value, self._units))
        except BadInput as error:
            self._refuse(error)
            return
        self._plans = replace(self._plans, within=within, others=None, chosen=0)
        self.query_one(SideBySide).focus()
        self._seek()

    def action_leave(self) -> None:
        """Stop looking; or close, and keep the plan in hand."""
        if self.query_one(Solving).stop():
            self._show_status("Stopped.")
        else:
            self.dismiss(None)

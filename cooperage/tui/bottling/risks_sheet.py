"""The risks before the first bottle: each with its figure, settled or passed with a reason, and then the run opens.

The reasons are kept for the day until the run is open, on disk too.
"""

from functools import partial
from typing import ClassVar

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal

from cooperage.programme.bottling.asked import AskedRun
from cooperage.programme.bottling.run import BottlingRun
from cooperage.programme.bottling_risks.risk import Risk, RiskState
from cooperage.tui.bottling.words import about_risk, risk_line, risks_title
from cooperage.tui.drafts import HalfTyped
from cooperage.tui.keys import bound, pressed
from cooperage.tui.shared.bars import KeyBar, StatusLine
from cooperage.tui.shared.ink import ink
from cooperage.tui.shared.line_list import LineList
from cooperage.tui.shared.steady import Steady
from cooperage.tui.shared.wrapped import Wrapped
from cooperage.tui.sheets.line_sheet import LineSheet, SheetInput


class ReasonLine(SheetInput):
    """The line in which a reason is typed; the arrows go from risk to risk."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("up", "screen.step(-1)", "risk before", show=True),
        bound("down", "screen.step(1)", "next risk", show=True),
    ]


class RisksSheet(LineSheet[BottlingRun | None]):
    """Every risk of a run that is asked for; a trouble is settled, or passed with a reason that the run keeps."""

    CSS_PATH = "screen.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [bound("back", "clear_or_close", "close")]

    def __init__(self, asked: AskedRun, found: list[Risk]) -> None:
        super().__init__()
        self._asked, self._found = asked, found
        self._reasons: dict[str, str] = {}

    def compose(self) -> ComposeResult:
        """The risks, the one in hand with its caution, what Enter does, the line, the keys."""
        yield Steady("", id="sheet-title", markup=False)
        yield LineList(id="risks", can_focus=False, takes=False)
        yield Wrapped(id="risk")
        yield StatusLine()
        with Horizontal(id="line-bar"):
            yield Steady("", id="prompt", markup=False)
            yield ReasonLine()
        yield KeyBar()

    def on_mount(self) -> None:
        """Take up the reasons that were typed today, and begin at the first trouble."""
        self._drafts.take_up(*self._kept_as)
        kept = {each.name: self._drafts.of(_passed(each.name)).text for each in self._found}
        self._reasons = {name: reason for name, reason in kept.items() if reason}
        self.set_focus(self._line)
        self.call_after_refresh(self._go_to_trouble)

    @property
    def _risks(self) -> LineList:
        return self.query_one("#risks", LineList)

    @property
    def risk(self) -> Risk:
        """The risk in hand."""
        return self._found[self._risks.cursor]

    @property
    def _reason(self) -> str:
        return self._reasons.get(self.risk.name, "")

    @property
    def _subject(self) -> str:
        return f"risks {self._asked.code}"

    @property
    def _draft_name(self) -> str:
        return self.risk.name

    @property
    def _is_written(self) -> bool:
        return self._line.value.strip() in ("", self._reason)

    @property
    def _left(self) -> list[str]:
        """The troubles that are not passed."""
        return [e.name for e in self._found if e.state is RiskState.TROUBLE and e.name not in self._reasons]

    # --- the risk in hand -------------------------------------------------------------------------------------------

    def _go_to_trouble(self) -> None:
        """Put the first trouble in hand that is not passed; where none is left, stay."""
        names = [each.name for each in self._found]
        self._go_to(names.index(self._left[0]) if self._left else self._risks.cursor)

    def _go_to(self, at: int) -> None:
        self._draw()
        self._risks.cursor = at
        draft = self._drafts.of(self._draft_name)
        self._line.put(draft.text or self._reason, draft.cursor if draft.text else None)
        prompt = self.query_one("#prompt", Steady)
        prompt.update(f"{self.risk.name} › ")
        prompt.refresh(layout=True)
        self.query_one(Wrapped).show_text(*about_risk(self.risk, self._found, self.desk.units))
        self._show(self._what_enter_does())

    def _draw(self) -> None:
        """Draw the risks, those that are passed with their reasons."""
        found, reasons, units, inked = self._found, dict(self._reasons), self.desk.units, partial(ink, self.app)

        def draw(at: int, width: int) -> Text:
            return risk_line(found[at], reasons.get(found[at].name, ""), width, units, inked)

        self._risks.set_lines(len(found), draw)
        title = risks_title(self._asked.code, self._asked.vessels, found, reasons)
        self.query_one("#sheet-title", Steady).update(title)

    def on_resize(self) -> None:
        """Draw to the room there is."""
        self.call_after_refresh(self._draw)

    def _what_enter_does(self) -> str:
        typed, name = self._line.value.strip(), self.risk.name
        if typed and typed != self._reason:
            return f"{pressed('enter')} passes {name} with this reason, which is kept with the run."
        if self._reason and not typed:
            return f"{pressed('enter')} takes the reason for {name} back."
        if self._left:
            stand = "1 trouble stands" if len(self._left) == 1 else f"{len(self._left)} troubles stand"
            left = ", ".join(self._left)
            return f"The run stays closed: {stand}: {left}. Settle each, or type here why you pass {name}."
        return f"{pressed('enter')} opens the run {self._asked.code} on {', '.join(self._asked.vessels)}."

    @on(SheetInput.Changed)
    def _typed(self, event: SheetInput.Changed) -> None:
        event.stop()
        self._keep_draft()
        self._show(self._what_enter_does())

    def action_step(self, risks: int) -> None:
        """Go to the risk beside; what is half typed stays with this one."""
        self._keep_draft()
        self._go_to(max(0, min(len(self._found) - 1, self._risks.cursor + risks)))

    def action_clear_or_close(self) -> None:
        """Clear what is half typed, which Right brings back; else close, and keep the reasons for the day."""
        line = self._line
        if self._is_written:
            self.dismiss(None)
            return
        cleared = line.value
        line.put(self._reason)
        line.cleared = cleared
        self._keep_draft()
        self._show(f"Cleared: {cleared.strip()}. Right brings it back, {pressed('back')} closes.")

    # --- Enter ------------------------------------------------------------------------------------------------------

    def action_take_line(self) -> None:
        """Pass the risk in hand with what is typed; where nothing new is, go to what is left, or open the run."""
        typed, name = self._line.value.strip(), self.risk.name
        if typed != self._reason:
            self._reasons.pop(name, None)
            if typed:
                self._reasons[name] = typed
            self._drafts.written(name)
            self._drafts.keep(_passed(name), HalfTyped(typed))
            self._save()
            self._go_to_trouble()
        elif self._left:
            self._go_to_trouble()
        else:
            self._open()

    def _open(self) -> None:
        """Open the run with its risks as they are by now; where another stands, show it first."""
        self._found = self._asked.risks(self.desk.book, self.desk.units)
        if self._left:
            self._go_to_trouble()
            return
        self._reasons = {name: why for name, why in self._reasons.items() if name in {e.name for e in self._found}}
        book, found, reasons, hand = self.desk.book, self._found, self._reasons, self.desk.hand
        self.desk.attempt(
            lambda _sure: self._asked.open(book, found, reasons, hand=hand), self._opened, self._refused, rereads=False
        )

    def _opened(self, run: BottlingRun) -> None:
        for each in self._found:
            self._drafts.written(each.name)
            self._drafts.written(_passed(each.name))
        self._save()
        self.dismiss(run)


def _passed(name: str) -> str:
    """Return by what the reason of a risk is kept until the run is open."""
    return f"passed {name}"

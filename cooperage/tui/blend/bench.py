"""The bench: plans scaled down to glasses, poured as a blind flight, and a chosen glass scaled up again."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Label, Static

from cooperage.blending.answer.answer import Answer
from cooperage.blending.own_process import OwnProcess
from cooperage.blending.pour.bench_sheet import BenchGlass, bench_glasses
from cooperage.blending.pour.glass import (
    TastedGlass,
    bench_stocks,
    blind_benches,
    glass_words,
    read_parts,
    tasted_glasses,
)
from cooperage.blending.stocks.pool import Stocks
from cooperage.blending.typed_brief import parse_ml
from cooperage.errors import CooperageError
from cooperage.tasting.flights import Flight, start_flight
from cooperage.tui.blend.compare import glass_rows
from cooperage.tui.blend.others import Plans, seek_others
from cooperage.tui.blend.solving import Solving
from cooperage.tui.blend.table import SideBySide
from cooperage.tui.keys import bound, pressed
from cooperage.tui.on_screen import said
from cooperage.tui.shared.bars import KeyBar
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.choices import FlagBox
from cooperage.tui.shared.desk import Desk
from cooperage.tui.shared.dialogs import Pick
from cooperage.units import Quantity, Units, show

_GLASS_ML, _STEP_ML = "100", "0.5"


@dataclass(frozen=True, slots=True)
class FromBench:
    """The result of the bench: the flight that was poured, or the glass to scale up."""

    flight: Flight | None = None
    glass: TastedGlass | None = None


class BenchScreen(ModalScreen[FromBench | None]):
    """The plan as a glass to pipette, beside a control and, if wanted, other plans."""

    CSS = """
    BenchScreen.dialog .box { width: 100%; max-width: 90; height: 100%; max-height: 32; }
    BenchScreen.dialog KeyBar { width: 1fr; max-width: 100%; }
    BenchScreen .asked { height: 1; }
    BenchScreen .asked Label { width: auto; }
    BenchScreen .asked Input { width: 7; margin: 0 1 0 0; }
    BenchScreen #columns-head, BenchScreen #bench-status { height: 1; width: 1fr; text-wrap: nowrap; }
    BenchScreen Solving { width: 38; margin: 0 0 0 2; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("judge", "scale_up", "scale a glass up"),
        bound("next", "app.focus_next", "next field", show=True),
        bound("back", "leave", "close"),
    ]

    def __init__(self, plan: Answer, plans: Plans, stocks: Stocks, desk: Desk, process: OwnProcess) -> None:
        super().__init__(classes="dialog")
        self._plan, self._plans, self._desk, self._process = plan, plans, desk, process
        self._pool, self._stocks = stocks, bench_stocks(stocks, plans.brief)
        self._glasses: tuple[BenchGlass, ...] = ()

    @property
    def _units(self) -> Units:
        return self._desk.units

    def compose(self) -> ComposeResult:
        """Put the fields over the glasses."""
        with Vertical(classes="box"):
            yield Static("Bench: what to pipette", classes="title", markup=False)
            with Horizontal(classes="asked"):
                yield Label("glass ")
                yield Input(_GLASS_ML, id="glass-ml", compact=True)
                yield Label("mL   pipette steps ")
                yield Input(_STEP_ML.replace(".", self._units.decimal), id="step-ml", compact=True)
                yield Label("mL   control ")
                yield Input("", id="control", compact=True, placeholder="tag")
            with Horizontal(classes="asked"):
                yield FlagBox("with other plans beside it", id="with-others")
                yield Solving(self._process)
            yield Static("", id="columns-head")
            yield SideBySide(id="columns", takes="pour as a flight")
            yield Static("", id="bench-status", markup=False)
            yield KeyBar()

    def on_mount(self) -> None:
        """Begin with the glasses."""
        self.query_one(SideBySide).focus()
        if self._plans.others:
            self.query_one(FlagBox).set_value(True)
        self._show()

    # --- the sheet --------------------------------------------------------------------------------------------------

    @on(Input.Changed)
    def _asked_otherwise(self) -> None:
        self._show()

    @on(FlagBox.Changed)
    def _with_others(self) -> None:
        if self.query_one(FlagBox).value and self._plans.others is None:
            self._show_status("Looking for other plans …")
            seek_others(self.query_one(Solving), self._pool, self._plans, self._found, self._refuse)
        else:
            self._show()

    def _found(self, plans: Plans) -> None:
        self._plans = plans
        self._show()
        if not plans.others:
            self._show_status(f"There is no other plan within {plans.within:g} % of the best.")

    def _show(self) -> None:
        """Calculate the glasses again; while a field is not understood there are none to pour."""
        try:
            self._glasses = self._calculated_glasses()
        except CooperageError as error:
            self._glasses = ()
            self._refuse(error)
        else:
            self._show_status("Keep this from the tasters: they score by code alone.")
        columns = self.query_one(SideBySide)
        rows = glass_rows(self._glasses, self._units) if self._glasses else []
        columns.show_columns([glass.what for glass in self._glasses], rows, columns.chosen)
        self.query_one("#columns-head", Static).update(columns.head())

    def _calculated_glasses(self) -> tuple[BenchGlass, ...]:
        typed = {str(box.id): box.value.strip() for box in self.query(Input)}
        ml = parse_ml("glass", typed["glass-ml"], self._units)
        step = parse_ml("pipette steps", typed["step-ml"], self._units)
        named = dict(zip(self._plans.names, self._plans.all, strict=True))
        plans = {name: plan for name, plan in named.items() if plan is self._plan} or {"plan": self._plan}
        if self.query_one(FlagBox).value:
            plans |= named
        names = {str(name).upper(): str(name) for name in self._stocks.names}
        control = names.get(typed["control"].upper(), typed["control"]) or None
        return bench_glasses(plans, self._stocks, ml, step, control=control)

    @on(SideBySide.Stepped)
    def _stepped(self) -> None:
        self.query_one("#columns-head", Static).update(self.query_one(SideBySide).head())
        self.refresh_bindings()

    def _show_status(self, words: str) -> None:
        self.query_one("#bench-status", Static).update(words)

    def _refuse(self, error: CooperageError) -> None:
        words = said(error, self._units)
        self._show_status(words if words.startswith("Not") else f"Not understood: {words}")

    # --- keys -------------------------------------------------------------------------------------------------------

    @on(Input.Submitted)
    def _entered(self, event: Input.Submitted) -> None:
        event.stop()
        self.focus_next()

    @on(SideBySide.Taken)
    def _pour(self) -> None:
        """Write the glasses as a flight, under their codes."""
        if not self._glasses:
            return
        trials = {glass.code: glass_words(glass) for glass in self._glasses}
        self._desk.attempt(
            lambda _sure: start_flight(self._desk.book, [], name="bench trial", trials=trials),
            self._poured,
            self._refuse,
            rereads=False,
        )

    def _poured(self, flight: Flight) -> None:
        self.dismiss(FromBench(flight=flight))

    def action_scale_up(self) -> None:
        """Take the chosen glass as it is pipetted, without tasting it blind."""
        at = self.query_one(SideBySide).chosen
        if at < len(self._glasses):
            glass = self._glasses[at]
            self.dismiss(FromBench(glass=TastedGlass("", "", glass.what, read_parts(glass_words(glass)), None)))

    def action_leave(self) -> None:
        """Stop looking for other plans; or close."""
        if self.query_one(Solving).stop():
            self.query_one(FlagBox).set_value(False)
        else:
            self.dismiss(None)


def pick_glass(screen: CellarScreen, then: Callable[[TastedGlass], None]) -> None:
    """Ask which glass of the revealed bench flights to scale up; show a message where there is none."""
    book = screen.desk.book

    def ask(found: tuple[list[TastedGlass], list[str]]) -> None:
        glasses = {f"{glass.flight} {glass.code}": glass for glass in found[0]}
        if glasses:
            choices = [(key, _glass_line(glass, screen.units)) for key, glass in glasses.items()]
            screen.app.push_screen(
                Pick("Scale which glass up?", choices), lambda key: then(glasses[key]) if key else None
            )
        elif found[1]:
            screen.show_message(f"{found[1][0]} is still blind: reveal it on {pressed('panel')} first.")
        else:
            screen.show_message(
                f"No bench flight has been poured yet: press {pressed('glasses')} to take a plan to the bench."
            )

    screen.run_slow_work("glasses", lambda: (tasted_glasses(book), blind_benches(book)), ask)


def _glass_line(glass: TastedGlass, units: Units) -> str:
    mean = "not scored" if glass.mean is None else f"mean {show(Quantity.NUMBER, glass.mean, units, digits=1)}"
    return f"{glass.flight:<12} glass {glass.code}  {mean:<11} {glass.called}"

"""Blend: the brief on one side, the answer on the other, solved again as the brief is typed."""

from pathlib import Path
from typing import ClassVar

from textual.binding import BindingType

from cooperage.blending.answer.compared import RuleCost
from cooperage.blending.brief.brief import load_brief
from cooperage.blending.brief.saved import save_brief
from cooperage.blending.handed_over import rule_costs
from cooperage.blending.pour.glass import TastedGlass, plan_of_glass
from cooperage.blending.typed_brief import toggled
from cooperage.book.declared import acts
from cooperage.book.declared.from_text import BadField
from cooperage.errors import CooperageError
from cooperage.resources import demo_folder
from cooperage.tui.blend.bench import BenchScreen, FromBench, pick_glass
from cooperage.tui.blend.last import LastBrief
from cooperage.tui.blend.others import OthersScreen, Plans, seek_others
from cooperage.tui.blend.pour import Poured, ask_to_pour, has_tanks
from cooperage.tui.blend.solved import OF_CELLAR, SolvedBrief
from cooperage.tui.blend.solving import TIME_LIMIT_S
from cooperage.tui.blend.stock_list import StockList
from cooperage.tui.forms.path_dialog import PathDialog
from cooperage.tui.keys import bound, pressed
from cooperage.tui.shared.act_form import ActForm
from cooperage.tui.shared.dialogs import Shown
from cooperage.tui.shared.line_list import LineList

OTHERS_AFTER_S = 1.0
"""How long a plan stands, where there is room for others beside it, before they are looked for."""

_A_BRIEF = "a TOML file"


class BlendScreen(SolvedBrief):
    """Type the brief: what the blend must meet. The answer follows: what to draw, its figures, and what limits it."""

    NAME = "blend"
    CSS_PATH = "screen.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("pour", "pour"),
        bound("edit", "edit", "brief"),
        bound("view", "others", "others"),
        bound("glasses", "bench", "bench"),
        bound("judge", "glass", "scale a glass up"),
        bound("open", "open", "open brief"),
        bound("print", "save", "save brief"),
        bound("bottle", "bottle"),
        bound("check", "app.switch_mode('trials')", "trials"),
        bound("back", "stop", "cancel"),
        bound("back", "to_answer", "to the answer"),
        bound("back", "back"),
    ]

    # --- keys -------------------------------------------------------------------------------------------------------

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002 - Textual's
        """A plan is poured, compared and tasted only while it answers the brief as it stands."""
        plan = self._answer
        has_plan = plan is not None and bool(plan.draws)
        match action:
            case "pour":
                return plan is not None and has_plan and has_tanks(self.desk.cellar, plan)
            case "others" | "bench":
                return has_plan
            case "stop":
                return self.is_mounted and self._solving.is_long
            case "to_answer":
                return not self.is_mounted or self.focused is not self._answer_side.stocks
        return True

    def on_stock_list_ruled(self, event: StockList.Ruled) -> None:
        """Write the rule into the brief, which is then solved again."""
        self._brief_side.set_texts(toggled(self._brief_side.texts, event.rule, event.tag))

    def on_line_list_taken(self, event: LineList.Taken) -> None:
        """Open the stock's page."""
        if isinstance(event.lines, StockList) and event.lines.current is not None:
            self.open_page(event.lines.current.tag)

    def found(self, tag: str) -> None:
        """Go to the stock that was scanned; open the page of a vessel that is not a stock."""
        if self._answer_side.stocks.go_to(tag):
            self.set_focus(self._answer_side.stocks)
        else:
            self.open_page(tag)

    def action_edit(self) -> None:
        """Go to the brief."""
        self.begin_brief()

    def action_stop(self) -> None:
        """Stop the solve; it ends at once."""
        if self._solving.stop():
            self._show_none("Stopped. Change the brief to solve again.")
        self.action_to_answer()
        self.refresh_bindings()

    def action_to_answer(self) -> None:
        """Go from the brief to the stocks."""
        self.leave_find()
        self.remove_class("-editing")
        self.set_focus(self._answer_side.stocks)

    def action_open(self) -> None:
        """Read a brief from a file."""
        shipped = {path: path.stem.replace("_", " ") for path in sorted((demo_folder() / "briefs").glob("*.toml"))}
        heading = "or a brief that came with Cooperage:"
        self.app.push_screen(PathDialog("Open a brief", "", _A_BRIEF, heading=heading, there=shipped), self._opened)

    def _opened(self, path: Path | None) -> None:
        if path is None:
            return
        try:
            brief = load_brief(path)
        except CooperageError as error:
            self.refuse(error)
            return
        self.open_brief(LastBrief(brief, str(path)))
        self.show_message(f"Opened {path}")

    def action_save(self) -> None:
        """Write the brief to a file."""
        try:
            brief = self._typed_brief()
        except BadField as error:
            self.refuse(error)
            return

        def named(path: Path | None) -> None:
            if path is not None:
                self.save_file(path, lambda force: save_brief(path, brief, force=force))

        self.app.push_screen(PathDialog("Save the brief as", self._path or "brief.toml", _A_BRIEF), named)

    def action_others(self) -> None:
        """Compare the plan with others nearly as good, and choose a plan."""
        if self._stocks is not None and self._plans is not None:
            self.app.push_screen(OthersScreen(self._plans, self._stocks, self.units, self._process), self._took)

    def _took(self, plans: Plans | None) -> None:
        if plans is not None:
            self._plans, self._stand_on = plans, ""
            called = plans.names[plans.chosen].capitalize() if plans.chosen else ""
            self._show_plan(self._brief, plans.all[plans.chosen], called)
        self.look_further()

    def action_bench(self) -> None:
        """Scale the plan in hand down to glasses."""
        if self._stocks is not None and self._plans is not None and self._answer is not None:
            bench = BenchScreen(self._answer, self._plans, self._stocks, self.desk, self._process)
            self.app.push_screen(bench, self._from_bench)

    def _from_bench(self, came: FromBench | None) -> None:
        if came is None:
            self.look_further()
        elif came.flight is not None:
            self.show_poured(
                f"Poured as flight {came.flight.code}: score it on {pressed('panel')}, then press {pressed('judge')} "
                "here to scale the best glass up.",
                came.flight.code,
            )
        elif came.glass is not None:
            self._scale_up(came.glass)

    def action_glass(self) -> None:
        """Scale a glass of a bench flight up to the volume wanted."""
        pick_glass(self, self._scale_up)

    def _scale_up(self, glass: TastedGlass) -> None:
        if self._stocks is None:
            return
        try:
            brief = self._typed_brief()
            plan = plan_of_glass(glass.parts, self._stocks, brief)
        except CooperageError as error:
            self.refuse(error)
            return
        self._solving.stop()
        self._stand_on = ""
        self._show_plan(brief, plan, f"{'Glass ' + glass.code if glass.code else glass.called.capitalize()} scaled up")

    def action_pour(self) -> None:
        """Write the blend into the book, after asking."""
        if self._answer is not None:
            ask_to_pour(self, self._answer, self._brief, self._poured)

    def _poured(self, poured: Poured) -> None:
        self._drop_answer(OF_CELLAR)
        self._poured_into = poured.tank
        self._answer_side.show_poured(poured.tank)
        self.show_message(
            f"Poured into {poured.tank}. {pressed('edit')}, then {pressed('enter')}, solves it over what is left."
        )
        self.app.push_screen(Shown(f"Poured into {poured.tank}. Now:", poured.words))

    def action_bottle(self) -> None:
        """Bottle the vessel under the cursor."""
        row = self._answer_side.stocks.current
        known = {"vessel": row.tag} if row else {}
        self.app.push_screen(
            ActForm(acts.Bottle, known),
            lambda done: self.show_message(f"Bottled from {row.tag}.") if done and row else None,
        )

    # --- what comes to a plan in the background -----------------------------------------------------------------------

    def look_further(self) -> None:
        """Find out in the background what the rules on single stocks cost the plan; then look for others."""
        stocks, plans, rules = self._stocks, self._plans, self._brief.get("draws", {})
        if stocks is None or plans is None or not (rules.get("must") or rules.get("never")):
            self._seek_soon()
            return

        def show_costs(came: tuple[RuleCost, ...] | CooperageError) -> None:
            if not isinstance(came, CooperageError):  # the answer stands without
                self._answer_side.show_rules(came)
            self._seek_soon()

        self._solving.begin(
            lambda process: process.begin(rule_costs, stocks, plans.brief, plans.best, TIME_LIMIT_S), show_costs, None
        )

    def _seek_soon(self) -> None:
        """Look for other plans in the background where there is room to show them beside this one."""
        self._end_seeking()
        plans = self._plans
        if plans is None or not self.has_class("-wide") or not plans.best.draws:
            return
        if plans.others is None:
            self._seeks = self.set_timer(OTHERS_AFTER_S, self._seek_beside)
        else:
            self._answer_side.show_others(plans)

    def _seek_beside(self) -> None:
        if self._stocks is not None and self._plans is not None and self._answer is not None:
            seek_others(self._solving, self._stocks, self._plans, self._found_beside, lambda _error: None, quietly=True)

    def _found_beside(self, plans: Plans) -> None:
        self._plans = plans
        self._answer_side.show_others(plans)

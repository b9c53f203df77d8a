"""The solving half of the blend screen: the brief as it is typed, its answer, and the plan in hand."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.timer import Timer

from cooperage.blending.answer.answer import Answer
from cooperage.blending.brief.brief import read_brief
from cooperage.blending.brief.saved import toml_of
from cooperage.blending.from_cellar import avoiding_part_full, avoids_part_full, pool_of, with_any
from cooperage.blending.handed_over import solve, solve_tidily
from cooperage.blending.own_process import OwnProcess
from cooperage.blending.pour.short import short_now, short_words
from cooperage.blending.pour.tank import plan_cautions
from cooperage.blending.stocks.near import Near, near_limits
from cooperage.blending.stocks.pool import Stocks
from cooperage.blending.typed_brief import format_brief, parse_brief, rules_line
from cooperage.book import Cellar
from cooperage.book.declared.from_text import BadField
from cooperage.errors import CooperageError
from cooperage.programme.ready.readiness import readiness
from cooperage.tasting.vessels import VesselScore, last_scores, on_one_scale
from cooperage.tui.blend.answer_side import AnswerSide, ShownPlan
from cooperage.tui.blend.brief_side import BriefSide
from cooperage.tui.blend.last import LastBrief, keep_last, last_brief_path, load_last
from cooperage.tui.blend.others import Plans
from cooperage.tui.blend.pour import into_words
from cooperage.tui.blend.solving import TIME_LIMIT_S, Solving
from cooperage.tui.blend.words import stock_rows
from cooperage.tui.keys import pressed
from cooperage.tui.shared.bars import FindBox, StatusLine
from cooperage.tui.shared.cellar_screen import CellarScreen

PAUSE_S = 0.35
"""How long nothing is typed before the brief is solved."""


TIDY_LIMIT_S = 5.0
MOMENT_S = 0.2
"""How long a plan with fewer part-full barrels is waited for before the best one is shown."""
OF_BRIEF, OF_CELLAR = "For the brief before", "For the cellar before"
"""How a plan is named that no longer answers what is asked, or what there is."""
_KEPT = {"share": "shares", "mixing": "mixing rules", "price_per_l": "prices", "slack": "slack"}
"""What a file of a brief may hold beside the fields, as text."""
_HINT = f"Or press {pressed('open')} to open a brief that was saved, or one that came with Cooperage."


class SolvedBrief(CellarScreen):
    """A brief and its answer: side by side where there is room, else the brief takes half while it is typed."""

    AUTO_FOCUS = ""  # `_begin` goes to the brief or to the stocks, and to go to both moves all that stands between
    HORIZONTAL_BREAKPOINTS = [(0, "-tiny"), (76, "-narrow"), (110, "-wide")]  # noqa: RUF012 - typed by Textual

    def __init__(self) -> None:
        super().__init__()
        self._began_from: Mapping[str, Any] = {}
        self._path = ""
        self._scores: dict[str, VesselScore] = {}
        self._stocks: Stocks | None = None
        self._brief: dict[str, Any] = {}
        self._answer: Answer | None = None
        self._plans: Plans | None = None
        self._waiting: Timer | None = None
        self._process = OwnProcess()
        self._stand_on: str | None = None
        self._is_tidying = False
        self._shows_best: Timer | None = None
        self._in_view: Answer | None = None
        self._poured_into = ""
        self._is_begun = False
        self._seeks: Timer | None = None

    def compose_body(self) -> ComposeResult:
        """The two sides."""
        with Horizontal(id="sides"):
            yield BriefSide(self.units, self._as_toml)
            yield AnswerSide(self.units, self._process, self.desk.book.now)

    def on_mount(self) -> None:
        """Go to the brief beforehand where it will be begun with: its fields have their room by the first visit."""
        if load_last(self._last_path) is None:
            self.begin_brief()

    def _begin(self) -> None:
        """Begin with the last brief of this person here; without one, with the litres."""
        last = load_last(self._last_path)
        if last is None:
            self.begin_brief()
            return
        self.open_brief(last)
        self.set_focus(self._answer_side.stocks)

    def on_screen_resume(self) -> None:
        """Take up the brief that another screen handed over."""
        super().on_screen_resume()
        self._take_handed_over()

    def _take_handed_over(self) -> None:
        """Open the brief on its volume, which is the first to be thought over."""
        if self.desk.brief is not None and self._is_begun:
            self.open_brief(LastBrief(self.desk.brief))
            self.desk.brief = None
            self.begin_brief()

    def on_descendant_focus(self, event: events.DescendantFocus) -> None:
        """Give the brief room while it is typed, and the answer all of it else."""
        if not isinstance(event.widget, FindBox):
            self.set_class(self._brief_side in event.widget.ancestors, "-editing")

    def begin_brief(self) -> None:
        """Go to the brief; it must be there to take the focus."""
        self.add_class("-editing")
        self._brief_side.begin()

    @property
    def _last_path(self) -> Path:
        book = self.desk.book
        return last_brief_path(str(book.file.resolve()) if book.file else book.name, self.desk.hand)

    def open_brief(self, opened: LastBrief) -> None:
        """Fill a brief in under its name."""
        self._began_from, self._path, self._stand_on = opened.brief, opened.path, ""
        self._brief_side.set_texts(format_brief(opened.brief, self.units))
        kept = ", ".join(words for key, words in _KEPT.items() if key in opened.brief)
        name = self._brief_name
        self._brief_side.set_title(f"Brief: {name}" if name else "Brief", f"{kept}: as in the file" if kept else "")

    @property
    def _brief_name(self) -> str:
        """What the brief is called, by its file; "" for none."""
        return Path(self._path).stem.replace("_", " ") if self._path else ""

    def _as_toml(self) -> str:
        try:
            return toml_of(self._typed_brief())
        except BadField:
            return ""

    def on_unmount(self) -> None:
        """Leave no solver behind."""
        self._process.close()

    @property
    def _brief_side(self) -> BriefSide:
        return self.query_one(BriefSide)

    @property
    def _answer_side(self) -> AnswerSide:
        return self.query_one(AnswerSide)

    @property
    def _solving(self) -> Solving:
        return self._answer_side.query_one(Solving)

    # --- solving ----------------------------------------------------------------------------------------------------

    def show_cellar(self, cellar: Cellar) -> None:
        """List the stocks as they stand, and solve the brief over them."""
        if not self._is_begun:  # a screen made ready beforehand calculates nothing, and begins no solver
            self._is_begun = True
            self._begin()
            self._take_handed_over()
        book = self.desk.book

        def stocks_and_scores() -> tuple[Stocks, dict[str, VesselScore]]:
            scores = last_scores(book)
            return pool_of(cellar, on_one_scale(scores), readiness(book, cellar)), scores

        self.run_slow_work("stocks", stocks_and_scores, self._take_stocks)

    def _take_stocks(self, found: tuple[Stocks, dict[str, VesselScore]]) -> None:
        self._stocks, self._scores = found
        if self._poured_into:  # nothing new is solved by itself: a second pour is asked for by the hand
            self._show_rows()
            self._answer_side.put_cursor_on(self._poured_into)
            return
        self._drop_answer(OF_CELLAR)
        self._show_rows()
        self._solve_soon()

    @property
    def _names(self) -> list[str]:
        return [] if self._stocks is None else [str(name) for name in self._stocks.names]

    def on_brief_side_changed(self) -> None:
        """Solve when nothing has been typed for a moment."""
        self._poured_into = ""
        self._drop_answer(OF_BRIEF)
        self._solve_soon()

    def on_brief_side_entered(self) -> None:
        """Solve the brief again after a pour, over what is left."""
        if self._poured_into:
            self.on_brief_side_changed()

    def _solve_soon(self) -> None:
        if self._brief_side.has_volume:
            self._process.warm()  # a solver is there by the time the rest is typed
        if self._waiting is not None:
            self._waiting.stop()
        self._waiting = self.set_timer(PAUSE_S, self._solve)

    def _drop_answer(self, before: str) -> None:
        """Drop an answer to an older brief or cellar: its title shows so, and it can no longer be poured."""
        had_plan = self._answer is not None
        self._answer, self._plans = None, None
        self._end_tidying()
        self._end_seeking()
        self._solving.stop()
        if had_plan:
            self._answer_side.show_old(before)
            self.refresh_bindings()

    def _end_seeking(self) -> None:
        if self._seeks is not None:
            self._seeks.stop()
        self._seeks = None

    @property
    def is_waiting(self) -> bool:
        """Return True while the answer to what is typed is still to come."""
        return self._waiting is not None or self._solving.is_solving or self._is_tidying

    def _typed_brief(self) -> dict[str, Any]:
        return parse_brief(self._brief_side.texts, self.units, self._began_from, self._names)

    def _solve(self) -> None:
        self._waiting = None
        stocks = self._stocks
        if stocks is None:
            return  # they are being read, and solved over once they are there
        if not self._brief_side.has_volume:
            self._show_none("Type the volume wanted.", _HINT)
            return
        try:
            typed = self._typed_brief()
        except BadField as error:
            self._show_none("The brief is not understood yet.")
            self.refuse(error)
            return
        self._answer_side.begin_solving()
        brief = avoiding_part_full(typed)
        self._solving.begin(
            lambda process: process.begin(solve, stocks, with_any(brief), TIME_LIMIT_S),
            lambda came: self._take_outcome(typed, brief, came),
            TIME_LIMIT_S,
        )
        self.refresh_bindings()

    def _show_none(self, words: str, hint: str = "") -> None:
        self._in_view = None
        self._answer_side.show_none(words, hint)
        self._show_rows()

    def _take_outcome(self, typed: dict[str, Any], brief: dict[str, Any], came: Answer | CooperageError) -> None:
        if isinstance(came, CooperageError):
            self._show_none("There is no answer.")
            self.refuse(came)
            self.refresh_bindings()
            return
        if self.query_one(StatusLine).has_class("refused"):
            self.show_message("")
        keep_last(self._last_path, LastBrief(typed, self._path))
        if avoids_part_full(brief) and came.part_full:
            self._tidy(brief, came)
        else:
            self._show_best(brief, came)

    def _tidy(self, brief: dict[str, Any], best: Answer) -> None:
        """Look for a plan that leaves fewer barrels part full; show the best one if that takes more than a moment."""
        stocks = self._stocks
        if stocks is None:
            return
        self._is_tidying = True
        self._shows_best = self.set_timer(MOMENT_S, lambda: self._show_plan(brief, best))
        self._plans = Plans(brief, best)

        def tidied(came: Answer | CooperageError) -> None:
            self._end_tidying()
            self._show_best(brief, best if isinstance(came, CooperageError) else came)

        self._solving.begin(
            lambda process: process.begin(solve_tidily, stocks, brief, best, TIDY_LIMIT_S), tidied, None
        )

    def _end_tidying(self) -> None:
        if self._shows_best is not None:
            self._shows_best.stop()
        self._is_tidying, self._shows_best = False, None

    def _show_best(self, brief: dict[str, Any], best: Answer) -> None:
        self._plans = Plans(brief, best)
        self._show_plan(brief, best)
        self.look_further()

    def _show_plan(self, brief: dict[str, Any], plan: Answer, called: str = "") -> None:
        """Show a plan: from now on it is the plan that is poured or goes to the bench."""
        if self._stocks is None:
            return
        self._brief, self._answer, self._in_view, self._poured_into = brief, plan, plan, ""
        cellar, units = self.desk.cellar, self.units
        shown = ShownPlan(
            plan,
            brief,
            self._stocks,
            called,
            plan_cautions([(plan, brief)], cellar, units),
            short_words(short_now([plan], cellar, self.desk.level), units),
            into_words(cellar, units, plan),
            self._asked_words(),
        )
        self._answer_side.show(shown)
        self._show_rows()
        if self._stand_on is not None:
            self._answer_side.put_cursor_on(self._stand_on)
            self._stand_on = None
        self.refresh_bindings()

    def _asked_words(self) -> str:
        rules = rules_line(self._brief_side.texts)
        return f"{self._brief_name}: {rules}" if self._brief_name else rules

    def look_further(self) -> None:
        """Find out more about the plan that is shown, in the background."""

    def _show_rows(self) -> None:
        texts = self._brief_side.texts
        rules = {tag.upper(): rule for rule in ("must", "never") for tag in texts[rule].replace(",", " ").split()}
        rules = {tag: rules[tag.upper()] for tag in self._names if tag.upper() in rules}
        rows = stock_rows(self._in_view, self.desk.cellar, self._names, self._scores, rules, self._near())
        self._answer_side.show_rows(rows)

    def _near(self) -> dict[str, Near]:
        """Return how near each stock is to the limits, as far as they are understood."""
        if self._stocks is None:
            return {}
        try:
            return near_limits(self._stocks, read_brief(self._typed_brief()))
        except CooperageError:
            return {}

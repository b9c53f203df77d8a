"""Recall: what a vessel, a lot, a bottling, an entry or a hand reached, and what a bottling or a vessel comes from."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.widgets import Label, Static

from cooperage.book import Cellar
from cooperage.book.log import hands_in
from cooperage.errors import CooperageError
from cooperage.programme.recall.asked import BACK, FORWARD, RecallQuestion
from cooperage.programme.recall.claims import LabelClaims
from cooperage.programme.recall.found import Recall
from cooperage.programme.recall.named import check_named
from cooperage.tui.keys import bound, pressed
from cooperage.tui.on_screen import said
from cooperage.tui.recall.form import QuestionForm
from cooperage.tui.recall.lines import (
    NO_LINES,
    ListedLine,
    ListedTable,
    claims_of,
    counted_words,
)
from cooperage.tui.recall.paper import show_list
from cooperage.tui.recall.question import LABEL, TABLE, TREE, Answered, AskedQuestion, answer, claims_behind
from cooperage.tui.shared.bars import BusyBar, FindBox, StatusLine
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.ink import HEADING
from cooperage.tui.shared.line_list import ColumnList
from cooperage.tui.shared.wrapped import Wrapped

_FARTHEST_BACK = 40
_ASKS = (
    "Type or scan a bottling, a lot or a tag below to trace it; {asks} traces what a hand did, or days. "
    "Shares are in proportion: liquid in a vessel is mixed."
)
_TRACING, _STOPPED = "Tracing …", "Not traced: stopped before it was done."


class RecallScreen(CellarScreen):
    """Where something went, or what it comes from: a line a place, the paths as a tree, hands, additions, the label.

    Enter opens what is under the cursor; what it reached, or came from, is traced in turn, and Esc leads back.
    """

    NAME = "recall"
    CSS_PATH = "screen.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("trace back", f"follow('{BACK}')"),
        bound("trace on", f"follow('{FORWARD}')"),
        bound("view", "turn_side", "next side"),
        bound("print", "print_list", "recall list"),
        bound("rows", "ask", "by whom, when"),
        bound("right", "open_branch", "unfold", show=True),
        bound("left", "close_branch", "fold"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._asked: list[AskedQuestion] = []
        self._table = NO_LINES
        self._offered: tuple[bool, ...] = ()
        self._is_laying = False

    def compose_body(self) -> ComposeResult:
        """What is traced, its sides, the lines, and the line under the cursor in full."""
        yield Static("", id="recall-title", markup=False)
        yield Static("", id="recall-sides")
        yield Static("", id="recall-head", markup=False)
        yield ColumnList("#recall-head", id="recall")
        yield Wrapped(id="recall-about")

    def compose_line(self) -> ComposeResult:
        """Yield the line where a code is typed or scanned, to be traced."""
        yield Label("›", id="prompt")
        yield FindBox(placeholder="type or scan a bottling, a lot or a tag to trace it")

    def on_mount(self) -> None:
        """Begin on the lines."""
        self.set_focus(self._list)

    @property
    def _list(self) -> ColumnList:
        return self.query_one("#recall", ColumnList)

    @property
    def asked(self) -> AskedQuestion | None:
        """What is shown."""
        return self._asked[-1] if self._asked else None

    @property
    def current(self) -> ListedLine | None:
        """The line under the cursor."""
        at = self._list.cursor
        return self._table.lines[at] if at < len(self._table.lines) else None

    @property
    def pointed(self) -> str:
        """The vessel under the cursor."""
        line = self.current
        return line.code if line is not None and line.code in self.desk.cellar and line.kind == "vessel" else ""

    # --- what is asked ----------------------------------------------------------------------------------------------

    def on_screen_resume(self) -> None:
        """Trace what was asked for elsewhere."""
        super().on_screen_resume()
        self.action_take_wanted()

    def action_take_wanted(self) -> None:
        """Trace what was asked for elsewhere; where nothing was, leave what is shown, or how to ask."""
        wanted, self.desk.traced = self.desk.traced, None
        if wanted is not None:
            self._ask(
                RecallQuestion(wanted["code"], wanted["hand"], direction=wanted["direction"]), is_from_elsewhere=True
            )
        elif not self._asked:
            self._show()

    def _ask(self, question: RecallQuestion, *, is_from_elsewhere: bool = False, side: str = TABLE) -> None:
        """Trace what is asked; it opens on the table, unless a line of the tree was followed."""
        self._keep_cursor()
        self._asked = [*self._asked[-_FARTHEST_BACK:], AskedQuestion(question, is_from_elsewhere, side)]
        self.show_message("")
        self._show()
        self._trace()

    def _trace(self) -> None:
        asked = self.asked
        if asked is not None:
            book, question, units = self.desk.book, asked.question, self.units
            self.run_slow_work("trace", lambda: answer(book, question, units), lambda found: self._take(asked, found))

    def _take(self, asked: AskedQuestion, found: Answered) -> None:
        asked.take(found)
        if asked is self.asked:
            self._show()

    def show_cellar(self, cellar: Cellar) -> None:  # noqa: ARG002 - as screens are given it
        """Trace again: what was written may have moved some of it."""
        self._keep_cursor()
        for asked in self._asked:
            asked.is_of_now = False  # traced again when one comes back to it
        self._trace()

    def _keep_cursor(self) -> None:
        if self.asked is not None and self.asked.found is not None:
            self.asked.cursors[self.asked.side] = self._list.cursor

    def go_back(self) -> None:
        """Go back to what was traced before; from what was asked elsewhere, to where that was."""
        left = self._asked.pop() if self._asked else None
        if left is None or left.is_from_elsewhere:
            super().go_back()
        if self.asked is not None and not self.asked.is_of_now:
            self.asked.found = None
            self._trace()
        self._show()

    def action_back(self) -> None:
        """Stop a trace that takes long, else go one step back."""
        is_stopped = self.query_one(BusyBar).display and self.focused is not self.query_one(FindBox)
        super().action_back()
        if is_stopped and self.asked is not None and self.asked.found is None:
            self.query_one(Wrapped).show_text(_STOPPED)

    def find_tag(self, typed: str) -> bool:
        """Trace what has this code; a refused one stays in the line."""
        try:
            check_named(self.desk.book, typed)
        except CooperageError as error:
            self.query_one(StatusLine).refuse(error, said(error, self.units))
            self.query_one(FindBox).select_all_typed()
            return False
        self.leave_find()
        self._ask(RecallQuestion(typed.strip()))
        return True

    # --- what is shown ----------------------------------------------------------------------------------------------

    def _show(self) -> None:
        """Show the side in hand, or why there is nothing yet."""
        asked = self.asked
        self.query_one("#recall-sides", Static).update(self._sides_shown())
        self.query_one("#recall-title", Static).update(self._title_words())
        self._table = self._side(asked)
        self._lay()
        if asked is not None:
            self._list.cursor = asked.cursors.get(asked.side, 0)
        self._show_current()

    def _title_words(self) -> str:
        if self.asked is None:
            return "Recall: what something reached, and what it comes from"
        found, question = self.asked.found, self.asked.question
        if isinstance(found, Recall):
            return f"{found.title}: {counted_words(found, self.units)}"
        return ", ".join(part for part in (question.code, f"by {question.hand}" if question.hand else "") if part)

    def _sides_shown(self) -> Content:
        """Return the sides there are, the one that is shown in bold capitals."""
        asked = self.asked
        if asked is None or not isinstance(asked.found, Recall):
            return Content("")
        way = "came from" if asked.found.direction == BACK else "reached"
        shown = (Content.styled(side.upper(), HEADING) if side == asked.side else Content(side) for side in asked.sides)
        folds = f"   {pressed('right')} unfolds, {pressed('left')} folds" if asked.side == TREE else ""
        return Content.assemble(f"what it {way}:  ", Content("  ").join(shown), folds)

    def _side(self, asked: AskedQuestion | None) -> ListedTable:
        if asked is None or not isinstance(asked.found, Recall):
            return NO_LINES
        if asked.side == TREE and asked.tree is not None:
            return asked.tree.table
        if asked.side == LABEL:
            return self._label_of(asked)
        return asked.tables.get(asked.side, NO_LINES)

    def _label_of(self, asked: AskedQuestion) -> ListedTable:
        if asked.claims is None:
            book, code = self.desk.book, asked.question.code
            self.run_slow_work(
                "claims", lambda: claims_behind(book, code), lambda found: self._take_claims(asked, found)
            )
        if asked.claims is None or isinstance(asked.claims, CooperageError):
            return NO_LINES
        return claims_of(asked.claims, self.units)

    def _take_claims(self, asked: AskedQuestion, claims: LabelClaims | CooperageError) -> None:
        asked.claims = claims
        if asked is self.asked and asked.side == LABEL:
            self._show()

    def _lay(self) -> None:
        self._list.set_rows(self._table.columns, [line.cells for line in self._table.lines])

    def on_line_list_moved(self) -> None:
        """Show the line in full."""
        self._show_current()

    def _show_current(self) -> None:
        line, about = self.current, self.query_one(Wrapped)
        about.show_text(*([line.words] if line is not None else self._none_words()))
        actions = (("follow", (BACK,)), ("follow", (FORWARD,)), ("open_branch", ()), ("print_list", ()))
        offered = tuple(bool(self.check_action(action, given)) for action, given in actions)
        if offered != self._offered:
            self._offered = offered
            self.refresh_bindings()

    def _none_words(self) -> list[str]:
        asked = self.asked
        if asked is None:
            return [_ASKS.format(asks=pressed("rows"))]
        refused = asked.claims if isinstance(asked.found, Recall) else asked.found
        if isinstance(refused, CooperageError):
            return [said(refused, self.units)]
        return [_TRACING if asked.found is None or asked.side == LABEL else "Nothing was added on the way."]

    # --- keys -------------------------------------------------------------------------------------------------------

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer a trace where it leads somewhere new, folding in the tree, the list once something was found."""
        if action not in ("follow", "open_branch", "print_list", "turn_side"):
            return True
        asked = self.asked if self.is_mounted else None
        if asked is None or not isinstance(asked.found, Recall):
            return False
        if action == "follow":
            return self._led_to(str(parameters[0])) is not None
        if action == "open_branch":
            return asked.side == TREE and asked.tree is not None and asked.tree.can_unfold(self._list.cursor)
        return True

    def _led_to(self, direction: str) -> RecallQuestion | None:
        line = self.current
        return None if line is None or self.asked is None else self.asked.leads(line.kind, line.code, direction)

    def action_follow(self, direction: str) -> None:
        """Trace what is under the cursor; on what is traced itself, the other way."""
        question = self._led_to(direction)
        if question is not None:
            is_tree = self.asked is not None and self.asked.side == TREE
            self._ask(question, side=TREE if is_tree else TABLE)

    def action_turn_side(self) -> None:
        """Show the next side."""
        if self.asked is not None:
            self._keep_cursor()
            self.asked.turn_side()
            self._show()

    def action_open_branch(self) -> None:
        """Unfold the branch under the cursor."""
        self._refold(unfolds=True)

    def action_close_branch(self) -> None:
        """Fold it, or go to the one above it."""
        self._refold(unfolds=False)

    def _refold(self, *, unfolds: bool) -> None:
        asked = self.asked
        if asked is None or asked.side != TREE or asked.tree is None or not self._table.lines:
            return
        at = self._list.cursor
        stand = asked.tree.unfold(at) if unfolds else asked.tree.fold(at)
        self._table = asked.tree.table
        self._lay()
        self._list.cursor = stand
        self._show_current()

    async def on_line_list_taken(self) -> None:
        """Open what is under the cursor: the page of a vessel, a lot or a bottling among the lots, what a hand did."""
        line = self.current
        if line is None:
            return
        if line.kind == "vessel":
            self.open_page(line.code)
        elif line.kind in ("lot", "bottling"):
            await self.desk.go_to("lots", line.code)
        elif (question := self._led_to(FORWARD)) is not None:
            self._ask(question)

    def action_print_list(self) -> None:
        """Show the recall list, to be read and saved."""
        if self.asked is not None:
            show_list(self, self.asked.question)

    def action_ask(self) -> None:
        """Ask for a code, a hand and days."""
        with self.desk.book.reading() as connection:
            hands = hands_in(connection)
        before = self.asked.question if self.asked is not None else RecallQuestion()

        def asked(question: RecallQuestion | None) -> None:
            if question is not None:
                self._ask(question)

        self.app.push_screen(QuestionForm(before, hands), asked)

"""Lots: what each was, what is left of it and where it went; and the bottlings, traced back."""

from collections.abc import Callable, Sequence
from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.timer import Timer
from textual.widgets import Static

from cooperage.book import KINDS, Cellar, Standing, Written
from cooperage.book.declared import acts
from cooperage.book.lots import LotNow, lots_now
from cooperage.book.trace import Trace, all_bottlings
from cooperage.book.vessel_words import lot_names, vessel_line
from cooperage.programme.batches.status import LotStatus
from cooperage.tui.keys import bound
from cooperage.tui.lots.words import (
    about_lot,
    bottling_line,
    bottlings_head,
    lot_cells,
    lot_columns,
    what_bottling_is,
    where_lot_is,
)
from cooperage.tui.shared.act_form import ActForm
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.dialogs import Pick
from cooperage.tui.shared.first_days import missing
from cooperage.tui.shared.line_list import ColumnList, LineList
from cooperage.tui.shared.wrapped import Wrapped

_FEWEST, _MOST = 2, 5
"""Rows of the bottlings; what they do not take, the lots have."""
_FEWEST_COLUMNS, _MOST_COLUMNS, _BESIDE, _ROWS = 30, 60, 16, 9
"""Columns and rows of the curve of a fermentation, and columns that stand beside it."""
PAUSE_S = 0.2
"""How long the cursor rests on a lot before it is traced."""


class LotList(ColumnList):
    """The list of lots; where it gets shorter, the lot under the cursor stays in sight."""

    def on_resize(self) -> None:
        """Scroll to the cursor, one line above it."""
        self.scroll_to(y=self.cursor - 1, animate=False, force=True)


class LotsScreen(CellarScreen):
    """Lots with what is left of each, and bottlings; beside them where a lot is now, or what a bottling is made of."""

    NAME = "lots"
    CSS_PATH = "screen.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("next", "app.focus_next", "next list", show=True),
        bound("bottle", "bottle"),
        bound("view", "show_cost", "cost"),
        bound("print", "label", "label"),
        bound("trace back", "trace('back')"),
        bound("trace on", "trace('forward')"),
        bound("new", "app.ask('lot')", "new lot"),
        bound("open", "app.switch_mode('bottling')", "bottling runs"),
        bound("read", "do('reading')"),
        bound("add", "do('addition')"),
        bound("barrel work", "do('treat')", "treat"),
        bound("edit", "write_sheet", "batch, honey"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._lots: list[LotNow] = []
        self._statuses: dict[str, LotStatus] = {}
        self._bottlings: list[Trace] = []
        self._are_bottlings_read = False
        self._waiting: Timer | None = None
        self._traced: list[str] = []

    def compose_body(self) -> ComposeResult:
        """Lots, bottlings, and the trace of what is under the cursor."""
        yield Static("", id="lots-head", classes="head", markup=False)
        yield LotList("#lots-head", id="lots")
        yield Static("", id="bottlings-head", classes="head", markup=False)
        yield LineList(id="bottlings")
        yield Wrapped(id="trace")

    def on_mount(self) -> None:
        """Begin on the lots."""
        self.set_focus(self._lot_list)

    def on_resize(self) -> None:
        """Head the columns that there is room for."""
        width = self._lot_list.size.width
        self.query_one("#bottlings-head", Static).update(bottlings_head(width), layout=False)

    @property
    def _lot_list(self) -> LotList:
        return self.query_one("#lots", LotList)

    @property
    def _bottling_list(self) -> LineList:
        return self.query_one("#bottlings", LineList)

    def show_cellar(self, cellar: Cellar) -> None:
        """List the lots at once, and the bottlings when they are traced."""
        self._lots = lots_now(cellar)
        self._list_lots()
        self.run_slow_work("statuses", lambda: self._read_statuses(cellar), self._take_statuses)
        self.run_slow_work("bottlings", self._read_bottlings, self._take_bottlings)
        self._trace_soon()

    def _list_lots(self) -> None:
        units = self.units
        rows = (lot_cells(now, self._statuses.get(now.lot.code), units) for now in self._lots)
        self._lot_list.set_rows(lot_columns(units), rows)

    def _read_statuses(self, cellar: Cellar) -> dict[str, LotStatus]:
        from cooperage.programme.batches.lot_sheet import lot_statuses  # brings NumPy, after the lots are shown

        return lot_statuses(self.desk.book, cellar)

    def _take_statuses(self, found: dict[str, LotStatus]) -> None:
        self._statuses = found
        self._list_lots()

    def registered(self, names: Sequence[str]) -> None:
        """Stand at the new lot as soon as it is listed."""
        super().registered(names)
        if names[0] not in self.desk.cellar:
            self.desk.code = names[0]

    def on_screen_resume(self) -> None:
        """Go to the lot or bottling that was asked for elsewhere."""
        super().on_screen_resume()
        self.action_go_to_wanted()

    def action_go_to_wanted(self) -> None:
        """Stand at it, in the list that has it."""
        lots, bottlings = [now.lot.code for now in self._lots], [traced.code for traced in self._bottlings]
        for codes, listed in ((lots, self._lot_list), (bottlings, self._bottling_list)):
            if self.desk.code in codes:
                listed.cursor = codes.index(self.desk.code)
                self.set_focus(listed)
                self.desk.code = ""

    def _read_bottlings(self) -> list[Trace]:
        with self.desk.book.reading() as connection:
            return all_bottlings(connection)[::-1]

    def _take_bottlings(self, found: list[Trace]) -> None:
        self._bottlings, self._are_bottlings_read = found, True
        self._bottling_list.styles.max_height = max(_FEWEST, min(_MOST, len(found)))
        now = self.desk.book.now()
        self._bottling_list.set_lines(
            len(found), lambda at, width: Text(bottling_line(found[at], width, self.units, now), no_wrap=True)
        )
        self.action_go_to_wanted()
        self._trace_soon()

    @property
    def current(self) -> LotNow | Trace | None:
        """The lot or bottling under the cursor of the list that was focused last."""
        rows: Sequence[LotNow | Trace] = self._bottlings if self._is_on_bottlings else self._lots
        listed = self._bottling_list if self._is_on_bottlings else self._lot_list
        return rows[listed.cursor] if listed.cursor < len(rows) else None

    @property
    def pointed(self) -> str:
        """The vessel that holds most of the lot under the cursor."""
        holdings = self.current.holdings if isinstance(self.current, LotNow) else ()
        return holdings[0].vessel if holdings else ""

    _is_on_bottlings = False

    def on_descendant_focus(self) -> None:
        """Trace what is under the cursor of the list that has the focus; what is read has the room of the other."""
        self.set_class(self.focused is self.query_one("#trace"), "-reading")
        if self.focused in (self._lot_list, self._bottling_list):
            self._is_on_bottlings = self.focused is self._bottling_list
            self.set_class(self._is_on_bottlings, "-bottling")
            self._trace_soon()

    def on_line_list_moved(self) -> None:
        """Trace what the cursor rests on."""
        self._trace_soon()

    def on_line_list_taken(self) -> None:
        """Read the trace."""
        self.set_focus(self.query_one("#trace"))

    def _trace_soon(self) -> None:
        if self._waiting is not None:
            self._waiting.stop()
        self._waiting = self.set_timer(PAUSE_S, self._trace)

    def _trace(self) -> None:
        self._waiting = None
        match self.current:
            case LotNow(lot=lot):
                self._show_text(*about_lot(lot, self.units, self.desk.book.now()), "Tracing …")
                self.run_slow_work("trace", lambda: self.desk.book.trace(lot.code), self._take_trace)
            case Trace() as bottling:
                self._show_text(*what_bottling_is(bottling, self.units, self.desk.book.now()))
            case None if not self._is_on_bottlings:
                self._show_text(missing(self.desk.cellar) or "No lots yet.")
            case None:
                self._show_text(
                    "Nothing has been bottled yet." if self._are_bottlings_read else "Reading the bottlings …"
                )

    def _take_trace(self, traced: Trace) -> None:
        current, cellar = self.current, self.desk.cellar
        if isinstance(current, LotNow) and current.lot.code == traced.code:
            about = about_lot(current.lot, self.units, self.desk.book.now())
            self._traced = [*about, *where_lot_is(traced, cellar, self.units)]
            self._show_text(*self._traced)
            self.run_slow_work("sheet", lambda: self._read_sheet(traced.code, cellar), self._take_sheet)

    def _read_sheet(self, code: str, cellar: Cellar) -> tuple[str, list[str | Text]]:
        """Return a lot's code with the lines of its sheet; none where nothing of its making is in the book."""
        from cooperage.programme.batches.lot_sheet import lot_sheet  # brings NumPy, after the trace is shown
        from cooperage.programme.batches.words import going_lines, headline, made_lines
        from cooperage.programme.page.fermented import ferment_chart
        from cooperage.tui.lots.curve import ferment_texts

        sheet = lot_sheet(self.desk.book, cellar, code)
        if sheet.batch is None and not sheet.fermented.gravities:
            return code, []
        lines: list[str | Text] = [headline(sheet, self.units), *going_lines(sheet, cellar.at, self.units)]
        if sheet.course is not None and sheet.fermented.began is not None:
            columns = max(_FEWEST_COLUMNS, min(_MOST_COLUMNS, self.size.width - _BESIDE))
            chart = ferment_chart(sheet.course, sheet.fermented.began, cellar.at, columns, _ROWS, self.units)
            lines += ferment_texts(chart, self.app, columns, _ROWS)
        return code, [*lines, *made_lines(sheet, cellar.at, self.units)]

    def _take_sheet(self, found: tuple[str, list[str | Text]]) -> None:
        code, lines = found
        current = self.current
        if lines and isinstance(current, LotNow) and current.lot.code == code:
            self._show_text(*lines, *self._traced[1:])

    def _show_text(self, *lines: str | Text) -> None:
        self.query_one(Wrapped).show_text(*lines)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Anything is done only in a vessel that holds something; what the cursor is on has a label and leads on."""
        if action in ("label", "trace"):
            current = self.current if self.is_mounted else None
            return current is not None and (parameters != ("back",) or isinstance(current, Trace))
        return bool(self._holding()) if action in ("bottle", "do") else True

    def _holding(self) -> list[Standing]:
        """List the vessels that hold the lot under the cursor, tanks first; of a bottling, every tank."""
        cellar = self.desk.cellar
        if isinstance(self.current, LotNow):
            there = [cellar[holding.vessel] for holding in self.current.holdings]
            return sorted(there, key=lambda standing: standing.vessel.kind != "tank")
        return [s for s in cellar.in_walking_order() if s.ml and s.vessel.kind == "tank"]

    @property
    def _code(self) -> str:
        """The code of the lot or the bottling under the cursor."""
        return self.current.lot.code if isinstance(self.current, LotNow) else self.current.code if self.current else ""

    async def action_label(self) -> None:
        """Show the label of the lot or the bottling under the cursor."""
        await self.app.run_action(f"ask('label', {self._code!r})")

    async def action_trace(self, direction: str) -> None:
        """Trace the lot or the bottling under the cursor: on to what it reached, back to what it came from."""
        await self.app.run_action(f"trace({self._code!r}, {direction!r})")

    async def action_show_cost(self) -> None:
        """Show what the lot or the bottling under the cursor has cost."""
        await self.app.run_action(f"ask('cost', {self._code!r})")

    def action_bottle(self) -> None:
        """Ask which vessel is bottled, and open the form."""

        def bottled(done: Written | None) -> None:
            if done is not None:
                self.show_written(done)

        self._ask_vessel(
            "Bottle which vessel?", lambda tag: self.app.push_screen(ActForm(acts.Bottle, {"vessel": tag}), bottled)
        )

    def action_do(self, kind: str) -> None:
        """Ask in which vessel of the lot something is read, added or done, and open the form; a gravity is proposed."""
        act = KINDS[kind]
        known = {"property": "sg"} if act is acts.Reading else {}
        first = "value" if known else ""
        self._ask_vessel(
            f"{act.label}: which vessel?",
            lambda tag: self.open_form(act, {"vessel": tag} | known, lambda _: None, first=first),
        )

    def _ask_vessel(self, title: str, then: Callable[[str], object]) -> None:
        """Ask which of the vessels that hold the lot is meant, where there are several."""
        choices = [(standing.tag, vessel_line(standing, self.units)) for standing in self._holding()]
        if len(choices) == 1:
            then(choices[0][0])
            return

        def chosen(tag: str | None) -> None:
            if tag is not None:
                then(tag)

        self.app.push_screen(Pick(title, choices, also=lot_names(self.desk.cellar)), chosen)

    async def action_write_sheet(self) -> None:
        """Ask what is written: the batch sheet of the lot under the cursor, its cost, its end, or honey."""
        code = self.current.lot.code if isinstance(self.current, LotNow) else ""
        of_lot = [
            ("batch", f"batch sheet of {code}"),
            ("lotcost", f"what {code} has cost by the litre"),
            ("lotend", f"{code} has finished fermenting"),
        ]
        choices = [*(of_lot if code else []), ("honey", "honey that came in, or a correction of it")]

        async def chosen(what: str | None) -> None:
            if what is not None:
                await self.app.run_action(f"ask({what!r})" if what == "honey" else f"ask({what!r}, {code!r})")

        self.app.push_screen(Pick("Write what?", choices), chosen)

    def batch_written(self, lot: str) -> None:
        """Show the sheet of the lot as it is now."""
        self.desk.code = lot
        self.action_go_to_wanted()
        self._trace_soon()

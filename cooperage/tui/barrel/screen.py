"""The page of one vessel: its whole life on one screen, and everything that is done to it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from rich.table import Table
from rich.text import Text
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container, Horizontal, Vertical
from textual.widgets import Static

from cooperage.book import Book, Cellar, Standing, Written
from cooperage.book.dangers.dangers import cautions
from cooperage.book.dangers.work import before_vessel
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.log import Entry, entries
from cooperage.book.vessel_words import basis_lines
from cooperage.book.words import entry_line
from cooperage.programme.ahead.outlook import Outlook, outlook_of
from cooperage.programme.history import Series, series
from cooperage.tui.barrel.charts import CHARTS, Chart
from cooperage.tui.barrel.words import ahead_line, figure_rows, head_lines, next_line
from cooperage.tui.forms.upkeep_form import UpkeepForm
from cooperage.tui.keys import bound
from cooperage.tui.racks.shift_form import ShiftForm
from cooperage.tui.several.acts import act_bindings, can_be_done, open_act, open_order
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.first_days import missing
from cooperage.tui.shared.gauges import titled
from cooperage.tui.shared.line_list import LineList
from cooperage.tui.shared.steady import Steady


@dataclass(frozen=True, slots=True)
class VesselPage:
    """What is read about one vessel for its page."""

    tag: str
    entries: list[Entry]
    series: Series


def life_of(book: Book, cellar: Cellar, tag: str) -> VesselPage:
    """Read a vessel's life: its entries newest first, and its figures over time."""
    standing = cellar[tag]
    with book.reading() as connection:
        found = entries(connection, vessel_id=standing.vessel.id)
    return VesselPage(tag, found[::-1], series(book, tag))


class BarrelScreen(CellarScreen):
    """One vessel: its wood and past, what is in it, its figures and their source, what is due, its entries."""

    NAME = "barrel"
    CSS_PATH = "screen.tcss"
    VERTICAL_BREAKPOINTS = [(0, "-short"), (34, "-tall")]  # noqa: RUF012 - typed by Textual
    BINDINGS: ClassVar[list[BindingType]] = [
        *act_bindings(),
        bound("dip", "form('gauge')"),
        bound("bottle", "form('bottle')"),
        bound("receive", "form('receive')"),
        bound("move", "form('shift')"),
        bound("upkeep", "upkeep"),
        bound("view", "chart", "charts"),
        bound("print", "label", "label"),
        bound("strike", "strike", "strike entry"),
        bound("left", "neighbour(-1)", "previous barrel"),
        bound("right", "neighbour(1)", "next barrel"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._life: VesselPage | None = None
        self._chart = ""
        self._shown_tag = ""

    def compose_body(self) -> ComposeResult:
        """The vessel, what is next, its figures, its entries; the charts."""
        with Horizontal(id="page"):
            with Vertical(id="facts"):
                yield Steady("", id="head", markup=False)
                yield Steady("", id="mind", markup=False)
                yield Steady("", id="next", markup=False)
                yield Steady("", id="ahead", markup=False)
                yield Steady("", id="figures")
                yield Steady("", id="basis", markup=False)
                yield LineList(id="timeline", takes=False)
            with Container(id="charts"):
                for name in CHARTS:
                    yield Chart(name)

    def on_mount(self) -> None:
        """Begin on the timeline, so that the letters are keys."""
        self.set_focus(self.query_one(LineList))

    def on_screen_resume(self) -> None:
        """Show the vessel in hand, which may be another than before."""
        self._shown = None
        super().on_screen_resume()

    @property
    def _standing(self) -> Standing | None:
        desk = self.desk
        if desk.tag not in desk.cellar:
            barrels = desk.cellar.barrels or list(desk.cellar)
            desk.tag = barrels[0].tag if barrels else ""
        return desk.cellar[desk.tag] if desk.tag else None

    @property
    def _in_hand(self) -> list[Standing]:
        return [] if self._standing is None else [self._standing]

    def show_cellar(self, cellar: Cellar) -> None:
        """Show what is known at once, and the life of the vessel when it is read."""
        standing = self._standing
        if standing is None:
            self.query_one("#head", Static).update(missing(cellar))
            return
        if standing.tag != self._shown_tag:
            self.show_message("")  # the message was about another vessel
            self._shown_tag = standing.tag
        self.query_one("#head", Static).update(titled(head_lines(standing, self.units, self.desk.level(standing))))
        mind, found = self.query_one("#mind", Static), cautions(before_vessel(standing, self.units))
        mind.display = bool(found)
        mind.update(". ".join(each.line for each in found))
        self.query_one("#figures", Static).update(_table(figure_rows(standing, self.units)))
        basis = basis_lines(standing.figure(name) for name in PROPERTIES)
        self.query_one("#basis", Static).update("; ".join(basis))
        if self._life is None or self._life.tag != standing.tag:
            self.query_one("#next", Static).update("")
            self.query_one("#ahead", Static).update("")
            self.query_one(LineList).set_lines(0, lambda _index, _width: Text(""))
        tag = standing.tag
        self.run_slow_work("ahead", lambda: outlook_of(self.desk.book, cellar, tag, self.units), self._show_ahead)
        self.run_slow_work("life", lambda: life_of(self.desk.book, cellar, tag), self._show_life)
        self.refresh_bindings()

    def _show_life(self, life: VesselPage) -> None:
        if self._life is None or self._life.tag != life.tag:
            self.query_one(LineList).cursor = 0
        self._life = life
        shown = life.entries
        self.query_one(LineList).set_lines(len(shown), lambda index, _width: self._entry(shown[index]))
        for chart in self.query(Chart):
            chart.draw(life.series.get(chart.series, ()), self.units)

    def _show_ahead(self, outlook: Outlook) -> None:
        self.desk.rates = outlook.rates
        standing = self.desk.cellar[outlook.tag]
        self.query_one("#head", Static).update(titled(head_lines(standing, self.units, self.desk.level(standing))))
        self.query_one("#next", Static).update(next_line(outlook.coming))
        self.query_one("#ahead", Static).update(ahead_line(outlook.ahead, self.units))

    def _entry(self, entry: Entry) -> Text:
        line = entry_line(entry, self.units, seen_from=self.desk.tag, short=True)
        return Text(line, style="dim" if entry.struck_by else "", no_wrap=True)

    # --- doing something to it --------------------------------------------------------------------------------------

    def action_form(self, kind: str) -> None:
        """Ask for an entry on this vessel."""
        standing = self._standing
        if standing is not None and kind == "shift":
            self.app.push_screen(ShiftForm(standing), self._shifted)
        elif standing is not None:
            open_act(self, kind, [standing], lambda: None)

    def _shifted(self, written: Written | None) -> None:
        if written is not None:
            self.show_written(written)

    def action_order(self) -> None:
        """Write an order for this vessel."""
        if self._standing is not None:
            open_order(self, [self._standing], lambda: None)

    def action_upkeep(self) -> None:
        """Change its intervals and limits."""

        def closed(words: str | None) -> None:
            if words is not None:
                self.show_message(words)

        if self._standing is not None:
            self.app.push_screen(UpkeepForm(self._standing), closed)

    async def action_label(self) -> None:
        """Show its label."""
        await self.app.run_action(f"ask('label', {self.desk.tag!r})")

    def action_strike(self) -> None:
        """Strike the entry under the cursor, after showing it."""
        if self._entry_in_hand is not None:
            self.desk.strike(self._entry_in_hand, self.struck, self.refuse)

    @property
    def _entry_in_hand(self) -> Entry | None:
        shown = self._life.entries if self._life else []
        cursor = self.query_one(LineList).cursor
        return shown[cursor] if cursor < len(shown) else None

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer only what can be done to it as it stands."""
        if action == "form":
            return self.is_mounted and can_be_done(str(parameters[0]), self._in_hand)
        if action in ("upkeep", "order"):
            return self.is_mounted and self._standing is not None and not self._standing.is_retired
        if action == "label":
            return self.is_mounted and self._standing is not None
        return action != "chart" or self.has_class("-narrow")

    def on_resize(self) -> None:
        """Charts are a key only where they do not stand beside the page."""
        self.call_after_refresh(self.refresh_bindings)

    # --- looking around ---------------------------------------------------------------------------------------------

    def found(self, tag: str) -> None:
        """Show that vessel."""
        self.desk.tag = tag
        self.show_cellar(self.desk.cellar)

    def action_neighbour(self, steps: int) -> None:
        """Show the next vessel along the walk, or the previous vessel."""
        tags = [s.tag for s in self.desk.cellar.in_walking_order() if not s.is_retired]
        if tags and self._standing is not None:
            at = tags.index(self.desk.tag) if self.desk.tag in tags else 0
            self.found(tags[(at + steps) % len(tags)])

    def action_chart(self) -> None:
        """Show one chart after the other in place of the figures, and then the figures again."""
        names = ["", *CHARTS]
        self._chart = names[(names.index(self._chart) + 1) % len(names)]
        self.set_class(bool(self._chart), "-charting")
        for chart in self.query(Chart):
            chart.set_class(chart.series == self._chart, "-chosen")


def _table(rows: Sequence[tuple[str, str, str]]) -> Table:
    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column(no_wrap=True)
    table.add_column(justify="right", no_wrap=True)
    table.add_column(no_wrap=True)
    for row in rows:
        table.add_row(*(Text(cell) for cell in row))  # as they are: a bare string is taken for markup
    return table

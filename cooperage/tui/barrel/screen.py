"""The page of one vessel: its whole life on one screen, and everything that is done to it."""

from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.geometry import Size
from textual.widgets import Static

from cooperage.book import Cellar, Standing, Written
from cooperage.book.log import Entry
from cooperage.programme.losses.level import Level
from cooperage.programme.page.figures import page_figures
from cooperage.programme.page.marks import VesselPage, page_of
from cooperage.tui.barrel.card import basis_texts, card_texts
from cooperage.tui.barrel.charts import Charts
from cooperage.tui.barrel.history import History
from cooperage.tui.barrel.table import figure_texts
from cooperage.tui.barrel.words import head_texts
from cooperage.tui.forms.upkeep_form import upkeep_form
from cooperage.tui.keys import bound
from cooperage.tui.racks.shift_form import shift_form
from cooperage.tui.several.acts import act_bindings, can_be_done, open_act, open_order
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.first_days import missing
from cooperage.tui.shared.steady import Steady

_ROOMY = 22
"""Rows of a terminal from which wood and past stand in the head, and what is seldom measured among the figures."""
_TALL, _WIDE = 34, 110
"""Rows and columns of a terminal from which all figures stand on the page, and the card beside them."""
_CARD, _EDGES = 42, 2
"""Columns of the card, its border and edges included; of the edges of a part of the page."""
_SEVERAL = "Several entries: → unfolds the visit, then choose the one to strike."


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
        bound("trace back", "trace('back')"),
        bound("trace on", "trace('forward')"),
        bound("left", "sideways(-1)", "fold, previous barrel"),
        bound("right", "sideways(1)", "unfold, next barrel"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._page: VesselPage | None = None
        self._charts: Charts | None = None
        self._first_chart: int | None = None
        self._shown_tag = ""
        self._laid_for = Size(0, 0)

    def compose_body(self) -> ComposeResult:
        """The vessel, what is next, its figures, its visits; a card beside them; the charts in their place."""
        with Horizontal(id="page"):
            with Vertical(id="facts"):
                yield Steady("", id="head")
                yield Steady("", id="figures")
                yield History(id="timeline")
            yield Steady("", id="card")
        yield Static("", id="charts")

    def on_mount(self) -> None:
        """Begin on the visits, so that the letters are keys."""
        self.set_focus(self._history)

    @property
    def _history(self) -> History:
        return self.query_one(History)

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
        """Show what is known at once, and the rest of the page when it is read and calculated."""
        standing = self._standing
        if standing is None:
            self.query_one("#head", Static).update(missing(cellar))
            return
        tag = standing.tag
        if tag != self._shown_tag:
            self.show_message("")  # the message was about another vessel
            self._shown_tag = tag
            self._page = self._charts = None
            self._history.wait()
        self._show_page()
        self.run_slow_work("page", lambda: page_of(self.desk.book, cellar, tag, self.units), self._take_page)
        self.refresh_bindings()

    def _take_page(self, page: VesselPage) -> None:
        self.desk.rates = page.outlook.rates
        if page.tag != self.desk.tag:
            return
        self._page, self._charts = page, None
        self._show_page()
        standing = self.desk.cellar[page.tag]
        self._history.show(page.past.entries, page.tag, standing.at, self.units)
        self._show_charts()

    def _show_page(self) -> None:
        """Show head, figures and card in the room there is."""
        standing = self._standing
        if standing is None:
            return
        self._laid_for = self.app.size
        total, height = self.app.size
        is_wide, is_tall = total >= _WIDE, height >= _TALL
        width = total - _EDGES - (_CARD if is_wide else 0)
        level, page = self._level_of(standing), self._page
        head = head_texts(
            standing, level, page, self.app, width, self.units, with_wood=height >= _ROOMY and not is_wide
        )
        self.query_one("#head", Static).update(_lines(head))
        past = None if page is None else page.past
        rows = page_figures(standing, past, self.units, extra=is_tall)
        figures = figure_texts(rows, self.app, width, self.units)
        if is_tall and not is_wide:
            figures += basis_texts(standing, self.app, width)
        self.query_one("#figures", Static).update(_lines(figures))
        if is_wide:
            card = card_texts(standing, page, self.app, _CARD - _EDGES - 1, self.units)
            self.query_one("#card", Static).update(_lines(card))

    def _level_of(self, standing: Standing) -> Level | None:
        """Return what it holds now; None while the loss rates are on their way."""
        has_rates = bool(self.desk.rates) or self._page is not None or not standing.vessel.is_barrel
        return self.desk.level(standing) if has_rates else None

    # --- doing something to it --------------------------------------------------------------------------------------

    def action_form(self, kind: str) -> None:
        """Ask for an entry on this vessel."""
        standing = self._standing
        if standing is not None and kind == "shift":
            self.app.push_screen(shift_form(self.app, standing), self._shifted)
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
            self.app.push_screen(upkeep_form(self.app, self._standing), closed)

    async def action_label(self) -> None:
        """Show its label."""
        await self.app.run_action(f"ask('label', {self.desk.tag!r})")

    async def action_trace(self, direction: str) -> None:
        """Trace what is in it back to what that came from, or all that was in it on to what that reached."""
        await self.app.run_action(f"trace({self.desk.tag!r}, {direction!r})")

    def action_strike(self) -> None:
        """Strike the entry under the cursor, after showing it."""
        entry: Entry | None = self._history.entry_in_hand
        if entry is not None:
            self.desk.strike(entry, self.struck, self.refuse)
        elif not self._history.is_at_head:
            self.show_message(_SEVERAL)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer only what can be done to it as it stands."""
        if action == "form":
            return self.is_mounted and can_be_done(str(parameters[0]), self._in_hand)
        if action in ("upkeep", "order"):
            return self.is_mounted and self._standing is not None and not self._standing.is_retired
        if action in ("label", "trace"):
            return self.is_mounted and self._standing is not None
        return True

    def on_resize(self) -> None:
        """Fill the room there is now."""
        self.call_after_refresh(self._fill)

    def _fill(self) -> None:
        if self._laid_for != self.app.size:
            self._charts = None
            self._show_page()
            self._show_charts()

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

    def action_sideways(self, steps: int) -> None:
        """Unfold or fold the visit under the cursor; on the heading and on the charts, go to the neighbour."""
        if self._first_chart is not None or self._history.is_at_head:
            self.action_neighbour(steps)
        elif steps > 0:
            self._history.unfold()
        else:
            self._history.fold()

    def action_chart(self) -> None:
        """Show one chart after the other in place of the page, four at once where there is room; then the page."""
        charts = self._made_charts()
        if self._first_chart is None:
            self._first_chart = 0
        elif charts is not None:
            self._first_chart += charts.at_once
        if charts is None or self._first_chart >= max(1, len(charts.names)):
            self._first_chart = None
        self.set_class(self._first_chart is not None, "-charting")
        self._show_charts()
        if self._first_chart is None:
            self.set_focus(self._history)

    def _made_charts(self) -> Charts | None:
        standing, page = self._standing, self._page
        if self._charts is None and standing is not None and page is not None:
            rate = self.desk.rates.get(standing.tag)
            room = self.query_one("#body").size
            self._charts = Charts(standing, page.past, rate, self.app, self.units, Size(room.width - 2, room.height))
        return self._charts

    def _show_charts(self) -> None:
        if self._first_chart is None:
            return
        charts = self._made_charts()
        if charts is not None:
            self._first_chart = min(self._first_chart, max(0, len(charts.names) - 1))
        words = Text("Charts: calculating") if charts is None else charts.page(self._first_chart)
        self.query_one("#charts", Static).update(words, layout=False)


def _lines(texts: list[Text]) -> Text:
    return Text("\n").join(texts)

"""What the first page shows: what is wrong, the orders, what is under the pointer, the walk, what stands aside."""

from collections.abc import Sequence

from rich.style import Style
from rich.text import Text
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Static

from cooperage.book import Cellar
from cooperage.programme.orders.checked import Checked
from cooperage.programme.today.aside import Aside, aside_of
from cooperage.programme.today.glance import Today, today_of
from cooperage.programme.today.matters import Matter
from cooperage.programme.today.words import NOTHING_WRONG
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.first_days import missing
from cooperage.tui.shared.ink import ink
from cooperage.tui.shared.steady import Steady
from cooperage.tui.today.lists import DayList, PointedLines
from cooperage.tui.today.pointed import card, matter_lines, order_lines
from cooperage.tui.today.words import (
    CALCULATING,
    aside_lines,
    columns_of,
    day_line,
    head_row,
    last_line,
    matter_line,
    order_line,
    orders_head,
    walk_lines,
)
from cooperage.units import local_day

_MOST_OF_WALK = 5
"""Lines of the walk before the screen is laid out."""
_MOST_ORDERS, _OTHER_LINES = 12, 19
"""Most lines of orders in view, and what else the page takes at least, the first of what is wrong too."""
_MARGIN = 2
"""Columns that stay empty at the sides."""
_NARROW = 76
"""A row of fewer columns leaves its reason to the lines under the list."""


class DayShown(CellarScreen):
    """The first page as it is shown; nothing is judged before it is calculated."""

    def __init__(self) -> None:
        super().__init__()
        self._today: Today | None = None  # until it is calculated
        self._aside: Aside | None = None  # comes after it
        self._offered: tuple[bool, ...] = ()

    def compose_body(self) -> ComposeResult:
        """The cellar in one line; trouble, orders, why, a card beside; the walk; what stands aside; the last entry."""
        yield Steady("", id="today-head", markup=False)
        with Horizontal(id="look"):
            with Vertical(id="rows"):
                yield Steady("", id="look-head", markup=False)
                yield DayList(self._moved, id="trouble")
                yield Steady("", id="orders-head", markup=False)
                yield DayList(self._moved, id="orders")
                yield PointedLines(id="trouble-why")
            yield PointedLines(id="trouble-card")
        yield Steady("", id="walk-ahead", markup=False)
        yield Steady("", id="aside", markup=False)
        yield Steady("", id="last-entry", markup=False)

    def on_mount(self) -> None:
        """Begin on the list; where nothing is ordered, there is no second."""
        self._show_orders()
        self._show_day()
        self.set_focus(self._list)

    @property
    def _list(self) -> DayList:
        return self.query_one("#trouble", DayList)

    @property
    def _order_list(self) -> DayList:
        return self.query_one("#orders", DayList)

    # --- what is shown ----------------------------------------------------------------------------------------------

    def show_cellar(self, cellar: Cellar) -> None:
        """Look the cellar over in the background; nothing is judged before that is done."""
        self.run_slow_work("today", lambda: today_of(self.desk.book, cellar, self.units), self._take)

    def _take(self, today: Today) -> None:
        self._today, self.desk.rates = today, today.rates
        self._show_orders()
        if not today.matters and self.orders and self.focused is self._list:
            self.set_focus(self._order_list)
        self._show_day()
        self._offer_again()
        cellar = today.cellar
        self.run_quietly("aside", lambda: aside_of(self.desk.book, cellar, today.rates), self._take_aside)

    def _take_aside(self, aside: Aside) -> None:
        self._aside = aside
        self._show_aside()

    def _show_day(self) -> None:
        """Show all that is known by now in the room there is; what is still calculated is named so."""
        today, room = self._today, max(20, self.size.width - _MARGIN)
        day = local_day(self.desk.book.now())
        self.query_one("#today-head", Static).update(day_line(day, today, room), layout=False)
        self._show_rows()
        if today is not None:
            walk = self.query_one("#walk-ahead", Static)
            lines = walk_lines(today, self.units, room, max(1, walk.size.height or _MOST_OF_WALK))
            walk.update("\n".join(lines), layout=False)
            self.query_one("#last-entry", Static).update(last_line(today, self.units), layout=False)
        self._show_aside()
        self._pointed.forget()
        self._show_why()

    def _show_rows(self) -> None:
        today = self._today
        if today is None or not today.matters:
            nothing = CALCULATING if today is None else missing(today.cellar) or NOTHING_WRONG
            self._list.set_lines(1, lambda _index, _width: Text(nothing, no_wrap=True))
            return
        found, columns = today.matters, columns_of(today.matters)
        self._list.set_lines(len(found), lambda index, width: matter_line(found[index], width, columns, self._ink))
        wide = self._list.scrollable_content_region.width or self.size.width - _MARGIN
        self.query_one("#look-head", Static).update(head_row(columns, wide), layout=False)

    def _show_aside(self) -> None:
        if self._today is not None:
            shown, room = self.query_one("#aside", Static), max(20, self.size.width - _MARGIN)
            lines = aside_lines(self._today, self._aside, self.units, room, shown.size.height)
            shown.update("\n".join(lines), layout=False)

    @property
    def orders(self) -> tuple[Checked, ...]:
        """The open orders in their sequence, as they were checked last."""
        return () if self._today is None else self._today.orders

    def _show_orders(self) -> None:
        found, units, day = self.orders, self.units, local_day(self.desk.book.now())
        head, listed = self.query_one("#orders-head", Static), self._order_list
        head.display = listed.display = bool(found)
        if not found:
            if self.focused is listed:
                self.set_focus(self._list)
            return
        head.update(orders_head(found, day))
        listed.styles.height = max(2, min(len(found), _MOST_ORDERS, self.size.height - _OTHER_LINES))
        listed.set_lines(len(found), lambda index, width: order_line(found[index], day, units, width))

    def on_resize(self) -> None:
        """Share out another size, once it is laid out."""
        self._show_orders()
        self.call_after_refresh(self._show_day)

    @property
    def current(self) -> Matter | None:
        """What is wrong under the cursor, where that is in the list of it."""
        found = () if self._today is None or self.current_order is not None else self._today.matters
        return found[self._list.cursor] if self._list.cursor < len(found) else None

    @property
    def current_order(self) -> Checked | None:
        """The order under the cursor, where that is in the list of orders."""
        listed = self._order_list
        is_here = self.orders and (self._is_on_orders or not self._has_matters)
        return self.orders[listed.cursor] if is_here and listed.cursor < len(self.orders) else None

    _is_on_orders = False

    @property
    def _has_matters(self) -> bool:
        return self._today is not None and bool(self._today.matters)

    def on_descendant_focus(self) -> None:
        """Show why, and the keys, of the list that has the focus."""
        if isinstance(self.focused, DayList):
            self._is_on_orders = self.focused is self._order_list
            self._show_why()
            self._offer_again()

    def _show_why(self) -> None:
        matter, ordered = self.current, self.current_order
        about = "" if matter is None else matter.vessels + matter.kinds
        self._pointed.show(about if ordered is None else ordered.order.id, lambda: self._about(matter, ordered))

    def _about(self, matter: Matter | None, ordered: Checked | None) -> Sequence[Text]:
        """Make the lines about what is under the pointer."""
        if ordered is not None:
            return order_lines(ordered, self.units)
        if matter is None:
            return ()
        if self._is_wide:
            standing = self.desk.cellar[matter.vessels[0]]
            return card(matter, standing, self.desk.level(standing), self.units, self._ink)
        return matter_lines(matter, self._ink, is_narrow=self.size.width < _NARROW)

    def _ink(self, role: str) -> Style:
        return ink(self.app, role)

    @property
    def _is_wide(self) -> bool:
        return self.has_class("-wide")

    @property
    def _pointed(self) -> PointedLines:
        return self.query_one("#trouble-card" if self._is_wide else "#trouble-why", PointedLines)

    def _moved(self) -> None:
        """Show why in full."""
        self._show_why()
        self._offer_again()

    def _offer_again(self) -> None:
        """Look again which keys act now, where the pointer is on something of another kind."""
        ordered = self.current_order
        offered = (self.current is not None, ordered is not None, bool(self.orders), bool(ordered and ordered.written))
        if offered != self._offered:
            self._offered = offered
            self.refresh_bindings()

"""Today: the first look at the cellar; what is wrong stands first, then what was ordered, then the walk."""

from dataclasses import replace
from typing import ClassVar

from rich.style import Style
from rich.text import Text
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Static

from cooperage.book import KINDS, Cellar, Written
from cooperage.programme.orders.checked import Checked
from cooperage.programme.orders.order import Order
from cooperage.programme.today.aside import Aside, aside_of
from cooperage.programme.today.glance import Today, today_of
from cooperage.programme.today.matters import Matter
from cooperage.programme.today.words import NOTHING_WRONG
from cooperage.tui.keys import bound
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.first_days import missing
from cooperage.tui.shared.ink import ink
from cooperage.tui.shared.line_list import LineList
from cooperage.tui.shared.steady import Steady
from cooperage.tui.themes import PLAIN
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
_MOST_ORDERS, _OTHER_LINES = 12, 18
"""Most lines of orders in view, and what else the page takes at least, the first of what is wrong too."""
_MARGIN = 2
"""Columns that stay empty at the sides."""
_NARROW = 76
"""A row of fewer columns leaves its reason to the lines under the list."""


class DayList(LineList):
    """A list of the day; past its end the arrows go on to the next."""

    @property
    def current_style(self) -> Style:
        """The pointer's row is lifted, so that marks keep their colour; without colours it is reversed."""
        if not self.has_focus or self.app.theme == PLAIN.name:
            return super().current_style
        return Style(bgcolor=self.app.theme_variables["lift"])

    def action_move(self, lines: int) -> None:
        """Move the cursor, from an end to the list beside it."""
        at = self.cursor
        super().action_move(lines)
        if at == self.cursor and abs(lines) == 1:
            others = [each for each in self.screen.query(DayList) if each.line_count and each is not self]
            for other in others[:1]:
                other.cursor = 0 if lines > 0 else other.line_count - 1
                self.screen.set_focus(other)


class TodayScreen(CellarScreen):
    """What is wrong, worst first, each with its reason and how sure it is; the orders; the day's walk; the last entry.

    ▲ is trouble, ○ is due, · is good to know. Enter goes there: to the vessel, to the rounds where the walk deals with
    many alike, or to an order to write what really came of it; + does an order exactly as it stands.
    """

    NAME = "today"
    CSS_PATH = "screen.tcss"
    VERTICAL_BREAKPOINTS = [(0, "-short"), (22, "-middling"), (28, "-tall")]  # noqa: RUF012 - typed by Textual
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("yes", "as_ordered", "as ordered"),
        bound("look", "look"),
        bound("strike", "withdraw", "withdraw"),
        bound("edit", "place", "place"),
        bound("print", "print", "print orders"),
        bound("order", "order"),
        bound("next", "app.focus_next", "next list", show=True),
    ]

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
                yield DayList(id="trouble")
                yield Steady("", id="orders-head", markup=False)
                yield DayList(id="orders")
                yield Steady("", id="trouble-why", markup=False)
            yield Steady("", id="trouble-card", markup=False)
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
        self._show_why()

    def _show_rows(self) -> None:
        today = self._today
        if today is None or not today.matters:
            nothing = CALCULATING if today is None else missing(today.cellar) or NOTHING_WRONG
            self._list.set_lines(1, lambda _index, _width: Text(nothing, no_wrap=True))
            return
        found, columns, app = today.matters, columns_of(today.matters), self.app
        roles = lambda role: ink(app, role)  # noqa: E731 - what a line asks for each colour
        self._list.set_lines(len(found), lambda index, width: matter_line(found[index], width, columns, roles))
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
        matter, ordered, shown = self.current, self.current_order, Content("")
        is_wide = self.has_class("-wide")
        if ordered is not None:
            shown = order_lines(ordered, self.units)
        elif matter is not None and is_wide:
            standing = self.desk.cellar[matter.vessels[0]]
            shown = card(matter, standing, self.desk.level(standing), self.units)
        elif matter is not None:
            shown = matter_lines(matter, is_narrow=self.size.width < _NARROW)
        self.query_one("#trouble-card" if is_wide else "#trouble-why", Static).update(shown, layout=False)

    def on_line_list_moved(self) -> None:
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

    # --- what is done -----------------------------------------------------------------------------------------------

    def on_line_list_taken(self) -> None:
        """Open the vessel that is in trouble, the rounds for many of them, or the order to be done."""
        matter = self.current
        if matter is not None and matter.is_on_walk and len(matter.vessels) > 1:
            self.app.call_later(self.app.switch_mode, "rounds")
        elif matter is not None:
            self.open_page(matter.vessels[0])
        elif self.current_order is not None:
            from cooperage.tui.several.acts import show_outcome
            from cooperage.tui.several.order_forms import DoForm  # when it is wanted: the page opens without it

            self.app.push_screen(DoForm(self.current_order.order, lambda done: show_outcome(self, done)))

    def action_look(self) -> None:
        """Write down what is seen at the vessel under the cursor."""
        if self.current is not None:
            self.open_form(KINDS["look"], {"vessel": self.current.vessels[0]}, self._looked)

    def _looked(self, _written: Written) -> None:
        self.set_focus(self._list)

    def action_as_ordered(self) -> None:
        """Do the order under the cursor exactly as it stands."""
        if self.current_order is not None:
            from cooperage.tui.today.orders import do_as_it_stands

            order = self.current_order.order
            do_as_it_stands(self, order, lambda: self._drop(order))

    def _drop(self, order: Order) -> None:
        """Take an order that is done off the list at once, so that the next key is about the next."""
        if self._today is not None:
            left = tuple(each for each in self.orders if each.order.id != order.id)
            self._today = replace(self._today, orders=left)
            self._show_orders()
            self._show_why()
            self._offer_again()

    def action_withdraw(self) -> None:
        """Withdraw the order under the cursor."""
        if self.current_order is not None:
            from cooperage.tui.today.orders import ask_why_withdrawn

            ask_why_withdrawn(self, self.current_order.order)

    def action_place(self) -> None:
        """Give the order under the cursor another place."""
        if self.current_order is not None:
            from cooperage.tui.today.orders import ask_place

            ask_place(self, self.current_order.order, self.orders)

    def action_print(self) -> None:
        """Print the orders."""
        from cooperage.tui.today.orders import ask_where_to_print

        ask_where_to_print(self, self.orders)

    def action_order(self) -> None:
        """Write an order for the vessel that is in trouble, or that the order under the cursor is about."""
        from cooperage.tui.several.acts import open_order

        open_order(self, [self.desk.cellar[tag] for tag in self._tags_here], lambda: None)

    @property
    def _tags_here(self) -> list[str]:
        if self.current is not None:
            return list(self.current.vessels)
        return [] if self.current_order is None else self.current_order.order.tags

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002 - Textual's
        """Offer what can be done with what is under the cursor."""
        if not self.is_mounted:
            return True
        match action:
            case "look":
                return self.current is not None
            case "as_ordered":
                return self.current_order is not None and self.current_order.written is not None
            case "withdraw" | "place":
                return self.current_order is not None
            case "print":
                return bool(self.orders)
            case "order":
                return bool(self._tags_here)
        return True

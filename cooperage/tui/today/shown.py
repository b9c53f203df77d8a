"""What the first page shows: what is wrong, the orders, what is under the pointer, the walk, what stands aside."""

from collections.abc import Hashable, Sequence
from textwrap import wrap

from rich.style import Style
from rich.text import Text
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Static

from cooperage.book import Cellar
from cooperage.programme.orders.checked import Checked
from cooperage.programme.signs.sign import SignState
from cooperage.programme.today.aside import Aside, aside_of
from cooperage.programme.today.glance import Today, today_of
from cooperage.programme.today.matters import Matter
from cooperage.programme.today.ordered import Ordered, urgent_first
from cooperage.programme.today.planned import PlannedFlight
from cooperage.programme.today.words import NOTHING_WRONG
from cooperage.tui.keys import pressed
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.first_days import missing
from cooperage.tui.shared.ink import ink
from cooperage.tui.shared.steady import Steady
from cooperage.tui.today.below import rest_lines, walk_choices
from cooperage.tui.today.lists import DayList, PointedLines
from cooperage.tui.today.pointed import card, enter_words, flight_lines, matter_lines, order_lines
from cooperage.tui.today.sharing import Shares, shared_out
from cooperage.tui.today.words import (
    CALCULATING,
    columns_of,
    day_line,
    head_row,
    hidden_words,
    matter_line,
    order_line,
    orders_head,
)
from cooperage.units import local_day

_OTHER_LINES = 6
"""Lines of the frame, the day, and the heading over what is wrong."""
_ABOUT, _ABOUT_NARROW = 3, 4
"""Lines about what is under the pointer, for a caution to stand whole."""
_FEW_WORDS = 2
"""Lines for the words that stand in place of what is wrong."""
_GAP = 1
"""A line that stays empty over a part, where there is room."""
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
        self.rows: tuple[Ordered, ...] = ()  # orders as they were checked last, flights to pour; the most urgent first
        self._shares, self._walk = Shares(), list[list[str]]()
        self._heads: dict[str, str] = {}
        self._offered: tuple[bool, ...] = ()

    def compose_body(self) -> ComposeResult:
        """The cellar in one line; trouble, orders, why, a card beside; the walk; what stands aside; the last entry."""
        yield Steady("", id="today-head", markup=False)
        with Horizontal(id="look"):
            with Vertical(id="rows"):
                yield Steady("", id="look-head", markup=False)
                yield DayList(self._moved, self._show_heads, id="trouble")
                yield Steady("", id="orders-head", markup=False)
                yield DayList(self._moved, self._show_heads, id="orders")
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
        self.desk.rates = today.rates
        self._know(today)
        self._show_orders()
        if not today.matters and self.rows and self.focused is self._list:
            self.set_focus(self._order_list)
        self._show_day()
        self._offer_again()
        cellar = today.cellar
        self.run_quietly("aside", lambda: aside_of(self.desk.book, cellar, today.rates), self._take_aside)

    def _know(self, today: Today) -> None:
        """Take what is known of the day, and give each part its lines."""
        self._today = today
        self.rows = urgent_first(today.orders, today.planned, local_day(self.desk.book.now()))
        self._share_out()

    def _take_aside(self, aside: Aside) -> None:
        self._aside = aside
        self._show_below()

    @property
    def _room(self) -> int:
        """How many columns a line has."""
        return max(20, self.size.width - _MARGIN)

    def _share_out(self) -> None:
        """Give each part its lines, once it is known what there is; nothing is laid out again where none differs."""
        today = self._today
        if today is None:
            return
        self._walk = walk_choices(today, self.units, self._room)
        matters = today.matters
        self._shares = shares = shared_out(
            self.size.height - _OTHER_LINES - (2 * _GAP if self.has_class("-tall") else 0),
            matters=len(matters) or _FEW_WORDS,
            trouble=sum(each.state is SignState.TROUBLE for each in matters),
            orders=len(today.orders) + len(today.planned),
            walk=[len(lines) for lines in self._walk],
            about=0 if self._is_wide else _ABOUT if self.size.width >= _NARROW else _ABOUT_NARROW,
        )
        last = 1 if shares.rest > 1 else 0
        heights = {"#orders": shares.orders, "#orders-head": min(1, shares.orders), "#trouble-why": shares.about}
        heights |= {"#walk-ahead": shares.walk, "#aside": shares.rest - last, "#last-entry": last}
        for selector, lines in heights.items():
            part = self.query_one(selector)
            if selector != "#trouble-why":
                part.display = lines > 0
            part.styles.height = lines

    def _show_day(self) -> None:
        """Show all that is known by now in the room there is; what is still calculated is named so."""
        day = local_day(self.desk.book.now())
        self.query_one("#today-head", Static).update(day_line(day, self._today, self._room), layout=False)
        self._show_rows()
        self._show_below()
        self._pointed.forget_known()
        self._show_why()

    def _show_rows(self) -> None:
        today = self._today
        if today is None or not today.matters:
            nothing = CALCULATING if today is None else missing(today.cellar) or NOTHING_WRONG
            wrapped = wrap(nothing, self._room, break_on_hyphens=False)
            self._list.set_lines(len(wrapped), lambda index, _width: Text(wrapped[index], no_wrap=True))
        else:
            found, columns = today.matters, columns_of(today.matters)
            self._list.set_lines(len(found), lambda index, width: matter_line(found[index], width, columns, self._ink))
        self._show_heads()

    def _show_heads(self) -> None:
        """Show the headings over the lists, each with how many of its rows are not in view."""
        today = self._today
        if today is None:
            return
        if today.matters:
            wide = self._list.scrollable_content_region.width or self._room
            head = head_row(columns_of(today.matters), wide, hidden_words(*self._list.out_of_view))
            self._show_head("#look-head", head)
        if self.rows:
            hidden = hidden_words(*self._order_list.out_of_view)
            hidden += f", {pressed('next')}" if hidden and not self._order_list.has_focus else ""
            self._show_head("#orders-head", orders_head(self.rows, local_day(self.desk.book.now()), hidden))

    def _show_head(self, selector: str, head: str) -> None:
        if self._heads.get(selector) != head:
            self._heads[selector] = head
            self.query_one(selector, Static).update(head, layout=False)

    def _show_below(self) -> None:
        """Show the walk, what stands aside, and the last entry."""
        today, shares = self._today, self._shares
        if today is not None:
            walk = next((lines for lines in reversed(self._walk) if len(lines) <= shares.walk), [])
            rest = rest_lines(today, self._aside, self.units, self._room, shares.rest)
            last = rest[1:] and rest[-1:]
            shown = {"#walk-ahead": walk, "#aside": rest[: len(rest) - len(last)], "#last-entry": last}
            for selector, lines in shown.items():
                self.query_one(selector, Static).update("\n".join(lines), layout=False)

    @property
    def in_sequence(self) -> tuple[Checked, ...]:
        """The open orders in the sequence in which they are to be done."""
        return () if self._today is None else self._today.orders

    def _show_orders(self) -> None:
        found, units, day = self.rows, self.units, local_day(self.desk.book.now())
        listed = self._order_list
        if not found:
            self.query_one("#orders-head").display = listed.display = False
            if self.focused is listed:
                self.set_focus(self._list)
            return
        listed.set_lines(len(found), lambda index, width: order_line(found[index], day, units, width, self._ink))
        self._show_heads()

    def on_resize(self) -> None:
        """Share out another size, once it is laid out."""
        self._share_out()
        self._show_orders()
        self.call_after_refresh(self._show_day)

    @property
    def current(self) -> Matter | None:
        """What is wrong under the cursor, where that is in the list of it."""
        found = () if self._today is None or self.current_row is not None else self._today.matters
        return found[self._list.cursor] if self._list.cursor < len(found) else None

    @property
    def orders(self) -> tuple[Checked, ...]:
        """The open orders, the most urgent first."""
        return tuple(each for each in self.rows if isinstance(each, Checked))

    @property
    def current_row(self) -> Ordered | None:
        """The order or the flight under the cursor, where that is in the list of orders."""
        listed = self._order_list
        is_here = self.rows and (self._is_on_orders or not self._has_matters)
        return self.rows[listed.cursor] if is_here and listed.cursor < len(self.rows) else None

    @property
    def current_order(self) -> Checked | None:
        """The order under the cursor."""
        row = self.current_row
        return row if isinstance(row, Checked) else None

    @property
    def current_flight(self) -> PlannedFlight | None:
        """The flight to pour under the cursor."""
        row = self.current_row
        return row if isinstance(row, PlannedFlight) else None

    _is_on_orders = False

    @property
    def _has_matters(self) -> bool:
        return self._today is not None and bool(self._today.matters)

    def on_descendant_focus(self) -> None:
        """Show why, and the keys, of the list that has the focus."""
        if isinstance(self.focused, DayList):
            self._is_on_orders = self.focused is self._order_list
            self._show_heads()
            self._show_why()
            self._offer_again()

    def _show_why(self) -> None:
        matter, ordered = self.current, self.current_row
        named: Hashable = "" if matter is None else matter.vessels + matter.kinds
        if ordered is not None:
            named = ordered.order.id if isinstance(ordered, Checked) else ordered
        is_whole = ordered is not None or matter is None or matter.state is SignState.TROUBLE  # its page has the rest

        def short() -> Sequence[Text]:
            return self._about(matter, ordered, is_short=not is_whole)

        self._pointed.show(named, lambda: self._about(matter, ordered), short)

    def _about(self, matter: Matter | None, ordered: Ordered | None, *, is_short: bool = False) -> Sequence[Text]:
        """Make the lines about what is under the pointer; short ones for where they have no room."""
        if isinstance(ordered, PlannedFlight):
            return flight_lines(ordered, self.desk.book, self.desk.hand, self._ink)
        if ordered is not None:
            return order_lines(ordered, self.units, self._ink)
        if matter is None:
            return ()
        enter = enter_words(matter, self.order_for(matter))
        if self._is_wide:
            standing = self.desk.cellar[matter.vessels[0]]
            return card(matter, enter, standing, self.desk.level(standing), self.units, self._ink)
        return matter_lines(matter, enter, self._ink, is_short=is_short or self.size.width < _NARROW)

    def order_for(self, matter: Matter) -> Checked | None:
        """Return the order that is for a row and can be done, the most urgent of them; None without one."""
        return next((each for each in self.orders if each.order.number in matter.orders and each.written), None)

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
        ordered, poured = self.current_order, self.current_flight is not None
        offered = (
            self.current is not None, ordered is not None, bool(self.orders), bool(ordered and ordered.written), poured
        )  # fmt: skip
        if offered != self._offered:
            self._offered = offered
            self.refresh_bindings()

"""Today: the first look at the cellar; what is wrong stands first, then what was ordered, then the walk."""

from dataclasses import replace
from typing import ClassVar

from textual.binding import BindingType

from cooperage.book import KINDS, Written
from cooperage.programme.orders.order import Order
from cooperage.programme.today.planned import PlannedFlight
from cooperage.tui.keys import bound
from cooperage.tui.today.shown import DayShown


class TodayScreen(DayShown):
    """What is wrong, worst first, each with its reason and how sure it is; the orders; the day's walk; the last entry.

    ▲ is trouble, ○ is due, · is good to know. Enter goes where it is dealt with: to the order that is for it, to write
    what really came; to the rounds where the walk deals with many alike; to the vessel. + does an order as it stands.
    """

    NAME = "today"
    CSS_PATH = "screen.tcss"
    VERTICAL_BREAKPOINTS = [(0, "-short"), (22, "-middling"), (28, "-tall")]  # noqa: RUF012 - typed by Textual
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("yes", "as_ordered", "as ordered"),
        bound("yes", "pour_planned", "pour"),
        bound("look", "look"),
        bound("strike", "withdraw", "withdraw"),
        bound("edit", "place", "place"),
        bound("print", "print", "print orders"),
        bound("order", "order"),
        bound("trace back", "trace_pointed('back')"),
        bound("trace on", "trace_pointed('forward')"),
        bound("next", "app.focus_next", "next list", show=True),
    ]

    def on_line_list_taken(self) -> None:
        """Go where it is dealt with: to the order, the rounds for many alike, or the vessel that is in trouble."""
        matter = self.current
        if self.current_flight is not None:
            self._go_to_flight(self.current_flight)
            return
        ordered = self.current_order if matter is None else self.order_for(matter)
        if ordered is not None:
            self._open_order(ordered.order)
        elif matter is not None and matter.is_on_walk and len(matter.vessels) > 1:
            self.app.call_later(self.app.switch_mode, "rounds")
        elif matter is not None:
            self.open_page(matter.vessels[0])

    def _open_order(self, order: Order) -> None:
        from cooperage.tui.several.acts import show_outcome
        from cooperage.tui.several.order_forms import DoForm  # when it is wanted: the page opens without it

        self.app.push_screen(DoForm(order, lambda done: show_outcome(self, done)))

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

    def _drop(self, done: Order | PlannedFlight) -> None:
        """Take what is done off the list at once, so that the next key is about the next."""
        if self._today is not None:
            orders = tuple(each for each in self._today.orders if each.order != done)
            planned = tuple(each for each in self._today.planned if each != done)
            self._know(replace(self._today, orders=orders, planned=planned))
            self._show_orders()
            self._show_why()
            self._offer_again()

    def _go_to_flight(self, planned: PlannedFlight) -> None:
        """Go to the trial that a flight is for, or to the panel."""
        self.desk.code = planned.trial
        self.app.call_later(self.app.switch_mode, "trials" if planned.trial else "panel")

    def action_pour_planned(self) -> None:
        """Pour the flight under the cursor, blind; then ask who pours whether to show what goes where."""
        if self.current_flight is not None:
            from cooperage.tui.today.flights import pour_as_planned

            planned = self.current_flight
            pour_as_planned(self, planned, lambda: self._drop(planned))

    def action_withdraw(self) -> None:
        """Withdraw the order under the cursor."""
        if self.current_order is not None:
            from cooperage.tui.today.orders import ask_why_withdrawn

            ask_why_withdrawn(self, self.current_order.order)

    def action_place(self) -> None:
        """Give the order under the cursor another place."""
        if self.current_order is not None:
            from cooperage.tui.today.orders import ask_place

            ask_place(self, self.current_order.order, self.in_sequence)

    def action_print(self) -> None:
        """Print the orders."""
        from cooperage.tui.today.orders import ask_where_to_print

        ask_where_to_print(self, self.in_sequence)

    def action_order(self) -> None:
        """Write an order for the vessel that is in trouble, or that the order under the cursor is about."""
        from cooperage.tui.several.acts import open_order

        open_order(self, [self.desk.cellar[tag] for tag in self._tags_here], lambda: None)

    @property
    def pointed(self) -> str:
        """The vessel of the row under the cursor; of several, the worst."""
        return next(iter(self._tags_here), "")

    @property
    def _tags_here(self) -> list[str]:
        if self.current is not None:
            return list(self.current.vessels)
        if self.current_flight is not None:
            return list(self.current_flight.tags)
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
            case "pour_planned":
                return self.current_flight is not None
            case "withdraw" | "place":
                return self.current_order is not None
            case "print":
                return bool(self.orders)
            case "order" | "trace_pointed":
                return bool(self._tags_here)
        return True

"""What is done with the orders at a stop: as they stand, with what really came, and another one written."""

from collections.abc import Sequence
from typing import ClassVar

from textual.binding import BindingType

from cooperage.errors import CooperageError
from cooperage.programme.orders.doing import Done, do_order
from cooperage.programme.orders.order import Order
from cooperage.programme.orders.words import done_words
from cooperage.programme.walk.progress import mark_all
from cooperage.programme.walk.stops import StopOrder, fulfilled_by
from cooperage.tui.keys import bound
from cooperage.tui.rounds.line_typed import LineTyped
from cooperage.tui.several.acts import open_order
from cooperage.tui.several.form import FormDone
from cooperage.tui.several.order_forms import DoForm


class OrdersHere(LineTyped):
    """The walk, with the orders that are about its vessels."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("yes", "do_order", "as ordered"),
        bound("edit", "do_order_otherwise", "order: what came"),
        bound("order", "order"),
    ]

    def action_do_order(self) -> None:
        """Do the order at hand exactly as it stands; what the book asks back is asked above the line."""
        stop, walk = self.stop, self.walk
        at_hand = None if stop is None else stop.order_at_hand
        if at_hand is None or walk is None or at_hand.number not in self.checked:
            return
        order, book, hand, units = self.checked[at_hand.number].order, self.desk.book, self.desk.hand, self.units

        def work(sure: bool) -> Done:
            return do_order(book, str(order.number), {"hand": hand, "sure": "yes" if sure else ""}, units=units)

        self.desk.attempt(
            work,
            lambda done: self._order_done(order, done),
            self.refuse,
            ask=lambda question, yes: self.ask_above_line(question, at_hand.does, yes),
        )

    def _order_done(self, order: Order, done: Done) -> None:
        self.add_done(done.written)
        self.order_left(order, [written.act for written in done.written])
        self.show_done(f"Written  {done_words(done.order, done.differences)}  ✓", [each.id for each in done.written])

    def order_left(self, order: Order, acts: Sequence[object]) -> None:
        """Take a done order, and the tasks that its acts do, off every stop that it is about, and go on."""
        walk, tags = self.walk, order.tags
        if walk is None:
            return
        here = self.stop
        keys: dict[str, list[str]] = {tag: [StopOrder(order.number).key] for tag in tags}
        for act in acts:
            tag, task = getattr(act, "vessel", ""), fulfilled_by(act)  # type: ignore[arg-type] # acts of the order
            stop = next((each for each in self.stops.every if each.tag == tag), None)
            if stop is not None and task in stop.open_tasks and tag in keys:
                keys[tag].append(str(task))
        names = [(tag, key) for tag, found in keys.items() for key in found]
        try:
            mark_all(self.desk.book, walk, names, "done")
        except CooperageError as error:
            self.refuse(error)
        self.checked = {number: each for number, each in self.checked.items() if number != order.number}
        for stop in list(self.stops.every):
            if stop.tag in keys and (here is None or stop.tag != here.tag):
                self.stops.put(stop.with_state(keys[stop.tag], "done"))
        if here is not None and here.tag in keys:
            self.became(here, keys[here.tag], "done")
        else:
            self.show_walk()

    def action_do_order_otherwise(self) -> None:
        """Write what really came of the order at hand."""
        at_hand = self._first_order
        if at_hand is None or at_hand.number not in self.checked:
            return
        order = self.checked[at_hand.number].order

        def done(outcome: FormDone) -> None:
            self.add_done(outcome.written)
            self.order_left(order, [written.act for written in outcome.written])
            self.show_done(f"Written  {outcome.words}  ✓", [each.id for each in outcome.written])

        self.app.push_screen(DoForm(order, done))

    @property
    def _first_order(self) -> StopOrder | None:
        open_orders = () if self.stop is None else self.stop.open_orders
        return next(iter(open_orders), None)

    def action_order(self) -> None:
        """Write an order about this vessel."""
        if self.stop is not None:
            open_order(self, [self.cellar[self.stop.tag]], self.desk.read_again)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer what can be done with the order at hand."""
        if not self.is_mounted:
            return True
        match action:
            case "do_order":
                is_free = not self.is_asked and not self.line.value
                return is_free and self.stop is not None and self.stop.order_at_hand is not None
            case "do_order_otherwise":
                return self._first_order is not None
            case "order":
                return self.stop is not None
        return super().check_action(action, parameters)

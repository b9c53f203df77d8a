"""Rounds: the walk from vessel to vessel, the heart of the day. One line does all at a stop."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import ClassVar

from textual.binding import BindingType

from cooperage.book import Cellar
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.losses.ledger import loss_rates
from cooperage.programme.losses.loss_rate import LossRate
from cooperage.programme.orders.at_stops import ordered_stops
from cooperage.programme.orders.checked import Checked, check_orders
from cooperage.programme.ready.readiness import looks_due
from cooperage.programme.rounds.due import Due, all_coming, next_task
from cooperage.programme.rounds.worth import ReadingWorth, readings_worth_most
from cooperage.programme.signs.all_signs import Sign, signs
from cooperage.programme.walk.done_here import DoneHere, done_on
from cooperage.programme.walk.progress import Walk, open_walk, states_of
from cooperage.programme.walk.stop_line import all_in_order
from cooperage.programme.walk.stops import Stop, stops_of, with_stops_at
from cooperage.tui.keys import bound
from cooperage.tui.rounds.orders_here import OrdersHere
from cooperage.tui.shared.line_list import LineList


@dataclass(frozen=True, slots=True)
class _RoundsData:
    """What the rounds are made of: loss rates by tag, what is due, a sheet's past cellar, what the walk has done.

    `orders` are the open ones as they were checked; a sheet of the past has none. `stops` are those of the walk in
    the states it then had. `comes_next` is what comes due after all that is due.
    """

    rates: Mapping[str, LossRate]
    due: list[Due]
    past: Cellar | None
    walk: Walk
    states: dict[tuple[str, str], str]
    stops: list[Stop]
    done: dict[str, DoneHere]
    orders: list[Checked]
    comes_next: str


class RoundsScreen(OrdersHere):
    """What is due, vessel by vessel in walking order. Type what was done and press Enter: the next vessel is up.

    A bare figure is the litres of a topping; everything else has a name, in any order: 1.8; so2 24 ph
    3.4; dip 30; weeping, vinegar; “hoop rusty”; from K-02; by Tove; yesterday 14:30. What Enter would write stands
    above the line. Esc leads from the empty line to the list, where letters act.
    """

    NAME = "rounds"
    CSS_PATH = "screen.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("back", "clear_line", "clear"),
        bound("back", "answer_no", "back to the line", show=False),
        bound("back", "to_list", "list"),
        bound("back", "back"),
        bound("up", "step(-1)", "previous stop"),
        bound("down", "step(1)", "next stop"),
        bound("page up", "step(-10)", "ten stops back"),
        bound("page down", "step(10)", "ten stops on"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._rates: Mapping[str, LossRate] | None = None
        self._has_asked_who = False

    # --- the stops --------------------------------------------------------------------------------------------------

    def show_cellar(self, cellar: Cellar) -> None:
        """Calculate what is due; the first time, also each barrel's own loss rate."""
        if self.walk is None:
            self.desk.attempt(lambda _sure: open_walk(self.desk.book), self._begin, self.refuse, rereads=False)
        walk = self.walk
        if walk is None:
            return

        def work() -> _RoundsData:
            rates, book = self._rates, self.desk.book
            if rates is None:
                rates = loss_rates(book, cellar)
            past = None if walk.walked_at is None else cellar_now(book, walk.walked_at)
            looks = looks_due(book, past or cellar)
            coming = all_coming(past or cellar, (past or cellar).at, rates, self.units, looks)
            due = [each for each in coming if each.due <= (past or cellar).at]
            orders = [] if past is not None else check_orders(book, self.units)
            done = done_on(book, walk, self.units)
            states = states_of(book, walk)
            then = replace(walk, states=states | walk.states)
            stops = self._stops_of(due, orders, then, past or cellar)
            return _RoundsData(rates, due, past, then, states, stops, done, orders, next_task(past or cellar, coming))

        run = self.run_quietly if self.is_known else self.run_slow_work
        run("rounds", work, self._take_due)

    def _begin(self, walk: Walk) -> None:
        self.walk = walk

    def _take_due(self, data: _RoundsData) -> None:
        walk = self.walk
        self._rates = self.desk.rates = data.rates
        if walk is None or walk.id != data.walk.id:
            return
        self.past, self.is_known, self.comes_next = data.past, True, data.comes_next
        walk.states = data.states | walk.states  # what was done here since is newer
        self._done = data.done
        here = self.stop
        if here is not None:
            self.drafts.keep(here.tag, self.line.draft)
        self.checked = {each.order.number: each for each in data.orders}
        is_as_then = walk.states == data.walk.states
        found = data.stops if is_as_then else self._stops_of(data.due, data.orders, walk, self.cellar)
        self.go(lambda: self.stops.take(with_stops_at(found, self.drafts.tags, self.cellar)))
        self._show_if_done_elsewhere(here)
        self._ask_who(walk)
        self._look_for_signs()

    def _stops_of(self, due: list[Due], orders: list[Checked], walk: Walk, cellar: Cellar) -> list[Stop]:
        """Return the stops of a walk, those with nothing but an order too."""
        return ordered_stops(stops_of(due, walk, cellar, self.units), orders, walk, cellar, self.units)

    def _show_if_done_elsewhere(self, before: Stop | None) -> None:
        if before is not None and before.is_due and (self.stop is None or not self.stop.is_due):
            self.show_message(f"{before.tag} is no longer due; someone has done it. What is typed for it is kept.")
        elif before is not None and self.stop is not None and self.stop.tag != before.tag:
            self.show_message(f"{before.tag} is no longer due; someone has done it.")

    def _ask_who(self, walk: Walk) -> None:
        """Ask once who is at work, when a walk begins and it is not known."""
        if self.desk.hand or self._has_asked_who or walk.states or self.stop is None or not self.is_current:
            return
        self._has_asked_who = True
        self.app.call_later(self.app.run_action, "who")

    def _look_for_signs(self) -> None:
        book, cellar, rates, units = self.desk.book, self.desk.cellar, self.desk.rates, self.units

        def work() -> tuple[list[Sign], list[ReadingWorth]]:
            return signs(book, cellar, rates, units), readings_worth_most(cellar, units)

        self.run_quietly("signs", work, lambda found: self.take_signs(*found))

    def action_step(self, stops: int) -> None:
        """Go back or on, and leave the state of this stop as it is."""
        if self.stops.shown:
            at = -1 if self.stops.at is None else self.stops.at
            self.walk_to(max(0, min(len(self.stops.shown) - 1, at + stops)))

    def on_line_list_moved(self, event: LineList.Moved) -> None:
        """Go to the stop under the cursor; a message about an earlier cursor is ignored."""
        if event.index == event.lines.cursor != self.stops.at and event.index < len(self.stops.shown):
            self.walk_to(event.index)

    def on_line_list_taken(self, _event: LineList.Taken) -> None:
        """Go on in the line."""
        self.set_focus(self.line)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer only what can be done now: a question is answered first."""
        if not self.is_mounted:
            return True
        is_free = self._asked is None and not self.line.value
        is_open = is_free and self.stop is not None and bool(self.stop.open_keys)
        is_in_line = self.focused is self.line
        match action:
            case "hand_over":
                return self._asked is None
            case "answer_yes" | "answer_no":
                return self._asked is not None
            case "all_in_order":
                is_ordered = self.stop is not None and self.stop.order_at_hand is not None
                return is_open and not is_ordered and self.stop is not None and bool(all_in_order(self.stop).acts)
            case "leave_stop":
                return is_open
            case "clear_line":
                return is_in_line and bool(self.line.value)
            case "to_list":
                return is_in_line and bool(self.stops.shown)
            case _:
                return super().check_action(action, parameters)

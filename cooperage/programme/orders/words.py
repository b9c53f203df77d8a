"""The words for checked orders: when they are written and done, and on a list."""

from collections.abc import Sequence
from datetime import date, datetime

from cooperage.programme.orders.checked import Checked, Verdict
from cooperage.programme.orders.order import Order
from cooperage.programme.orders.sentence import FIGURE, known_of
from cooperage.programme.orders.shown import order_words
from cooperage.programme.several.moved import figures_words
from cooperage.units import DEFAULT, Units, local_day


def check_words(checked: Checked) -> str:
    """Return what a check found in a line."""
    return f"{checked.verdict.value}{': ' if checked.why else ''}{checked.why}"


def day_words(day: date, today: date) -> str:
    """Return the day of an order as it lies from today: "today", "tomorrow", "late: 25 Nov", "3 Dec"."""
    days = (day - today).days
    named = {0: "today", 1: "tomorrow"}.get(days, f"{day.day} {day:%b}")
    return f"late: {named}" if days < 0 else named


def written_words(checked: Checked, now: datetime, units: Units = DEFAULT) -> str:
    """Return that an order was written, and what its check found."""
    order = checked.order
    day = day_words(order.day, local_day(now))
    found = "" if checked.verdict is Verdict.POSSIBLE else f" {check_words(checked)}"
    return f"Order {order.number} is written for {day}: {order_words(order, units, note=True)}.{found}"


def done_words(order: Order, differences: Sequence[str]) -> str:
    """Return that an order was done, and by how much it was done otherwise."""
    otherwise = f", otherwise than ordered: {'; '.join(differences)}" if differences else " as ordered"
    return f"order {order.number} is done{otherwise}"


def does_words(checked: Checked, units: Units = DEFAULT) -> str:
    """Return what doing an order exactly as it is ordered would write, or why that cannot be."""
    order = checked.order
    if checked.verdict is Verdict.IMPOSSIBLE or not checked.written:
        return check_words(checked)
    words, moves = order_words(order, units), figures_words(checked.written, units)
    is_named = len(order.tags) == 1 and bool(known_of(order, units).values[FIGURE])
    moves = "" if is_named or moves in words else f", {moves}"
    asks = f". Asks: {checked.why}" if checked.verdict is Verdict.ASKED else ""
    return f"order {order.number} as it stands: {words}{moves}{asks}"

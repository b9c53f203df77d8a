"""Orders on the first page: which of them come first, and which are for something that is wrong."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from cooperage.book.declared.substances import SUBSTANCES
from cooperage.programme.orders.checked import Checked, Verdict
from cooperage.programme.orders.order import Order
from cooperage.programme.today.kinds import wording_of
from cooperage.programme.today.matters import Matter
from cooperage.programme.today.planned import PlannedFlight

_LOW_SULPHITE = "sulphite"


Ordered = Checked | PlannedFlight
"""What stands among the orders: an order, or a flight that a trial or a look asks for."""


def urgent_first(found: Sequence[Checked], planned: Sequence[PlannedFlight], today: date) -> tuple[Ordered, ...]:
    """Return orders and flights with those first that are late, then impossible orders, then today's.

    Alike they stand in their sequence, flights before orders.
    """

    def rank(ordered: Ordered) -> int:
        day = day_of(ordered)
        is_impossible = isinstance(ordered, Checked) and ordered.verdict is Verdict.IMPOSSIBLE
        return 0 if day < today else 1 if is_impossible else 2 if day == today else 3

    return tuple(sorted((*planned, *found), key=rank))


def day_of(ordered: Ordered) -> date:
    """Return the day that an order or a flight is for."""
    return ordered.order.day if isinstance(ordered, Checked) else ordered.day


def with_orders(matters: Sequence[Matter], orders: Sequence[Checked]) -> list[Matter]:
    """Return the rows, each of one vessel with the orders that are for it, which stand after its first reason."""
    return [_with_own(matter, orders) for matter in matters]


def _with_own(matter: Matter, orders: Sequence[Checked]) -> Matter:
    if len(matter.vessels) > 1:
        return matter
    own = tuple(checked.order.number for checked in orders if _is_for(checked.order, matter))
    if not own:
        return matter
    return replace(matter, orders=own, reason=(*matter.reason[:1], for_this(own), *matter.reason[1:]))


def for_this(numbers: Sequence[int]) -> str:
    """Return that orders are for this: "order 1 is for this", "orders 1, 4 are for this"."""
    if len(numbers) == 1:
        return f"order {numbers[0]} is for this"
    return f"orders {', '.join(map(str, numbers))} are for this"


def _is_for(order: Order, matter: Matter) -> bool:
    if matter.vessels[0] not in order.tags:
        return False
    if order.kind == "addition":
        added = SUBSTANCES.get(order.texts.get("substance", ""))
        return added is not None and added.is_sulphite and _LOW_SULPHITE in matter.kinds
    return any(order.kind in wording_of(kind).dealt_by for kind in matter.kinds)

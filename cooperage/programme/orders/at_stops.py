"""Orders at the stops of the walk: those due by today, what a line typed at a stop does of them, the stops of a day."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from cooperage.book import Act, Book, Cellar, Writing, Written
from cooperage.book.declared.acts import KINDS, faces
from cooperage.book.writing.write import words_of
from cooperage.programme.orders.checked import Checked, Verdict
from cooperage.programme.orders.kept import close
from cooperage.programme.orders.order import Order, OrderState
from cooperage.programme.orders.shown import order_words
from cooperage.programme.orders.words import day_words, does_words
from cooperage.programme.rounds.due import Due
from cooperage.programme.walk.progress import Walk, walk_under_way
from cooperage.programme.walk.stop_line import Closing
from cooperage.programme.walk.stops import Stop, StopOrder, stops_of, with_orders
from cooperage.units import DEFAULT, Units, local_day


def day_stops(
    book: Book, cellar: Cellar, due: Sequence[Due], checked: Sequence[Checked], units: Units = DEFAULT
) -> list[Stop]:
    """List the stops of today's walk, orders too, as the rounds would: those without a state are still to do.

    A walk that is open counts; none is begun.
    """
    walk = walk_under_way(book)
    return ordered_stops(stops_of(due, walk, cellar, units), checked, walk, cellar, units)


def ordered_stops(
    stops: Sequence[Stop], checked: Iterable[Checked], walk: Walk | None, cellar: Cellar, units: Units = DEFAULT
) -> list[Stop]:
    """Return a walk's stops with the orders that are due by today; a vessel that only an order is about is a stop."""
    today = local_day(cellar.at)
    return with_orders(stops, _by_tag(checked, today, units), walk, cellar)


def _by_tag(checked: Iterable[Checked], today: date, units: Units) -> Mapping[str, list[StopOrder]]:
    found: dict[str, list[StopOrder]] = defaultdict(list)
    for each in checked:
        if each.order.day <= today:
            shown = _shown(each, today, units)
            for tag in each.order.tags:
                found[tag].append(shown)
    return found


def _shown(checked: Checked, today: date, units: Units) -> StopOrder:
    order = checked.order
    day = "" if order.day == today else f", {day_words(order.day, today)}"
    can = bool(checked.written)
    return StopOrder(
        order.number,
        short=f"order {order.number}: {min(KINDS[order.kind].label, order.kind, key=len)}",
        words=f"order {order.number}{day}: {order_words(order, units, note=True)}",
        does=does_words(checked, units) if can else "",
        why=checked.why,
        is_impossible=checked.verdict is Verdict.IMPOSSIBLE,
    )


def done_by_acts(acts: Sequence[Act], found: Iterable[Checked]) -> dict[int, Order]:
    """Return by the place of the act the open orders that acts at a stop do: of one vessel, and of the same work.

    What came may differ from what was ordered; what is chosen, such as the substance, may not.
    """
    orders = [each.order for each in found]
    done: dict[int, Order] = {}
    for order in orders:
        nth = next((nth for nth, act in enumerate(acts) if nth not in done and _does(act, order)), None)
        if nth is not None:
            done[nth] = order
    return done


def _does(act: Act, order: Order) -> bool:
    if act.kind != order.kind or order.tags != [getattr(act, "vessel", "")]:
        return False
    said = words_of(act)
    chosen = ((declared.name, order.texts.get(face.name, "")) for declared, face in faces(type(act)) if face.choices)
    return all(not text or str(said.get(name, "")) == text for name, text in chosen)


def closing(done: Mapping[int, Order]) -> Closing | None:
    """Return what closes orders with the acts that do them, in the transaction that writes these; None for none."""
    if not done:
        return None

    def close_them(session: Writing, written: Sequence[Written]) -> Iterable[str]:
        for nth, order in done.items():
            close(session, order, OrderState.DONE, entries=[written[nth].id])
        return [StopOrder(order.number).key for order in done.values()]

    return close_them

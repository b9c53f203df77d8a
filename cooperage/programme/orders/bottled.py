"""Orders to bottle that a bottling run does: closed in the transaction that writes its bottlings."""

from collections.abc import Iterable

from cooperage.book import Book, Writing, Written
from cooperage.book.declared.acts import Bottle
from cooperage.programme.bottling import closing
from cooperage.programme.bottling.closing import HowClosed
from cooperage.programme.bottling.run import BottlingRun
from cooperage.programme.orders.kept import close, orders_in
from cooperage.programme.orders.order import Order, OrderState
from cooperage.units import local_day


def close_run(book: Book, code: str, how: HowClosed, *, hand: str = "", sure: bool = False) -> BottlingRun:
    """Close a run, and with it the orders whose work it is. Raises what `close_run` of `bottling` does."""
    return closing.close_run(book, code, how, hand=hand, sure=sure, also=close_bottled)


def close_bottled(session: Writing, code: str, written: Iterable[Written]) -> None:
    """Close the open order to bottle of each vessel that a run's entries bottled, by the run's code or due by today.

    Of several on one vessel the one of the run's code goes first; the others stay open.
    """
    by_tag: dict[str, list[str]] = {}
    for each in written:
        if isinstance(each.act, Bottle):
            by_tag.setdefault(each.act.vessel.upper(), []).append(each.id)
    waiting = [each for each in orders_in(session.connection, (OrderState.OPEN,)) if each.kind == Bottle.kind]
    for order in sorted(waiting, key=lambda each: not _is_of(each, code)):
        tags = {tag.strip().upper() for tag in order.tags}
        if tags <= by_tag.keys() and (_is_of(order, code) or order.day <= local_day(session.now)):
            close(session, order, OrderState.DONE, entries=[entry for tag in sorted(tags) for entry in by_tag.pop(tag)])


def _is_of(order: Order, code: str) -> bool:
    return order.texts.get("code", "").strip().casefold() == code.casefold()

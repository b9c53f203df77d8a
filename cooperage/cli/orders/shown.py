"""Orders as they are printed: a line each, and as scripts read them."""

from datetime import date
from typing import TYPE_CHECKING, Any

import click

from cooperage.cli.shared.desk import print_table, settings

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from cooperage.programme.orders.checked import Checked
    from cooperage.programme.orders.order import Order


def order_row(order: "Order", checked: "Checked | None" = None) -> dict[str, Any]:
    """Return an order as scripts read it; with what its check found, where it is open."""
    from cooperage.programme.orders.shown import order_words

    row: dict[str, Any] = {
        "number": order.number,
        "id": order.id,
        "for_day": order.day.isoformat(),
        "kind": order.kind,
        "text": order_words(order),
        "fields": dict(order.texts),
        "of_each": dict(order.each),
        "note": order.note,
        "hand": order.hand,
        "written_at": order.written_at,
        "state": order.state,
        "entries": list(order.entries),
        "reason": order.why,
        "closed_at": order.closed_at,
    }
    return row if checked is None else row | _found(checked)


def _found(checked: "Checked") -> dict[str, Any]:
    from cooperage.programme.several.moved import main_ml

    because = None if checked.because_of is None else checked.because_of.number
    litres = {tag: main_ml(written) for tag, written in (checked.written or {}).items()}
    return {
        "check": checked.verdict,
        "why": checked.why,
        "because_of": because,
        "litres": {tag: ml / 1000 for tag, ml in litres.items() if ml is not None},
    }


def print_checked(checked: "Checked", *, today: date) -> None:
    """Print an order that was just written, and what its check found."""
    from cooperage.programme.orders.shown import order_words
    from cooperage.programme.orders.words import check_words

    units, order = settings().units, checked.order
    day = "today" if order.day == today else order.day.isoformat()
    click.echo(f"order {order.number}, for {day}: {order_words(order, units, note=True)}")
    click.echo(check_words(checked))


def print_open(found: "Sequence[Checked]") -> None:
    """Print the open orders in their sequence; under them, what is asked back and what stands in the way."""
    from cooperage.programme.orders.shown import order_words
    from cooperage.programme.orders.words import check_words
    from cooperage.programme.several.moved import figures_words

    units = settings().units
    rows = [
        (
            str(each.order.number),
            each.order.day.isoformat(),
            order_words(each.order, units, note=True),
            figures_words(each.written or {}, units),
            each.verdict.value,
        )
        for each in found
    ]
    print_table(("no.", "for", "order", "moves", "check"), rows, right=(0,), empty="no order is open")
    for each in found:
        if each.why and each.verdict != "possible":
            click.echo(f"{each.order.number} is {check_words(each)}")


def print_closed(found: "Sequence[Order]", struck: "Collection[int]") -> None:
    """Print the orders that were done or withdrawn, in their sequence; `struck` are those done and struck since."""
    from cooperage.programme.orders.shown import order_words
    from cooperage.units import show_when

    units = settings().units
    rows = [
        (
            str(each.number),
            each.day.isoformat(),
            order_words(each, units, note=True),
            f"{each.state.value} {show_when(each.closed_at)}{', struck since' if each.number in struck else ''}",
            each.why,
        )
        for each in found
    ]
    print_table(("no.", "for", "order", "what became of it", "reason"), rows, right=(0,), empty="none is closed yet")

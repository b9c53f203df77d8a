"""`cooperage orders`: the orders with their check, done, withdrawn, and printed for paper."""

from typing import Any

import click

from cooperage.cli.orders.shown import order_row, print_closed, print_open
from cooperage.cli.shared.command import CommandGroup, option
from cooperage.cli.shared.complete import ORDERS
from cooperage.cli.shared.desk import (
    hand_option,
    json_option,
    note_option,
    open_book,
    print_cautions,
    print_json,
    settings,
    sure_option,
    when_option,
)

_number = click.argument(
    "number", metavar="ORDER", shell_complete=ORDERS, help="Number of the order, as `orders` shows it."
)


@click.group(
    "orders",
    cls=CommandGroup,
    invoke_without_command=True,
    examples=(
        "cooperage order rack B-010 --to T-4 --for tomorrow && cooperage orders",
        "cooperage orders --done --json",
    ),
)
@option("--done", is_flag=True, help="List those that were done or withdrawn instead.")
@json_option
@click.pass_context
def orders_command(ctx: click.Context, done: bool, as_json: bool) -> None:
    """List the open orders in sequence, each checked against the cellar as those before it would leave it."""
    if ctx.invoked_subcommand is not None:
        return
    from cooperage.programme.orders.checked import check_orders
    from cooperage.programme.orders.kept import orders, struck_since
    from cooperage.programme.orders.order import OrderState

    book = open_book(ctx)
    if done:
        closed = orders(book, (OrderState.DONE, OrderState.WITHDRAWN))
        struck = struck_since(book, closed)
        if as_json:
            print_json([order_row(each) | {"struck_since": each.number in struck} for each in closed])
        else:
            print_closed(closed, struck)
        return
    found = check_orders(book, settings().units)
    if as_json:
        print_json([order_row(each.order, each) for each in found])
    else:
        print_open(found)


@orders_command.command(
    "do",
    examples=(
        "cooperage orders do 1 amount=12g --json",
        "cooperage order treat B-034 sniff && cooperage orders do 7",
    ),
)
@_number
@click.argument(
    "changes",
    nargs=-1,
    metavar="[CHANGE]...",
    help="What was otherwise: volume=221.5l, or B-003=20l for one vessel.",
)
@when_option
@hand_option
@note_option
@sure_option
@json_option
@click.pass_context
def do_command(
    ctx: click.Context,
    number: str,
    changes: tuple[str, ...],
    when: str | None,
    hand: str | None,
    note: str,
    sure: bool,
    as_json: bool,
) -> None:
    """Write into the book that an order was done, with what really came, and show by how much that differs."""
    from cooperage.cli.shared.written import cautions_of_several, print_several
    from cooperage.programme.orders.doing import do_order, read_changes
    from cooperage.programme.orders.kept import order_numbered

    book, mine = open_book(ctx), settings()
    order = order_numbered(book, number)
    changed, each = read_changes(order, changes)
    common = {"when": when or "", "hand": hand or mine.hand, "note": note, "sure": "yes" if sure else ""}
    found: list[Any] = []

    def before(acts: Any, cellar: Any) -> None:  # noqa: ANN401 - acts and the cellar they are done in
        found.extend(cautions_of_several(acts, cellar, mine.units))
        print_cautions(found)

    done = do_order(book, number, {**changed, **common}, each, units=mine.units, before=before)
    more = {"order": order_row(done.order), "differences": list(done.differences)} if as_json else {}
    print_several(book, done.written, found, as_json=as_json, **more)
    if not as_json:
        click.echo(f"order {done.order.number} is done" + (", otherwise than ordered:" if done.differences else ""))
        for line in done.differences:
            click.echo(f"  {line}")


@orders_command.command(
    "withdraw",
    examples=("cooperage order treat B-034 sniff && cooperage orders withdraw 1 --why 'the barrel is sold'",),
)
@_number
@option("--why", metavar="TEXT", required=True, help="Why it is withdrawn, in a few words.")
@json_option
@click.pass_context
def withdraw_command(ctx: click.Context, number: str, why: str, as_json: bool) -> None:
    """Withdraw an order that is not to be done any more, with its reason."""
    from cooperage.programme.orders.written import withdraw

    order = withdraw(open_book(ctx), number, why)
    if as_json:
        print_json(order_row(order))
    else:
        click.echo(f"order {order.number} is withdrawn: {order.why}")


@orders_command.command(
    "move",
    examples=(
        "cooperage order treat B-034 sniff && cooperage order treat B-033 sniff && cooperage orders move 2 --before 1",
        "cooperage orders move 2 --after 1 --json",
    ),
)
@_number
@option("--before", metavar="ORDER", help="The order before which it is to be done, on that one's day.")
@option("--after", metavar="ORDER", help="The order after which it is to be done, on that one's day.")
@json_option
@click.pass_context
def move_command(ctx: click.Context, number: str, before: str | None, after: str | None, as_json: bool) -> None:
    """Move an open order before or after another."""
    from cooperage.programme.orders.checked import check_orders
    from cooperage.programme.orders.written import move_order

    book = open_book(ctx)
    order = move_order(book, number, before=before or "", after=after or "")
    if as_json:
        print_json(order_row(order))
    else:
        print_open(check_orders(book, settings().units))


@orders_command.command(
    "print",
    examples=(
        "cooperage order fill B-034 --from T-1 --for tomorrow && cooperage orders print",
        "cooperage orders print --for tomorrow --json",
    ),
)
@option("--for", "day", metavar="DAY", help="Only those for this day (default: all that are open).")
@json_option
@click.pass_context
def print_command(ctx: click.Context, day: str | None, as_json: bool) -> None:
    """Print the open orders for paper: a box and room for what came, what to mind, and what stands in the way."""
    from cooperage.programme.orders.checked import check_orders
    from cooperage.programme.orders.paper import paper_list
    from cooperage.units import read_day

    book, units = open_book(ctx), settings().units
    wanted = None if day is None else read_day(day, book.now())
    found = [each for each in check_orders(book, units) if wanted in (None, each.order.day)]
    lines = paper_list(book, found, units)
    if as_json:
        print_json({"lines": lines, "orders": [order_row(each.order, each) for each in found]})
        return
    for line in lines:
        click.echo(line)

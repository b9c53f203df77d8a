"""`cooperage order`: one command for each kind of work, with the arguments that `cooperage log` has for it."""

import re
from collections.abc import Callable
from inspect import cleandoc
from typing import Any

import click

from cooperage.book import KINDS, Act
from cooperage.book.declared.acts import is_about_a_vessel
from cooperage.cli.given import ActCommand, parameters, several_options, texts_given
from cooperage.cli.orders.shown import order_row, print_checked
from cooperage.cli.shared.command import CommandGroup, option
from cooperage.cli.shared.desk import json_option, open_book, print_json, settings
from cooperage.units import local_day, read_day

_FOR_HELP = "Day on which it is to be done, such as tomorrow, 'in 3 days' or 2026-12-01 (default: today)."
_NOT_IN_AN_ORDER = re.compile(r" --(?:sure|when \S+)")


def _command(kind: type[Act]) -> click.Command:
    about = cleandoc(kind.__doc__ or "").partition("\n\n")[0]
    made: Any = ActCommand(
        kind.kind,
        params=parameters(kind, ahead=True),
        callback=_orders(kind),
        help=f"Write an order to {kind.label}.\n\n{about}",
        examples=tuple(dict.fromkeys(_example(line) for line in kind.examples)),
    )
    more = several_options(kind)
    for common in (
        option("--for", "day", metavar="DAY", default="today", help=_FOR_HELP),
        option("--hand", metavar="NAME", help="Who wants it done (default: the name in your settings)."),
        option("--note", metavar="TEXT", default="", help="A short note kept with the order."),
        *more,
        json_option,
    ):
        made = common(made)
    return made  # type: ignore[no-any-return] # what the decorators return is what they were given


def _example(line: str) -> str:
    return _NOT_IN_AN_ORDER.sub("", line).replace("cooperage log", "cooperage order")


def _orders(kind: type[Act]) -> Callable[..., None]:
    @click.pass_context
    def write(ctx: click.Context, /, **given: Any) -> None:  # noqa: ANN401 - what click hands over
        from cooperage.programme.orders.checked import check_orders
        from cooperage.programme.orders.written import write_order
        from cooperage.programme.several.wanted import Wanted, typed_for_one

        book, mine = open_book(ctx), settings()
        wanted = Wanted(kind.kind, texts_given(kind, given), typed_for_one(kind.kind, given.get("but", "")))
        day = read_day(given["day"], book.now())
        hand = given["hand"] or mine.hand
        order = write_order(book, wanted, day, note=given["note"], hand=hand, units=mine.units)
        [checked] = [each for each in check_orders(book, mine.units) if each.order.id == order.id]
        if given["as_json"]:
            print_json(order_row(checked.order, checked))
        else:
            print_checked(checked, today=local_day(book.now()))

    return write


_HELP = """Write down what is to be done, to be checked and printed beforehand.

The arguments are those of `cooperage log`, several vessels too; a figure that is only known when it is done can be left
out. Nothing is in the book before `cooperage orders do`.
"""

order_command = CommandGroup(
    "order",
    commands=[_command(kind) for kind in KINDS.values() if is_about_a_vessel(kind)],
    help=_HELP,
    aliases={"move": "shift"},
    examples=("cooperage order rack B-010 --to T-4 --for tomorrow", "cooperage order fill B-034 --from T-1 --json"),
)

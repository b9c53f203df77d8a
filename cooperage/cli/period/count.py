"""`cooperage period count`: a physical count at the end of a period, beside the book."""

from typing import TYPE_CHECKING, Any

import click

from cooperage.cli.period.asked import HOW
from cooperage.cli.shared.command import command
from cooperage.cli.shared.complete import PERIODS
from cooperage.cli.shared.desk import json_option, open_book, print_json, print_table, settings
from cooperage.cli.shared.paste import leave_unread_option, pasted_text, print_unread, unread_rows
from cooperage.programme.periods.period import NOTE
from cooperage.units import Quantity, Span, Units, show

if TYPE_CHECKING:
    from cooperage.book import Book
    from cooperage.programme.periods.counted import CountedThings, PeriodCount


@command(
    "count",
    "echo 'B-041 109.0 L' | cooperage period count 'last month' -",
    "echo 'B-041 109.0 L' | cooperage period count 'last month' - --json",
)
@click.argument("period", shell_complete=PERIODS, help=HOW)
@click.argument("file", help="Text or CSV file; - for what is piped in.")
@leave_unread_option
@json_option
@click.pass_context
def count_command(ctx: click.Context, period: str, file: str, *, leave_unread: bool, as_json: bool) -> None:
    """Compare a count at the end of a period with the book: a vessel and its volume a line, a bottling and its bottles.

    Nothing is written; `period close --count` files it beside the figures, and `cooperage count --write` brings the
    book to a count.
    """
    from cooperage.programme.periods.period import read_period

    book = open_book(ctx)
    things, count = counted_in(book, read_period(period, book.now()), file, leave_unread=leave_unread)
    if as_json:
        print_json(_count_row(count) | {"unread": unread_rows(things.unread)})
        return
    _print_count(count, settings().units)
    print_unread(things.unread)
    click.echo(NOTE)


def counted_in(book: "Book", span: Span, file: str, *, leave_unread: bool) -> "tuple[CountedThings, PeriodCount]":
    """Read a count from a file and hold it against the book as a span ends; raises LinesUnread."""
    from cooperage.programme.periods.counted import at_the_end

    """Read a count from a file and hold it against the book as a span ends; raises LinesUnread."""
    things, count = at_the_end(book, span).read(pasted_text(file), settings().units)
    if things.unread and not leave_unread:
        from cooperage.programme.pasted.table import LinesUnread

        raise LinesUnread(things.unread)
    return things, count


def _print_count(count: "PeriodCount", units: Units) -> None:
    from cooperage.programme.periods.classes import class_words

    rows = [
        (
            *(each.part, class_words(each.strength_class, units)),
            *(show(Quantity.VOLUME, ml, units) for ml in (each.book_ml, each.counted_ml, each.missing_ml)),
        )
        for each in count.rows
    ]
    print_table(("part", "class", "book", "counted", "missing"), rows, right=(2, 3, 4))
    if count.not_counted:
        click.echo(f"not counted: {', '.join(count.not_counted)}")


def _count_row(count: "PeriodCount") -> dict[str, Any]:
    return {
        "classes": [
            {
                "part": each.part,
                "class": each.strength_class,
                "book_l": each.book_ml / 1000,
                "counted_l": each.counted_ml / 1000,
                "missing_l": each.missing_ml / 1000,
            }
            for each in count.rows
        ],
        "not_counted": count.not_counted,
    }

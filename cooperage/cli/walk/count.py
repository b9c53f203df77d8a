"""`cooperage count`: a physical count compared with the book, and the gauges that bring the book to it."""

from typing import Any

import click

from cooperage.book import Book
from cooperage.book.declared.places import GAP_CAUSES, Outside
from cooperage.cli.shared.command import WordChoice, command, option
from cooperage.cli.shared.desk import (
    hand_option,
    json_option,
    open_book,
    print_json,
    print_table,
    settings,
    since_option,
    sure_option,
    when_option,
)
from cooperage.cli.shared.paste import (
    leave_unread_option,
    parse_moment,
    pasted_text,
    print_unread,
    unread_rows,
)
from cooperage.programme.losses.allowance import Allowance, AllowedShare, allowance_over, allowed_share
from cooperage.programme.pasted.count import Count, compare, gauges, write_count
from cooperage.programme.pasted.tally import read_tally
from cooperage.units import Quantity, counted, read_span, show


@command(
    "count",
    "echo 'B-041 109.0 L' | cooperage count -",
    "echo 'B-041 109.0 L' | cooperage count - --since 'last month' --write --sure --json",
)
@click.argument("file", help="Text or CSV file; - for what is piped in.")
@when_option
@since_option
@option("--write", "writes", is_flag=True, help="Write the gauges that bring the book to the count.")
@option(
    "--cause",
    type=WordChoice(GAP_CAUSES),
    metavar="CAUSE",
    default=Outside.GAUGING.value,
    show_default=True,
    help=f"Put the differences down to {', '.join(GAP_CAUSES)}.",
)
@hand_option
@leave_unread_option
@sure_option
@json_option
@click.pass_context
def count_command(
    ctx: click.Context,
    /,
    file: str,
    when: str | None,
    since: str | None,
    cause: str,
    hand: str | None,
    *,
    writes: bool,
    leave_unread: bool,
    sure: bool,
    as_json: bool,
) -> None:
    """Compare counted volumes with the book: lines such as 'B-017 224.1 L', or a table with vessel and volume.

    A count of an earlier day is compared with the book as it stood then; --since compares with the loss allowance from
    that day on. With --write every difference becomes a gauge entry: all of them, or none.
    """
    text, book, mine = pasted_text(file), open_book(ctx), settings()
    at = parse_moment(when, book.now())
    cellar = book.cellar(at)
    tally = read_tally(text, cellar, mine.units)
    count = compare(cellar, tally.counted, _allowed(book, since, when))
    if not as_json:
        _print(count)
        print_unread(tally.unread)
    if writes:
        tally.whole(leave_unread=leave_unread)
        written = write_count(book, count, gauges(count, cause, hand or mine.hand, at=at), sure=sure)
    if as_json:
        print_json(_row(count) | {"unread": unread_rows(tally.unread), "is_written": writes})
    elif writes:
        click.echo(f"written: {counted(len(written), 'gauge')}, the difference put down to {cause}")
    else:
        click.echo("nothing was written; --write writes the gauges")


def _allowed(book: Book, since: str | None, when: str | None) -> Allowance | AllowedShare:
    if since is None:
        return allowed_share(book, parse_moment(when, book.now()))
    return allowance_over(book, read_span(since, when, book.now()))


def _volume(ml: int) -> str:
    return show(Quantity.VOLUME, ml, settings().units)


def _print(count: Count) -> None:
    rows = [
        (
            row.vessel,
            _volume(row.book_ml),
            _volume(row.counted_ml),
            _volume(row.missing_ml),
            "odd" if row.is_odd else "",
        )
        for row in count.rows
    ]
    total = ("total", _volume(count.book_ml), _volume(count.counted_ml), _volume(count.missing_ml), "")
    print_table(("vessel", "book", "counted", "missing", ""), [*rows, total], right=(1, 2, 3))
    click.echo(f"missing altogether: {count.allowance.words(count.missing_ml, settings().units)}")
    if count.not_counted:
        click.echo(f"not counted: {', '.join(count.not_counted)}")


def _row(count: Count) -> dict[str, Any]:
    return {
        "vessels": [
            {
                "vessel": row.vessel,
                "book_l": row.book_ml / 1000,
                "counted_l": row.counted_ml / 1000,
                "missing_l": row.missing_ml / 1000,
                "is_odd": row.is_odd,
            }
            for row in count.rows
        ],
        "missing_l": count.missing_ml / 1000,
        "allowed_l": None if count.allowed_ml is None else count.allowed_ml / 1000,
        "is_within_allowance": count.is_within_allowance,
        "not_counted": count.not_counted,
    }

"""`cooperage lab`: lab results from a file or a pipe, matched to vessels and written together."""

from typing import Any

import click

from cooperage.book.declared.properties import PROPERTIES
from cooperage.cli.shared.command import command
from cooperage.cli.shared.desk import (
    hand_option,
    json_option,
    open_book,
    print_json,
    print_table,
    settings,
    sure_option,
    when_option,
)
from cooperage.cli.shared.paste import (
    dry_run_option,
    leave_unread_option,
    parse_moment,
    pasted_text,
    print_outcome,
    print_unread,
    unread_rows,
)
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.pasted.lab_slip import Matched, Slip, read_slip, write_slip
from cooperage.units import show, unit_written


@command(
    "lab",
    "echo 'B-041 free 12 pH 3.41' | cooperage lab -",
    "echo 'B-041 free 12 pH 3.41' | cooperage lab - --when yesterday --dry-run --json",
)
@click.argument("file", help="Text or CSV file; - for what is piped in.")
@when_option
@hand_option
@dry_run_option
@leave_unread_option
@sure_option
@json_option
@click.pass_context
def lab_command(
    ctx: click.Context,
    /,
    file: str,
    when: str | None,
    hand: str | None,
    *,
    dry_run: bool,
    leave_unread: bool,
    sure: bool,
    as_json: bool,
) -> None:
    """Import lab results: lines such as 'B-017 free 24 pH 3.41', or a table headed by vessel and properties.

    All readings are written, or none.
    """
    text, book, mine = pasted_text(file), open_book(ctx), settings()
    slip = read_slip(text, cellar_now(book), parse_moment(when, book.now()), hand or mine.hand, mine.units)
    if not as_json:
        _print(slip)
    if not dry_run:
        write_slip(book, slip, sure=sure, leave_unread=leave_unread)
    if as_json:
        print_json({"readings": _rows(slip), "unread": unread_rows(slip.unread), "is_written": not dry_run})
        return
    print_outcome(slip.words, dry_run=dry_run)


def _print(slip: Slip) -> None:
    if slip.matched:
        print_table(
            ("vessel", "property", "value", "", "in the book", "", ""), [_line(m) for m in slip.matched], (2, 4)
        )
    print_unread(slip.unread)


def _line(matched: Matched) -> tuple[str, ...]:
    reading, last, units = matched.reading, matched.last, settings().units
    read = PROPERTIES[reading.property]
    value, there = (show(read.quantity, each, units) for each in (reading.value, last.value))
    return reading.vessel, read.label, value, "", there, last.source if last.value is not None else "", matched.doubt


def _rows(slip: Slip) -> list[dict[str, Any]]:
    return [
        {
            "line": matched.line,
            "vessel": matched.reading.vessel,
            "property": matched.reading.property,
            "value": matched.reading.value,
            "in_book": matched.last.value,
            "unit": unit_written(PROPERTIES[matched.reading.property].quantity),
            "source": matched.last.source,
            "doubt": matched.doubt,
        }
        for matched in slip.matched
    ]

"""`cooperage period differences`: what was written for a filed period after it was filed."""

from typing import TYPE_CHECKING, Any

import click

from cooperage.book.errors import ID_LETTERS
from cooperage.cli.period.asked import HOW
from cooperage.cli.shared.command import command
from cooperage.cli.shared.complete import PERIODS
from cooperage.cli.shared.desk import json_option, open_book, print_json, print_table, settings
from cooperage.programme.periods.period import NOTE
from cooperage.units import Units, show_when

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from cooperage.programme.periods.differences import LateEntry


@command("differences", "cooperage period differences", "cooperage period differences --json")
@click.argument("period", required=False, shell_complete=PERIODS, help=f"A filed period. {HOW}")
@json_option
@click.pass_context
def differences_command(ctx: click.Context, period: str | None, as_json: bool) -> None:
    """List what was written for a filed period after it was filed: late entries, and strikes of what was counted.

    Without a period, what no period counts yet: it stands in the next one, on lines of its own.
    """
    from cooperage.programme.periods.differences import differences
    from cooperage.programme.periods.shown import carried_lines, known_period

    book = open_book(ctx)
    late = differences(book, None if period is None else known_period(book, period).code)
    if as_json:
        print_json([_late_row(each) for each in late])
        return
    units = settings().units
    _print_late(late, carried_lines(book, units) if late and period is None else (), units)


def _late_row(late: "LateEntry") -> dict[str, Any]:
    return {
        "id": late.entry.id,
        "kind": late.entry.kind,
        "vessel": late.entry.vessel,
        "happened_at": late.entry.happened_at,
        "written_at": late.entry.written_at,
        "hand": late.entry.hand,
        "strikes": late.entry.strikes,
        "period": late.period,
        "carried_in": late.carried_in,
        "lines_l": {line: ml / 1000 for line, ml in late.lines},
        "crossed": [{"by": why, "from": old, "to": new, "volume_l": ml / 1000} for why, old, new, ml in late.crossed],
    }


def _print_late(late: "Sequence[LateEntry]", carried: "Iterable[str]", units: Units) -> None:
    from cooperage.book.words import what_was_done
    from cooperage.programme.periods.differences import changes_words, lines_words, sum_by_line

    rows = [
        (
            *(show_when(each.entry.happened_at), show_when(each.entry.written_at), each.period, each.carried_in or ""),
            *(each.entry.id[:ID_LETTERS], each.entry.kind, each.entry.vessel or "", what_was_done(each.entry, units)),
            changes_words(each, units),
        )
        for each in late
    ]
    head = ("happened", "written", "period", "carried in", "entry", "kind", "vessel", "what", "changes")
    print_table(head, rows, empty="Nothing was written later for what is filed.")
    if late:
        click.echo(f"in all: {lines_words(sum_by_line(late).items(), units) or 'no litres'}")
    for line in carried:
        click.echo(f"carried into the next, {line}")
    click.echo(NOTE)

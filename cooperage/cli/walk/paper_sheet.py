"""`cooperage sheet`: a walk written on paper, typed up afterwards and written at the time it was walked."""

from typing import Any

import click

from cooperage.book.declared.from_text import format_act
from cooperage.cli.shared.command import command, option
from cooperage.cli.shared.desk import hand_option, json_option, open_book, print_json, settings, sure_option
from cooperage.cli.shared.paste import (
    dry_run_option,
    parse_moment,
    pasted_text,
    print_outcome,
    print_unread,
    unread_rows,
)
from cooperage.programme.walk.paper_sheet import PaperSheet, read_sheet, write_sheet


@command(
    "sheet",
    "echo 'B-041 0.7 weeping' | cooperage sheet - --when yesterday --dry-run",
    "printf 'from K-05\\nB-041 0.7\\nB-042 out of reach\\n' | cooperage sheet - --when today --json",
)
@click.argument("file", help="Text file; - for what is piped in.")
@option("--when", "when", metavar="WHEN", formerly=("--at", "--on"), required=True, help="When it was walked.")
@hand_option
@dry_run_option
@sure_option
@json_option
@click.pass_context
def sheet_command(
    ctx: click.Context, /, file: str, when: str, hand: str | None, *, dry_run: bool, sure: bool, as_json: bool
) -> None:
    """Import rounds that were noted on paper, one line a stop, such as 'B-017 1.8; so2 24; weeping; hoop rusty'.

    A line is a tag and what was done: a volume for a topping; readings by name (so2 24 pH 3.41, dip 30, va 0.5); words
    for the level (full, low, very low), the bung (tight, loose, weeping, popped) and the smell; 'taste clean', 'add 13
    g kmbs', 'air 13 78'; 'skip' or 'out of reach'. 'from K-02' on a line of its own names the keg of the lines after
    it, 'by Tove' the hand. `report rounds` prints the empty sheet.
    """
    text, book, mine = pasted_text(file), open_book(ctx), settings()
    walked_at = parse_moment(when, book.now()) or book.now()
    sheet = read_sheet(book, text, walked_at, hand or mine.hand, mine.units)
    if not as_json:
        _print(sheet)
    if not dry_run:
        write_sheet(book, sheet, sure=sure)
    if as_json:
        print_json({"lines": _rows(sheet), "unread": unread_rows(sheet.unread), "is_written": not dry_run})
        return
    print_outcome(sheet.words, dry_run=dry_run)


def _print(sheet: PaperSheet) -> None:
    for row in _rows(sheet):
        values = row["not_done"] or "; ".join(
            " ".join([act["kind"], *(f"{name} {text}" for name, text in act.items() if name not in ("kind", "vessel"))])
            for act in row["acts"]
        )
        click.echo(f"  {row['barrel']:<8} {values}")
    print_unread(sheet.unread)


def _rows(sheet: PaperSheet) -> list[dict[str, Any]]:
    return [
        {
            "line": line.line,
            "barrel": line.stop.tag,
            "task": next(iter(line.done_tasks), ""),
            "done_tasks": list(line.done_tasks),
            "acts": [{"kind": act.kind, **format_act(act)} for act in line.acts],
            "not_done": line.not_done,
        }
        for line in sheet.lines
    ]

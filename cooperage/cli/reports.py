"""`cooperage report` and `cooperage label`: the book on paper."""

from pathlib import Path

import click

from cooperage.cli.shared.command import WordChoice, command, option
from cooperage.cli.shared.complete import CODES
from cooperage.cli.shared.desk import json_option, open_book, print_json, settings, since_option, until_option
from cooperage.cli.shared.out import NewFile, force_option
from cooperage.exchange.reports.labels import card_lines, qr_svg, qr_text
from cooperage.exchange.reports.printed import report_text
from cooperage.exchange.reports.reports import REPORTS, as_csv, as_records
from cooperage.outfile import check_folder, new_file
from cooperage.units import DEFAULT, read_span, show_zone

_LIST = "\n\n".join(f"\b\n{name}: {(report.__doc__ or '').strip().splitlines()[0]}" for name, report in REPORTS.items())


@command(
    "report",
    "cooperage report stock",
    "cooperage report operations --since 'last month'",
    "cooperage report losses --since 2026-01-01 --until 2026-06-30 --csv",
    help=f"Print a report.\n\n{_LIST}",
)
@click.argument("name", type=WordChoice(REPORTS), metavar="NAME", help=f"One of {', '.join(REPORTS)}.")
@since_option
@until_option
@option("--csv", "as_table", is_flag=True, help="Print CSV, in litres, % vol and g/L.")
@json_option
@click.pass_context
def report_command(
    ctx: click.Context, name: str, since: str | None, until: str | None, as_table: bool, as_json: bool
) -> None:
    """Print a report."""
    book = open_book(ctx)
    units = DEFAULT if as_json or as_table else settings().units
    report = REPORTS[name](book, read_span(since, until, book.now()), units)
    if as_json:
        head = {"title": report.title, "days_in": show_zone(book.now()), "times_in": "UTC"}
        print_json({**head, "rows": as_records(report), "foot": report.foot})
        return
    click.echo(as_csv(report) if as_table else report_text(book, report, units), nl=False)


@command("label", "cooperage label B-001", "cooperage label SALT-25 --svg code.svg")
@click.argument("code", shell_complete=CODES, help="Tag of a vessel, or code of a lot or a bottling.")
@option("--svg", type=NewFile(), metavar="FILE", help="Write the QR code to this SVG file.")
@force_option
@json_option
@click.pass_context
def label_command(ctx: click.Context, code: str, svg: Path | None, force: bool, as_json: bool) -> None:
    """Print a card for a vessel, lot or bottling, with a QR code that a scanner types as its tag."""
    lines = card_lines(open_book(ctx), code, settings().units)
    if svg is not None:
        check_folder(svg)
        with new_file(svg, force=force) as half_done:
            half_done.write_bytes(qr_svg(lines[0]))
    if as_json:
        print_json({"code": lines[0], "lines": lines, "svg": None if svg is None else str(svg)})
        return
    click.echo("\n".join(lines))
    click.echo(qr_text(lines[0]) if svg is None else f"QR code written to {svg}")

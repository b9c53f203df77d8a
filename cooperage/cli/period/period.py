"""`cooperage period`: the figures of a month, quarter or year by class of strength; closed, they stay as filed."""

import sys
from typing import TYPE_CHECKING, Any

import click

from cooperage.cli.period.asked import HOW
from cooperage.cli.period.count import count_command, counted_in
from cooperage.cli.period.later import differences_command
from cooperage.cli.shared.command import CommandGroup, WordChoice, option
from cooperage.cli.shared.complete import PERIODS
from cooperage.cli.shared.desk import hand_option, json_option, open_book, print_json, print_table, settings
from cooperage.errors import AskedBack
from cooperage.programme.periods.rounding import RETURN_UNITS, return_unit
from cooperage.units import DEFAULT, Span, Units, counted, show_day

if TYPE_CHECKING:
    from cooperage.book import Book
    from cooperage.programme.periods.figures import PeriodFigures
    from cooperage.programme.periods.period import FiledPeriod
    from cooperage.programme.periods.rounding import ReturnUnit
    from cooperage.programme.periods.shown import ShownPeriod

_unit = option(
    "--unit",
    type=WordChoice(RETURN_UNITS),
    metavar="UNIT",
    help="File in L, or in gal: US gallons by the official rounding (default: what goes with your settings).",
)
_sure = option("--sure", is_flag=True, help="File without asking, although something may stand in the way.")

period_command = CommandGroup(
    "period",
    help="Show and close periods: what came in, went out and is there, by class of strength. A preparation aid, not a "
    "return: check with your authority.",
    examples=(
        "cooperage period show 'last month'",
        "cooperage period close 'last month' --sure --note 'sent on paper'",
    ),
)


@period_command.command("list", examples=("cooperage period list", "cooperage period list --json"))
@json_option
@click.pass_context
def list_command(ctx: click.Context, as_json: bool) -> None:
    """List the periods that were filed, corrections too, with what came later."""
    from cooperage.programme.periods.differences import later_counts
    from cooperage.programme.periods.stored import filed_in

    with open_book(ctx).reading() as connection:
        filed = filed_in(connection)
        late = later_counts(connection, filed)
    corrected = {each.corrects: each.code for each in filed if each.corrects}
    if as_json:
        print_json([_filed_row(each, late[each.code], corrected.get(each.code)) for each in filed])
        return
    rows = [
        (
            *(each.code, show_day(each.start), show_day(each.span.last), each.figures.unit.label),
            *(show_day(each.written_at), each.hand, str(each.entries), str(late[each.code] or "")),
            f"corrected by {corrected[each.code]}" if each.code in corrected else each.note,
        )
        for each in filed
    ]
    head = ("period", "from", "to", "unit", "filed", "by", "entries", "later", "note")
    print_table(head, rows, right=(6, 7), empty="No period is filed yet; `cooperage period close` files one.")


def _filed_row(period: "FiledPeriod", late: int, corrected_by: str | None) -> dict[str, Any]:
    return {
        "period": period.code,
        "start": period.start,
        "end": period.end,
        "zone": period.zone,
        "unit": period.figures.unit.name,
        "rules": period.figures.classes.rules,
        "filed_at": period.written_at,
        "hand": period.hand,
        "note": period.note,
        "entries": period.entries,
        "later": late,
        "corrects": period.corrects,
        "corrected_by": corrected_by,
        "digest": period.digest,
    }


@period_command.command(
    "show",
    examples=(
        "cooperage period show",
        "cooperage period show 'last month' --unit gal",
        "cooperage period show 'last month' --html",
        "cooperage period show 2026 --json",
    ),
)
@click.argument("period", required=False, shell_complete=PERIODS, help=HOW)
@_unit
@option("--csv", "paper", flag_value="csv", help="Print CSV: each figure in litres, and as it is printed.")
@option("--html", "paper", flag_value="html", help="Print a page for a browser, to be put on paper there.")
@json_option
@click.pass_context
def show_command(ctx: click.Context, period: str | None, unit: str | None, *, paper: str | None, as_json: bool) -> None:
    """Show the figures of a period: as filed, or as they would be now. Without a period, the next one to close.

    What was filed stays in the unit it was filed in; --unit shows it in another one.
    """
    from cooperage.programme.periods.shown import shown_period

    book, units = open_book(ctx), DEFAULT if as_json or paper == "csv" else settings().units
    shown = shown_period(book, period, units, unit, return_unit(None, settings().units).name)
    if as_json:
        print_json(_shown_row(shown))
    elif paper == "csv":
        from cooperage.exchange.reports.periods import figures_csv

        click.echo(figures_csv(shown.figures), nl=False)
    elif paper == "html":
        from cooperage.exchange.reports.periods import report_of_period
        from cooperage.exchange.reports.printed import report_page

        click.echo(report_page(book, report_of_period(shown, units), units), nl=False)
    else:
        _print_shown(shown, units)


def _print_shown(shown: "ShownPeriod", units: Units) -> None:
    from cooperage.programme.periods.lines import PARTS
    from cooperage.programme.periods.table import cell_text, column_titles, table_of

    table = table_of(shown.figures)
    titles = column_titles(table, units)
    click.echo(shown.title)
    for part in PARTS:
        rows = [
            (row.label, row.mark, *(cell_text(cell, shown.figures, units) for cell in row.cells))
            for row in table.of_part(part)
        ]
        if rows:
            click.echo()
            print_table((part, "", *titles), rows, right=tuple(range(2, 2 + len(titles))))
    click.echo()
    for line in shown.notes:
        click.echo(line)


def _shown_row(shown: "ShownPeriod") -> dict[str, Any]:
    return {
        "period": shown.code,
        "start": shown.figures.span.start,
        "end": shown.figures.span.end,
        "how": shown.how,
        "unit": shown.figures.unit.name,
        "rules": shown.figures.classes.rules,
        "is_filed": shown.filed is not None,
        "figures": figure_rows(shown.figures),
        "later": len(shown.late),
        "in_the_way": list(shown.in_the_way),
        "notes": list(shown.notes),
    }


def figure_rows(figures: "PeriodFigures") -> list[dict[str, Any]]:
    """Return figures as scripts read them: exact in litres, and as they are printed in the unit."""
    return [
        {
            "part": each.part,
            "line": each.line,
            "class": each.strength_class,
            "sign": each.sign,
            "is_carried": each.is_carried,
            "volume_l": each.ml / 1000,
            "printed": figures.unit.text(each.steps),
        }
        for each in figures.figures
    ]


@period_command.command(
    "close",
    examples=(
        "cooperage period close 'last month' --sure",
        "cooperage log sample B-001 100ml --when '45 days ago' && "
        "cooperage period close 'last month' --correct --sure --note 'a sample was forgotten' --json",
    ),
)
@click.argument("period", shell_complete=PERIODS, help=HOW)
@_unit
@option("--count", "count_file", metavar="FILE", help="File a physical count with it: lines such as 'B-017 224.1 L'.")
@option("--correct", is_flag=True, help="File a correction of the last period, in its unit; both stay.")
@option("--note", metavar="TEXT", default="", help="A short note kept with the period.")
@hand_option
@_sure
@json_option
@click.pass_context
def close_command(
    ctx: click.Context,
    period: str,
    unit: str | None,
    count_file: str | None,
    note: str,
    hand: str | None,
    *,
    correct: bool,
    sure: bool,
    as_json: bool,
) -> None:
    """Close a period: its figures are shown, and once you agree frozen; no later entry changes them.

    The first may begin anywhere; each that follows begins where the last one ends, and an earlier one ends where the
    first begins. Entries that come later for it are listed by `period differences`, and stand in the next period on
    lines of their own.
    """
    from cooperage.programme.periods.closing import close_period
    from cooperage.programme.periods.period import read_period
    from cooperage.programme.periods.shown import known_period, shown_period

    book, mine = open_book(ctx), settings()
    span = read_period(period, book.now())
    as_filed = correct and unit is None
    in_unit = known_period(book, period).figures.unit if as_filed else return_unit(unit, mine.units)
    counts = None
    if count_file is not None:
        counts = counted_in(book, span, count_file, leave_unread=False)[0].as_kept()
    seen = None if sure else _agreed(book, span, in_unit, correct=correct, as_json=as_json)
    filed = close_period(
        book,
        span,
        in_unit,
        hand=mine.hand if hand is None else hand,
        note=note,
        counts=counts,
        correct=correct,
        sure=True,  # what stands in the way was shown
        seen=seen,
        units=mine.units,
    )
    shown = shown_period(book, filed.code, mine.units)
    if as_json:
        print_json(_shown_row(shown) | {"entries": filed.entries})
        return
    if seen is None:
        _print_shown(shown, mine.units)
    entries = counted(filed.entries, "entry", "entries")
    click.echo(f"filed: {filed.code}, {entries} counted; what comes later for it goes into the next period")


class PeriodUnasked(AskedBack):
    """Figures that are to be filed and that nothing has agreed to."""


def _agreed(book: "Book", span: Span, unit: "ReturnUnit", *, correct: bool, as_json: bool) -> "PeriodFigures":
    """Show what would be filed and ask; raises PeriodUnasked where the answer is no, or where none can be given."""
    from cooperage.programme.periods.shown import shown_to_file

    shown = shown_to_file(book, span, unit, settings().units, correct=correct)
    if as_json or not sys.stdin.isatty():
        way = f"; in the way: {'; '.join(shown.in_the_way)}" if shown.in_the_way else ""
        words = f"this files {shown.code} in {unit.label} for good{way}"
        raise PeriodUnasked(f"{words}. Look with `cooperage period show {shown.code}`, then repeat with --sure.")
    _print_shown(shown, settings().units)
    if not click.confirm(f"File {shown.code} in {unit.label}? Its figures never change after that.", err=True):
        raise PeriodUnasked("nothing was filed")
    return shown.figures


period_command.add_command(differences_command)
period_command.add_command(count_command)

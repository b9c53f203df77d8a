"""`cooperage period`: the figures of a month, quarter or year by class of strength; closed, they stay as filed."""

from typing import TYPE_CHECKING, Any

import click

from cooperage.book.errors import ID_LETTERS
from cooperage.cli.shared.command import CommandGroup, WordChoice, option
from cooperage.cli.shared.complete import PERIODS
from cooperage.cli.shared.desk import hand_option, json_option, open_book, print_json, print_table, settings
from cooperage.cli.shared.paste import leave_unread_option, pasted_text, print_unread, unread_rows
from cooperage.programme.periods.period import NOTE
from cooperage.programme.periods.rounding import RETURN_UNITS, return_unit
from cooperage.units import DEFAULT, Quantity, Span, Units, counted, show, show_day, show_when

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from cooperage.book import Book
    from cooperage.programme.periods.counted import CountedThings, PeriodCount
    from cooperage.programme.periods.differences import LateEntry
    from cooperage.programme.periods.figures import PeriodFigures
    from cooperage.programme.periods.period import FiledPeriod
    from cooperage.programme.periods.shown import ShownPeriod

_HOW = (
    "A month (2026-06), quarter (2026-Q2), year (2026), 'last month', or two days with dots (2026-07-01..2026-07-15)."
)
_unit = option(
    "--unit",
    type=WordChoice(RETURN_UNITS),
    metavar="UNIT",
    help="File in L, or in gal: US gallons by the official rounding (default: what goes with your settings).",
)
_sure = option("--sure", is_flag=True, help="Close although something stands in the way.")

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
        "cooperage period show 2026 --json",
    ),
)
@click.argument("period", required=False, shell_complete=PERIODS, help=_HOW)
@_unit
@option("--csv", "as_table", is_flag=True, help="Print CSV: each figure in litres, and as it is printed.")
@json_option
@click.pass_context
def show_command(ctx: click.Context, period: str | None, unit: str | None, *, as_table: bool, as_json: bool) -> None:
    """Show the figures of a period: as filed, or as they would be now. Without a period, the next one to close."""
    from cooperage.programme.periods.shown import shown_period

    units = DEFAULT if as_json or as_table else settings().units
    shown = shown_period(open_book(ctx), period, units, return_unit(unit, settings().units).name)
    if as_json:
        print_json(_shown_row(shown))
    elif as_table:
        from cooperage.exchange.reports.periods import figures_csv

        click.echo(figures_csv(shown.figures), nl=False)
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
        "cooperage period close 'last month' --correct --sure --note 'a sample was forgotten' --json",
    ),
)
@click.argument("period", shell_complete=PERIODS, help=_HOW)
@_unit
@option("--count", "count_file", metavar="FILE", help="File a physical count with it: lines such as 'B-017 224.1 L'.")
@option("--correct", is_flag=True, help="File a correction of the last period; both stay.")
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
    """Close a period: its figures are frozen as they are now, and no later entry changes them.

    The first may begin anywhere; each that follows begins where the last one ends. Entries that come later for it are
    listed by `period differences`, and stand in the next period on lines of their own.
    """
    from cooperage.programme.periods.closing import close_period
    from cooperage.programme.periods.period import read_period
    from cooperage.programme.periods.shown import shown_period

    book, mine = open_book(ctx), settings()
    span = read_period(period, book.now())
    counts = None
    if count_file is not None:
        counts = _counted(book, span, count_file, leave_unread=False)[0].as_kept()
    filed = close_period(
        book,
        span,
        return_unit(unit, mine.units),
        hand=mine.hand if hand is None else hand,
        note=note,
        counts=counts,
        correct=correct,
        sure=sure,
        units=mine.units,
    )
    shown = shown_period(book, filed.code, mine.units)
    if as_json:
        print_json(_shown_row(shown) | {"entries": filed.entries})
        return
    _print_shown(shown, mine.units)
    entries = counted(filed.entries, "entry", "entries")
    click.echo(f"filed: {filed.code}, {entries} counted; what comes later for it goes into the next period")


@period_command.command(
    "differences",
    examples=("cooperage period differences", "cooperage period differences --json"),
)
@click.argument("period", required=False, shell_complete=PERIODS, help=f"A filed period. {_HOW}")
@json_option
@click.pass_context
def differences_command(ctx: click.Context, period: str | None, as_json: bool) -> None:
    """List what was written for a filed period after it was filed: late entries, and strikes of what was counted.

    Without a period, what no period counts yet: it stands in the next one, on lines of its own.
    """
    from cooperage.programme.periods.differences import differences
    from cooperage.programme.periods.shown import known_period

    book = open_book(ctx)
    late = differences(book, None if period is None else known_period(book, period).code)
    if as_json:
        print_json([_late_row(each) for each in late])
        return
    _print_late(late, settings().units)


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
    }


def _print_late(late: "Sequence[LateEntry]", units: Units) -> None:
    from cooperage.book.words import what_was_done
    from cooperage.programme.periods.differences import sum_by_line

    rows = [
        (
            *(show_when(each.entry.happened_at), show_when(each.entry.written_at), each.period, each.carried_in or ""),
            *(each.entry.id[:ID_LETTERS], each.entry.kind, each.entry.vessel or "", what_was_done(each.entry, units)),
            _lines_words(each.lines, units),
        )
        for each in late
    ]
    head = ("happened", "written", "period", "carried in", "entry", "kind", "vessel", "what", "changes")
    print_table(head, rows, empty="Nothing was written later for what is filed.")
    if late:
        click.echo(f"in all: {_lines_words(sum_by_line(late).items(), units) or 'no litres'}")
    click.echo(NOTE)


def _lines_words(lines: "Iterable[tuple[str, int]]", units: Units) -> str:
    return ", ".join(f"{line} {'-' if ml < 0 else '+'}{show(Quantity.VOLUME, abs(ml), units)}" for line, ml in lines)


@period_command.command(
    "count",
    examples=(
        "echo 'B-041 109.0 L' | cooperage period count 'last month' -",
        "echo 'B-041 109.0 L' | cooperage period count 'last month' - --json",
    ),
)
@click.argument("period", shell_complete=PERIODS, help=_HOW)
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
    things, count = _counted(book, read_period(period, book.now()), file, leave_unread=leave_unread)
    if as_json:
        print_json(_count_row(count) | {"unread": unread_rows(things.unread)})
        return
    _print_count(count, settings().units)
    print_unread(things.unread)
    click.echo(NOTE)


def _counted(book: "Book", span: Span, file: str, *, leave_unread: bool) -> "tuple[CountedThings, PeriodCount]":
    from cooperage.programme.periods.counted import count_at_end

    things, count = count_at_end(book, pasted_text(file), span, settings().units)
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

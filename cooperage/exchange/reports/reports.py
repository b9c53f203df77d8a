"""Reports: rows first, ink second. Each is one function from the book to typed rows, and any renderer takes them.

To add one: write a function here and name it in `REPORTS`; the command, its help and the tests read that table.
"""

import csv
import io
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from html import escape
from itertools import groupby
from textwrap import fill

from cooperage.book import Book, Cellar, Standing
from cooperage.book.bottles import bottle_stock, stock_of, where_words
from cooperage.book.dangers.dangers import Caution, by_danger
from cooperage.book.declared.looks import BUNGS, LEVELS, SMELLS
from cooperage.book.errors import ID_LETTERS
from cooperage.book.log import Entry, entries
from cooperage.book.trace import Share, all_bottlings, share_words
from cooperage.book.vessel_words import lot_shares
from cooperage.book.words import what_was_done
from cooperage.exchange.reports.costs import angels_report, value_report
from cooperage.exchange.reports.flows import ADDS_UP, flow_label, losses_by_month, operations
from cooperage.exchange.reports.shape import Cell, Report, ReportColumn, titled
from cooperage.exchange.reports.texts import shown_cell
from cooperage.exchange.tables.formulas import marked
from cooperage.plaintext import visible
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.losses.ledger import loss_rates
from cooperage.programme.losses.level import Level, level_now
from cooperage.programme.periods.rounding import Flow
from cooperage.programme.periods.shown import shown_of_span
from cooperage.programme.ready.readiness import looks_due
from cooperage.programme.rounds.due import Due, all_coming, next_task, rounds
from cooperage.programme.upkeep.beginnings import missing, nothing_due
from cooperage.programme.upkeep.cautions import cautions_of_walk
from cooperage.programme.walk.part_of_walk import TASK_WORDS
from cooperage.units import (
    DEFAULT,
    Quantity,
    Span,
    Units,
    counted,
    show,
    show_day,
    show_exact,
    show_steps,
    show_when,
)

_VESSEL = ReportColumn("vessel", "vessel")
_WHERE = (
    ReportColumn("room", "room"),
    ReportColumn("row", "row"),
    ReportColumn("bay", "bay"),
    ReportColumn("tier", "tier"),
)


def _volume(name: str, title: str) -> ReportColumn:
    return ReportColumn(name, title, Quantity.VOLUME)


def stock_report(book: Book, span: Span, units: Units = DEFAULT) -> Report:
    """What every vessel holds by the book, at the end of the period or now: the sheet for a physical count."""
    cellar = book.cellar(span.seen_at(book.now()))
    columns = (
        *_WHERE,
        _VESSEL,
        ReportColumn("kind", "kind"),
        ReportColumn("lots", "lots"),
        _volume("held", "by the book"),
        _volume("level_now", "level now"),
        _volume("level_low", "90 % from"),
        _volume("level_high", "to"),
        ReportColumn("abv", "strength", Quantity.STRENGTH),
        ReportColumn("sugar_g_l", "sugar", Quantity.SUGAR),
        ReportColumn("counted", "counted"),
    )
    held = [standing for standing in cellar.in_walking_order() if not standing.is_retired]
    rates = loss_rates(book, cellar)
    levels = {s.tag: level_now(s, rates.get(s.tag)) for s in held}
    rows: list[tuple[Cell, ...]] = [
        (
            *s.position,
            s.tag,
            s.vessel.kind,
            _lots(s),
            s.ml,
            *_now(levels[s.tag]),
            s.value("abv"),
            s.value("sugar_g_l"),
            "________",
        )
        for s in held
    ]
    total, now = (
        show(Quantity.VOLUME, sum(ml), units)
        for ml in ([standing.ml for standing in held], [level.ml for level in levels.values()])
    )
    foot = f"{total} in {counted(len(held), 'vessel')} by the book, {now} expected now"
    return Report(f"Stock on {show_day(cellar.at)}", columns, rows, foot, missing(cellar))


def _now(level: Level) -> tuple[Cell, Cell, Cell]:
    return level.ml, level.low, level.high


def _lots(standing: Standing) -> str:
    return ", ".join(lot_shares(standing))


_HOW_TO_FILL_IN = (
    f"Level: {', '.join(LEVELS)}. Bung: {', '.join(BUNGS)}. Smell: {', '.join(SMELLS)}.\n"
    "Walked at ________________ by ________________. Afterwards: o in the list of the rounds, or `cooperage sheet FILE "
    "--when WHEN`."
)


def rounds_report(book: Book, span: Span, units: Units = DEFAULT) -> Report:
    """What is due, in walking order, with blanks to fill in: for a walk without a laptop."""
    cellar = cellar_now(book)
    rates = loss_rates(book, cellar)
    looks = looks_due(book, cellar)
    due = rounds(cellar, span.last, rates, units, looks)
    minded = cautions_of_walk(((d.task, d.barrel, d.keg) for d in due), cellar, units)
    columns = (
        *_WHERE,
        _VESSEL,
        ReportColumn("task", "task"),
        _volume("held", "by the book"),
        _volume("level_now", "now"),
        _volume("expected", "expect"),
        ReportColumn("keg", "from"),
        ReportColumn("mind", "mind"),
        ReportColumn("figure", "figures"),
        ReportColumn("seen", "level, bung, smell; note"),
        ReportColumn("why", "why"),
    )
    at_vessels = groupby(zip(due, minded, strict=True), key=lambda each: each[0].barrel)
    rows = [_stop_row(list(tasks), cellar) for _, tasks in at_vessels]
    foot = "\n".join([counted(len(rows), "stop"), _HOW_TO_FILL_IN, *_cautions_at_foot(minded)])
    title = f"Rounds, {show_when(book.now())}" if span.last is None else f"Rounds, due by {show_day(span.last)}"
    if rows:
        return Report(title, columns, rows, foot, "")
    coming = all_coming(cellar, cellar.at, rates, units, looks)
    return Report(title, columns, rows, foot, nothing_due(cellar, next_task(cellar, coming)))


def _stop_row(tasks: Sequence[tuple[Due, Sequence[Caution]]], cellar: Cellar) -> tuple[Cell, ...]:
    """Return a vessel with all its tasks, each with its reason, and blanks to fill in."""
    due, first = [each for each, _ in tasks], tasks[0][0]
    found = dict.fromkeys(caution for _, cautions in tasks for caution in cautions)
    whys = [f"{each.task}: {each.why}" for each in due] if len(due) > 1 else [first.why]
    return (
        *first.position,
        first.barrel,
        ", ".join(each.task.value for each in due),
        cellar[first.barrel].ml,
        None if first.level is None else first.level.ml,
        next((each.expected_ml for each in due if each.expected_ml is not None), None),
        next((each.keg for each in due if each.keg is not None), None),
        _marks(tuple(found)),
        " ".join(f"{TASK_WORDS[each.task]} ____" for each in due),
        "_" * 24,
        "; ".join(filter(None, (*whys, first.warning))),
    )


def _marks(found: Sequence[Caution]) -> str:
    """Mark a stop with the dangers that stand at the foot of the sheet."""
    return ", ".join(f"! {each.danger}" for each in found)


def _cautions_at_foot(minded: Iterable[Sequence[Caution]]) -> list[str]:
    found = by_danger(each for cautions in minded for each in cautions)
    lines = (fill(f"! {each.danger}: {each.text}", _PAPER, subsequent_indent="  ") for each in found)
    return ["", "CAUTIONS", *lines] if found else []


_PAPER = 110
"""Columns that fit across a sheet of paper (common practice, no source)."""


def book_report(book: Book, span: Span, units: Units = DEFAULT) -> Report:
    """Every entry of the period in order, struck ones marked, each with its id."""
    columns = (
        ReportColumn("when", "when"),
        ReportColumn("entry", "entry"),
        ReportColumn("kind", "kind"),
        _VESSEL,
        ReportColumn("what", "what"),
        ReportColumn("hand", "hand"),
        ReportColumn("note", "note"),
        ReportColumn("struck", ""),
    )
    with book.reading() as connection:
        found = entries(connection, since=span.start, until=span.last)
    rows: list[tuple[Cell, ...]] = [
        (
            e.happened_at,
            e.id[:ID_LETTERS],
            e.kind,
            e.vessel,
            what_was_done(e, units),
            e.hand,
            e.note,
            _struck(e),
        )
        for e in found
    ]
    foot = counted(len(found), "entry", "entries")
    return Report(titled("The book", span), columns, rows, foot, "Nothing was written in this time.")


def _struck(entry: Entry) -> str:
    return f"struck by {entry.struck_by[:ID_LETTERS]}" if entry.struck_by else ""


def losses_report(book: Book, span: Span, units: Units = DEFAULT) -> Report:
    """Litres lost in the period by month and cause; a gain counts as a negative loss.

    Each line is printed as a difference of rounded running totals (see `flows`), and the sum at the
    foot is that of the printed lines: both add up over adjoining periods.
    """
    with book.reading() as connection:
        found = losses_by_month(connection, span, units)
    columns = (ReportColumn("month", "month"), ReportColumn("cause", "cause"), _volume("lost", "lost"))
    rows: list[tuple[Cell, ...]] = [(month, flow_label(place, None), flow) for (month, place), flow in found.items()]
    in_all = show_steps(sum(flow.steps for flow in found.values()), units)
    foot = f"{in_all} in all\n{ADDS_UP}"
    return Report(titled("Losses", span), columns, rows, foot, "Nothing was lost in this time.")


def bottlings_report(book: Book, span: Span, _units: Units = DEFAULT) -> Report:
    """Every bottling with its bottles, litres, lots and barrels, and where the bottles are."""
    with book.reading() as connection:
        found, stock = all_bottlings(connection), bottle_stock(connection)
    columns = (
        ReportColumn("bottling", "bottling"),
        ReportColumn("day", "day"),
        ReportColumn("bottles", "bottles", Quantity.COUNT),
        _volume("volume", "volume"),
        ReportColumn("lots", "lots"),
        ReportColumn("barrels", "barrels"),
        ReportColumn("where", "bottles now"),
    )
    rows: list[tuple[Cell, ...]] = [
        (
            b.code,
            b.at,
            b.bottles,
            round(1000 * b.litres),
            _parts(b.lots),
            _parts(b.barrels),
            where_words(stock_of(stock, b.code)),
        )
        for b in found
        if b.at is not None and _within(b.at, span)
    ]
    empty = "Nothing was bottled in this time; `cooperage log bottle` writes a bottling."
    return Report(titled("Bottlings", span), columns, rows, empty=empty)


def _parts(shares: Sequence[Share]) -> str:
    return ", ".join(f"{share.name or 'no barrel'} {share_words(share.fraction)}" for share in shares)


def _within(at: datetime, span: Span) -> bool:
    return (span.start is None or at >= span.start) and (span.end is None or at < span.end)


_WHAT_OPERATIONS_ARE = (
    "Figures of the book, to be held against your authority's own rules; not tax advice.\n"
    f"{ADDS_UP} Rounding is what that leaves."
)


def operations_report(book: Book, span: Span, units: Units = DEFAULT) -> Report:
    """What came in, went out and was lost in the period, and the stock at both ends: the figures for a tax return.

    The lines sum to the stock at the end, to the millilitre and as printed, and those of adjoining periods add up (see
    `cooperage.exchange.reports.flows`). Which line a return asks for is your authority's to decide.
    """
    with book.reading() as connection:
        summed = operations(connection, span, units)
    rows: list[tuple[Cell, ...]] = [("on hand at the start", summed.start_ml), *summed.lines]
    rows.append(("on hand at the end", summed.end_ml))
    columns = (ReportColumn("line", "line"), _volume("volume", "volume"))
    return Report(titled("Operations", span), columns, rows, _WHAT_OPERATIONS_ARE)


def period_report(book: Book, span: Span, units: Units = DEFAULT) -> Report:
    """The figures of a period by class of strength, as filed or as they would be now; not a return."""
    from cooperage.exchange.reports.periods import report_of_period  # built of what stands above

    return report_of_period(shown_of_span(book, span, units), units)


REPORTS: dict[str, Callable[[Book, Span, Units], Report]] = {
    "stock": stock_report,
    "rounds": rounds_report,
    "book": book_report,
    "losses": losses_report,
    "bottlings": bottlings_report,
    "operations": operations_report,
    "value": value_report,
    "angels": angels_report,
    "period": period_report,
}
"""Every report by name; the first line of its docstring is its help."""


def as_csv(report: Report) -> str:
    """Write a report as CSV with canonical units: litres, % vol, g/L; unknown is blank; times in ISO 8601 UTC.

    Text that a spreadsheet would run as a formula is marked (see tables/formulas.py).
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(_file_name(column) for column in report.columns)
    for row in _exact_rows(report):
        writer.writerow(_plain(cell, column) for cell, column in zip(row, report.columns, strict=True))
    return out.getvalue()


def _exact_rows(report: Report) -> Iterable[list[Cell]]:
    """Yield the rows that files hold, flows as millilitres; what only rounding left is for paper."""
    for row in report.rows:
        if not any(isinstance(cell, Flow) and cell.is_rounding for cell in row):
            yield [cell.ml if isinstance(cell, Flow) else cell for cell in row]


def _file_name(column: ReportColumn) -> str:
    return f"{column.name}_l" if column.quantity is Quantity.VOLUME else column.name


def _plain(cell: Cell, column: ReportColumn) -> str:
    if cell is None:
        return ""
    if column.quantity is Quantity.VOLUME and isinstance(cell, int):
        return show_exact(cell, with_unit=False)
    if isinstance(cell, datetime):
        return cell.isoformat().replace("+00:00", "Z")
    if column.quantity is Quantity.MONEY and isinstance(cell, float):
        return repr(cell)  # to the cent, however large
    return f"{cell:.6g}" if isinstance(cell, float) else marked(str(cell))


def as_records(report: Report) -> list[dict[str, Cell]]:
    """Return a report's rows by column name, volumes in litres."""
    return [
        {
            _file_name(column): cell / 1000 if column.quantity is Quantity.VOLUME and isinstance(cell, int) else cell
            for cell, column in zip(row, report.columns, strict=True)
        }
        for row in _exact_rows(report)
    ]


def as_html(report: Report, units: Units, of: str = "", zone: str = "") -> str:
    """Write a report as one page of HTML without scripts, which a browser prints; every text is escaped."""
    title = escape(visible(f"{of}: {report.title}" if of else report.title))
    head = "".join(f"<th>{escape(column.title)}</th>" for column in report.columns)
    body = "".join(
        f"<tr>{''.join(_html_cell(cell, column, units) for cell, column in zip(row, report.columns, strict=True))}</tr>"
        for row in report.rows
    )
    foot = escape(report.foot if report.rows else report.empty).replace("\n", "<br>")
    times = f"<p>Times in {escape(zone)}</p>" if zone else ""
    return f"""<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>{title}</title><style>
body {{ font-family: sans-serif }} table {{ border-collapse: collapse }} td, th {{ border: 1px solid; padding: 0.2em }}
td.figure {{ text-align: right }}</style></head>
<body><h1>{title}</h1>{times}<table><tr>{head}</tr>{body}</table><p>{foot}</p></body></html>
"""


def _html_cell(cell: Cell, column: ReportColumn, units: Units) -> str:
    kind = ' class="figure"' if column.quantity is not None else ""
    return f"<td{kind}>{escape(shown_cell(cell, column, units))}</td>"

"""Reports: rows first, ink second. Each is one function from the book to typed rows, and any renderer takes them.

To add one: write a function here and name it in `REPORTS`; the command, its help and the tests read that table.
"""

import csv
import io
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

from rich.cells import cell_len

from cooperage.book import Book, Standing
from cooperage.book.log import Entry, entries, losses
from cooperage.book.looks import BUNGS, LEVELS, SMELLS
from cooperage.book.places import OUTSIDE, Outside
from cooperage.book.trace import Share, all_bottlings, share_words
from cooperage.programme.losses import loss_rates
from cooperage.programme.rounds import rounds
from cooperage.units import Quantity, Units, show, show_day, show_exact, show_when

Cell = str | int | float | datetime | None


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its name in files, its title on paper, and the quantity its cells measure, if any."""

    name: str
    title: str
    quantity: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Report:
    """A titled table of typed cells; volumes are integer millilitres, None is unknown."""

    title: str
    columns: tuple[Column, ...]
    rows: list[tuple[Cell, ...]]
    foot: str = ""


Period = tuple[datetime | None, datetime | None]

_VESSEL = Column("vessel", "vessel")
_WHERE = (Column("room", "room"), Column("row", "row"), Column("bay", "bay"), Column("tier", "tier"))


def _volume(name: str, title: str) -> Column:
    return Column(name, title, Quantity.VOLUME)


def stock_report(book: Book, period: Period) -> Report:
    """What every vessel holds by the book, at the end of the period or now: the sheet for a physical count."""
    cellar = book.cellar(period[1])
    columns = (
        *_WHERE,
        _VESSEL,
        Column("kind", "kind"),
        Column("lots", "lots"),
        _volume("held", "by the book"),
        Column("abv", "strength", Quantity.STRENGTH),
        Column("sugar_g_l", "sugar", Quantity.SUGAR),
        Column("counted", "counted"),
    )
    held = [standing for standing in cellar.in_walking_order() if not standing.is_retired]
    rows: list[tuple[Cell, ...]] = [
        (*s.position, s.tag, s.vessel.kind, _lots(s), s.ml, s.value("abv"), s.value("sugar_g_l"), "________")
        for s in held
    ]
    total = show(Quantity.VOLUME, sum(standing.ml for standing in held))
    return Report(f"Stock on {show_day(cellar.at)}", columns, rows, f"{total} in {len(held)} vessels")


def _lots(standing: Standing) -> str:
    return ", ".join(f"{lot} {100 * share:.0f} %" for lot, share in standing.lots.items())


_HOW_TO_FILL_IN = (
    f"Level: {', '.join(LEVELS)}. Bung: {', '.join(BUNGS)}. Smell: {', '.join(SMELLS)}.\n"
    "Walked at ________________ by ________________. Afterwards: t on the rounds, or `cooperage sheet FILE --on WHEN`."
)


def rounds_report(book: Book, period: Period) -> Report:
    """What is due, in walking order, with blanks to fill in: for a walk without a laptop."""
    rates = {tag: rate.ml_per_day for tag, rate in loss_rates(book).items()}
    due = rounds(book.cellar(), period[1], rates)
    columns = (
        *_WHERE,
        _VESSEL,
        Column("task", "task"),
        _volume("expected", "expect"),
        Column("keg", "from"),
        Column("why", "why"),
        Column("figure", "figure"),
        Column("seen", "level, bung, smell; note"),
    )
    rows: list[tuple[Cell, ...]] = [
        (*d.position, d.barrel, d.task.value, d.expected_ml, d.keg, d.why, "______", "_" * 24) for d in due
    ]
    foot = f"{len(due)} stops\n{_HOW_TO_FILL_IN}"
    return Report(f"Rounds, {show_when(period[1] or book.now())}", columns, rows, foot)


def book_report(book: Book, period: Period) -> Report:
    """Every entry of the period in order, struck ones marked, each with its id."""
    columns = (
        Column("when", "when"),
        Column("entry", "entry"),
        Column("kind", "kind"),
        _VESSEL,
        Column("what", "what"),
        Column("hand", "hand"),
        Column("note", "note"),
        Column("struck", ""),
    )
    with book.reading() as connection:
        found = entries(connection, since=period[0], until=period[1])
    rows: list[tuple[Cell, ...]] = [
        (e.happened_at, e.id[:12], e.kind, e.vessel, entry_words(e), e.hand, e.note, "struck" if e.struck_by else "")
        for e in found
    ]
    return Report("The book", columns, rows, f"{len(found)} entries")


def entry_words(entry: Entry) -> str:
    """Tell an entry's moves and readings in words."""
    moved = [f"{show_exact(move.ml)} {move.source} to {move.destination}" for move in entry.moves]
    read = [f"{observed.property} {observed.value:g}" for observed in entry.readings]
    other = [str(entry.said[name]) for name in ("substance", "treatment", "reason") if name in entry.said]
    return "; ".join(moved + read + other)


def losses_report(book: Book, period: Period) -> Report:
    """Litres lost in the period by month and cause; a gain counts as a negative loss."""
    summed: dict[tuple[str, str], int] = defaultdict(int)
    with book.reading() as connection:
        for at, _, place, ml in losses(connection, since=period[0], until=period[1]):
            if OUTSIDE[Outside(place)].is_loss:
                summed[f"{at:%Y-%m}", place] += ml
    columns = (Column("month", "month"), Column("cause", "cause"), _volume("lost", "lost"))
    rows: list[tuple[Cell, ...]] = [(month, OUTSIDE[Outside(p)].label, ml) for (month, p), ml in sorted(summed.items())]
    return Report("Losses", columns, rows, f"{show(Quantity.VOLUME, sum(summed.values()))} in all")


def bottlings_report(book: Book, period: Period) -> Report:
    """Every bottling with its bottles, litres, lots and barrels."""
    with book.reading() as connection:
        found = all_bottlings(connection)
    columns = (
        Column("bottling", "bottling"),
        Column("day", "day"),
        Column("bottles", "bottles", Quantity.COUNT),
        _volume("volume", "volume"),
        Column("lots", "lots"),
        Column("barrels", "barrels"),
    )
    rows: list[tuple[Cell, ...]] = [
        (b.code, b.at, b.bottles, round(1000 * b.litres), _parts(b.lots), _parts(b.barrels))
        for b in found
        if b.at is not None and _within(b.at, period)
    ]
    return Report("Bottlings", columns, rows)


def _parts(shares: Sequence[Share]) -> str:
    return ", ".join(f"{share.name or 'no barrel'} {share_words(share.fraction)}" for share in shares)


def _within(at: datetime, period: Period) -> bool:
    since, until = period
    return (since is None or at >= since) and (until is None or at <= until)


def operations_report(book: Book, period: Period) -> Report:
    """What came in, went out and was lost in the period, and the stock at both ends: the figures for a tax return.

    The lines sum to the stock at the end, to the millilitre. Which line a return asks for is your authority's to say.
    """
    start = 0 if period[0] is None else sum(standing.ml for standing in book.cellar(period[0]))
    end = sum(standing.ml for standing in book.cellar(period[1]))
    moved: dict[str, int] = defaultdict(int)
    with book.reading() as connection:
        for at, _, place, ml in losses(connection, since=period[0], until=period[1]):
            if period[0] is None or at > period[0]:
                moved[place] -= ml
    columns = (Column("line", "line"), _volume("volume", "volume"))
    lines: list[tuple[Cell, ...]] = [(OUTSIDE[place].label, moved[place]) for place in Outside if moved[place]]
    rows: list[tuple[Cell, ...]] = [("on hand at the start", start), *lines, ("on hand at the end", end)]
    foot = "Figures of the book, to be held against your authority's own rules; not tax advice."
    return Report("Operations", columns, rows, foot)


REPORTS: dict[str, Callable[[Book, Period], Report]] = {
    "stock": stock_report,
    "rounds": rounds_report,
    "book": book_report,
    "losses": losses_report,
    "bottlings": bottlings_report,
    "operations": operations_report,
}
"""Every report by name; the first line of its docstring is its help."""


def _shown(cell: Cell, column: Column, units: Units) -> str:
    if cell is None:
        return "?" if column.quantity else ""
    if isinstance(cell, datetime):
        return show_when(cell)
    if column.quantity is not None and not isinstance(cell, str):
        return show(column.quantity, cell, units)
    return str(cell)


def as_text(report: Report, units: Units, of: str = "") -> str:
    """Write a report as aligned plain text; quantities stand on the right. `of` is the cellar's name, if it has one."""
    header = [column.title for column in report.columns]
    body = [
        [_shown(cell, column, units) for cell, column in zip(row, report.columns, strict=True)] for row in report.rows
    ]
    widths = [max(cell_len(line[place]) for line in [header, *body]) for place in range(len(header))]
    title = f"{of}: {report.title}" if of else report.title
    lines = [title, "=" * cell_len(title)]
    for line in [header, *body]:
        cells = [
            _padded(text, width, to_right=column.quantity is not None)
            for text, width, column in zip(line, widths, report.columns, strict=True)
        ]
        lines.append("  ".join(cells).rstrip())
    return "\n".join([*lines, *([report.foot] if report.foot else [])]) + "\n"


def _padded(text: str, width: int, *, to_right: bool) -> str:
    gap = " " * (width - cell_len(text))
    return gap + text if to_right else text + gap


def as_csv(report: Report) -> str:
    """Write a report as CSV with canonical units: litres, % vol, g/l; unknown is blank; times in ISO 8601 UTC."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(_file_name(column) for column in report.columns)
    for row in report.rows:
        writer.writerow(_plain(cell, column) for cell, column in zip(row, report.columns, strict=True))
    return out.getvalue()


def _file_name(column: Column) -> str:
    return f"{column.name}_l" if column.quantity is Quantity.VOLUME else column.name


def _plain(cell: Cell, column: Column) -> str:
    if cell is None:
        return ""
    if column.quantity is Quantity.VOLUME and isinstance(cell, int):
        return show_exact(cell, with_unit=False)
    if isinstance(cell, datetime):
        return cell.isoformat().replace("+00:00", "Z")
    return f"{cell:.6g}" if isinstance(cell, float) else str(cell)


def as_records(report: Report) -> list[dict[str, Cell]]:
    """Return a report's rows by column name, volumes in litres."""
    return [
        {
            _file_name(column): cell / 1000 if column.quantity is Quantity.VOLUME and isinstance(cell, int) else cell
            for cell, column in zip(row, report.columns, strict=True)
        }
        for row in report.rows
    ]

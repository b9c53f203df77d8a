"""A report as plain text: a table, and below each row what a narrow sheet has no room for beside it."""

from collections.abc import Sequence
from datetime import datetime
from itertools import accumulate
from textwrap import wrap

from rich.cells import cell_len

from cooperage.exchange.reports.shape import Cell, Report, ReportColumn
from cooperage.plaintext import visible
from cooperage.programme.periods.rounding import Flow
from cooperage.units import Units, show, show_steps, show_when

_GAP, _BELOW = "  ", "    "
_UNBROKEN = "\N{NO-BREAK SPACE}"


def shown_cell(cell: Cell, column: ReportColumn, units: Units) -> str:
    """Return a cell as it is read, in the person's units."""
    if cell is None:
        return "?" if column.quantity else ""
    if isinstance(cell, datetime):
        return show_when(cell)
    if isinstance(cell, Flow):
        return show_steps(cell.steps, units) if cell.printed is None else cell.printed
    if column.quantity is not None and not isinstance(cell, str):
        return show(column.quantity, cell, units)
    return visible(str(cell))


def as_text(report: Report, units: Units, of: str = "", zone: str = "", width: int | None = None) -> str:
    """Write a report as aligned plain text; quantities stand on the right.

    The head has `of`, the cellar's name, and the time `zone` of its days and times, where they are given. In a `width`
    [columns] the last columns that find no room stand below their row, each with its title.
    """
    header = [column.title for column in report.columns]
    body = [
        [shown_cell(cell, column, units) for cell, column in zip(row, report.columns, strict=True)]
        for row in report.rows
    ]
    title = f"{of}: {report.title}" if of else report.title
    title = f"{title} (times in {zone})" if zone else title
    heads = [title] if width is None else wrap(title, width)
    lines = [*heads, "=" * max(map(cell_len, heads))]
    if not body:
        return "\n".join([*lines, report.empty]) + "\n"
    widths = [max(cell_len(line[place]) for line in [header, *body]) for place in range(len(header))]
    beside = len(header) if width is None else _beside(widths, width)
    lines.append(_row(header, widths, report.columns[:beside]))
    for cells in body:
        lines.append(_row(cells, widths, report.columns[:beside]))
        lines += _below(header[beside:], cells[beside:], width)
    foot = report.foot.split("\n") if report.foot else []
    lines += foot if width is None else [row for line in foot for row in wrap(line, width)]
    return "\n".join(lines) + "\n"


def _beside(widths: Sequence[int], width: int) -> int:
    """Return how many columns find room beside each other."""
    ends = accumulate(each + len(_GAP) for each in widths)
    return max(1, sum(end - len(_GAP) <= width for end in ends))


def _row(cells: Sequence[str], widths: Sequence[int], columns: Sequence[ReportColumn]) -> str:
    padded = (
        _padded(text, wide, to_right=column.quantity is not None)
        for text, wide, column in zip(cells, widths, columns, strict=False)
    )
    return _GAP.join(padded).rstrip()


def _below(titles: Sequence[str], cells: Sequence[str], width: int | None) -> list[str]:
    """Return what finds no room in a row, in rows of its own; a part that fits in one is not broken, a word never."""
    parts = [f"{title}: {text}" for title, text in zip(titles, cells, strict=True) if text.strip()]
    if width is None or not parts:
        return []
    room = width - len(_BELOW) - len(";")
    whole = "; ".join(part.replace(" ", _UNBROKEN) if cell_len(part) <= room else part for part in parts)
    rows = wrap(whole, width, initial_indent=_BELOW, subsequent_indent=_BELOW)
    return [row.replace(_UNBROKEN, " ") for row in rows]


def _padded(text: str, width: int, *, to_right: bool) -> str:
    gap = " " * (width - cell_len(text))
    return gap + text if to_right else text + gap

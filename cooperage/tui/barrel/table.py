"""The figures of a vessel in columns that stand still: values under one another on the point, nothing cut.

In little room the small lines of the past go first, and the names are the short ones; in much room the last reading
stands beside.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from rich.text import Text
from textual.app import App

from cooperage.programme.page.figures import FigureState, PageFigure
from cooperage.tui.shared.ink import DUE, TROUBLE, ink
from cooperage.units import Units

FULL, WIDE = 78, 88
"""Columns from which the past stands beside the figures; from which the last reading does too."""
_WHOLE, _DECIMALS = 4, 4
"""Columns before the point and after it, the point included, that hold every ordinary figure."""
_MARKS = {FigureState.TROUBLE: (TROUBLE, "ember"), FigureState.DUE: (DUE, "honey"), FigureState.FINE: (" ", "ink")}


@dataclass(frozen=True, slots=True)
class _Columns:
    """How wide the columns are; they grow only for a figure that is wider than any ordinary one."""

    name: int
    whole: int
    decimals: int
    band: int
    unit: int
    age: int
    limit: int


def figure_texts(rows: Sequence[PageFigure], app: App[object], width: int, units: Units) -> list[Text]:
    """Return the head of the columns and a line a figure; where there are none, nothing."""
    if not rows:
        return []
    is_full, is_wide = width >= FULL, width >= WIDE
    point = units.decimal
    parts = [(*_split(row.value, point), row.band, row.unit, row.age, row.limit) for row in rows]
    whole, decimals, band, unit, age, limit = (max(map(len, each)) for each in zip(*parts, strict=True))
    names = [row.label if is_full else row.short for row in rows]
    columns = _Columns(
        max(map(len, names)),
        max(_WHOLE, whole),
        max(_DECIMALS, decimals),
        max(6, band),
        max(5, unit),
        max(5, age),
        max(6, limit),
    )
    head = _line(("figure", "now", "", "±", "", "age", "limit"), columns)
    head += f" {'last read':>9}" if is_wide else ""
    head += f" {'past':<10} chance" if is_full else " broken"
    lines = [Text(head, ink(app, "quiet"), no_wrap=True)]
    for row, name in zip(rows, names, strict=True):
        lines.append(_row(row, name, columns, app, point, is_full=is_full, is_wide=is_wide))
    return lines


def _split(value: str, point: str) -> tuple[str, str]:
    whole, _, decimals = value.partition(point)
    return whole, f"{point}{decimals}" if decimals else ""


def _line(cells: Sequence[str], of: _Columns) -> str:
    name, whole, decimals, band, unit, age, limit = cells
    value = f"{whole:>{of.whole}}{decimals:<{of.decimals}}"
    return f"  {name:<{of.name}} {value} {band:<{of.band}} {unit:<{of.unit}} {age:>{of.age}} {limit:<{of.limit}}"


def _row(
    row: PageFigure, name: str, of: _Columns, app: App[object], point: str, *, is_full: bool, is_wide: bool
) -> Text:
    mark, role = _MARKS[row.state]
    whole, decimals = _split(row.value, point)
    value = ink(app, "ember") if row.state is FigureState.TROUBLE else ink(app, "ink")
    text = Text(no_wrap=True).append(f"{mark} {name:<{of.name}} ", ink(app, role))
    text.append(f"{whole:>{of.whole}}{decimals:<{of.decimals}} ", value)
    text.append(f"{row.band:<{of.band}} {row.unit:<{of.unit}} ", ink(app, "quiet"))
    text.append(f"{row.age:>{of.age}} ", ink(app, "honey" if row.is_old else "quiet"))
    text.append(f"{row.limit:<{of.limit}} ", ink(app, "ink"))
    if is_wide:
        text.append(f"{row.read:>9} ", ink(app, "quiet"))
    if is_full:
        text.append(f"{row.past:<10} ", ink(app, "quiet" if row.past.startswith("at ") else "mead"))
    text.append(row.chance if is_full else row.chance.rpartition(" ")[0], ink(app, role))
    return text

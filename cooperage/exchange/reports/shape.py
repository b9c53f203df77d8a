"""The shape of a report: a titled table of typed cells, which any renderer takes."""

from dataclasses import dataclass
from datetime import datetime

from cooperage.programme.periods.rounding import Flow
from cooperage.units import Quantity, Span, show_span

Cell = str | int | float | datetime | Flow | None


@dataclass(frozen=True, slots=True)
class ReportColumn:
    """One column: its name in files, its title on paper, and the quantity its cells measure, if any."""

    name: str
    title: str
    quantity: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Report:
    """A titled table of typed cells; volumes are integer millilitres, None is unknown."""

    title: str
    columns: tuple[ReportColumn, ...]
    rows: list[tuple[Cell, ...]]
    foot: str = ""
    empty: str = "Nothing in this time."


def titled(name: str, span: Span) -> str:
    """Return a title with the dates of a span, if it has any."""
    dates = show_span(span)
    return f"{name}, {dates}" if dates else name

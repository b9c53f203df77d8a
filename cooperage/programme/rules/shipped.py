"""The figures that are shipped, read from `figures.csv` once."""

from csv import DictReader
from datetime import date
from functools import cache
from pathlib import Path

from cooperage.programme.rules.figure import RuleFigure, RuleMark
from cooperage.programme.rules.span import parse_span

PROFILES = ("US", "EU", "UK")
"""The profiles a cellar can work by."""
REFERENCES = ("OIV",)
"""Others that have figures to compare with, and are no law."""


@cache
def shipped_figures() -> tuple[RuleFigure, ...]:
    """Return every figure that is shipped, in the order of the file."""
    with Path(__file__).with_name("figures.csv").open(encoding="utf-8", newline="") as file:
        return tuple(_figure(row) for row in DictReader(file))


def _figure(row: dict[str, str]) -> RuleFigure:
    return RuleFigure(
        profile=row["profile"],
        name=row["name"],
        kind=row["kind"],
        span=parse_span(row["range"]),
        of=row["of"],
        value=row["value"] or None,
        unit=row["unit"],
        since=date.fromisoformat(row["since"]) if row["since"] else None,
        until=date.fromisoformat(row["until"]) if row["until"] else None,
        source=row["source"],
        as_of=row["as_of"],
        mark=RuleMark(row["mark"]),
        note=row["note"],
    )

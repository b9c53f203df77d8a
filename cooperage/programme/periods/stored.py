"""Filed periods in the database: read, and written once. Rows are only ever added."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Select, func, insert, select

from cooperage.book import Book, Writing
from cooperage.book.filed import FIGURE_COLUMNS, digest_of, figures_by_period, filed_rows
from cooperage.book.store.tables import ENTRY, FILED_ENTRY, FILED_FIGURE, PERIOD
from cooperage.programme.periods.classes import StrengthClasses
from cooperage.programme.periods.figures import PeriodFigure, PeriodFigures
from cooperage.programme.periods.passing import Left
from cooperage.programme.periods.period import FiledPeriod, NoSuchPeriod
from cooperage.programme.periods.rounding import RETURN_UNITS
from cooperage.units import Span


def filed_periods(book: Book) -> list[FiledPeriod]:
    """List every period that was filed, corrections and what they correct too, in the order they were filed."""
    with book.reading() as connection:
        return filed_in(connection)


def filed_in(connection: Connection) -> list[FiledPeriod]:
    """List every period that was filed in a view of the caller's, in the order they were filed."""
    rows = filed_rows(connection)
    figures = figures_by_period(connection) if rows else {}
    codes = {row["id"]: row["code"] for row in rows}
    count = select(FILED_ENTRY.c.period_id, func.count()).group_by(FILED_ENTRY.c.period_id)
    counted = {row[0]: row[1] for row in connection.execute(count)} if rows else {}
    return [
        period_of_row(row, figures[row["id"]], counted.get(row["id"], 0), codes.get(row["corrects_id"])) for row in rows
    ]


def period_of_row(
    row: Mapping[str, Any], figures: Iterable[Mapping[str, Any]], entries: int, corrects: str | None
) -> FiledPeriod:
    """Return the period of its rows; raises KeyError, TypeError, ValueError where they are none."""
    unit, classes = RETURN_UNITS[row["unit"]], StrengthClasses.from_kept(row["classes"])
    totals = {(part, line, name): int(ml) for part, line, name, ml in row["totals"]}
    ethanol = {(line, name): totals.pop((part, line, name)) for part, line, name in [*totals] if part == ETHANOL}
    left = Left(row["ends_at"], classes, totals, dict(row["bottlings"]), ethanol)
    made = tuple(
        PeriodFigure(
            each["part"],
            each["line"],
            each["strength_class"],
            each["sign"],
            each["ml"],
            unit.steps_of_text(each["printed"]),
            bool(each["is_carried"]),
        )
        for each in figures
    )
    of_span = PeriodFigures(Span(row["starts_at"], row["ends_at"]), unit, classes, made, left)
    plain = {name: row[name] for name in ("id", "code", "zone", "hand", "note", "written_at", "digest")}
    return FiledPeriod(**plain, figures=of_span, counted=row["counted"], entries=entries, corrects=corrects)


def standing(filed: Sequence[FiledPeriod]) -> list[FiledPeriod]:
    """List the periods that no correction took the place of, in the order of their spans."""
    corrected = {each.corrects for each in filed}
    return sorted((each for each in filed if each.code not in corrected), key=lambda each: each.start)


FIRST = "/1"
"""What stands behind a code for the very period that was filed first under it."""


def find_period(filed: Sequence[FiledPeriod], code: str) -> FiledPeriod:
    """Find a period by its code, in any case; of one that was corrected its correction. Raises NoSuchPeriod.

    "2026-10/1" is what was filed first, "2026-10/2" the correction of it.
    """
    wanted = code.strip().casefold()
    for each in filed:
        if wanted == each.code.casefold():
            return each if "/" in wanted else _latest(each, filed)
        if wanted == f"{each.code}{FIRST}".casefold():
            return each
    raise NoSuchPeriod(code.strip(), [each.code for each in filed])


def _latest(period: FiledPeriod, filed: Sequence[FiledPeriod]) -> FiledPeriod:
    following = next((each for each in filed if each.corrects == period.code), None)
    return period if following is None else _latest(following, filed)


def not_counted(before: datetime, periods: Iterable[FiledPeriod]) -> Select[Any]:
    """Select the ids of the entries that happened before a moment and that none of some periods counts."""
    ids = [each.id for each in periods]
    is_counted = (
        select(FILED_ENTRY.c.entry_id)
        .where(FILED_ENTRY.c.entry_id == ENTRY.c.id, FILED_ENTRY.c.period_id.in_(ids))
        .exists()
    )
    return select(ENTRY.c.id).where(ENTRY.c.happened_at < before, ~is_counted)


def counted_before(period: FiledPeriod, end: datetime) -> Select[Any]:
    """Select the ids of the entries that a period counts and that happened before a moment."""
    joined = select(ENTRY.c.id).join(FILED_ENTRY, FILED_ENTRY.c.entry_id == ENTRY.c.id)
    return joined.where(FILED_ENTRY.c.period_id == period.id, ENTRY.c.happened_at < end)


_CHUNK = 5000


def insert_period(session: Writing, figures: PeriodFigures, about: Mapping[str, Any], entries: Sequence[str]) -> None:
    """Write a period with its figures and the ids it counts; `about` has what its row holds besides."""
    connection, unit = session.connection, figures.unit
    rows = [
        (
            *(place, each.part, each.line, each.strength_class, each.sign, int(each.is_carried), each.ml),
            unit.text(each.steps),
        )
        for place, each in enumerate(figures.figures, 1)
    ]
    period: dict[str, Any] = {
        "starts_at": figures.span.start,
        "ends_at": figures.left.end,
        "unit": unit.name,
        "classes": figures.classes.as_kept(),
        "totals": [[*key, ml] for key, ml in (*sorted(figures.left.totals.items()), *_ethanol_rows(figures.left))],
        "bottlings": figures.left.bottlings,
        **about,
    }
    period["digest"] = digest_of(period, rows, entries)
    insert_rows(connection, period, rows, entries)


ETHANOL = "ethanol"
"""In the running totals that are kept, what stands where a part does before the ethanol of a part and class."""


def _ethanol_rows(left: Left) -> list[tuple[tuple[str, str, str], int]]:
    return [((ETHANOL, part, name), ml) for (part, name), ml in sorted(left.ethanol.items())]


def insert_rows(
    connection: Connection, period: Mapping[str, Any], figures: Iterable[Sequence[Any]], entries: Sequence[str]
) -> None:
    """Write the rows of a period as they are, the period itself last."""
    made = [{"period_id": period["id"]} | dict(zip(FIGURE_COLUMNS, row, strict=True)) for row in figures]
    if made:
        connection.execute(insert(FILED_FIGURE), made)
    for first in range(0, len(entries), _CHUNK):
        chunk = entries[first : first + _CHUNK]
        connection.execute(insert(FILED_ENTRY), [{"period_id": period["id"], "entry_id": each} for each in chunk])
    connection.execute(insert(PERIOD), dict(period))

"""Reports about money: what is in the cellar has cost, and what the angels cost."""

from cooperage.book import Book
from cooperage.exchange.reports.shape import Cell, Report, ReportColumn, titled
from cooperage.programme.money import words
from cooperage.programme.money.angels import angels_by, in_all
from cooperage.programme.money.rows import ValueRow, balance_of, one_by_one, sum_of
from cooperage.programme.money.value import CellarValue, value_at, value_by
from cooperage.units import DEFAULT, Quantity, Span, Units, decimals_of, show_day


def _sum(name: str, title: str, value: CellarValue) -> ReportColumn:
    """Return a column of sums; its name in files ends in the currency."""
    code = value.currency.lower()
    return ReportColumn(f"{name}_{code}" if code else name, title, Quantity.MONEY)


def value_report(book: Book, span: Span, units: Units = DEFAULT) -> Report:
    """What everything has cost: mead, bottles and barrels, at the end of the period or now, and what became of it."""
    value = value_by(book, span)
    columns = (
        ReportColumn("what", "what"),
        ReportColumn("volume", "volume", Quantity.VOLUME),
        ReportColumn("bottles", "bottles", Quantity.COUNT),
        _sum("value", "value", value),
        _sum("known_value", "known of it", value),
    )
    one = 10 ** decimals_of(value.currency)
    found = one_by_one(value)
    rows = [_value_row(row, one) for row in (*found, *([sum_of(found)] if found else ()))]
    balance = (f"{label}: {text}" for label, text in words.balance_lines(balance_of(value), units))
    foot = [*balance, *words.gap_lines(value, value.gaps, units), *words.closing_lines(units)]
    title = f"Value of the cellar on {show_day(value.at)}"
    return Report(title, columns, rows, "\n".join(foot), "Nothing is in the cellar.")


def _value_row(row: ValueRow, one: int) -> tuple[Cell, ...]:
    known = row.cents / one
    return row.what, row.ml or 0, row.bottles or 0, known if row.is_known else None, known


def angels_report(book: Book, span: Span, units: Units = DEFAULT) -> Report:
    """What the angels cost: litres and money by month, room and wood; the cost stays with the rest."""
    value = value_at(book, span.seen_at(book.now()))
    columns = (
        ReportColumn("by", "by"),
        ReportColumn("what", "what"),
        ReportColumn("taken", "taken", Quantity.VOLUME),
        _sum("cost", "had cost", value),
        _sum("known_cost", "known of it", value),
    )
    one = 10 ** decimals_of(value.currency)
    rows: list[tuple[Cell, ...]] = []
    for by in ("month", "room", "wood"):
        found = angels_by(value, by, span)
        for each in (*found, *([in_all(found)] if by == "wood" and found else ())):
            known = each.cents / one
            rows.append((by, each.what, each.ml, None if each.unknown_ml else known, known))
    foot = ["The cost stays with the mead that is left; it is not lost.", *words.closing_lines(units)]
    return Report(titled("What the angels cost", span), columns, rows, "\n".join(foot), "Nothing was taken.")

"""The figures of a period on paper and as CSV: as printed in the unit they are filed in, and exact in litres."""

import csv
import io
from dataclasses import replace

from cooperage.exchange.reports.shape import Cell, Report, ReportColumn
from cooperage.programme.periods.figures import PeriodFigures
from cooperage.programme.periods.shown import ShownPeriod
from cooperage.programme.periods.table import cell_text, column_titles, table_of
from cooperage.units import Quantity, Units, show_exact


def report_of_period(shown: ShownPeriod, units: Units) -> Report:
    """Return a period as a report: a line of either part a row, a class of strength a column, in the filed unit."""
    table, figures = table_of(shown.figures), shown.figures
    titles = column_titles(table, units)
    names = [*(f"class {name}" for name in table.classes), "all"]
    columns = (
        ReportColumn("part", "part"),
        ReportColumn("line", "line"),
        ReportColumn("sign", ""),
        *(ReportColumn(name, title, Quantity.VOLUME) for name, title in zip(names, titles, strict=True)),
    )
    rows: list[tuple[Cell, ...]] = [
        (
            *(row.part, row.label, row.mark),
            *("" if cell is None else replace(cell, printed=cell_text(cell, figures, units)) for cell in row.cells),
        )
        for row in table.rows
    ]
    return Report(shown.title, columns, rows, "\n".join(shown.notes))


_HEADER = ("part", "line", "class", "sign", "is_carried", "volume_l", "printed", "unit")


def figures_csv(figures: PeriodFigures) -> str:
    """Return every figure as a row of CSV: exact in litres, and as it is printed in the unit of the return."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(_HEADER)
    for each in figures.figures:
        exact = show_exact(each.ml, with_unit=False)
        writer.writerow(
            [
                *(each.part, each.line, each.strength_class, each.sign, int(each.is_carried), exact),
                *(figures.unit.text(each.steps), figures.unit.name),
            ]
        )
    return out.getvalue()

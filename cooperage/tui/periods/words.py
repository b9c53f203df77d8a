"""A period as its screen has it: a line in the list, its figures as tables that fit, and what came later for it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from cooperage.book.words import what_was_done
from cooperage.programme.periods.differences import LateEntry, changes_words, lines_words, sum_by_line
from cooperage.programme.periods.lines import PARTS
from cooperage.programme.periods.period import NOTE, FiledPeriod
from cooperage.programme.periods.shown import ShownPeriod
from cooperage.programme.periods.stored import FIRST
from cooperage.programme.periods.table import PeriodTable, cell_text, column_titles, table_of
from cooperage.tui.columns import ListedColumns, Row
from cooperage.tui.on_screen import on_screen
from cooperage.units import Units, counted, show_day, show_when

COLUMNS = ListedColumns(
    ("period", "unit", "filed", "entries", "came later", "note"), ((1, 0), (5, 8), (5, 0)), frozenset((3, 4))
)
"""The list of periods; `came later` counts entries that were written for one after it was filed."""
_GAP = 2


@dataclass(frozen=True, slots=True)
class ListedPeriod:
    """A row of the list: a filed period, or the next one to close, which is not filed."""

    code: str
    filed: FiledPeriod | None
    late: int = 0
    corrected_by: str = ""

    @property
    def itself(self) -> str:
        """The code of this very period, and not of what took its place."""
        return f"{self.code}{FIRST}" if self.filed is not None and "/" not in self.code else self.code


def period_cells(listed: ListedPeriod) -> Row:
    """Return a period as a row of `COLUMNS`."""
    if listed.filed is None:
        return listed.code, "", "not yet", "", "", ""
    filed, remark = listed.filed, f"corrected by {listed.corrected_by}" if listed.corrected_by else listed.filed.note
    later = str(listed.late) if listed.late else ""
    unit, day = filed.figures.unit.label, show_day(filed.written_at)
    return filed.code, unit, day, str(filed.entries), later, remark


def shown_lines(shown: ShownPeriod, units: Units, width: int) -> list[str]:
    """Return the figures of a period in tables no wider than there is room, and the notes on them."""
    table = table_of(shown.figures)
    lines = [shown.title, NOTE]
    for part in PARTS:
        for block in _blocks(shown, table, part, units, width):
            lines += ["", *block]
    return [*lines, "", *(on_screen(note) for note in shown.notes if note != NOTE)]


def _blocks(shown: ShownPeriod, table: PeriodTable, part: str, units: Units, width: int) -> Iterator[list[str]]:
    """Yield the table of a part, its columns over several blocks where one is too wide."""
    rows, titles = table.of_part(part), column_titles(table, units)
    if not rows:
        return
    cells = [[cell_text(cell, shown.figures, units) for cell in row.cells] for row in rows]
    widths = [max(len(text) for text in (title, *(row[at] for row in cells))) for at, title in enumerate(titles)]
    labels = [part, *(f"{row.label} {row.mark}".rstrip() for row in rows)]
    first = max(map(len, labels))
    for block in _fitting(widths, width - first):
        columns = [[titles[at], *(row[at] for row in cells)] for at in block]
        yield [
            label.ljust(first)
            + "".join(" " * _GAP + column[nth].rjust(widths[at]) for at, column in zip(block, columns, strict=True))
            for nth, label in enumerate(labels)
        ]


def _fitting(widths: Sequence[int], room: int) -> list[list[int]]:
    blocks: list[list[int]] = [[]]
    left = room
    for at, width in enumerate(widths):
        if blocks[-1] and width + _GAP > left:
            blocks.append([])
            left = room
        blocks[-1].append(at)
        left -= width + _GAP
    return blocks


def late_lines(late: Sequence[LateEntry], carried: Sequence[str], units: Units) -> list[str]:
    """Return what came later, an entry with both its dates and what it changes, the sums, and what is carried on."""
    if not late:
        return ["Nothing was written later for what is filed.", "", NOTE]
    lines = [f"{counted(len(late), 'entry', 'entries')} came later"]
    for each in late:
        entry = each.entry
        where = f", carried into {each.carried_in}" if each.carried_in else ""
        lines += [
            "",
            f"happened {show_when(entry.happened_at)}, written {show_when(entry.written_at)} by {entry.hand or '?'}",
            f"  {each.period}{where}: {entry.kind} {entry.vessel or ''}: {what_was_done(entry, units)}",
            f"  {changes_words(each, units) or 'no litres of its own'}",
        ]
    summed = lines_words(sum_by_line(late).items(), units) or "no litres"
    return [*lines, "", f"in all: {summed}", *(f"carried into the next, {each}" for each in carried), NOTE]


def closing_question(shown: ShownPeriod) -> str:
    """Return the question before a period is closed, after what stands in the way of it."""
    way = [f"In the way: {each}." for each in shown.in_the_way]
    return "\n".join([*way, f"Close {shown.code} in {shown.figures.unit.label}? Its figures never change after that."])


def filed_words(filed: FiledPeriod) -> str:
    """Return what was filed."""
    entries = counted(filed.entries, "entry", "entries")
    return f"Filed {filed.code}, {entries} counted. What comes later goes into the next period."

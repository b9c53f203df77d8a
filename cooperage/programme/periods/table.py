"""The figures of a period as a table: a row a line, a column a class of strength, as printed."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from cooperage.programme.losses.allowance import Allowance, AllowedShare
from cooperage.programme.periods.classes import NOT_KNOWN, by_strength, class_words
from cooperage.programme.periods.figures import PeriodFigure, PeriodFigures
from cooperage.programme.periods.lines import BULK, CLOSING, OPENING, PARTS, PRODUCED, RECEIVED, ROUNDING
from cooperage.programme.periods.rounding import RETURN_UNITS, Flow, gallons, proof_steps
from cooperage.programme.rules.kept import USUAL
from cooperage.units import DEFAULT, Units, local_day

_SPIRIT = "spirit added"


@dataclass(frozen=True, slots=True)
class TableRow:
    """One line of one part; `cells` are by class, with what all classes come to at the end. None is no figure."""

    part: str
    line: str
    sign: int
    is_carried: bool
    cells: tuple[Flow | None, ...]

    @property
    def label(self) -> str:
        """The line as it is printed."""
        return f"earlier periods: {self.line}" if self.is_carried else self.line

    @property
    def mark(self) -> str:
        """What its figures do to the stock: "+" or "-"; blank for what is there, and for what rounding left."""
        return "" if self.line in (OPENING, CLOSING, ROUNDING) else "+" if self.sign > 0 else "-"


@dataclass(frozen=True, slots=True)
class PeriodTable:
    """A table of both parts; `classes` name its columns but the last, which is the sum of what is printed.

    `old` are those of class lines that held before.
    """

    classes: tuple[str, ...]
    rows: tuple[TableRow, ...]
    old: frozenset[str] = frozenset()

    def of_part(self, part: str) -> tuple[TableRow, ...]:
        """Return the rows of a part."""
        return tuple(row for row in self.rows if row.part == part)


def table_of(figures: PeriodFigures) -> PeriodTable:
    """Return the figures as a table; a class without a single figure has no column."""
    some = {each.strength_class for each in figures.figures if each.ml or each.steps}
    old = {name for name in some if is_old(name, figures)}
    classes = (*by_strength(old), *by_strength(some - old))
    return PeriodTable(classes, tuple(_rows(figures.figures, classes)), frozenset(old))


def is_old(name: str, figures: PeriodFigures) -> bool:
    """Return True of a class that the class lines of a period do not have: lines that held before it made it."""
    return name not in (*figures.classes.names, NOT_KNOWN)


def _rows(figures: Sequence[PeriodFigure], classes: Sequence[str]) -> Iterator[TableRow]:
    lines: dict[tuple[str, str, int, bool], dict[str, PeriodFigure]] = {}
    for each in figures:
        lines.setdefault((each.part, each.line, each.sign, each.is_carried), {})[each.strength_class] = each
    for (part, line, sign, is_carried), found in lines.items():
        cells = [Flow(found[name].ml, found[name].steps) if name in found else None for name in classes]
        total = Flow(sum(each.ml for each in found.values()), sum(each.steps for each in found.values()))
        if any(cell is not None and (cell.ml or cell.steps) for cell in cells) or line in (OPENING, CLOSING):
            yield TableRow(part, line, sign, is_carried, (*cells, total))


def column_titles(table: PeriodTable, units: Units = DEFAULT) -> tuple[str, ...]:
    """Return the heads of the columns of figures: each class as it is read, and the sum."""
    return (*(f"{'old: ' if name in table.old else ''}{class_words(name, units)}" for name in table.classes), "all")


def cell_text(cell: Flow | None, figures: PeriodFigures, units: Units = DEFAULT) -> str:
    """Return a cell as it is printed; blank where there is no figure."""
    return "" if cell is None else figures.unit.show(cell.steps, units)


def allowance_of(figures: PeriodFigures, allowed: AllowedShare) -> Allowance:
    """Return the loss allowance on what was there as a span began and was received in it, for as long as it was."""
    assert figures.span.start is not None, "a period has a beginning"
    assert figures.span.end is not None, "a period has an end"
    days = (local_day(figures.span.end) - local_day(figures.span.start)).days
    return Allowance(figures.sum_ml(BULK, OPENING) + figures.sum_ml(BULK, RECEIVED), allowed, days)


PRODUCED_SHARE = 0.06
"""Share of the still mead fermented in the year above which its loss is claimed (27 CFR 24.266(b), as of 2006)."""


@dataclass(frozen=True, slots=True)
class LossTest:
    """What was lost of the bulk in a year [ml] beside its two limits, `share` of a base and a share of what fermented.

    How losses are divided between mead that was stored and mead that was fermented is a matter for the authority: here
    all of it is held against each limit that has a base.
    """

    lost_ml: int
    base_ml: int
    produced_ml: int
    share: float

    @property
    def of_base_ml(self) -> int:
        """The limit on what was there and received [ml]."""
        return round(self.share * self.base_ml)

    @property
    def of_produced_ml(self) -> int:
        """The limit on what fermented [ml]."""
        return round(PRODUCED_SHARE * self.produced_ml)

    @property
    def needs_claim(self) -> bool:
        """Return True if more was lost than a limit allows."""
        limits = ((self.base_ml, self.of_base_ml), (self.produced_ml, self.of_produced_ml))
        return any(self.lost_ml > limit for base, limit in limits if base) or (
            self.lost_ml > 0 and not (self.base_ml or self.produced_ml)
        )


def loss_test(figures: PeriodFigures, share: float) -> LossTest:
    """Return what a span lost beside the limits of a whole year."""
    base = figures.sum_ml(BULK, OPENING) + figures.sum_ml(BULK, RECEIVED)
    return LossTest(figures.losses_ml, base, figures.sum_ml(BULK, PRODUCED), share)


def lost_words(figures: PeriodFigures, units: Units = DEFAULT) -> str:
    """Return what was lost in bulk."""
    return f"lost in bulk: {_volume(max(0, figures.losses_ml), figures, units)}"


def _volume(ml: int, figures: PeriodFigures, units: Units) -> str:
    return figures.unit.show(figures.unit.steps(ml), units, with_unit=True)


def loss_words(figures: PeriodFigures, allowed: AllowedShare, units: Units = DEFAULT) -> str:
    """Return what was lost beside the allowance of the time, with where that is written.

    Where the rules are not the usual ones, the share is the cellar's own, and no other limit holds.
    """
    lost = lost_words(figures, units)
    if allowed.share is None:
        return f"{lost}; {allowed.reference}"
    test, time = loss_test(figures, allowed.share), allowance_of(figures, allowed)
    limit, pace, fermented = (
        _volume(ml or 0, figures, units) for ml in (test.of_base_ml, time.pace_ml, test.of_produced_ml)
    )
    words = f"{lost}; the year's allowance is {limit}, the share of {time.days} days {pace}"
    if allowed.rules == USUAL:
        words += f"; of what fermented here {fermented} (6 %)" if test.produced_ml else ""
        words += ", MORE than it" if test.needs_claim else ""
    return f"{words} ({allowed.reference})"


def proof_words(figures: PeriodFigures, abv: float, units: Units = DEFAULT) -> str:
    """Return the spirit that was added in proof gallons, where the unit is gallons and there was any; else ""."""
    ml = figures.sum_ml(BULK, _SPIRIT)
    if not ml or figures.unit is not RETURN_UNITS["gal"]:
        return ""
    before = sum(total for (part, line, _), total in figures.left.totals.items() if (part, line) == (BULK, _SPIRIT))
    steps = proof_steps(gallons(before), abv) - proof_steps(gallons(before - ml), abv)
    return f"{_SPIRIT}: {figures.unit.show(steps, units)} proof gal (27 CFR 30.64)"


def proof_of_class(name: str, figures: PeriodFigures, units: Units = DEFAULT) -> str:
    """Return what is there at the end of a class that the rules count in proof gallons; "" where there is none.

    It is by the strength of each vessel and bottling: wine gallons x strength x 2 / 100, to 0.1, under 0.05 dropped
    (27 CFR 30.64, as of 2019). A proof gallon is a gallon of twice its ethanol.
    """
    found = {part: proof_steps(gallons(figures.left.ethanol.get((part, name), 0)), 100) for part in PARTS}
    if not any(found.values()):
        return ""
    parts = " and ".join(f"{RETURN_UNITS['gal'].show(steps, units)} {part}" for part, steps in found.items() if steps)
    named = f"{class_words(name, units)}, distilled spirits by these rules"
    return f"{named}: closing, in proof gal, {parts} (27 CFR 30.64)"

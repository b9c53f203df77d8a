"""The figures of a span: what was there, what came in and went out by line and class, what is there, as printed too."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from sqlalchemy import Connection

from cooperage.programme.periods.classes import NOT_KNOWN, StrengthClasses, by_strength
from cooperage.programme.periods.lines import BULK, CLOSING, LINES, OPENING, PARTS, ROUNDING
from cooperage.programme.periods.passing import BookPassed, Left, pass_over
from cooperage.programme.periods.postings import Key, Totals, stock_of
from cooperage.programme.periods.rounding import Flow, ReturnUnit
from cooperage.units import Span


@dataclass(frozen=True, slots=True)
class PeriodFigure:
    """One figure: millilitres and what is printed [steps of the unit's last digit]; `sign` is -1 for what goes out.

    `is_carried`: what changed in periods that were filed before, and not in this span.
    """

    part: str
    line: str
    strength_class: str
    sign: int
    ml: int
    steps: int
    is_carried: bool = False


@dataclass(frozen=True, slots=True)
class PeriodFigures:
    """All figures of a span in one unit, in the order they are printed, and what they leave to the next span."""

    span: Span
    unit: ReturnUnit
    classes: StrengthClasses
    figures: tuple[PeriodFigure, ...]
    left: Left

    def sum_ml(self, part: str, *lines: str) -> int:
        """Sum lines of a part over the classes [ml], what was carried left out."""
        return sum(each.ml for each in self.figures if each.part == part and each.line in lines and not each.is_carried)

    @property
    def losses_ml(self) -> int:
        """What was lost of the bulk, by whatever cause [ml], less what was gained."""
        lost = [name for (part, name), line in LINES.items() if part == BULK and line.is_loss]
        return self.sum_ml(BULK, *lost) - self.sum_ml(BULK, "gain")

    @property
    def not_known_ml(self) -> int:
        """What is there at the end without a class [ml]."""
        return sum(each.ml for each in self.figures if each.line == CLOSING and each.strength_class == NOT_KNOWN)


def figures_of(
    connection: Connection,
    span: Span,
    classes: StrengthClasses,
    unit: ReturnUnit,
    filed: Sequence[Left] = (),
    *,
    is_unchanged: bool = False,
) -> tuple[PeriodFigures, BookPassed]:
    """Make the figures of a span, which opens from what was filed last where anything was.

    What the book has changed since in the time that was filed stands on carried lines, so each class balances.
    """
    passed = pass_over(connection, span, classes, filed, is_unchanged=is_unchanged)
    opened = filed[-1].totals if filed else passed.before
    figures = tuple(_figures(opened, passed.before, passed.after, unit))
    assert span.end is not None, "a period has an end"
    left = Left(span.end, classes, passed.after, passed.bottlings, passed.ethanol)
    return PeriodFigures(span, unit, classes, figures, left), passed


def running_totals(figures: PeriodFigures) -> tuple[Totals, Totals, Totals]:
    """Return the running totals from which figures were made: as they were filed before, at both ends of the span."""
    opened, before, after = (dict(figures.left.totals) for _ in range(3))
    for each in figures.figures:
        key = each.part, each.line, each.strength_class
        if key[:2] in LINES:
            opened[key] = opened.get(key, 0) - each.ml
            before[key] = before.get(key, 0) - (0 if each.is_carried else each.ml)
    return opened, before, after


def same_totals(one: Totals, other: Totals) -> bool:
    """Return True if running totals are the same; a line that came to nothing is as one that is not there."""
    return all(one.get(key, 0) == other.get(key, 0) for key in one.keys() | other.keys())


def in_unit(figures: PeriodFigures, unit: ReturnUnit) -> PeriodFigures:
    """Return figures as they would be printed in another unit."""
    if unit is figures.unit:
        return figures
    return replace(figures, unit=unit, figures=tuple(_figures(*running_totals(figures), unit)))


def _figures(opened: Totals, before: Totals, after: Totals, unit: ReturnUnit) -> Iterable[PeriodFigure]:
    opening, closing = stock_of(opened), stock_of(after)
    carried, flows = _between(opened, before, unit), _between(before, after, unit)
    for part in PARTS:
        names = by_strength({name for (each, name), ml in (*opening.items(), *closing.items()) if each == part})
        rows = [
            *(_stock(part, OPENING, name, 1, opening, unit) for name in names),
            *_lines(part, names, carried, is_carried=True),
            *_lines(part, names, flows, is_carried=False),
        ]
        ends = [_stock(part, CLOSING, name, -1, closing, unit) for name in names]
        yield from rows
        yield from _rounding([*rows, *ends])
        yield from ends


def _between(earlier: Totals, later: Totals, unit: ReturnUnit) -> dict[Key, Flow]:
    found = {
        key: Flow.between(earlier.get(key, 0), later.get(key, 0), unit.steps) for key in earlier.keys() | later.keys()
    }
    return {key: flow for key, flow in found.items() if flow.ml or flow.steps}


def _stock(
    part: str, line: str, name: str, sign: int, stock: Mapping[tuple[str, str], int], unit: ReturnUnit
) -> PeriodFigure:
    ml = stock.get((part, name), 0)
    return PeriodFigure(part, line, name, sign, ml, unit.steps(ml))


def _lines(part: str, names: Sequence[str], flows: Mapping[Key, Flow], *, is_carried: bool) -> Iterable[PeriodFigure]:
    for line in LINES.values():
        for name in names:
            flow = flows.get((part, line.name, name))
            if line.part == part and flow is not None:
                yield PeriodFigure(part, line.name, name, line.sign, flow.ml, flow.steps, is_carried)


def _rounding(figures: Iterable[PeriodFigure]) -> Iterable[PeriodFigure]:
    """Yield what rounding left between the printed figures of each class."""
    left: dict[tuple[str, str], int] = defaultdict(int)
    for each in figures:
        left[each.part, each.strength_class] += each.sign * each.steps
    for (part, name), steps in left.items():
        if steps:
            yield PeriodFigure(part, ROUNDING, name, 1, 0, -steps)


def balance(figures: Iterable[PeriodFigure]) -> dict[tuple[str, str], tuple[int, int]]:
    """Return what the figures of each part and class are off by (ml, printed steps), zero where they balance."""
    off: dict[tuple[str, str], tuple[int, int]] = {}
    for each in figures:
        ml, steps = off.get((each.part, each.strength_class), (0, 0))
        off[each.part, each.strength_class] = ml + each.sign * each.ml, steps + each.sign * each.steps
    return off


def sum_of(adjoining: Sequence[PeriodFigures]) -> PeriodFigures:
    """Sum the figures of spans that adjoin and have one unit: they open as the first does, and close as the last."""
    first, last = adjoining[0], adjoining[-1]
    kept: dict[tuple[str, str, str, bool], PeriodFigure] = {}
    for figures in adjoining:
        for each in figures.figures:
            is_end = each.line == CLOSING and figures is not last
            if is_end or (each.line == OPENING and figures is not first):
                continue
            key = each.part, each.line, each.strength_class, each.is_carried
            had = kept.get(key)
            ml, steps = (0, 0) if had is None else (had.ml, had.steps)
            kept[key] = PeriodFigure(*key[:3], each.sign, ml + each.ml, steps + each.steps, each.is_carried)
    ordered = sorted((each for each in kept.values() if not _is_nothing(each)), key=_printing_order)
    return PeriodFigures(Span(first.span.start, last.span.end), last.unit, last.classes, tuple(ordered), last.left)


def _is_nothing(figure: PeriodFigure) -> bool:
    return not (figure.ml or figure.steps or figure.line in (OPENING, CLOSING))


def _printing_order(figure: PeriodFigure) -> tuple[int, int, int]:
    places = {OPENING: 0, ROUNDING: 3, CLOSING: 4}
    lines = list(LINES)
    place = places.get(figure.line, 1 if figure.is_carried else 2)
    of_lines = lines.index((figure.part, figure.line)) if place in (1, 2) else 0
    return PARTS.index(figure.part), place, of_lines

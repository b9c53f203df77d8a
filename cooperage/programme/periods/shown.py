"""Which figures a period is shown with: as filed, as the sum of what was filed, or as they would be filed now."""

from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import timedelta

from sqlalchemy import Connection

from cooperage.book import Book
from cooperage.book.declared.substances import SUBSTANCES
from cooperage.programme.losses.allowance import allowed_on
from cooperage.programme.periods.classes import class_words, classes_on
from cooperage.programme.periods.closing import CannotPrecede, check_over, draft_in
from cooperage.programme.periods.differences import LateEntry, differences_in, lines_words
from cooperage.programme.periods.figures import PeriodFigures, figures_of, in_unit, sum_of
from cooperage.programme.periods.period import NOTE, FiledPeriod, NoSuchPeriod, begun, code_of, next_span, read_period
from cooperage.programme.periods.rounding import ReturnUnit, return_unit
from cooperage.programme.periods.stored import filed_in, find_period, standing
from cooperage.programme.periods.table import is_old, loss_words, proof_of_class, proof_words
from cooperage.programme.rules.profile import profile_of
from cooperage.units import ALWAYS, DEFAULT, Span, Units, counted, local_day, midnight, show_day, show_span

BY_THE_BOOK = "as the book has it now; not filed"


CHAINED = (
    "A printed figure is the difference of rounded running totals, so that months add up to their year: it may be "
    "off by one in its last digit, beside its own litres rounded; the exact litres are in the CSV and JSON"
)


@dataclass(frozen=True, slots=True)
class ShownPeriod:
    """A period with its figures; `how` is where they come from.

    `filed` is what was filed of it, `late` what came later for it, `in_the_way` what stands in the way of closing it.
    `notes` are the lines below the table.
    """

    code: str
    how: str
    figures: PeriodFigures
    filed: FiledPeriod | None
    late: tuple[LateEntry, ...]
    in_the_way: tuple[str, ...]
    can_close: bool
    notes: tuple[str, ...]

    @property
    def title(self) -> str:
        """Its code and days, the unit, and where its figures are from."""
        return f"Period {self.code}, {show_span(self.figures.span)}, in {self.figures.unit.label}: {self.how}"


def shown_to_file(
    book: Book, span: Span, unit: ReturnUnit, units: Units = DEFAULT, *, correct: bool = False
) -> ShownPeriod:
    """Return what closing a span would file; raises PeriodNotOver and what `draft_in` does."""
    check_over(span, book.now())
    with book.reading() as connection:
        draft = draft_in(connection, span, unit, units, correct=correct)
        how = f"as it would be filed{f' as a correction of {draft.corrects.code}' if draft.corrects else ''}"
        return _shown(connection, how, draft.figures, units, in_the_way=draft.in_the_way, can_close=True)


def shown_period(
    book: Book, text: str | None = None, units: Units = DEFAULT, unit: str | None = None, usual: str | None = None
) -> ShownPeriod:
    """Find the figures of a period as it is typed; without a text of the next one to close.

    What was filed is in the unit it was filed in, unless a `unit` is named; other figures are in the `usual` one, which
    left out is what goes with the person's.

    Raises NotAPeriod, EndsTooSoon, PeriodNotBegun, NoSuchPeriod, NotAReturnUnit.
    """
    with book.reading() as connection:
        filed = filed_in(connection)
        chain = standing(filed)
        if text is not None and "/" in text:
            return _as_filed(connection, find_period(filed, text), units, unit)
        if text is None:
            span = next_span(chain[-1]) if chain else read_period("last month", book.now())
        else:
            span = begun(read_period(text, book.now()), book.now())
        return _of_span(connection, book, span, chain, units, unit, usual)


def shown_of_span(book: Book, span: Span, units: Units = DEFAULT) -> ShownPeriod:
    """Find the figures of a span; an end that is left out is today's, a beginning the end of what was filed last.

    Where nothing is filed, that is the beginning of the year.
    """
    if span == ALWAYS:
        return shown_period(book, None, units)
    with book.reading() as connection:
        chain = standing(filed_in(connection))
        end = span.end or midnight(local_day(book.now()) + timedelta(days=1))
        january = midnight(local_day(end - timedelta(days=1)).replace(month=1, day=1))
        start = span.start or (chain[-1].end if chain and chain[-1].end < end else january)
        return _of_span(connection, book, Span(start, end), chain, units)


def _of_span(
    connection: Connection,
    book: Book,
    span: Span,
    chain: Sequence[FiledPeriod],
    units: Units,
    unit: str | None = None,
    usual: str | None = None,
) -> ShownPeriod:
    assert span.start is not None, "a period has a beginning"
    assert span.end is not None, "a period has an end"
    tiles = [each for each in chain if each.start >= span.start and each.end <= span.end]
    is_whole = bool(tiles) and tiles[0].start == span.start and tiles[-1].end == span.end
    if is_whole and len(tiles) == 1:
        return _as_filed(connection, tiles[0], units, unit)
    if is_whole:
        names = f"the sum of {counted(len(tiles), 'filed period')}"
        return _shown(connection, names, _sum_of(tiles, units, unit), units)
    in_unit_of = return_unit(unit or usual, units)
    is_next = not chain or span.start == chain[-1].end
    if is_next or span.end == chain[0].start:
        with suppress(CannotPrecede):
            draft = draft_in(connection, span, in_unit_of, units)
            is_over = span.end <= book.now()
            how = "as it would be filed now" if is_over else "so far; it is not over"
            return _shown(connection, how, draft.figures, units, in_the_way=draft.in_the_way, can_close=is_over)
    figures, _ = figures_of(connection, span, classes_on(connection, local_day(span.start)), in_unit_of)
    return _shown(connection, BY_THE_BOOK, figures, units)


def _sum_of(tiles: Sequence[FiledPeriod], units: Units, unit: str | None) -> PeriodFigures:
    """Sum periods in the unit that is named, else in theirs where it is one, else in what goes with the person's."""
    filed_in_units = {each.figures.unit.name for each in tiles}
    common = filed_in_units.pop() if unit is None and len(filed_in_units) == 1 else unit
    return sum_of([in_unit(each.figures, return_unit(common, units)) for each in tiles])


def _as_filed(connection: Connection, period: FiledPeriod, units: Units, unit: str | None = None) -> ShownPeriod:
    by = f" by {period.hand}" if period.hand else ""
    figures = period.figures if unit is None else in_unit(period.figures, return_unit(unit, units))
    other = "" if figures.unit is period.figures.unit else f" in {period.figures.unit.label}"
    how = f"filed{other} {show_day(period.written_at)}{by}"
    late = tuple(differences_in(connection, period.code))
    return _shown(connection, how, figures, units, filed=period, late=late)


def _shown(
    connection: Connection,
    how: str,
    figures: PeriodFigures,
    units: Units,
    *,
    filed: FiledPeriod | None = None,
    late: tuple[LateEntry, ...] = (),
    in_the_way: tuple[str, ...] = (),
    can_close: bool = False,
) -> ShownPeriod:
    notes = [_loss_words(connection, figures, units), proof_words(figures, SUBSTANCES["spirit"].abv, units)]
    notes += _proof_words(connection, figures, units)
    notes += [f"classes: {figures.classes.rules}; {figures.unit.rule}", *_class_words(connection, figures)]
    notes += [CHAINED]
    notes += [f"note: {filed.note}"] if filed and filed.note else []
    if late:
        carried = sum(each.carried_in is not None for each in late)
        later = f"{counted(len(late), 'entry', 'entries')} came later for it, {carried} carried into the next"
        notes.append(f"{later}: `cooperage period differences {filed.code if filed else ''}`")
    notes += [f"in the way: {each}" for each in in_the_way]
    code = filed.code if filed else code_of(figures.span)
    return ShownPeriod(code, how, figures, filed, late, in_the_way, can_close, (*filter(None, notes), NOTE))


def _loss_words(connection: Connection, figures: PeriodFigures, units: Units) -> str:
    """Return what was lost beside the allowance: of the rules that the cellar works by, or its own where it has one."""
    assert figures.span.start is not None, "a period has a beginning"
    allowed = allowed_on(connection, local_day(figures.span.start))
    return loss_words(figures, allowed, units)


def _proof_words(connection: Connection, figures: PeriodFigures, units: Units) -> list[str]:
    """Return a line for each class that the rules of the cellar count by proof: that of distilled spirits."""
    assert figures.span.start is not None, "a period has a beginning"
    rules = profile_of(connection, local_day(figures.span.start)).figures
    spirits = [each.span.parts for each in rules if each.name == _SPIRITS]
    names = [" ".join(f"{sign}{float(bound):g}" for sign, bound in parts) for parts in spirits]
    return [proof_of_class(name, figures, units) for name in names]


_SPIRITS = "tax-class.spirits"
"""The rule whose class is counted by proof, and not by the volume of mead."""


def _class_words(connection: Connection, figures: PeriodFigures) -> Iterator[str]:
    """Yield what is to be known about columns of older class lines, and about rules that came in the course of it."""
    if any(is_old(each.strength_class, figures) for each in figures.figures if each.ml):
        yield "old: a class of the lines before; what it held went over on the lines “by new class lines”"
    assert figures.span.start is not None, "a period has a beginning"
    assert figures.span.last is not None, "a period has an end"
    first, last = (classes_on(connection, local_day(each)) for each in (figures.span.start, figures.span.last))
    if first.lines == figures.classes.lines != last.lines:
        yield f"other class lines begin within it ({last.rules}); they count from the next period on"


def carried_lines(book: Book, units: Units = DEFAULT) -> list[str]:
    """Return what all that came later makes of the next period, a line of it a class, exact in the person's unit."""
    with book.reading() as connection:
        chain = standing(filed_in(connection))
        if not chain:
            return []
        draft = draft_in(connection, next_span(chain[-1]), return_unit(None, units), units)
    return [
        f"{each.part}, {class_words(each.strength_class, units)}: {lines_words([(each.line, each.ml)], units)}"
        for each in draft.figures.figures
        if each.is_carried and each.ml
    ]


def known_period(book: Book, code: str) -> FiledPeriod:
    """Find a filed period by its code or by what is typed for its span; raises NoSuchPeriod, NotAPeriod."""
    with book.reading() as connection:
        filed = filed_in(connection)
    try:
        return find_period(filed, code)
    except NoSuchPeriod:
        span = read_period(code, book.now())
        found = next((each for each in standing(filed) if each.span == span), None)
        if found is None:
            raise
        return found

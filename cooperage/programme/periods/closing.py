"""Closing a period: what stands in the way, and the figures that are frozen. A correction is a period too."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, select

from cooperage.book import Book, Writing
from cooperage.book.declared.allowed import LONGEST_NOTE, LONGEST_TEXT, check_text
from cooperage.book.store.registry import Registry
from cooperage.book.store.tables import WALK
from cooperage.errors import AskedBack, Refused
from cooperage.programme.bottling.stored import open_runs
from cooperage.programme.periods.classes import NOT_KNOWN, classes_on
from cooperage.programme.periods.figures import PeriodFigures, figures_of, running_totals, same_totals
from cooperage.programme.periods.passing import BookPassed
from cooperage.programme.periods.period import FiledPeriod, code_of, next_span, span_before
from cooperage.programme.periods.rounding import ReturnUnit
from cooperage.programme.periods.stored import (
    counted_before,
    filed_in,
    find_period,
    insert_period,
    not_counted,
    standing,
)
from cooperage.units import DEFAULT, Quantity, Span, Units, local_day, show, show_day, show_when, show_zone

_MOST_NAMED = 6


class PeriodNotOver(Refused):
    """A period that still goes on."""

    def __init__(self, span: Span, now: datetime) -> None:
        self.span, self.now = span, now
        super().__init__(f"{code_of(span)} is not over before {show_when(span.end)}; close it then")


class PeriodDoesNotAdjoin(Refused):
    """A period that leaves a gap after the last one or before the first, or lies over one."""

    def __init__(self, span: Span, first: FiledPeriod, last: FiledPeriod) -> None:
        self.span, self.last = span, last
        super().__init__(
            f"{code_of(span)} does not begin where {last.code}, the last filed period, ends; the next to close is "
            f"{code_of(next_span(last))}, or {code_of(span_before(first))} before the first"
        )


class CannotPrecede(Refused):
    """An earlier period that does not lead to what the first one that was filed opens with."""

    def __init__(self, span: Span, first: FiledPeriod, why: str) -> None:
        self.span, self.first = span, first
        super().__init__(f"{code_of(span)} cannot be filed any more, since it has to lead to {first.code}: {why}")


class PeriodIsFiled(Refused):
    """A period that was filed before."""

    def __init__(self, period: FiledPeriod) -> None:
        self.period = period
        super().__init__(
            f"{period.code} was filed {show_day(period.written_at)} and stays as it is; what came later goes into the "
            "next period, or --correct files a correction of it"
        )


class NotTheLastPeriod(Refused):
    """A correction of a period from which another has opened."""

    def __init__(self, code: str, last: FiledPeriod | None) -> None:
        self.code = code
        why = f"the last is {last.code}; differences of those before it are carried into the next" if last else ""
        super().__init__(f"only the last filed period can be corrected: {why or 'nothing is filed yet'}")


class NothingToCorrect(Refused):
    """A correction that would file the same figures again."""

    def __init__(self, period: FiledPeriod) -> None:
        self.period = period
        super().__init__(
            f"nothing changed since {period.code} was filed {show_day(period.written_at)}; there is nothing to correct"
        )


class FiguresHaveChanged(Refused):
    """Figures that are not those which were shown before they were to be filed."""

    def __init__(self, span: Span) -> None:
        self.span = span
        super().__init__(f"the figures of {code_of(span)} changed while they were shown; look at them again")


class PeriodInTheWay(AskedBack):
    """A period that can be closed though something is open in it; each thing is named."""

    def __init__(self, span: Span, found: Sequence[str]) -> None:
        self.span, self.found = span, tuple(found)
        super().__init__(f"in the way of closing {code_of(span)}: {'; '.join(found)}")


@dataclass(frozen=True, slots=True)
class PeriodDraft:
    """What would be filed: the figures, the cellar's ledger at the end, the ids that count, what is in the way.

    `opens_from` is the period before it, None for the first; `entries` are the ids that none before it counts. One that
    is filed before the first counts of those which that counts, and none in the way of it is new.
    """

    figures: PeriodFigures
    passed: BookPassed
    opens_from: FiledPeriod | None
    corrects: FiledPeriod | None
    entries: tuple[str, ...]
    in_the_way: tuple[str, ...]


def draft_in(
    connection: Connection, span: Span, unit: ReturnUnit, units: Units = DEFAULT, *, correct: bool = False
) -> PeriodDraft:
    """Make what would be filed for a span, in a view of the caller's.

    Raises PeriodDoesNotAdjoin, CannotPrecede, PeriodIsFiled, NotTheLastPeriod, NothingToCorrect.
    """
    filed = filed_in(connection)
    chain, corrects = _chain(filed, span, correct=correct)
    if chain and span.end == chain[0].start:
        return _preceding(connection, span, unit, units, chain[0])
    draft = _drafted(connection, span, unit, units, chain, corrects)
    if corrects is not None and _is_same(connection, draft, [*chain, corrects]):
        raise NothingToCorrect(corrects)
    return draft


def _is_same(connection: Connection, draft: PeriodDraft, chain: Sequence[FiledPeriod]) -> bool:
    """Return True if a correction would file what stands: the same figures, and no entry that came later."""
    came_later = connection.execute(not_counted(chain[-1].end, chain).limit(1)).first()
    return came_later is None and draft.figures.figures == chain[-1].figures.figures


def _preceding(connection: Connection, span: Span, unit: ReturnUnit, units: Units, first: FiledPeriod) -> PeriodDraft:
    """Draft a period that ends where the first filed one begins: it has to close with what that opened with."""
    assert span.start is not None, "a period has a beginning"
    classes = classes_on(connection, local_day(span.start))
    if classes.lines != first.figures.classes.lines:
        raise CannotPrecede(span, first, "its class lines are others")
    figures, passed = figures_of(connection, span, classes, unit)
    if not same_totals(passed.after, running_totals(first.figures)[1]):
        raise CannotPrecede(span, first, "entries came later for the time before that, and are carried on from there")
    entries = tuple(connection.execute(counted_before(first, figures.left.end)).scalars())
    return PeriodDraft(figures, passed, None, None, entries, _in_the_way(connection, span, figures, passed, units))


def _in_the_way(
    connection: Connection, span: Span, figures: PeriodFigures, passed: BookPassed, units: Units
) -> tuple[str, ...]:
    return (
        *_open_walks(connection, span),
        *_open_runs(connection, span),
        *_not_known(connection, figures, passed, units),
        *(
            ()
            if any(each.ml for each in figures.figures)
            else ("the book has nothing to file: no figure is above zero",)
        ),
    )


def _chain(filed: Sequence[FiledPeriod], span: Span, *, correct: bool) -> tuple[list[FiledPeriod], FiledPeriod | None]:
    """Return the periods that a span follows, and the one it would correct."""
    chain = standing(filed)
    same = next((each for each in chain if each.span == span), None)
    if correct:
        if same is None or same is not chain[-1]:
            raise NotTheLastPeriod(code_of(span), chain[-1] if chain else None)
        return chain[:-1], same
    if same is not None:
        raise PeriodIsFiled(same)
    if chain and span.start != chain[-1].end and span.end != chain[0].start:
        raise PeriodDoesNotAdjoin(span, chain[0], chain[-1])
    return chain, None


def _drafted(
    connection: Connection,
    span: Span,
    unit: ReturnUnit,
    units: Units,
    chain: Sequence[FiledPeriod],
    corrects: FiledPeriod | None,
) -> PeriodDraft:
    assert span.end is not None, "a period has an end"
    is_unchanged = bool(chain) and connection.execute(not_counted(chain[-1].end, chain).limit(1)).first() is None
    assert span.start is not None, "a period has a beginning"
    classes, left = classes_on(connection, local_day(span.start)), [each.figures.left for each in chain]
    figures, passed = figures_of(connection, span, classes, unit, left, is_unchanged=is_unchanged)
    entries = tuple(connection.execute(not_counted(span.end, chain)).scalars())
    in_the_way = _in_the_way(connection, span, figures, passed, units)
    return PeriodDraft(figures, passed, chain[-1] if chain else None, corrects, entries, in_the_way)


def _open_walks(connection: Connection, span: Span) -> list[str]:
    query = select(WALK.c.began_at).where(WALK.c.ended_at.is_(None), WALK.c.began_at < span.end)
    begun = connection.execute(query.order_by(WALK.c.began_at)).scalars()
    return [f"the walk begun {show_when(each)} is not ended" for each in begun]


def _open_runs(connection: Connection, span: Span) -> list[str]:
    assert span.end is not None, "a period has an end"
    return [f"the bottling run {run.code} is not closed" for run in open_runs(connection) if run.opened_at < span.end]


def _not_known(connection: Connection, figures: PeriodFigures, passed: BookPassed, units: Units) -> list[str]:
    """Return a line that names what has no class at the end, most first."""
    if not figures.not_known_ml:
        return []
    registry, held = Registry(connection), Counter[str]()
    for each, stood in (*passed.vessels.items(), *passed.stores.items()):
        if stood.ml and stood.strength_class == NOT_KNOWN:
            held[passed.codes.get(each) or registry.by_id(each).tag] += stood.ml
    most = sorted(held, key=lambda tag: -held[tag])
    named = [f"{tag} {show(Quantity.VOLUME, held[tag], units)}" for tag in most[:_MOST_NAMED]]
    more = [f"{len(most) - _MOST_NAMED} more"] if len(most) > _MOST_NAMED else []
    volume = show(Quantity.VOLUME, figures.not_known_ml, units)
    return [f"{volume} of which the strength is not known ({', '.join([*named, *more])}): measure it"]


def check_over(span: Span, now: datetime) -> None:
    """Check that a span is over; raises PeriodNotOver."""
    if span.end is None or span.end > now:
        raise PeriodNotOver(span, now)


def close_period(
    book: Book,
    span: Span,
    unit: ReturnUnit,
    *,
    hand: str = "",
    note: str = "",
    counts: dict[str, dict[str, int]] | None = None,
    correct: bool = False,
    sure: bool = False,
    seen: PeriodFigures | None = None,
    units: Units = DEFAULT,
) -> FiledPeriod:
    """Freeze the figures of a span as they are now; nothing moves them any more.

    `correct` files it in the place of the last one, of the same span; both stay. `seen` are the figures that a person
    agreed to. Raises PeriodNotOver, FiguresHaveChanged, what `draft_in` does, and PeriodInTheWay unless `sure`.
    """
    check_text(hand, "the name", LONGEST_TEXT)
    check_text(note, "the note", LONGEST_NOTE)
    with book.writing() as session:
        check_over(span, session.now)
        draft = draft_in(session.connection, span, unit, units, correct=correct)
        if seen is not None and draft.figures.figures != seen.figures:
            raise FiguresHaveChanged(span)
        if draft.in_the_way and not sure:
            raise PeriodInTheWay(span, draft.in_the_way)
        code = _file(session, draft, hand, note, counts or {})
        return find_period(filed_in(session.connection), code)


def _file(session: Writing, draft: PeriodDraft, hand: str, note: str, counts: dict[str, dict[str, int]]) -> str:
    code = code_of(draft.figures.span)
    if draft.corrects is not None:
        before = draft.corrects.code.partition("/")[2]
        code = f"{code}/{int(before) + 1 if before else 2}"
    assert draft.figures.span.start is not None, "a period has a beginning"
    about = {
        "id": session.new_id(),
        "code": code,
        "zone": show_zone(draft.figures.span.start),
        "counted": counts,
        "hand": hand,
        "note": note,
        "written_at": session.now,
        "corrects_id": draft.corrects and draft.corrects.id,
    }
    insert_period(session, draft.figures, about, draft.entries)
    return code

"""Acts that belong together: all of them are written, or none, and what the book asks back is asked all at once."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from functools import partial

from cooperage.book import Act, Book, Writing, Written
from cooperage.book.declared import acts
from cooperage.book.errors import Implausible, OddLevel
from cooperage.programme.ageing.aged import cellar_now
from cooperage.units import Units

_QUESTIONS_SHOWN = 4


class AskedTogether(Implausible):
    """Questions about several acts, each shown once; one yes answers for all."""

    def __init__(self, questions: Sequence[Implausible]) -> None:
        self.questions = tuple({str(question): question for question in questions}.values())
        super().__init__("")

    def question(self, units: Units) -> str:
        """Return what is implausible, the first few questions in full."""
        questions = [question.question(units) for question in self.questions[:_QUESTIONS_SHOWN]]
        more = len(self.questions) - len(questions)
        return "; ".join([*questions, *([f"and {more} more like that"] if more else [])])


def write_act(book: Book, act: Act) -> Written:
    """Write one act; what the barrel was expected to have lost is not asked back. Raises what `Book.write` raises."""
    with book.writing() as session:
        return write_in(session, book, act)


def write_in(session: Writing, book: Book, act: Act) -> Written:
    """Write an act; only if its figure looks odd to the book alone, calculate what was expected of the vessel."""
    try:
        return session.write(act, band_of=partial(_band, book, act))
    except OddLevel:
        expected = expecting(book, act)
        if expected.expected is None:
            raise
        return session.write(expected)


def _band(book: Book, act: Act, name: str) -> tuple[float, float] | None:
    """Return the band in which a figure of a reading's vessel was expected just before; None where none is known."""
    if not isinstance(act, acts.Reading):
        return None
    figure = cellar_now(book, act.at)[act.vessel].figure(name)
    return None if figure.low is None or figure.high is None else (figure.low, figure.high)


def expecting(book: Book, act: Act) -> Act:
    """Return an act with what its barrel was expected to hold just before, by its own loss rate and its leak, if any.

    Where it was seen low and the level is not known, only the calculated level is expected.
    """
    if not isinstance(act, acts.Top | acts.Gauge):
        return act
    # Rates bring NumPy, and few acts ask for them: a plain topping is written without.
    from cooperage.programme.losses.ledger import loss_rates
    from cooperage.programme.losses.level import level_now

    cellar = book.cellar(act.at)
    standing = cellar[act.vessel]
    level = level_now(standing, loss_rates(book, cellar).get(standing.tag))
    return replace(act, expected=(level.ml if level.low is None else level.low, level.high))


def write_together(
    book: Book,
    wanted: Iterable[Act],
    *,
    sure: bool = False,
    doubts: Sequence[Implausible] = (),
    also: Callable[[Writing], None] | None = None,
) -> list[Written]:
    """Write acts in one transaction, in order, and `also` what else belongs to them: all of it, or nothing.

    `doubts` are asked back together with what the book itself asks back, unless it is `sure`. Raises AskedTogether, and
    what `Book.write` raises.
    """
    written: list[Written] = []
    asked = [] if sure else list(doubts)
    with book.writing() as session:
        for act in wanted:
            try:
                written.append(write_in(session, book, replace(act, sure=act.sure or sure)))
            except Implausible as question:
                asked.append(question)
        if asked:
            raise AskedTogether(asked)
        if also is not None:
            also(session)
    return written

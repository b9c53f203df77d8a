"""Acts that belong together: all of them are written, or none, and what the book asks back is asked all at once."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from functools import partial

from cooperage.book import Act, Book, Writing, Written
from cooperage.book.declared import acts
from cooperage.book.errors import Implausible, OddLevel
from cooperage.errors import AskedBack, Refused
from cooperage.programme.ageing.aged import cellar_now
from cooperage.units import DEFAULT, Units

_QUESTIONS_SHOWN = 4


class AskedTogether(Implausible):
    """Questions about several acts, each shown once; one yes answers for all."""

    def __init__(self, questions: Sequence[AskedBack]) -> None:
        self.questions = tuple({str(question): question for question in questions}.values())
        super().__init__("")

    def question(self, units: Units) -> str:
        """Return what is implausible, the first few questions in full."""
        questions = [question.question(units) for question in self.questions[:_QUESTIONS_SHOWN]]
        more = len(self.questions) - len(questions)
        parts = [*questions, *([f"and {more} more like that"] if more else [])]
        return "".join(f"{part} " if part.endswith("?") else f"{part}; " for part in parts).rstrip("; ")


class OneRefused(Refused):
    """What the book refused of one of several vessels, named where the rule itself names another."""

    def __init__(self, vessel: str, cause: Refused) -> None:
        self.vessel, self.cause = vessel, cause
        super().__init__(self.words(DEFAULT))

    def words(self, units: Units) -> str:
        """Return the refusal in the user's units."""
        words = self.cause.words(units)
        return words if self.vessel in words else f"{self.vessel}: {words}"


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
    doubts: Sequence[AskedBack] = (),
    also: Callable[[Writing, Sequence[Written]], None] | None = None,
    as_one: bool = False,
) -> list[Written]:
    """Write acts in one transaction, in order, and `also` what else belongs to them: all of it, or nothing.

    With `as_one` they bear one mark, by which all of them are struck together. `doubts` are asked back together with
    what the book itself asks back, unless it is `sure`. Raises AskedTogether, and what `Book.write` raises.
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
        if as_one and len(written) > 1:
            session.mark_together(each.id for each in written)
        if also is not None:
            also(session, written)
    return written


def write_as_one(
    book: Book,
    wanted: Mapping[str, Act],
    *,
    sure: bool = False,
    doubts: Sequence[AskedBack] = (),
    also: Callable[[Writing, Sequence[Written]], None] | None = None,
) -> list[Written]:
    """Write the same act on several vessels, by their tags, in one transaction and with one mark; or nothing.

    What is asked back is taken as answered for the acts after it, so that one yes answers for all. `also` writes what
    else belongs to them. Raises AskedTogether, OneRefused where there are several, and what `Book.write` raises.
    """
    asked = [] if sure else list(doubts)
    with book.writing() as session:
        written = []
        for tag, act in wanted.items():
            with naming(tag if len(wanted) > 1 else ""):
                written.append(write_one(session, book, replace(act, sure=act.sure or sure), asked))
        if asked:
            raise AskedTogether(asked)
        if len(written) > 1:
            session.mark_together(each.id for each in written)
        if also is not None:
            also(session, written)
    return written


def write_one(session: Writing, book: Book, act: Act, asked: list[AskedBack]) -> Written:
    """Write one of several acts; what is asked back joins `asked`, and the act is written for those after it."""
    try:
        return write_in(session, book, act)
    except Implausible as question:
        asked.append(question)
        return session.write(replace(act, sure=True))


@contextmanager
def naming(tag: str) -> Iterator[None]:
    """Give what is refused of one of several vessels its name; without a name, leave it. A question names it itself."""
    try:
        yield
    except Refused as cause:
        if not tag or isinstance(cause, AskedBack):
            raise
        raise OneRefused(tag, cause) from cause

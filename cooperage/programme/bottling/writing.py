"""Writing the lines of an open run: each is committed at once, so that a stop of the program loses none."""

from collections.abc import Sequence
from dataclasses import replace

from cooperage.book import Book, Writing
from cooperage.book.declared.allowed import LONGEST_TEXT, MOST_COUNTED, NotAllowed, check_text
from cooperage.book.errors import Implausible
from cooperage.book.writing.doubts import literal
from cooperage.programme.bottling.errors import NoSuchLine, NotASizeOfIt
from cooperage.programme.bottling.run import BottlingRun, RunLine, RunLineKind
from cooperage.programme.bottling.stored import find_open_run, insert_lines, next_line


def write_lines(
    book: Book, code: str, wanted: Sequence[RunLine], *, hand: str = "", sure: bool = True
) -> tuple[BottlingRun, list[RunLine]]:
    """Write lines of the run of a code ("" for the one that is open) as one, in order; return the run, and the lines.

    Bottles and fill checks are of a size of the run, the only one where it has only one; a line that strikes names one
    that stands. Raises NoSuchRun, NoOpenRun, RunIsClosed, NotASizeOfIt, NoSuchLine, NotAllowed.
    Unless `sure`, lines that come to more than the vessels hold are asked back (Implausible).
    """
    check_text(hand, "the name", LONGEST_TEXT)
    written = []
    with book.writing() as session:
        run = find_open_run(session.connection, code)
        for each in wanted:
            _check(run, each)
            size = size_of(run, each.bottle_ml) if each.bottles is not None or each.volumes_ml else each.bottle_ml
            line = next_line(run, replace(each, bottle_ml=size, hand=hand, at=session.now))
            insert_lines(session.connection, [line])
            run = replace(run, lines=(*run.lines, line))
            written.append(line)
        if not sure and any(line.bottles or line.ml for line in written):
            _ask_if_too_much(session, run)
    return run, written


def _ask_if_too_much(session: Writing, run: BottlingRun) -> None:
    """Ask back what a run comes to above what its vessels hold, by the book and as it was expected."""
    held = sum(session.state_of(session.registry.vessel(tag).id).ml for tag in run.vessels)
    most = max(held, run.expected.high_ml + run.expected.loss_ml)
    comes_to = run.volume(RunLineKind.FILLED) + run.lost_ml + run.volume(RunLineKind.SAMPLE)
    if comes_to > most:
        raise Implausible(
            f"run {literal(run.code)} would come to {{comes_to}}, and {literal(', '.join(run.vessels))} held {{most}}. "
            "Is the number right?",
            comes_to=comes_to,
            most=most,
        )


def _check(run: BottlingRun, line: RunLine) -> None:
    """Refuse a line that cannot be. Raises NotAllowed, NoSuchLine."""
    for number, what in ((line.bottles, "bottles"), (line.ml, "the volume")):
        if number is not None and not 0 < number <= MOST_COUNTED:
            raise NotAllowed(what, f"{what} must be above zero, and no more than a cellar holds")
    check_text(line.words, "the words", LONGEST_TEXT)
    if line.strikes is not None and line.strikes not in {each.number for each in run.standing}:
        raise NoSuchLine(run.code, line.strikes)


def write_line(
    book: Book,
    code: str,
    kind: RunLineKind,
    *,
    bottle_ml: int | None = None,
    bottles: int | None = None,
    ml: int | None = None,
    volumes_ml: Sequence[float] = (),
    words: str = "",
    hand: str = "",
    sure: bool = True,
) -> tuple[BottlingRun, RunLine]:
    """Write one line, as `write_lines` does; return the run with it, and the line."""
    line = RunLine("", 0, kind, bottle_ml, bottles, ml, tuple(volumes_ml), words)
    run, [written] = write_lines(book, code, [line], hand=hand, sure=sure)
    return run, written


def size_of(run: BottlingRun, bottle_ml: int | None) -> int:
    """Return the size that is meant: the only one where none is given. Raises NotASizeOfIt."""
    if bottle_ml is None and len(run.sizes) == 1:
        return next(iter(run.sizes))
    if bottle_ml is None or bottle_ml not in run.sizes:
        raise NotASizeOfIt(run.code, run.sizes, bottle_ml)
    return bottle_ml


def strike_line(book: Book, code: str, number: int, *, words: str = "", hand: str = "") -> tuple[BottlingRun, RunLine]:
    """Strike a line by another; return the run with it, and the line that was struck. Raises as `write_lines` does."""
    line = RunLine("", 0, RunLineKind.STRUCK, words=words, strikes=number)
    run, _ = write_lines(book, code, [line], hand=hand)
    return run, next(each for each in run.lines if each.number == number)

"""Writing the lines of an open run: each is committed at once, so that a stop of the program loses none."""

from collections.abc import Sequence

from cooperage.book import Book
from cooperage.book.declared.allowed import LONGEST_TEXT, MOST_COUNTED, NotAllowed, check_text
from cooperage.programme.bottling.errors import NoSuchLine, NotASizeOfIt
from cooperage.programme.bottling.run import BottlingRun, RunLine, RunLineKind
from cooperage.programme.bottling.stored import find_open_run, find_run, insert_lines, next_line


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
) -> tuple[BottlingRun, RunLine]:
    """Write a line of the run of a code ("" for the one that is open); return the run with it, and the line.

    Bottles and fill checks are of a size of the run, the only one where it has only one. Raises NoSuchRun, NoOpenRun,
    RunIsClosed, NotASizeOfIt, NotAllowed.
    """
    for number, what in ((bottles, "bottles"), (ml, "the volume")):
        if number is not None and not 0 < number <= MOST_COUNTED:
            raise NotAllowed(what, f"{what} must be above zero, and no more than a cellar holds")
    check_text(words, "the words", LONGEST_TEXT)
    check_text(hand, "the name", LONGEST_TEXT)
    with book.writing() as session:
        run = find_open_run(session.connection, code)
        if bottles is not None or volumes_ml:
            bottle_ml = size_of(run, bottle_ml)
        line = RunLine("", 0, kind, bottle_ml, bottles, ml, tuple(volumes_ml), words, None, hand, session.now)
        line = next_line(run, line)
        insert_lines(session.connection, [line])
        return find_run(session.connection, run.code), line


def size_of(run: BottlingRun, bottle_ml: int | None) -> int:
    """Return the size that is meant: the only one where none is given. Raises NotASizeOfIt."""
    if bottle_ml is None and len(run.sizes) == 1:
        return next(iter(run.sizes))
    if bottle_ml is None or bottle_ml not in run.sizes:
        raise NotASizeOfIt(run.code, run.sizes, bottle_ml)
    return bottle_ml


def strike_line(book: Book, code: str, number: int, *, words: str = "", hand: str = "") -> tuple[BottlingRun, RunLine]:
    """Strike a line by another; return the run with it, and the line that was struck.

    Raises NoSuchRun, NoOpenRun, RunIsClosed, NoSuchLine.
    """
    check_text(words, "the words", LONGEST_TEXT)
    check_text(hand, "the name", LONGEST_TEXT)
    with book.writing() as session:
        run = find_open_run(session.connection, code)
        struck = next((line for line in run.standing if line.number == number), None)
        if struck is None:
            raise NoSuchLine(run.code, number)
        line = RunLine("", 0, RunLineKind.STRUCK, words=words, strikes=number, hand=hand, at=session.now)
        insert_lines(session.connection, [next_line(run, line)])
        return find_run(session.connection, run.code), struck

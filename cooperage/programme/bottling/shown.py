"""A run as it is shown: what was expected, counted so far by size, fill checks, lines, reasons, and what it came to."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection

from cooperage.book import Book
from cooperage.book.bottles import bottle_stock, where_words
from cooperage.programme.bottling.closing import STAYS
from cooperage.programme.bottling.fills import before_words, check_words_marked
from cooperage.programme.bottling.run import BottlingRun, RunLineKind
from cooperage.programme.bottling.stored import codes_of, find_run, runs_in
from cooperage.programme.bottling.words import expected_words, line_words, so_far_words, yield_words
from cooperage.programme.bottling_risks.passed import RisksPassed, risks_passed
from cooperage.units import Quantity, Units, show, show_when

_SIZE = "{:<10} {:>8} {:>8} {:>9} {:>9}"


@dataclass(frozen=True, slots=True)
class RunShown:
    """A run with its bottlings and where the bottles of each are, what its fill checks show, and the risks passed.

    `wrong` are those lines of `fills` that name something wrong.
    """

    run: BottlingRun
    bottlings: Mapping[str, str]
    fills: tuple[str, ...]
    wrong: frozenset[str]
    passed: RisksPassed | None


def runs_shown(book: Book, units: Units) -> list[RunShown]:
    """List every run, the open ones first, then the newest."""
    with book.reading() as connection:
        shown = _shown(book, connection, runs_in(connection), units)
    return sorted(shown, key=lambda each: (not each.run.is_open, -each.run.opened_at.timestamp()))


def run_shown(book: Book, code: str, units: Units) -> RunShown:
    """Return one run; raises NoSuchRun."""
    with book.reading() as connection:
        [shown] = _shown(book, connection, [find_run(connection, code)], units)
    return shown


def _shown(book: Book, connection: Connection, runs: Sequence[BottlingRun], units: Units) -> list[RunShown]:
    every = runs_in(connection)
    stock = bottle_stock(connection) if any(not run.is_open for run in runs) else []
    passed = {each.id: each for each in risks_passed(connection)}
    found = []
    for run in runs:
        codes = codes_of(connection, run)
        bottlings = {code: where_words([each for each in stock if each.code == code]) for code in codes}
        earlier = [each for each in every if each.opened_at < run.opened_at]
        fills, wrong = check_words_marked(book, run, units)
        fills += tuple(words for size in run.sizes for words in _before(book, run, size, earlier, units))
        found.append(RunShown(run, bottlings, fills, wrong, passed.get(run.risks_id)))
    return found


def _before(book: Book, run: BottlingRun, size: int, earlier: Sequence[BottlingRun], units: Units) -> list[str]:
    """Return what the line of an open run needs of a size that was not checked yet, by the run before."""
    return before_words(book, run, size, earlier, units) if run.is_open and not run.checked(size) else []


def title_words(run: BottlingRun, units: Units) -> str:
    """Return a run in a line: "SALT-26  on T-1, opened 27 Nov 10:05 by Ada, 13.5 % vol on the label"."""
    by = f" by {run.hand}" if run.hand else ""
    label = "" if run.label is None else f", {show(Quantity.STRENGTH, run.label, units)} on the label"
    return f"{run.code}  on {', '.join(run.vessels)}, opened {show_when(run.opened_at)}{by}{label}"


def about_run(shown: RunShown, units: Units) -> list[str]:
    """Return all of a run in lines: what it came to first, where it is closed, and the newest line before the older."""
    run = shown.run
    lines = [] if run.is_open else _closed_lines(shown, units)
    lines += [*size_lines(run), so_far_words(run, units), expected_words(run, units), *shown.fills]
    if run.lines:
        lines += ["", "Lines, the newest first"]
        lines += [line_words(run, line, units) for line in reversed(run.lines)]
    return [*lines, *reason_lines(shown.passed)]


def _closed_lines(shown: RunShown, units: Units) -> list[str]:
    """Return what a closed run came to: yield, bottles and where they are now, what remained and where."""
    run, left = shown.run, {} if shown.run.closed is None else shown.run.closed.came_to["left_in_ml"]
    lines = [*yield_words(run, units), *(f"{code}: {where}" for code, where in shown.bottlings.items())]
    if left and run.closed is not None and run.closed.came_to["rest"] == STAYS:
        remains = ", ".join(f"{show(Quantity.VOLUME, ml, units)} in {tag}" for tag, ml in left.items())
        lines.append(f"What remained: {remains}")
    return [*lines, ""]


def size_lines(run: BottlingRun) -> list[str]:
    """Return a table of the sizes of a run: wanted, filled, rejected, and how many were checked."""
    filled, rejected = run.bottles(RunLineKind.FILLED), run.bottles(RunLineKind.REJECTS)
    lines = [_SIZE.format("size", "wanted", "filled", "rejected", "checked")]
    for size, wanted in run.sizes.items():
        counts = filled.get(size, 0), rejected.get(size, 0), len(run.checked(size))
        lines.append(_SIZE.format(f"{size} mL", "all" if wanted is None else wanted, *counts))
    return lines


def reason_lines(passed: RisksPassed | None) -> list[str]:
    """Return which risks were passed for a run and why; empty where none was."""
    if passed is None or not passed.reasons:
        return []
    by = f" by {passed.hand}" if passed.hand else ""
    return ["", f"Passed{by} with a reason", *(f"  {name}: {reason}" for name, reason in passed.reasons.items())]

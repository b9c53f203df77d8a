"""Opening a run: the risks settled or passed with a reason, and how much is expected of it."""

from collections.abc import Mapping, Sequence

from cooperage.book import Book, Cellar, Writing
from cooperage.book.bottles import bottle_stock
from cooperage.book.declared.allowed import LONGEST_CODE, NotAllowed, check_text
from cooperage.book.errors import AlreadyThere, InQuarantine
from cooperage.programme.bottling.errors import RunNotOpened, VesselInARun
from cooperage.programme.bottling.run import BottlingRun, RunExpected
from cooperage.programme.bottling.stored import insert_run, runs_in
from cooperage.programme.bottling_risks.passed import TroubleStands, pass_in
from cooperage.programme.bottling_risks.risk import Risk
from cooperage.programme.losses.ledger import loss_rates
from cooperage.programme.losses.level import level_now

USUAL_LINE_LOSS = 0.01
"""The share of a run that stays in pump, filter and line, give or take all of it (common practice, no source)."""


def open_run(
    book: Book,
    code: str,
    vessels: Sequence[str],
    sizes: Mapping[int, int | None],
    found: Sequence[Risk],
    reasons: Mapping[str, str],
    *,
    label: float | None = None,
    profile: str | None = None,
    line_loss_ml: int | None = None,
    hand: str = "",
) -> BottlingRun:
    """Open a run on vessels, drawn from in that order; `found` are its risks, each trouble passed with a reason.

    Raises RunNotOpened, VesselInARun, InQuarantine, AlreadyThere, NotAllowed, and what `pass_in` raises.
    """
    cellar = book.cellar()
    tags = list(dict.fromkeys(cellar[tag].tag for tag in vessels))
    for tag in tags:
        if cellar[tag].is_quarantined:
            raise InQuarantine(tag)
    code = code.strip()
    _check_code(code, tags, sizes)
    expected = expected_of(book, cellar, tags, line_loss_ml)
    asked = {"bottles": {str(size): count for size, count in sizes.items()}, "label": label, "profile": profile}
    with book.writing() as session:
        _check_free(session, code, tags, sizes)
        try:
            passed = pass_in(session, tags, asked, found, reasons, hand=hand)
        except TroubleStands as error:
            raise RunNotOpened(code, error.names) from error
        run = BottlingRun(
            session.new_id(), code, tuple(tags), dict(sizes), label, expected, passed.id, hand, session.now
        )
        insert_run(session.connection, run)
    return run


def _check_code(code: str, tags: Sequence[str], sizes: Mapping[int, int | None]) -> None:
    """Check that every code that the run may be closed into is short enough."""
    if not code:
        raise NotAllowed("code", "give the run a code, such as SALT-26")
    check_text(code, "the code", LONGEST_CODE)
    longest = max(_codes(code, tags, sizes), key=len)
    if len(longest) > LONGEST_CODE:
        raise NotAllowed("code", f"its bottlings could be called {longest}, longer than {LONGEST_CODE} letters")


def _codes(code: str, tags: Sequence[str], sizes: Mapping[int, int | None]) -> list[str]:
    return [code, *(bottling_code(code, *parts) for size in sizes for tag in tags for parts in _parts(size, tag))]


def _parts(size: int, tag: str) -> list[tuple[int | None, str]]:
    return [(size, ""), (None, tag), (size, tag)]


def bottling_code(code: str, bottle_ml: int | None, tag: str) -> str:
    """Return the code of one bottling of a run: with its size where the run has several, and its vessel so too."""
    return "-".join(part for part in (code, "" if bottle_ml is None else str(bottle_ml), tag) if part)


def _check_free(session: Writing, code: str, tags: Sequence[str], sizes: Mapping[int, int | None]) -> None:
    runs = runs_in(session.connection)
    if code.casefold() in {run.code.casefold() for run in runs}:
        raise AlreadyThere("bottling run", code)
    there = {each.code.casefold() for each in bottle_stock(session.connection)}
    for wanted in _codes(code, tags, sizes):
        if wanted.casefold() in there:
            raise AlreadyThere("bottling", wanted)
    for run in runs:
        if run.is_open and (shared := set(tags) & set(run.vessels)):
            raise VesselInARun(min(shared), run.code)


def expected_of(book: Book, cellar: Cellar, tags: Sequence[str], line_loss_ml: int | None) -> RunExpected:
    """Return what is expected to be filled from vessels: their level now, less what stays in the line."""
    rates = loss_rates(book, cellar)
    levels = [level_now(cellar[tag], rates.get(tag)) for tag in tags]
    there = sum(level.ml for level in levels)
    low, high = sum(level.low or 0 for level in levels), sum(level.high for level in levels)
    loss = round(USUAL_LINE_LOSS * there) if line_loss_ml is None else line_loss_ml
    most, least = (2 * loss, 0) if line_loss_ml is None else (loss, loss)
    return RunExpected(max(0, there - loss), max(0, low - most), max(0, high - least), loss)

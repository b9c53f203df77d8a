"""What a taster answers: codes on one line, for one set or for all; corrected as they like until the reveal."""

import re
from collections.abc import Mapping, Sequence

from sqlalchemy import delete, insert

from cooperage.book import Book, Writing
from cooperage.book.store.tables import ANSWER
from cooperage.tasting.difference.errors import NoAnswer, NotAnAnswer
from cooperage.tasting.difference.question import DifferenceQuestion
from cooperage.tasting.difference.shape import DifferenceFlight, PresentedSet
from cooperage.tasting.difference.stored import find_difference
from cooperage.tasting.flights.errors import AlreadyRevealed
from cooperage.tasting.flights.leaving import check_stays_away, write_back

_APART = re.compile(r"[\s,;]+")
_NONE = {"-", "–", "—", "?", "none", "0"}
Answers = Mapping[int, Sequence[str]]
"""The codes that are named, by the round of their set."""


def answer(
    book: Book, flight_code: str, taster: str, line: str, *, sure: bool = False
) -> tuple[DifferenceFlight, list[PresentedSet]]:
    """Write what a taster answers on a line; return the test, and the sets that the line answers.

    A set that the line does not name keeps its answer. Raises NoSuchFlight, AlreadyRevealed, NoSetDrawn, NoAnswer,
    NotAnAnswer; BackAfterLeaving, unless `sure`.
    """
    with book.writing() as session:
        poured = find_difference(session.connection, flight_code)
        if poured.is_blind and not sure:
            check_stays_away(poured.code, poured.departed, [poured.taster_named(taster)])
        return poured, write_answers(session, poured, taster, parse_answers(line, poured, taster))


def parse_answers(line: str, poured: DifferenceFlight, taster: str) -> Answers:
    """Read the codes of a line; raises AlreadyRevealed, NoSetDrawn, NoAnswer, NotAnAnswer."""
    if not poured.is_blind:
        raise AlreadyRevealed(poured.code)
    sets, name = poured.sets_of(taster), poured.taster_named(taster)
    codes = [code for code in _APART.split(line.strip()) if code]
    if not codes or any(code.casefold() in _NONE for code in codes):
        raise NoAnswer(name, next((each.codes for each in sets if not each.answer), sets[0].codes))
    named: dict[int, list[str]] = {}
    for code in codes:
        found = next((each for each in sets if code in each.codes), None)
        if found is None:
            own = "; ".join(", ".join(each.codes) for each in sets)
            raise NotAnAnswer(name, f"'{code}' is none of their glasses, which are {own}")
        named.setdefault(found.round, []).append(code)
    for each in sets:
        if each.round in named:
            check_answer(poured.question, each, named[each.round])
    return named


def check_answer(question: DifferenceQuestion, each: PresentedSet, codes: Sequence[str]) -> None:
    """Refuse codes that are no answer to what was asked of a set; raises NotAnAnswer."""
    if twice := next((code for code in codes if codes.count(code) > 1), ""):
        raise NotAnAnswer(each.taster, f"{twice} is named twice; name each glass once")
    if len(codes) != question.named:
        wanted = "two glasses that are the same" if question.named > 1 else "one glass"
        raise NotAnAnswer(each.taster, f"{' and '.join(codes)} of {', '.join(each.codes)}: name {wanted}")
    if question.test == "duo-trio" and codes[0] == each.codes[0]:
        raise NotAnAnswer(each.taster, f"{codes[0]} is the reference; name {each.codes[1]} or {each.codes[2]}")


def write_answers(session: Writing, poured: DifferenceFlight, taster: str, named: Answers) -> list[PresentedSet]:
    """Write answers in a transaction of the caller's; return the sets. Whoever answers again after leaving is back."""
    sets = [each for each in poured.sets_of(taster) if each.round in named]
    for each in sets:
        each.answer, each.answered_at = list(named[each.round]), session.now
        session.connection.execute(delete(ANSWER).where(ANSWER.c.presented_id == each.id))
        row = {"presented_id": each.id, "codes": each.answer, "written_at": session.now}
        session.connection.execute(insert(ANSWER), row)
    write_back(session.connection, poured.id, poured.departed, poured.taster_named(taster))
    return sets


def answered_words(poured: DifferenceFlight, taster: str, sets: Sequence[PresentedSet]) -> str:
    """Return what was taken: "873 of 412, 873, 590 · still to come: round 2"."""
    parts = [f"{' and '.join(each.answer)} of {', '.join(each.codes)}" for each in sets]
    to_come = [str(each.round) for each in poured.sets_of(taster) if not each.answer]
    return " · ".join([*parts, *([f"still to come: round {', '.join(to_come)}"] if to_come else [])])

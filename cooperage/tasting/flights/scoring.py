"""What tasters give their glasses: written as often as they like until the flight is closed."""

from collections.abc import Mapping

from sqlalchemy import Connection, delete, insert

from cooperage.book import Book, Writing
from cooperage.book.declared.verdicts import Judgement, checked_verdict
from cooperage.book.store.tables import MARK, SCORE
from cooperage.tasting.flights.errors import AlreadyRevealed, NothingToJudge
from cooperage.tasting.flights.leaving import check_stays_away, write_back
from cooperage.tasting.flights.line import TypedScore
from cooperage.tasting.flights.orders import draw_order
from cooperage.tasting.flights.scales import OVERALL, check_on_scale
from cooperage.tasting.flights.shape import Flight, Score
from cooperage.tasting.flights.stored import find_flight
from cooperage.tasting.kept import check_score


def score(
    book: Book,
    flight_code: str,
    glass_code: str,
    taster: str,
    value: float | None,
    words: str = "",
    *,
    marks: Mapping[str, float] | None = None,
    verdict: Judgement | None = None,
    sure: bool = False,
) -> None:
    """Write (or rewrite, until the flight is revealed) all that a taster gave a glass; `marks` by attribute.

    Raises NoSuchFlight, NoSuchGlass, NotInThisFlight, OffTheScale, NotAVerdict, NothingToJudge, AlreadyRevealed;
    BackAfterLeaving, unless `sure`.
    """
    with book.writing() as session:
        poured = find_flight(session.connection, flight_code)
        if not sure:
            check_stays_away(poured.code, poured.departed, [poured.taster_named(taster)])
        write_score(session, poured, glass_code, taster, Score(value, words, marks or {}, verdict))


def add_score(
    book: Book, flight_code: str, glass_code: str, taster: str, typed: TypedScore, *, sure: bool = False
) -> Score:
    """Write what was typed for a glass beside what the taster gave it before; return all that it has now.

    What is not typed stays as it was; a figure that is left out with a dash is taken away. Raises as `score`, and
    NotAmongTheTasters, unless `sure`.
    """
    with book.writing() as session:
        poured = find_flight(session.connection, flight_code)
        glass = poured.glass(glass_code)
        poured.check_tasters([taster], sure=sure)
        if not sure:
            check_stays_away(poured.code, poured.departed, [poured.taster_named(taster)])
        there = poured.scores.get((glass.code, poured.taster_named(taster)), Score(None))
        given = typed.added_to(there)
        write_score(session, poured, glass_code, taster, given)
        return given


def write_score(session: Writing, poured: Flight, glass_code: str, taster: str, given: Score) -> None:
    """Write all that a taster gave a glass as `score` does, in a transaction that writes more than it."""
    glass = poured.glass(glass_code)
    if not poured.is_blind:
        raise AlreadyRevealed(poured.code)
    check_given(poured, given)
    name = poured.taster_named(taster)
    check_score(name, given.words)
    draw_order(session, poured, name)
    for table in (SCORE, MARK):
        session.connection.execute(delete(table).where(table.c.glass_id == glass.id, table.c.taster == name))
    key = {"glass_id": glass.id, "taster": name, "written_at": session.now}
    insert_score(session.connection, poured, key, given)
    write_back(session.connection, poured.id, poured.departed, name)
    poured.scores[glass.code, name] = given


def insert_score(connection: Connection, poured: Flight, key: Mapping[str, object], given: Score) -> None:
    """Insert the rows of what was given: `key` is the glass's id, the taster and when it was written."""
    verdict, weeks = given.verdict or ("", None)
    row = {**key, "value": given.value, "words": given.words, "verdict": verdict, "weeks": weeks}
    connection.execute(insert(SCORE), row)
    for name, value in given.marks.items():
        connection.execute(insert(MARK), {**key, "term_id": poured.attribute(name).id, "value": value})


def check_given(poured: Flight, given: Score) -> None:
    """Refuse what a flight does not have or its scales do not; raises as `score`."""
    if given.value is not None:
        check_on_scale(given.value, poured.scale, OVERALL if poured.attributes else "")
    for name, value in given.marks.items():
        attribute = poured.attribute(name)
        check_on_scale(value, attribute.scale, attribute.name)
    if given.verdict is not None:
        if not poured.takes_verdicts:
            raise NothingToJudge(poured.code)
        checked_verdict(*given.verdict)

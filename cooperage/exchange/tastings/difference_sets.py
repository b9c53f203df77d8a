"""Rows of `sets.csv` and `departures.csv`: difference tests set by set with answers, who left early, both ways."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from sqlalchemy import Connection, insert, select

from cooperage.book import Writing
from cooperage.book.store.tables import ANSWER, DEPARTED, FLIGHT, PRESENTED
from cooperage.errors import BadInput
from cooperage.exchange.sealing import BrokenSeal, seal, unseal
from cooperage.exchange.tables.cells import Clock, show_cell
from cooperage.exchange.tables.columns import DEPARTURES, SETS
from cooperage.exchange.tables.sheets import Row
from cooperage.exchange.tastings.flights_and_scores import Tastings
from cooperage.tasting.difference.answering import check_answer
from cooperage.tasting.difference.designs import orders_of
from cooperage.tasting.difference.question import DifferenceQuestion
from cooperage.tasting.difference.shape import PresentedSet
from cooperage.tasting.kept import check_taster

Values = dict[str, Any]


class DifferenceSets:
    """The sets, answers and departures of the book and those of the files, inside one writing transaction."""

    def __init__(self, session: Writing, clock: Clock, tastings: Tastings) -> None:
        self._session, self._clock, self._tastings = session, clock, tastings
        rows = session.connection.execute(select(PRESENTED)).all()
        self._sets = {(row.flight_id, row.taster, row.round): (row.id, list(row.glasses)) for row in rows}
        self._answered = set(session.connection.execute(select(ANSWER.c.presented_id)).scalars())
        left = session.connection.execute(select(DEPARTED.c.flight_id, DEPARTED.c.taster))
        self._left = set(map(tuple, left))

    def add_set(self, row: Row) -> bool:
        """Write a set, and what was answered of it; return whether any was new. Raises BadCell, AlreadyRevealed."""
        try:
            row = replace(row, cells=unseal(row.cells))
        except BrokenSeal as error:
            raise row.placed(error, "sealed") from error
        values = row.values(SETS, self._clock)
        flight = self._tastings.flight_of(row, values)
        question = self._tastings.test_of(flight)
        if question is None:
            raise row.bad(f"{flight['code']} is no difference test, so it has no sets; leave the line out", "flight")
        codes, answer = values["glasses"].split(), values.get("answer", "").split()
        key = flight["id"], values["taster"], values["round"]
        there = self._sets.get(key)
        if there is not None:
            if there[1] != codes:
                raise row.bad("has other glasses in the book, which stand; leave the line out", "glasses")
            if not answer or there[0] in self._answered:
                return False
        drawn = self._checked(row, values, flight, question)
        self._tastings.refuse_if_revealed(flight)
        if there is None:
            self._insert(drawn, flight)
        if answer:
            at = values.get("answered_at") or flight["poured_at"]
            given = {"presented_id": drawn.id, "codes": answer, "written_at": at}
            self._session.connection.execute(insert(ANSWER), given)
            self._answered.add(drawn.id)
        return True

    def _checked(self, row: Row, values: Values, flight: Values, question: DifferenceQuestion) -> PresentedSet:
        """Return the set of a row, its glasses and its answer being such as the test has; raises BadCell."""
        codes, key = values["glasses"].split(), (flight["id"], values["taster"], values["round"])
        roles = self._tastings.roles_of(flight)
        taken = [code for each, (_, own) in self._sets.items() if each[0] == key[0] and each != key for code in own]
        order = "".join(roles.get(code, "?") for code in codes)
        if order not in orders_of(question) or len(set(codes)) != len(codes) or not set(codes).isdisjoint(taken):
            raise row.bad(f"is no set of this {question.test} test; correct it, or leave the line out", "glasses")
        if not 1 <= values["round"] <= question.rounds:
            raise row.bad(f"is no round of this test, which has {question.rounds}; correct it", "round")
        check_taster(values["taster"])
        known = self._sets.get(key)
        set_id = known[0] if known else values.get("id") or self._session.new_id()
        if known is None and any(set_id == each for each, _ in self._sets.values()):
            raise row.bad(f"'{set_id[:20]}' is the id of another; leave the cell blank", "id")
        drawn_at = values.get("drawn_at") or flight["poured_at"]
        drawn = PresentedSet(set_id, values["taster"], values["round"], codes, order, drawn_at)
        if answer := values.get("answer", "").split():
            try:
                self._check_named(row, drawn, answer)
                check_answer(question, drawn, answer)
            except BadInput as error:
                raise row.placed(error, "answer") from error
        return drawn

    def _check_named(self, row: Row, drawn: PresentedSet, answer: list[str]) -> None:
        if strays := [code for code in answer if code not in drawn.codes]:
            raise BadInput(
                f"names {strays[0]}, which is no glass of the set ({', '.join(drawn.codes)}, line {row.line})"
            )

    def _insert(self, drawn: PresentedSet, flight: Values) -> None:
        kept = {"id": drawn.id, "flight_id": flight["id"], "taster": drawn.taster, "round": drawn.round}
        kept |= {"glasses": drawn.codes, "drawn_at": drawn.drawn_at}
        self._session.connection.execute(insert(PRESENTED), kept)
        self._sets[flight["id"], drawn.taster, drawn.round] = drawn.id, drawn.codes

    def add_departure(self, row: Row) -> bool:
        """Write that a taster left a flight; return whether it was new. Raises BadCell, AlreadyRevealed."""
        values = row.values(DEPARTURES, self._clock)
        flight = self._tastings.flight_of(row, values)
        key = flight["id"], values["taster"]
        if key in self._left:
            return False
        self._tastings.refuse_if_revealed(flight)
        check_taster(values["taster"])
        left = {"flight_id": key[0], "taster": key[1], "hand": values.get("hand", ""), "at": values["at"]}
        self._session.connection.execute(insert(DEPARTED), left)
        self._left.add(key)
        return True


def show_sets(connection: Connection) -> Iterator[dict[str, str]]:
    """Yield the cells of every set with its answer, by column name; sealed while its flight is blind."""
    query = (
        select(PRESENTED, FLIGHT.c.code.label("flight"), FLIGHT.c.revealed_at, ANSWER.c.codes, ANSWER.c.written_at)
        .join(FLIGHT, FLIGHT.c.id == PRESENTED.c.flight_id)
        .outerjoin(ANSWER, ANSWER.c.presented_id == PRESENTED.c.id)
        .order_by(FLIGHT.c.poured_at, FLIGHT.c.id, PRESENTED.c.drawn_at, PRESENTED.c.id)
    )
    columns = [column for column in SETS if column.name != "sealed"]
    for row in connection.execute(query).mappings():
        values = dict(row) | {"glasses": " ".join(row["glasses"]), "answer": " ".join(row["codes"] or ()) or None}
        values["answered_at"] = row["written_at"]
        cells = {column.name: show_cell(column, values[column.fills]) for column in columns}
        yield seal(cells) if row["revealed_at"] is None else cells


def show_departures(connection: Connection) -> Iterator[dict[str, str]]:
    """Yield the cells of everyone who left a flight early, by column name."""
    query = select(DEPARTED, FLIGHT.c.code.label("flight")).join(FLIGHT, FLIGHT.c.id == DEPARTED.c.flight_id)
    for row in connection.execute(query.order_by(DEPARTED.c.at, DEPARTED.c.flight_id, DEPARTED.c.taster)).mappings():
        yield {column.name: show_cell(column, row[column.fills]) for column in DEPARTURES}

"""Rows of `flights.csv` and `scores.csv`, and the tastings they are, both ways."""

import json
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import asdict, replace
from typing import Any

from sqlalchemy import Connection, insert, select, update

from cooperage.book import Writing
from cooperage.book.declared.verdicts import NotAVerdict, checked_verdict
from cooperage.book.errors import AlreadyThere
from cooperage.book.store.tables import DIFFERENCE, FLIGHT, GLASS, MARK, SCORE, SCORED, TERM, VESSEL
from cooperage.errors import BadInput
from cooperage.exchange.errors import Placed
from cooperage.exchange.sealing import BrokenSeal, seal, unseal
from cooperage.exchange.tables.cells import Clock, show_cell
from cooperage.exchange.tables.columns import FLIGHTS, SCORES, Column
from cooperage.exchange.tables.sheets import Row
from cooperage.exchange.tastings.questions import OF_A_TEST, question_in, questions_in
from cooperage.tasting.difference.question import SAMPLES, DifferenceQuestion
from cooperage.tasting.flights.errors import AlreadyRevealed
from cooperage.tasting.flights.scales import OffTheScale, bounds, check_on_scale, scale_named
from cooperage.tasting.flights.vocabulary import ATTRIBUTE, find_term, keep_term, vocabulary_in
from cooperage.tasting.kept import check_flight, check_glass, check_score
from cooperage.units import Quantity, read

_GLASS = ("position", "vessel_id", "what", "role")
_OF_A_TASTER = ("score", "words", "marks", "verdict", "weeks")
_BETWEEN = "; "
_FIGURE = Column("figure", Quantity.NUMBER)
Values = dict[str, Any]


class Tastings:
    """The flights in the book and those of the files, inside one writing transaction."""

    def __init__(self, session: Writing, clock: Clock) -> None:
        self._session, self._clock = session, clock
        connection = session.connection
        flights = connection.execute(select(FLIGHT)).mappings()
        self._flights: dict[str, Values] = {row["code"].upper(): dict(row) for row in flights}
        glasses = connection.execute(select(GLASS)).mappings()
        self._glasses: dict[tuple[str, str], Values] = {(row["flight_id"], row["code"]): dict(row) for row in glasses}
        self._tests = questions_in(connection)
        self._to_reveal: dict[str, Values] = {}
        self._scores = set(map(tuple, connection.execute(select(SCORE.c.glass_id, SCORE.c.taster))))
        self._scored: dict[str, dict[str, str]] = defaultdict(dict)  # the scale of each attribute, by its id
        for row in connection.execute(select(SCORED).order_by(SCORED.c.place)):
            self._scored[row.flight_id][row.term_id] = row.scale

    def add_flight(self, row: Row) -> bool:
        """Write a flight; return whether it was new. Raises BadCell, AlreadyThere, NotAScale."""
        values = row.values(FLIGHTS, self._clock)
        test = question_in(row, values)
        if test is None:
            if "scale" not in values:
                raise row.bad("is blank; it is needed here", "scale")
            bounds(values["scale"])
        elif values.get("scale") or values.get("attributes"):
            raise row.bad(
                "has a scale or attributes; nothing is scored in a difference test, so leave them out", "test"
            )
        values["scale"] = values.get("scale", "")
        scored = self._attributes(row, values.pop("attributes", ""))
        there = self._flights.get(values["code"].upper())
        if there is not None:
            is_other = "attributes" in row.cells and scored != self._scored[there["id"]]
            is_other = is_other or test != self._tests.get(there["id"])
            later = ("revealed_at", "revealed_by")
            if is_other or any(there[name] != value for name, value in values.items() if name not in later):
                raise AlreadyThere("flight", values["code"])
            return False
        blank: Values = {"name": "", "revealed_at": None, "revealed_by": None}
        new = blank | values | {"id": self._id(row, values, self._flights.values())}
        check_flight(new["code"], new["name"])
        self._session.connection.execute(insert(FLIGHT), new | {"revealed_at": None})
        if test is not None:
            self._session.connection.execute(insert(DIFFERENCE), {"flight_id": new["id"]} | asdict(test))
            self._tests[new["id"]] = test
        for place, (term_id, scale) in enumerate(scored.items(), 1):
            attribute = {"flight_id": new["id"], "term_id": term_id, "place": place, "scale": scale}
            self._session.connection.execute(insert(SCORED), attribute)
        self._scored[new["id"]] = scored
        self._flights[new["code"].upper()] = self._to_reveal[new["id"]] = new
        return True

    def _attributes(self, row: Row, text: str) -> dict[str, str]:
        """Return the scale of each attribute in a cell, by its id; what is used of the vocabulary is kept."""
        terms, found = vocabulary_in(self._session.connection), dict[str, str]()
        for name, scale in _pairs(row, text, "attributes"):
            try:
                term = find_term(terms, ATTRIBUTE, name)
                found[term.id] = scale_named(scale) if scale else term.scale
            except BadInput as error:
                raise row.placed(error, "attributes") from error
            keep_term(self._session.connection, term)
        return found

    def reveal(self) -> None:
        """Reveal the new flights that were revealed, now that their glasses and scores are there."""
        for flight in self._to_reveal.values():
            if flight["revealed_at"] is not None:
                revealed = update(FLIGHT).where(FLIGHT.c.id == flight["id"])
                self._session.connection.execute(revealed.values(revealed_at=flight["revealed_at"]))

    def refuse_if_revealed(self, flight: Values) -> None:
        """Refuse what would join a flight that stands; raises AlreadyRevealed."""
        if flight["revealed_at"] is not None and flight["id"] not in self._to_reveal:
            raise AlreadyRevealed(flight["code"])

    def flight_of(self, row: Row, values: Values) -> Values:
        """Return the flight that a row names; raises BadCell."""
        flight = self._flights.get(values["flight"].upper())
        if flight is None:
            known = ", ".join(flight["code"] for flight in self._flights.values()) or "none yet"
            raise row.bad(f"there is no flight '{values['flight']}'; the flights are {known}", "flight")
        return flight

    def test_of(self, flight: Values) -> DifferenceQuestion | None:
        """Return what a flight asks that is a difference test; None of one that is scored."""
        return self._tests.get(flight["id"])

    def roles_of(self, flight: Values) -> dict[str, str]:
        """Return the role of each glass of a flight by its code."""
        return {code: glass["role"] for (of, code), glass in self._glasses.items() if of == flight["id"]}

    def codes_of(self, flight: Values) -> list[str]:
        """List the codes of a flight's glasses."""
        return [code for flight_id, code in self._glasses if flight_id == flight["id"]]

    def add_score(self, row: Row) -> bool:
        """Write a glass, and what a taster gave it; return whether any was new.

        Raises BadCell, OffTheScale, AlreadyRevealed.
        """
        try:
            row = replace(row, cells=unseal(row.cells))
        except BrokenSeal as error:
            raise row.placed(error, "sealed") from error
        values = row.values(SCORES, self._clock)
        flight = self.flight_of(row, values)
        glass, is_new = self._glass(row, values, flight)
        if "taster" not in values:
            if not values.keys().isdisjoint(_OF_A_TASTER):
                raise row.bad("is blank; name who gave the score", "taster")
            return is_new
        return self._score(row, values, flight, glass) or is_new

    def _glass(self, row: Row, values: Values, flight: Values) -> tuple[Values, bool]:
        """Return the glass of a row and whether it is new; all rows of a glass must agree."""
        vessel_id = self._session.registry.vessel(values["vessel"]).id if "vessel" in values else None
        key = flight["id"], values["glass"]
        there = self._glasses.get(key)
        wanted = {"position": values.get("position"), "vessel_id": vessel_id, "what": values.get("what", "")}
        wanted["role"] = values.get("role", "")
        if there is not None:
            if any(wanted[name] != there[name] for name in _GLASS if wanted[name]):
                raise row.bad(f"glass {values['glass']} held something else in an earlier line; give it one", "vessel")
            return there, False
        self.refuse_if_revealed(flight)
        if wanted["position"] is None:
            wanted["position"] = 1 + sum(glass["flight_id"] == flight["id"] for glass in self._glasses.values())
        glass = {
            "id": self._id(row, values, self._glasses.values()),
            "flight_id": flight["id"],
            "code": values["glass"],
        }
        check_glass(glass["code"], str(wanted["what"]))
        if (wanted["role"] in SAMPLES) != (self.test_of(flight) is not None):
            raise row.bad("is the sample, A or B, of each glass of a difference test, and of no other", "role")
        self._session.connection.execute(insert(GLASS), glass | wanted)
        self._glasses[key] = glass | wanted
        return self._glasses[key], True

    def _id(self, row: Row, values: Values, there: Iterable[Values]) -> str:
        """Return the id of a row, or a new one; it must not be another's."""
        if "id" in values and any(each["id"] == values["id"] for each in there):
            raise row.bad(f"'{values['id'][:20]}' is the id of another; leave the cell blank", "id")
        return values.get("id") or self._session.new_id()

    def _score(self, row: Row, values: Values, flight: Values, glass: Values) -> bool:
        if (test := self.test_of(flight)) is not None:
            raise row.bad(f"{flight['code']} is a {test.test} test, in which nothing is scored; leave it out", "taster")
        value, verdict = values.get("score"), self._verdict(row, values)
        try:
            if value is not None:
                check_on_scale(value, flight["scale"])
        except OffTheScale as error:
            raise row.placed(error, "score") from error
        marks = self._marks(row, values, flight)
        key = {"glass_id": glass["id"], "taster": values["taster"]}
        if tuple(key.values()) in self._scores:
            return False
        self.refuse_if_revealed(flight)
        key["written_at"] = values.get("written") or flight["poured_at"]
        score = {"value": value, "words": values.get("words", ""), "verdict": verdict[0], "weeks": verdict[1]}
        check_score(key["taster"], score["words"])
        self._session.connection.execute(insert(SCORE), key | score)
        for term_id, figure in marks.items():
            self._session.connection.execute(insert(MARK), key | {"term_id": term_id, "value": figure})
        self._scores.add((key["glass_id"], key["taster"]))
        return True

    def _verdict(self, row: Row, values: Values) -> tuple[str, int | None]:
        if "verdict" not in values and "weeks" not in values:
            return "", None
        try:
            return checked_verdict(values.get("verdict", ""), values.get("weeks"))
        except NotAVerdict as error:
            raise row.placed(error, "verdict") from error

    def _marks(self, row: Row, values: Values, flight: Values) -> dict[str, float]:
        """Return what a cell gives each attribute of the flight, by its id. Raises BadCell."""
        terms, scored, found = None, self._scored[flight["id"]], dict[str, float]()
        for name, figure in _pairs(row, values.get("marks", ""), "marks"):
            terms = terms or vocabulary_in(self._session.connection)
            try:
                term = find_term(terms, ATTRIBUTE, name)
                if term.id not in scored:
                    raise row.bad(f"'{name}' is not scored in flight {flight['code']}; leave it out", "marks")
                found[term.id] = float(read(Quantity.NUMBER, figure))
                check_on_scale(found[term.id], scored[term.id], term.name)
            except Placed:
                raise
            except BadInput as error:
                raise row.placed(error, "marks") from error
        return found


def _pairs(row: Row, text: str, column: str) -> Iterator[tuple[str, str]]:
    """Yield the name and the figure of each part of "honey=6; oak=7"; raises BadCell for a name alone in marks."""
    for part in filter(None, (part.strip() for part in text.split(";"))):
        name, equals, figure = (piece.strip() for piece in part.partition("="))
        if column == "marks" and not equals:
            raise row.bad(f"'{part}' has no figure; write each as honey=6, with ; between", column)
        yield name, figure


def show_flights(connection: Connection) -> Iterator[Values]:
    """Yield every flight's cells by column name, in the order they were poured."""
    scored: dict[str, list[str]] = defaultdict(list)
    query = select(SCORED, TERM.c.name).join(TERM, TERM.c.id == SCORED.c.term_id)
    for row in connection.execute(query.order_by(SCORED.c.flight_id, SCORED.c.place)):
        scored[row.flight_id].append(f"{row.name}={row.scale}")
    tests = questions_in(connection)
    for each in connection.execute(select(FLIGHT).order_by(FLIGHT.c.poured_at, FLIGHT.c.id)).mappings():
        values = dict(each) | {"attributes": _BETWEEN.join(scored[each["id"]])}
        test = tests.get(each["id"])
        values |= dict.fromkeys(OF_A_TEST) if test is None else asdict(test)
        yield {column.name: show_cell(column, values[column.fills]) for column in FLIGHTS}


def show_scores(connection: Connection) -> Iterator[Values]:
    """Yield a row of cells for every score, and for every glass that has none; sealed while its flight is blind."""
    query = (
        select(
            FLIGHT.c.code.label("flight"),
            GLASS.c.code.label("glass"),
            GLASS.c.position,
            VESSEL.c.tag.label("vessel"),
            GLASS.c.what,
            GLASS.c.role,
            SCORE.c.taster,
            SCORE.c.value.label("score"),
            SCORE.c.words,
            SCORE.c.verdict,
            SCORE.c.weeks,
            SCORE.c.written_at.label("written"),
            GLASS.c.id,
            FLIGHT.c.revealed_at,
        )
        .join(FLIGHT, FLIGHT.c.id == GLASS.c.flight_id)
        .outerjoin(VESSEL, VESSEL.c.id == GLASS.c.vessel_id)
        .outerjoin(SCORE, SCORE.c.glass_id == GLASS.c.id)
        .order_by(FLIGHT.c.poured_at, FLIGHT.c.id, GLASS.c.position, GLASS.c.code, SCORE.c.taster)
    )
    columns, marks = [column for column in SCORES if column.name != "sealed"], _marks_shown(connection)
    as_long = _longest_glasses(connection)
    for row in connection.execute(query).mappings():
        values = dict(row) | {"marks": _BETWEEN.join(marks.get((row["id"], row["taster"]), ()))}
        cells = {column.name: show_cell(column, values[column.fills]) for column in columns}
        yield seal(cells, as_long.get(row["flight"], 0)) if row["revealed_at"] is None else cells


def _longest_glasses(connection: Connection) -> dict[str, int]:
    """Return by the code of each difference test the most bytes that what is in a glass takes, as it is sealed.

    A bench glass of many words beside a vessel with a short tag would show by the length which codes are alike.
    """
    query = select(FLIGHT.c.code, GLASS.c.what, VESSEL.c.tag).join(GLASS, GLASS.c.flight_id == FLIGHT.c.id)
    tests = query.join(DIFFERENCE, DIFFERENCE.c.flight_id == FLIGHT.c.id)
    longest: dict[str, int] = {}
    for row in connection.execute(tests.outerjoin(VESSEL, VESSEL.c.id == GLASS.c.vessel_id)):
        sealed = json.dumps({"what": row.what, "role": "A", "vessel": row.tag or ""}, ensure_ascii=False)
        longest[row.code] = max(longest.get(row.code, 0), len(sealed.encode()))
    return longest


def _marks_shown(connection: Connection) -> dict[tuple[str, str], list[str]]:
    """Return the marks as they stand in a cell, by glass and taster, in the order of the flight's attributes."""
    shown: dict[tuple[str, str], list[str]] = defaultdict(list)
    query = (
        select(MARK, TERM.c.name)
        .join(TERM, TERM.c.id == MARK.c.term_id)
        .join(GLASS, GLASS.c.id == MARK.c.glass_id)
        .join(SCORED, (SCORED.c.flight_id == GLASS.c.flight_id) & (SCORED.c.term_id == MARK.c.term_id))
    )
    for row in connection.execute(query.order_by(SCORED.c.place)):
        shown[row.glass_id, row.taster].append(f"{row.name}={show_cell(_FIGURE, row.value)}")
    return shown

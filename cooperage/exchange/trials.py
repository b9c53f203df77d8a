"""Rows of `trials.csv`, both ways: blends by number. Which code is which blend stands sealed in `scores.csv`."""

import json
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from sqlalchemy import Connection

from cooperage.blending.trials.kept import (
    insert_flight_of,
    insert_trial,
    insert_withdrawal,
    row_of,
    trial_of,
    trials_in,
)
from cooperage.blending.trials.trial import Trial
from cooperage.book import Writing
from cooperage.book.errors import AlreadyThere
from cooperage.errors import CooperageError
from cooperage.exchange.tables.cells import Clock, show_cell
from cooperage.exchange.tables.columns import TRIALS
from cooperage.exchange.tables.sheets import Row
from cooperage.tasting.flights.stored import find_flight
from cooperage.tasting.withdrawal import Withdrawal

_BETWEEN = "; "
_LISTS = {"stocks": "[]", "glasses": "[]", "limits": "{}"}


class Trials:
    """The trials of the book and those of the file, inside one writing transaction."""

    def __init__(self, session: Writing, clock: Clock) -> None:
        self._session, self._clock = session, clock
        self._there = {each.id: each for each in trials_in(session.connection)}

    def add(self, row: Row) -> bool:
        """Write a trial, or what became of it since; return whether anything was new. Raises BadCell, AlreadyThere."""
        made = self._read(row)
        there = self._there.get(made.id)
        if there is None:
            insert_trial(self._session, made)
            there = replace(made, flights={}, withdrawn=None)
        elif row_of(there) != row_of(made):
            raise AlreadyThere("trial", there.code)
        is_new = made.id not in self._there
        return self._add_since(row, there, made) or is_new

    def _add_since(self, row: Row, there: Trial, made: Trial) -> bool:
        """Write the flights and the withdrawal that the book does not have yet; return whether there were any."""
        new = {number: code for number, code in made.flights.items() if there.flights.get(number) != code}
        for number, code in new.items():
            if number in there.flights:
                raise row.bad(f"has another flight for session {number} in the book, which stands", "flights")
            try:
                flight = find_flight(self._session.connection, code)
            except CooperageError as error:
                raise row.placed(error, "flights") from error
            insert_flight_of(self._session, made.id, number, flight.id)
        is_withdrawn = made.withdrawn is not None and there.withdrawn is None
        if made.withdrawn is not None and is_withdrawn:
            insert_withdrawal(self._session, made.id, made.withdrawn)
        self._there[made.id] = replace(there, flights={**there.flights, **new}, withdrawn=made.withdrawn)
        return bool(new) or is_withdrawn

    def _read(self, row: Row) -> Trial:
        values = {"question": "", "hand": "", "tasters": "", "flights": ""} | row.values(TRIALS, self._clock)
        for name, blank in _LISTS.items():
            values[name] = _read_json(row, name, values.get(name, blank))
        values["id"] = values.get("id") or self._session.new_id()
        values["written_at"] = values.get("written_at") or self._session.now
        values["tasters"] = [name for each in values["tasters"].split(";") if (name := each.strip())]
        withdrawn = None
        if values.get("withdrawn_at"):
            withdrawn = Withdrawal(values.get("why", ""), values.get("withdrawn_by", ""), values["withdrawn_at"])
        try:
            made = trial_of(values, flights=_read_flights(row, values["flights"]), withdrawn=withdrawn)
        except (KeyError, TypeError, ValueError, AttributeError) as error:
            raise row.bad(_AS_EXPORTED, "stocks") from error
        for stock in made.stocks:
            for tag in stock.vessels:
                self._session.registry.vessel(tag)
        return made


_AS_EXPORTED = "is not as an export writes it; leave this column as it was"


def _read_json(row: Row, column: str, text: str) -> Any:  # noqa: ANN401 - a list or an object
    try:
        found = json.loads(text)
    except ValueError as error:
        raise row.bad(_AS_EXPORTED, column) from error
    if not isinstance(found, type(json.loads(_LISTS[column]))):
        raise row.bad(_AS_EXPORTED, column)
    return found


def _read_flights(row: Row, text: str) -> dict[int, str]:
    """Return the flights of a cell such as "1=TR-1-1; 2=TR-1-2", by session; raises BadCell."""
    found = {}
    for part in filter(None, (part.strip() for part in text.split(";"))):
        number, equals, code = (piece.strip() for piece in part.partition("="))
        if not equals or not number.isdecimal() or not int(number):
            raise row.bad(f"'{part}' is no session and flight; write each as 1=TR-1, with ; between", "flights")
        found[int(number)] = code
    return found


def show_trials(connection: Connection) -> Iterator[dict[str, str]]:
    """Yield the cells of every trial, in the order they were planned."""
    for each in reversed(trials_in(connection)):
        values = row_of(each)
        values |= {name: json.dumps(values[name], ensure_ascii=False) for name in _LISTS}
        values["tasters"] = _BETWEEN.join(each.tasters)
        values["flights"] = _BETWEEN.join(f"{number}={code}" for number, code in each.flights.items())
        gone = each.withdrawn
        values |= {"withdrawn_at": gone and gone.at, "withdrawn_by": gone and gone.hand, "why": gone and gone.why}
        yield {column.name: show_cell(column, values[column.fills]) for column in TRIALS}

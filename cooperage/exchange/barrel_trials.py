"""Rows of `barrel_trials.csv`, both ways: which barrel got which treatment, sealed while a flight of it is blind."""

import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from typing import Any

from sqlalchemy import Connection

from cooperage.book import Writing
from cooperage.book.errors import AlreadyThere
from cooperage.errors import CooperageError
from cooperage.exchange.sealing import BrokenSeal, seal, unseal
from cooperage.exchange.tables.cells import Clock, show_cell
from cooperage.exchange.tables.columns import BARREL_TRIALS
from cooperage.exchange.tables.sheets import Row
from cooperage.programme.compared.kept import (
    insert_trial,
    insert_withdrawal,
    mark_poured,
    trial_of_row,
    trial_row,
    trials_in,
)
from cooperage.programme.compared.trial import BarrelTrial, TrialBarrel
from cooperage.tasting.flights.stored import find_flight
from cooperage.tasting.withdrawal import Withdrawal

_JSON = {
    "treatments": list,
    "barrels": list,
    "blocked_by": list,
    "sittings": list,
    "tasters": list,
    "stated": dict,
    "flights": dict,
}
"""The columns that hold lists and objects, as an export writes them."""
_AS_EXPORTED = "is not as an export writes it; leave this column as it was"


class BarrelTrials:
    """The trials across barrels of the book and those of the file, inside one writing transaction."""

    def __init__(self, session: Writing, clock: Clock) -> None:
        self._session, self._clock = session, clock
        self._there = {each.id: each for each in trials_in(session.connection)}

    def add(self, row: Row) -> bool:
        """Write a trial, or what became of it since; return whether anything was new. Raises BadCell, AlreadyThere."""
        try:
            row = replace(row, cells=unseal(row.cells))
        except BrokenSeal as error:
            raise row.placed(error, "sealed") from error
        values = self._values(row)
        made = self._read(row, values)
        there = self._there.get(made.id)
        if there is None:
            insert_trial(self._session, made)
        elif trial_row(there) != trial_row(made) or there.barrels != made.barrels:
            raise AlreadyThere("trial", there.code)
        has_more = self._add_since(row, made, there, values["flights"])
        return there is None or has_more

    def _values(self, row: Row) -> dict[str, Any]:
        values: dict[str, Any] = {"scale": "", "hand": "", "difference": None, "seed": None}
        values |= row.values(BARREL_TRIALS, self._clock)
        for name, kind in _JSON.items():
            values[name] = _read_json(row, name, values.get(name, "[]" if kind is list else "{}"), kind)
        values["id"] = values.get("id") or self._session.new_id()
        values["written_at"] = values.get("written_at") or self._session.now
        return values

    def _read(self, row: Row, values: dict[str, Any]) -> BarrelTrial:
        withdrawn = None
        if values.get("withdrawn_at"):
            withdrawn = Withdrawal(values.get("why", ""), values.get("withdrawn_by", ""), values["withdrawn_at"])
        kept = {name: values[name] for name in _OF_A_ROW}
        try:
            barrels = tuple(TrialBarrel(str(tag), str(block), int(at)) for tag, block, at in values["barrels"])
            days = [(date.fromisoformat(day) + self._clock.shift, blocks) for day, blocks in values["sittings"]]
            kept["sittings"] = [[day.isoformat(), [str(each) for each in blocks]] for day, blocks in days]
            made = trial_of_row(kept, barrels, (), withdrawn)
        except (KeyError, TypeError, ValueError, OverflowError) as error:
            raise row.bad(_AS_EXPORTED, "treatments") from error
        known = [replace(each, vessel=self._session.registry.vessel(each.vessel).tag) for each in made.barrels]
        return replace(made, barrels=tuple(known))

    def _add_since(self, row: Row, made: BarrelTrial, there: BarrelTrial | None, flights: dict[str, Any]) -> bool:
        """Write the flights and the withdrawal that the book does not have yet; return whether there were any."""
        known = {} if there is None else {str(each.sitting): each.flight for each in there.poured}
        new = {sitting: code for sitting, code in flights.items() if known.get(sitting) != code}
        for sitting, code in new.items():
            if sitting in known or not sitting.isdecimal() or not 1 <= int(sitting) <= len(made.sittings):
                raise row.bad(f"has another flight for sitting {sitting} than the book, or no such sitting", "flights")
            try:
                poured = find_flight(self._session.connection, str(code))
            except CooperageError as error:
                raise row.placed(error, "flights") from error
            mark_poured(self._session, made, int(sitting), poured.id)
        is_withdrawn = made.withdrawn is not None and (there is None or there.withdrawn is None)
        if made.withdrawn is not None and is_withdrawn:
            insert_withdrawal(self._session, made, made.withdrawn)
        return bool(new) or is_withdrawn


_OF_A_ROW = (
    *("id", "code", "question", "measure", "scale", "treatments", "blocked_by", "seed", "sittings", "tasters"),
    *("difference", "level", "stated", "hand", "written_at"),
)


def _read_json(row: Row, column: str, text: str, kind: type) -> Any:  # noqa: ANN401 - a list or an object
    try:
        found = json.loads(text)
    except ValueError as error:
        raise row.bad(_AS_EXPORTED, column) from error
    if not isinstance(found, kind):
        raise row.bad(_AS_EXPORTED, column)
    return found


def show_barrel_trials(connection: Connection) -> Iterator[dict[str, str]]:
    """Yield the cells of every trial across barrels, in the order they were planned; sealed while one is blind."""
    columns = [column for column in BARREL_TRIALS if column.name != "sealed"]
    for each in reversed(trials_in(connection)):
        values = trial_row(each)
        values["barrels"] = [[barrel.vessel, barrel.block, barrel.treatment] for barrel in each.barrels]
        values["flights"] = {str(poured.sitting): poured.flight for poured in each.poured}
        values |= {name: json.dumps(values[name], ensure_ascii=False) for name in _JSON}
        gone = each.withdrawn
        values |= {"withdrawn_at": gone and gone.at, "withdrawn_by": gone and gone.hand, "why": gone and gone.why}
        cells = {column.name: show_cell(column, values[column.fills]) for column in columns}
        yield seal(cells) if each.is_blind else cells

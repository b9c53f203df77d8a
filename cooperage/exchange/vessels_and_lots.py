"""Rows of `vessels.csv` and `lots.csv`, and what they register, both ways."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, replace
from typing import Any, TypeVar

from cooperage.book import Barrel, Lot, Upkeep, Vessel
from cooperage.book.declared.allowed import NotAllowed
from cooperage.book.errors import AlreadyThere
from cooperage.book.store.registry import tidied_lot, tidied_vessel
from cooperage.exchange.tables.cells import Clock, show_cell
from cooperage.exchange.tables.columns import BARREL, FILES, LOTS, UPKEEP, VESSELS, Column
from cooperage.exchange.tables.sheets import Row

_POSITION = ("room", "row", "bay", "tier")


def read_vessel(row: Row, clock: Clock) -> Vessel:
    """Read one vessel; its id is blank where the file gives none. Raises BadCell."""
    values = row.values(VESSELS, clock)
    wood, care = row.values(BARREL, clock), row.values(UPKEEP, clock)
    position = (values.pop("room", None), values.pop("row", None), values.pop("bay", None), values.pop("tier", None))
    barrel = Barrel(**wood) if wood else None
    known = {"id": "", "capacity_how": "unknown"} | values
    vessel = Vessel(**known, position=position, barrel=barrel, upkeep=Upkeep(**care))
    with _in_its_column(row, FILES["vessels"]):
        return tidied_vessel(vessel)


def read_lot(row: Row, clock: Clock) -> Lot:
    """Read one lot; its id is blank where the file gives none. Raises BadCell."""
    lot = Lot(**{"id": "", "name": ""} | row.values(LOTS, clock))
    with _in_its_column(row, LOTS):
        return tidied_lot(lot)


@contextmanager
def _in_its_column(row: Row, columns: tuple[Column, ...]) -> Iterator[None]:
    """Give a value that cannot be its place in the file."""
    try:
        yield
    except NotAllowed as error:
        column = next((column.name for column in columns if column.fills == error.field), None)
        raise row.placed(error, column) from error


Registered = TypeVar("Registered", Vessel, Lot)


def known_by_name(there: Iterable[Registered]) -> dict[str, Registered]:
    """Index what is registered by its tag or code in capitals, and by its id."""
    return {name: known for known in there for name in (_name(known).upper(), known.id)}


def is_new(wanted: Registered, known: dict[str, Registered]) -> bool:
    """Return True if it is not registered yet; the same id, or the same in all, is. Raises AlreadyThere for another."""
    there = known.get(_name(wanted).upper()) or known.get(wanted.id)
    if there is None:
        return True
    is_same = wanted.id == there.id and _name(wanted).upper() == _name(there).upper()
    if is_same or (not wanted.id and _as_there(wanted, there) == there):
        return False
    raise AlreadyThere(type(wanted).__name__.lower(), _name(wanted))


def _as_there(wanted: Registered, there: Registered) -> Registered:
    """Fill in where a file is silent the id, the hand and the day of what is there."""
    by, at = wanted.registered_by or there.registered_by, wanted.registered_at or there.registered_at
    return replace(wanted, id=there.id, registered_by=by, registered_at=at)


def _name(known: Vessel | Lot) -> str:
    return known.tag if isinstance(known, Vessel) else known.code


def show_vessel(vessel: Vessel) -> dict[str, str]:
    """Return a vessel's cells by column name."""
    values: dict[str, Any] = asdict(vessel) | dict(zip(_POSITION, vessel.position, strict=True))
    wood = asdict(vessel.barrel) if vessel.barrel is not None else {}
    return _shown(VESSELS, values) | _shown(BARREL, wood) | _shown(UPKEEP, asdict(vessel.upkeep))


def show_lot(lot: Lot) -> dict[str, str]:
    """Return a lot's cells by column name."""
    return _shown(LOTS, asdict(lot))


def _shown(columns: tuple[Column, ...], values: dict[str, Any]) -> dict[str, str]:
    return {column.name: show_cell(column, values.get(column.fills)) for column in columns}

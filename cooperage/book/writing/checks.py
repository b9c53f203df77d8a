"""The checks of every draft, whatever its kind: enough mead, enough room, later entries still possible."""

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from functools import partial
from typing import Protocol

from sqlalchemy import Connection, select

from cooperage.book.bottles import moves_of_bottling
from cooperage.book.errors import LaterEntryImpossible, SourceHoldsLess, VesselIsRetired, WouldOverflow
from cooperage.book.log import entries
from cooperage.book.replay.events import Event, Move, events, vessels_in
from cooperage.book.replay.state import VesselState
from cooperage.book.store.registry import Registry
from cooperage.book.store.tables import BOTTLE_MOVE
from cooperage.book.words import entry_line
from cooperage.book.writing.bottles import Bottles, BottleStep, Moment


class HasStates(Protocol):
    """Anything that knows the state of a vessel by its id."""

    def state_of(self, vessel_id: str) -> VesselState:
        """Return a vessel's state."""


def check_not_retired(vessel_ids: Iterable[str], registry: Registry, states: HasStates) -> None:
    """Refuse an act on a vessel that had been retired by then."""
    for vessel_id in vessel_ids:
        state = states.state_of(vessel_id)
        if state.retired_at is not None:
            retired_at = datetime.fromtimestamp(state.retired_at, UTC)
            raise VesselIsRetired(registry.by_id(vessel_id).tag, retired_at, state.retired_why)


def check_volumes(moves: Sequence[Move], registry: Registry, states: HasStates) -> dict[str, int]:
    """Refuse moves that take more than is there or put in more than there is room for.

    Returns what the vessels they name hold afterwards [ml by vessel id].
    """
    held = {vessel_id: states.state_of(vessel_id).ml for vessel_id in vessels_in(moves)}
    for move in moves:
        if move.source in held:
            there = held[move.source]
            if move.ml > there:
                raise SourceHoldsLess(registry.by_id(move.source).tag, asked=move.ml, there=there)
            held[move.source] -= move.ml
        if move.destination in held:
            vessel = registry.by_id(move.destination)
            room = vessel.capacity_ml - held[move.destination]
            if move.ml > room:
                raise WouldOverflow(vessel.tag, asked=move.ml, room=room)
            held[move.destination] += move.ml
    return held


def check_later(
    connection: Connection,
    registry: Registry,
    held: dict[str, int],
    since: tuple[datetime, str],
    retired: str | None = None,
) -> None:
    """Replay the moves after `since` from `held` [ml by vessel id], and refuse if one is not possible any more.

    `retired` is the id of a vessel that is retired by then. Raises LaterEntryImpossible naming the first entry that
    could not have happened.
    """
    for event in events(connection, after=since, touching=list(held)):
        if retired is not None and retired in vessels_in(event.moves) | {event.vessel}:
            raise _impossible(connection, retired, event, registry, "would be retired")
        for move in event.moves:
            if move.source in held:
                held[move.source] -= move.ml
                _check_still_possible(connection, move.source, held[move.source], event, registry)
            if move.destination in held:
                held[move.destination] += move.ml
                _check_still_possible(connection, move.destination, held[move.destination], event, registry)
        if event.kind == "retire" and event.vessel in held and held[event.vessel]:
            raise _impossible(connection, event.vessel, event, registry, "would not be empty")


def _check_still_possible(connection: Connection, vessel_id: str, ml: int, event: Event, registry: Registry) -> None:
    if ml < 0:
        raise _impossible(connection, vessel_id, event, registry, "would hold too little")
    if ml > registry.by_id(vessel_id).capacity_ml:
        raise _impossible(connection, vessel_id, event, registry, "would run over")


def _impossible(
    connection: Connection, vessel_id: str, event: Event, registry: Registry, why: str
) -> LaterEntryImpossible:
    [later] = entries(connection, ids=[event.id])
    return LaterEntryImpossible(registry.by_id(vessel_id).tag, event.id, event.kind, partial(entry_line, later), why)


def check_bottles(connection: Connection, bottles: Bottles, bottling_id: str, step: BottleStep) -> None:
    """Refuse bottles that would be missing at a later entry; raises LaterEntryImpossible naming the first."""
    short = bottles.first_short(bottling_id, more=step)
    if short is not None:
        raise _short(connection, bottles, bottling_id, short)


def check_bottles_without(connection: Connection, bottles: Bottles, struck: Moment) -> None:
    """Refuse to strike an entry that a later one needs for its bottles; raises LaterEntryImpossible naming the first.

    A bottling is not struck as long as anything that happened to its bottles stands.
    """
    entry_id = struck[1]
    bottling_id = connection.scalar(select(BOTTLE_MOVE.c.bottling_id).where(BOTTLE_MOVE.c.entry_id == entry_id))
    if bottling_id is None:
        later = [move for move in moves_of_bottling(connection, entry_id) if move.entry_id != entry_id]
        if later:
            raise _later_of_bottles(connection, later[-1].code, later[-1].entry_id, "would not have been bottled")
        return
    short = bottles.first_short(bottling_id, without=struck)
    if short is not None:
        raise _short(connection, bottles, bottling_id, short)
    bottles.forget(bottling_id)


def _short(connection: Connection, bottles: Bottles, bottling_id: str, short: BottleStep) -> LaterEntryImpossible:
    code = bottles.code_of(bottling_id)
    where = f"in {short.source}" if short.source else "outside the named stores"
    return _later_of_bottles(connection, code, short.entry_id, f"would have too few bottles {where}")


def _later_of_bottles(connection: Connection, code: str, entry_id: str, why: str) -> LaterEntryImpossible:
    [later] = entries(connection, ids=[entry_id])
    return LaterEntryImpossible(code, entry_id, later.kind, partial(entry_line, later), why)

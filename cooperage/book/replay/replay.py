"""Replay: from the entries that stand to the state of every vessel.

`Replay.apply` is the only place where an entry changes a state, so a replay from nothing and the cache that the
writer keeps agree to the last bit. Ethanol, extract and acids are conserved: a parcel that leaves one place is the
parcel that arrives in the next.
"""

from collections.abc import Callable, Iterable
from contextlib import suppress
from functools import cache
from typing import Any

from cooperage import liquid
from cooperage.book.declared.looks import SEEN_FULL
from cooperage.book.declared.places import EVAPORATION_PLACES, GAP_CAUSES, OUTSIDE_IDS, Outside
from cooperage.book.declared.substances import SUBSTANCES
from cooperage.book.replay.contents import PLACE_OF, Contents
from cooperage.book.replay.events import Event, Move, Observed
from cooperage.book.replay.state import DAY, Judged, VesselState
from cooperage.book.store.gauging import ml_at_headspace
from cooperage.book.store.registry import Lot
from cooperage.errors import OutOfRange

_GAPS = frozenset(GAP_CAUSES)


class Replay:
    """Vessel states that entries are applied to, one after the other.

    `state_of(vessel_id)` finds or makes a vessel's state, `lot_of(lot_id)` a lot. `outside`, when kept, gathers what
    went to each outside place, less what came from it, so that conservation can be checked. What was bottled is kept
    in `bottled` by the bottling's code, for bottles that are poured back; one from before the first entry is asked of
    `bottled_as(code)`.
    """

    def __init__(
        self,
        state_of: Callable[[str], VesselState],
        lot_of: Callable[[str], Lot],
        outside: dict[str, Contents] | None = None,
        bottled_as: Callable[[str], Contents] | None = None,
    ) -> None:
        self._state_of = state_of
        self._lot_of = lot_of
        self._outside = outside
        self._bottled_as = bottled_as
        self.bottled: dict[str, Contents] = {}

    def run(self, events: Iterable[Event]) -> None:
        """Apply events in order."""
        for event in events:
            self.apply(event)

    def apply(self, event: Event) -> None:
        """Apply one entry to the states of the vessels it names."""
        for move in event.moves:
            self._move(move, event)
        for observed in event.readings:
            self._read(observed, event)
        if event.vessel is not None:
            state = self._touch(event.vessel, event)
            state.last[event.kind] = event.at
            _apply_fields(state, event)

    def _touch(self, vessel_id: str, event: Event) -> VesselState:
        state = self._state_of(vessel_id)
        if state.touched_id != event.id:
            state.age_to(event.at)
            state.touched_id = event.id
            state.entries += 1
        return state

    def _move(self, move: Move, event: Event) -> None:
        if move.source in OUTSIDE_IDS:
            destination = self._touch(move.destination, event)
            parcel = self._from_outside(move, destination, event)
            was_empty = destination.ml == 0
            destination.flows_in(parcel, event.at)
            if move.lot is not None or move.source == Outside.BOTTLED:
                destination.last["joined"] = event.at
            if was_empty or move.source not in EVAPORATION_PLACES:
                destination.carries_on(move.ml)
            return
        source = self._touch(move.source, event)
        if move.destination in OUTSIDE_IDS:
            self._to_outside(move, source, event)
        else:
            parcel = source.flows_out(move.ml, event.at)
            parcel.is_racked()
            source.carries_on(-move.ml)
            destination = self._touch(move.destination, event)
            destination.flows_in(parcel, event.at)
            destination.carries_on(move.ml)
            destination.last["joined"] = event.at
            destination.takes_quarantine_of(source, move.source)

    def _from_outside(self, move: Move, destination: VesselState, event: Event) -> Contents:
        if move.source in _GAPS:
            parcel = destination.contents.more_alike(move.ml)
        elif move.source == Outside.BOTTLED:
            parcel = self._from_bottles(_code(event)).more_alike(move.ml)
        elif move.lot is not None:
            parcel = _of_lot(move.ml, self._lot_of(move.lot), event.at / DAY)
        else:
            parcel = _of_substance(move.ml, str(move.substance), event.at / DAY)
        self._account(move.source, parcel, -1.0)
        return parcel

    def _from_bottles(self, code: str) -> Contents:
        """Return what a bottling is made of; its litres are those that were bottled."""
        if code not in self.bottled and self._bottled_as is not None:
            self.bottled[code] = self._bottled_as(code)
        return self.bottled[code]

    def _to_outside(self, move: Move, source: VesselState, event: Event) -> None:
        at = event.at
        if move.destination not in EVAPORATION_PLACES:
            source.carries_on(-move.ml)
        if move.destination == Outside.EVAPORATED:
            lost = source.evaporates(move.ml, at)
        elif move.destination == Outside.CONTRACTION:
            source.contracts(move.ml)
            return
        else:
            lost = source.flows_out(move.ml, at)
        if move.destination == Outside.BOTTLED:
            self.bottled[_code(event)] = lost
        self._account(move.destination, lost, 1.0)

    def _account(self, place: str, parcel: Contents, sign: float) -> None:
        if self._outside is not None:
            self._outside.setdefault(place, Contents()).tally(parcel, sign)

    def _read(self, observed: Observed, event: Event) -> None:
        state = self._touch(observed.vessel, event)
        state.last[observed.property] = event.at
        state.is_read(observed.property, observed.value, observed.uncertainty, event.at, observed.method)
        if observed.property == "headspace_mm" and state.barrel_ml is not None:
            with suppress(OutOfRange):  # the writer refuses such a dip; a damaged book may have one
                state.level_is_known(event.at, "dipped", ml_at_headspace(state.barrel_ml, observed.value))
        if observed.property in ("sg", "abv"):
            _sugar_from_gravity(state)


def _code(event: Event) -> str:
    return str((event.said or {}).get("code", "")).strip()


def _sugar_from_gravity(state: VesselState) -> None:
    """Calculate sugar from a standing gravity reading and the strength (Tabarié), unless sugar was read since."""
    sg, sugar = state.reads.get("sg"), state.reads.get("sugar_g_l")
    abv = state.contents.value(PLACE_OF["abv"])
    if sg is None or sg.changed or abv is None or (sugar is not None and sugar.at > sg.at):
        return
    sugar_g_l = max(0.0, float(liquid.extract_g_l(sg.value, abv)))
    state.contents.set(PLACE_OF["sugar_g_l"], sugar_g_l, sg.at / DAY)


def _apply_fields(state: VesselState, event: Event) -> None:
    """Apply an entry's fields beyond moves and readings: an addition, a treatment, a look, a full topping."""
    values = event.said or {}
    if event.kind == "addition":
        for name, per_unit in SUBSTANCES[values["substance"]].raises:
            state.is_raised(name, per_unit * values["amount"] * 1000, event.at)  # l to ml
        state.last[f"added {values['substance']}"] = event.at
    elif event.kind == "shift":
        state.position = (values["room"], values["row"] or None, values["bay"], values["tier"])
    elif event.kind == "retire":
        state.retired_at, state.retired_why = event.at, values["reason"]
    elif event.kind == "treat":
        state.last[values["treatment"]] = event.at
    elif event.kind == "look":
        _apply_look(state, values, event.at)
    elif event.kind == "judge":
        state.judged = Judged(values["verdict"], event.at, values["weeks"], values["flight"])
    elif event.kind == "top":
        _top(state, event.at, is_full=not values["not_full"])
    elif event.kind == "gauge":
        state.level_is_known(event.at, "dipped")


def _top(state: VesselState, at: float, *, is_full: bool) -> None:
    """To the bung, the level is known; short of it, only that it is short."""
    state.last["full" if is_full else "not full"] = at
    if is_full:
        state.level_is_known(at, "topped")


def _apply_look(state: VesselState, values: dict[str, Any], at: float) -> None:
    for what in ("level", "bung", "smell"):
        if values[what]:
            state.seen[what] = (values[what], at)
    if values["level"] == SEEN_FULL:
        state.last["seen full"] = at
        state.level_is_known(at, "seen full", state.barrel_ml)


def _of_substance(ml: int, name: str, day: float) -> Contents:
    substance = SUBSTANCES[name]
    parcel = Contents(ml, name)
    figures = {"abv": substance.abv, "sugar_g_l": substance.sugar_g_l, "ta_g_l": 0.0, "va_g_l": 0.0}
    for figure, value in (figures | {"free_so2_mg_l": 0.0, "total_so2_mg_l": 0.0}).items():
        parcel.set(PLACE_OF[figure], value, day)
    return parcel


def _of_lot(ml: int, lot: Lot, day: float) -> Contents:
    parcel = Contents(ml, lot.id)
    abv, sugar = lot_figures(lot)
    for figure, value in (("abv", abv), ("sugar_g_l", sugar)):
        if value is not None:
            parcel.set(PLACE_OF[figure], value, day)
    return parcel


@cache
def lot_strength(lot: Lot) -> float | None:
    """Return a lot's strength [% vol], by its gravities where it was not measured; None where neither is known."""
    if lot.abv is None and lot.original_sg is not None and lot.final_sg is not None:
        return float(liquid.abv_from_gravities(lot.original_sg, lot.final_sg))
    return lot.abv


@cache
def lot_figures(lot: Lot) -> tuple[float | None, float | None]:
    """Calculate a lot's strength [% vol] and sugar [g/L] from what is known of it; None where it is not enough."""
    abv = lot_strength(lot)
    if abv is None or lot.final_sg is None:
        return abv, None
    return abv, max(0.0, float(liquid.extract_g_l(lot.final_sg, abv)))

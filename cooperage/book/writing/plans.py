"""From an act to the rows it means: one pure function per kind of entry.

A plan reads the cellar as it stood when the act was done and returns a `Draft`; it writes nothing. What is general
(enough there, room enough, not retired, not in the future) the writer checks on every draft.
"""

from collections.abc import Callable
from datetime import datetime

from cooperage.book.dangers.dangers import DANGERS, residue_words
from cooperage.book.dangers.lingering import spirit_in_wood
from cooperage.book.declared import acts
from cooperage.book.declared.looks import smells_in
from cooperage.book.declared.places import OUTSIDE_IDS, Outside
from cooperage.book.declared.properties import property_named
from cooperage.book.declared.substances import Substance, substance_named, treatment_named
from cooperage.book.declared.verdicts import checked_verdict
from cooperage.book.errors import (
    Implausible,
    Incomplete,
    InQuarantine,
    NotABarrel,
    NothingMoved,
    NothingSeen,
    NotPossible,
    OddLevel,
    SameVessel,
    SourceHoldsLess,
    VesselIsEmpty,
    VesselIsFull,
    VesselNotEmpty,
    WouldOverflow,
)
from cooperage.book.replay.events import Move, Observed
from cooperage.book.replay.state import VesselState
from cooperage.book.store.gauging import volume_at_headspace
from cooperage.book.store.registry import MOST_MONEY, Vessel
from cooperage.book.writing.bottle_plans import BOTTLE_PLANS
from cooperage.book.writing.doubts import (
    LOT_COST_MOST,
    ask_all,
    ask_if_empty,
    ask_if_far,
    ask_if_unlike,
    ask_of_money,
    ask_of_quarantine,
    ask_of_rest,
    ask_of_spread,
)
from cooperage.book.writing.draft import Draft, View
from cooperage.book.writing.gaps import ask_if_odd, ask_of_gap, cause_of_loss, closing_moves, is_expected
from cooperage.book.writing.mixing import contraction, dose_move, dose_moves, stream_of, stream_of_dose, volume_of_dose
from cooperage.units import Quantity

_USUAL_DOSE_MARGIN = 1.5
_CELLAR_CELSIUS, _CELLAR_HUMIDITY = (-15.0, 45.0), (10.0, 100.0)


def _receive(act: acts.Receive, view: View) -> Draft:
    vessel, lot = view.vessel(act.vessel), view.lot(act.lot)
    if not act.sure:
        ask_of_quarantine(None, (vessel, view.state(vessel)))
    return Draft(vessel, [Move(Outside.RECEIVED, vessel.id, _some(act.volume, act), lot.id)])


def _fill(act: acts.Fill, view: View) -> Draft:
    vessel, source = _two(view, act.vessel, act.source)
    if not vessel.is_barrel:
        raise NotABarrel(vessel.tag, vessel.kind)
    _refuse_to_mix_quarantined(source, vessel, view)
    room = vessel.capacity_ml - view.state(vessel).ml
    ml = room if act.volume is None else act.volume
    if room <= 0 and act.volume is None:
        raise VesselIsFull(vessel.tag, there=view.state(vessel).ml)
    _some(ml, act)
    ask_all(
        lambda: _ask_of_quarantine(act, view, (source, vessel)),
        lambda: _ask_if_unlike(act, view, (source, vessel), ml),
    )
    return Draft(vessel, [Move(source.id, vessel.id, ml)])


def _ask_if_unlike(act: acts.Act, view: View, ends: tuple[Vessel, Vessel], ml: int) -> None:
    if not act.sure:
        source, destination = ((vessel, view.state(vessel)) for vessel in ends)
        ask_if_unlike(source, destination, ml, view)


def _refuse_if_quarantined(source: Vessel, view: View) -> None:
    if view.state(source).is_quarantined:
        raise InQuarantine(source.tag)


def _refuse_to_mix_quarantined(source: Vessel, destination: Vessel, view: View) -> None:
    """Refuse mead in quarantine where it would meet mead that is not."""
    there = view.state(destination)
    if there.ml and not there.is_quarantined:
        _refuse_if_quarantined(source, view)


def _ask_of_quarantine(act: acts.Act, view: View, ends: tuple[Vessel, Vessel]) -> None:
    if not act.sure:
        source, destination = ((vessel, view.state(vessel)) for vessel in ends)
        ask_of_quarantine(source, destination)


def _top(act: acts.Top, view: View) -> Draft:
    vessel, source = _two(view, act.vessel, act.source)
    _refuse_if_quarantined(source, view)
    state = view.state(vessel)
    if state.ml == 0:
        raise VesselIsEmpty(vessel.tag)
    ml = _some(act.volume, act)
    gap = state.ml + ml - vessel.capacity_ml
    if act.not_full:
        gap = max(0, gap)  # the book may not know yet what has evaporated: that much room there was at least
    ask_all(
        lambda: _ask_of_topping(act, vessel, state, gap, view.at),
        lambda: _ask_if_unlike(act, view, (source, vessel), ml),
    )
    if (there := view.state(source).ml) < ml:  # before what evaporated is made good, which would be too much as well
        raise SourceHoldsLess(source.tag, asked=ml, there=there)
    closing = closing_moves(vessel, gap, act.cause or cause_of_loss(vessel, state, view.at))
    return Draft(vessel, [*closing, Move(source.id, vessel.id, ml)])


def _ask_of_topping(act: acts.Top, vessel: Vessel, state: VesselState, gap: int, at: datetime) -> None:
    """Ask back a topping that is large, or does not fit the calculated volume, unless it was expected."""
    if act.sure or is_expected(act, vessel.capacity_ml - act.volume):
        return
    if vessel.is_barrel and _is_unusual(act):
        raise OddLevel(f"{{asked}} is a lot for one topping of {vessel.tag}. Is it leaking?", asked=act.volume)
    if not act.not_full:
        ask_if_odd(vessel, state, gap, at)


def _rack(act: acts.Rack, view: View) -> Draft:
    vessel = view.vessel(act.vessel)
    there = view.state(vessel).ml
    if there == 0:
        raise VesselIsEmpty(vessel.tag)
    ml = there - act.lees if act.volume is None else act.volume
    if ml < 0:
        raise SourceHoldsLess(vessel.tag, asked=act.lees, there=there)
    destination = None if act.destination == acts.POURED_AWAY else _two(view, act.destination, act.vessel)[0]
    if destination is not None:
        _refuse_to_mix_quarantined(vessel, destination, view)
    rest = there - ml - act.lees
    ask_all(
        lambda: _ask_of_rest(act, vessel, there, rest),
        lambda: _ask_of_quarantine(act, view, (vessel, destination)) if destination is not None else None,
        lambda: _ask_if_unlike(act, view, (vessel, destination), ml) if destination is not None else None,
    )
    goes_to = Outside.POURED_AWAY if destination is None else destination.id
    moves = [Move(vessel.id, goes_to, _some(ml, act))]
    if act.lees:
        moves.append(Move(vessel.id, Outside.LEES, act.lees))
    return Draft(vessel, moves + _emptied(act, vessel, rest))


def _ask_of_rest(act: acts.Rack | acts.Bottle, vessel: Vessel, there: int, rest: int) -> None:
    if act.empties and not act.sure:
        ask_of_rest(vessel, there, rest, _rest_goes_to(act))


def _emptied(act: acts.Rack | acts.Bottle, vessel: Vessel, rest: int) -> list[Move]:
    """Return the move that empties a vessel in the book: the rest goes to the cause, by default to gauging."""
    return [Move(vessel.id, _rest_goes_to(act), rest)] if act.empties and rest > 0 else []


def _rest_goes_to(act: acts.Rack | acts.Bottle) -> str:
    return act.cause or Outside.GAUGING.value


def _gauge(act: acts.Gauge, view: View) -> Draft:
    vessel = view.vessel(act.vessel)
    state = view.state(vessel)
    readings = []
    if act.volume is not None:
        found = act.volume
    elif act.headspace is not None:
        found = volume_at_headspace(vessel, act.headspace)
        readings.append(_observe(act, view, vessel, ("headspace_mm", act.headspace, None, "dip")))
    else:
        raise Incomplete("gauge", "a volume or a headspace")
    if found > vessel.capacity_ml:
        raise WouldOverflow(vessel.tag, asked=found, room=vessel.capacity_ml)
    if not act.sure and not is_expected(act, found):
        ask_of_gap(act, vessel, state, found, view.at)
    gap = state.ml - found
    return Draft(vessel, closing_moves(vessel, gap, act.cause or cause_of_loss(vessel, state, view.at)), readings)


def _sample(act: acts.Sample, view: View) -> Draft:
    vessel = view.vessel(act.vessel)
    if _is_unusual(act):
        raise Implausible(f"{{asked}} is a lot for a sample of {vessel.tag}", asked=act.volume)
    return Draft(vessel, [Move(vessel.id, Outside.SAMPLE, _some(act.volume, act))])


def _reading(act: acts.Reading, view: View) -> Draft:
    vessel = view.vessel(act.vessel)
    observed = _observe(act, view, vessel, (act.property, act.value, act.uncertainty, act.method))
    if not act.sure:
        ask_if_empty(vessel, view.state(vessel))
    return Draft(vessel, [], [observed])


def _observe(act: acts.Act, view: View, vessel: Vessel, seen: tuple[str, float, float | None, str]) -> Observed:
    """Check a reading (property, value, uncertainty, method) and return it as the book keeps it."""
    name, value, uncertainty, method = seen
    read = property_named(name)
    low, high = read.possible
    if not low <= value <= high:
        raise NotPossible(read.label, *((read.quantity, figure) for figure in (value, low, high)))
    usual_low, usual_high = read.usual
    if not usual_low <= value <= usual_high and not act.sure:
        raise Implausible(f"{read.label} {{value}} of {vessel.tag} is unusual", value=(read.quantity, value))
    if name == "headspace_mm" and vessel.is_barrel:
        volume_at_headspace(vessel, value)  # refuses a dip deeper than the barrel
    if not act.sure:
        ask_if_far(vessel, view.state(vessel), (read, value), view.at, view.band_of)
    give_or_take = read.uncertainty if uncertainty is None else abs(uncertainty)
    if not act.sure:
        ask_of_spread(vessel, read, value, give_or_take)
    return Observed(vessel.id, name, float(value), float(give_or_take), method)


def _addition(act: acts.Addition, view: View) -> Draft:
    vessel, substance = view.vessel(act.vessel), substance_named(act.substance)
    state = view.state(vessel)
    if state.ml == 0:
        raise VesselIsEmpty(vessel.tag)
    if act.amount <= 0:
        raise NothingMoved(f"dose of {substance.label}")
    usual = substance.usual_per_l * state.ml / 1000
    if act.amount > _USUAL_DOSE_MARGIN * usual and not act.sure:
        raise Implausible(
            f"{{amount}} of {substance.label} in the {{there}} of {vessel.tag} is more than "
            "1.5 times the usual most ({usual})",
            there=state.ml,
            amount=_amount(substance, act.amount),
            usual=_amount(substance, usual),
        )
    return Draft(vessel, dose_moves(vessel, state, ((act.substance, act.amount),)))


def _amount(substance: Substance, amount: float) -> tuple[Quantity, float]:
    is_volume = substance.quantity is Quantity.VOLUME
    return substance.quantity, round(amount) if is_volume else amount


def _treat(act: acts.Treat, view: View) -> Draft:
    vessel = view.vessel(act.vessel)
    treatment = treatment_named(act.treatment)
    if treatment.of_empty and view.state(vessel).ml:
        raise VesselNotEmpty(vessel.tag, there=view.state(vessel).ml)
    held = spirit_in_wood(vessel, view.state(vessel)) if treatment.near_flame and not act.sure else None
    if held is not None:
        raise Implausible(DANGERS["flame near spirit"].caution(f"{vessel.tag} {held}").text.rstrip("."))
    return Draft(vessel)


def _look(act: acts.Look, view: View) -> Draft:
    if not (act.level or act.bung or smells_in(act.smell) or act.note.strip()):
        raise NothingSeen(act.vessel)
    return Draft(view.vessel(act.vessel))


def _judge(act: acts.Judge, view: View) -> Draft:
    checked_verdict(act.verdict, act.weeks)
    return Draft(view.vessel(act.vessel))


def _climate(act: acts.Climate, view: View) -> Draft:
    rooms = view.rooms()
    if act.room not in rooms and not act.sure:
        raise Implausible(f"no vessel has ever stood in '{act.room}'; rooms are {', '.join(rooms) or 'not named yet'}")
    for value, quantity, (low, high) in (
        (act.temperature, Quantity.TEMPERATURE, _CELLAR_CELSIUS),
        (act.humidity, Quantity.PERCENT, _CELLAR_HUMIDITY),
    ):
        if not low <= value <= high and not act.sure:
            raise Implausible("{value} is not a plausible room reading", value=(quantity, value))
    return Draft(None)


def _lot_cost(act: acts.LotCost, view: View) -> Draft:
    lot = view.lot(act.lot)
    if not 0 <= act.cost_per_l <= MOST_MONEY:
        raise NotPossible("the cost", *((Quantity.MONEY, sum_) for sum_ in (act.cost_per_l, 0.0, MOST_MONEY)))
    if not act.sure:
        ask_of_money(lot.code, act.cost_per_l, "litre", LOT_COST_MOST, lot.cost_per_l)
    return Draft(None)


def _shift(act: acts.Shift, view: View) -> Draft:
    return Draft(view.vessel(act.vessel))


def _blend(act: acts.Blend, view: View) -> Draft:
    vessel = view.vessel(act.vessel)
    streams = [stream_of(view.state(vessel), view.state(vessel).ml)]
    moves = []
    for tag, ml in act.draws:
        source = _two(view, tag, act.vessel)[0]
        _refuse_if_quarantined(source, view)
        moves.append(Move(source.id, vessel.id, _some(ml, act)))
        streams.append(stream_of(view.state(source), ml))
    if not moves:
        raise Incomplete("blend", "at least one draw")
    if not act.sure:
        ask_of_quarantine(None, (vessel, view.state(vessel)))
    for name, amount in act.doses:
        ml = _some(volume_of_dose(name, amount), act)
        moves.append(dose_move(vessel, name, ml))
        streams.append(stream_of_dose(name, ml))
    return Draft(vessel, moves + contraction(vessel, streams))


def _bottle(act: acts.Bottle, view: View) -> Draft:
    vessel = view.vessel(act.vessel)
    _refuse_if_quarantined(vessel, view)
    there = view.state(vessel).ml
    ml = _some(act.bottles * act.bottle, act)
    moves = [Move(vessel.id, Outside.BOTTLED, ml)]
    if act.loss:
        moves.append(Move(vessel.id, Outside.SPILLED, act.loss))
    rest = there - ml - act.loss
    _ask_of_rest(act, vessel, there, rest)
    return Draft(vessel, moves + _emptied(act, vessel, rest), [], (act.code.strip(), act.bottles, act.bottle))


def _retire(act: acts.Retire, view: View) -> Draft:
    vessel = view.vessel(act.vessel)
    if view.state(vessel).ml:
        raise VesselNotEmpty(vessel.tag, there=view.state(vessel).ml)
    if act.received is not None and not 0 <= act.received <= MOST_MONEY:
        raise NotPossible("the sum received", *((Quantity.MONEY, sum_) for sum_ in (act.received, 0.0, MOST_MONEY)))
    return Draft(vessel, retires=vessel.id)


def _two(view: View, tag: str, other: str) -> tuple[Vessel, Vessel]:
    first, second = view.vessel(tag), view.vessel(other)
    if first.id == second.id:
        raise SameVessel(first.tag)
    return first, second


def _is_unusual(act: acts.Act) -> bool:
    """Return True if a figure is over the usual most that its field declares and the act is not `sure`."""
    return not act.sure and any(
        face.usual_up_to is not None and getattr(act, declared.name) > face.usual_up_to
        for declared, face in acts.faces(type(act))
    )


def _some(ml: int, act: acts.Act) -> int:
    if ml <= 0:
        raise NothingMoved(act.label)
    return ml


_PLANS: dict[type[acts.Act], Callable[..., Draft]] = {
    acts.Receive: _receive,
    acts.Fill: _fill,
    acts.Top: _top,
    acts.Rack: _rack,
    acts.Gauge: _gauge,
    acts.Sample: _sample,
    acts.Reading: _reading,
    acts.Addition: _addition,
    acts.Treat: _treat,
    acts.Look: _look,
    acts.Judge: _judge,
    acts.Climate: _climate,
    acts.LotCost: _lot_cost,
    acts.Shift: _shift,
    acts.Blend: _blend,
    acts.Bottle: _bottle,
    acts.Retire: _retire,
    **BOTTLE_PLANS,
}


def plan(act: acts.Act, view: View) -> Draft:
    """Draft the rows of any act but a strike, which the writer reverses by itself.

    Raises the rule of the book that the act breaks; Implausible where it should be asked back.
    """
    draft = _PLANS[type(act)](act, view)
    if not act.sure:
        _ask_if_not_rinsed(draft, view)
    return draft


def _ask_if_not_rinsed(draft: Draft, view: View) -> None:
    """Ask back mead that would go into a vessel with caustic, acid or holding solution still in it."""
    for move in draft.moves:
        if move.destination in OUTSIDE_IDS:
            continue
        vessel = view.by_id(move.destination)
        if seen := residue_words(vessel.tag, view.state(vessel), view.at):
            raise Implausible(DANGERS["not rinsed"].caution(seen).line)

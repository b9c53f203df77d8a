"""What comes into a vessel beside mead, and what is lost as it mixes."""

from cooperage import liquid
from cooperage.book.declared.places import Outside
from cooperage.book.declared.substances import substance_named
from cooperage.book.replay.contents import PLACE_OF
from cooperage.book.replay.events import Move
from cooperage.book.replay.state import VesselState
from cooperage.book.store.registry import Vessel

Stream = tuple[int, float | None, float | None]
"""What is mixed: millilitres, strength [% vol] and sugar [g/L]; None is unknown."""


def dose_moves(vessel: Vessel, state: VesselState, doses: tuple[tuple[str, float], ...]) -> list[Move]:
    """Bring the volumes of what is added in, and let the mixture contract."""
    added = [(name, ml) for name, amount in doses if (ml := volume_of_dose(name, amount)) > 0]
    streams = [stream_of(state, state.ml), *(stream_of_dose(name, ml) for name, ml in added)]
    return [dose_move(vessel, name, ml) for name, ml in added] + contraction(vessel, streams)


def volume_of_dose(name: str, amount: float) -> int:
    """Return the volume [ml] that an amount of a substance takes up, in its own unit."""
    return round(substance_named(name).ml_per_unit * amount)


def dose_move(vessel: Vessel, name: str, ml: int) -> Move:
    """Return the move that brings a substance in."""
    return Move(Outside.RECEIVED, vessel.id, ml, None, name)


def stream_of(state: VesselState, ml: int) -> Stream:
    """Return so much of what a vessel holds, as it goes into a mixture."""
    held = state.contents
    return ml, held.value(PLACE_OF["abv"]), held.value(PLACE_OF["sugar_g_l"])


def stream_of_dose(name: str, ml: int) -> Stream:
    """Return so much of a substance, as it goes into a mixture."""
    dose = substance_named(name)
    return ml, dose.abv, dose.sugar_g_l


def contraction(vessel: Vessel, streams: list[Stream]) -> list[Move]:
    """Return the millilitres lost on mixing, where strength and sugar of every stream are known."""
    streams = [stream for stream in streams if stream[0] > 0]
    known = [stream for stream in streams if stream[1] is not None and stream[2] is not None]
    if len(streams) < 2 or len(known) < len(streams):
        return []
    ml, abv, sugar = zip(*known, strict=True)
    lost = round(1000 * float(liquid.mix([part / 1000 for part in ml], list(abv), list(sugar)).contraction))
    return [Move(vessel.id, Outside.CONTRACTION, lost)] if lost > 0 else []

"""What is missing from a vessel, or is too much in the book: how much it can have lost, where to, and what is asked."""

import math
from datetime import datetime

from cooperage.book.declared import acts
from cooperage.book.declared.places import OUTSIDE, SOAK_DAYS, Outside
from cooperage.book.errors import OddLevel
from cooperage.book.replay.events import Move
from cooperage.book.replay.state import DAY, VesselState
from cooperage.book.store.registry import Vessel
from cooperage.book.writing.doubts import ask_of_gain

_SOAK_ML = 6000
_A_YEAR_AT_MOST = 0.12  # of a 225 L barrel: the dry end of published evaporation, with a margin
_SLACK_ML = 2000
_JUG_ML = 50
_CAPACITY_TOLERANCE = {"measured": 0.005, "nominal": 0.015, "unknown": 0.05}


def is_expected(act: acts.Act, found: int) -> bool:
    """Return True if a vessel was expected to hold what was found in it [ml], within what a jug shows."""
    return act.expected is not None and act.expected[0] - _JUG_ML <= found <= act.expected[1] + _JUG_ML


def ask_if_odd(vessel: Vessel, state: VesselState, gap: int, at: datetime) -> None:
    """Ask back a topping to the bung that does not fit the calculated volume."""
    if -gap > _CAPACITY_TOLERANCE[vessel.capacity_how] * vessel.capacity_ml:
        raise OddLevel(
            f"{vessel.tag} is calculated to be {{short}} short of full, so this cannot fill it to the bung: "
            "mark it as not full, or dip it",
            short=vessel.capacity_ml - state.ml,
        )
    could = could_have_lost(vessel, state, at)
    if gap > could:
        raise OddLevel(
            f"{vessel.tag} would have lost {{gap}} since it was last full, at most {{could}} expected. Is it leaking?",
            gap=gap,
            could=could,
        )


def could_have_lost(vessel: Vessel, state: VesselState, at: datetime) -> int:
    """Return the most [ml] a sound vessel can have lost since it was last known full, with a margin."""
    since = max(state.last.get("full", 0.0), state.filled_at or 0.0)
    days = max(0.0, (at.timestamp() - since) / DAY)
    small = math.cbrt(225_000 / vessel.capacity_ml)  # area per litre grows as the vessel shrinks
    lost = vessel.capacity_ml * _A_YEAR_AT_MOST * small * days / 365.25 + _SLACK_ML
    return round(lost + (_SOAK_ML if _is_soaking(vessel, state, at) else 0))


def _is_soaking(vessel: Vessel, state: VesselState, at: datetime) -> bool:
    is_new = vessel.barrel is not None and vessel.barrel.fills_before == 0 and state.fills == 1
    return is_new and state.filled_at is not None and at.timestamp() - state.filled_at <= SOAK_DAYS * DAY


def cause_of_loss(vessel: Vessel, state: VesselState, at: datetime) -> str:
    """Return the place to which a vessel's missing litres are written off when no cause is given."""
    if not vessel.is_barrel:
        return Outside.GAUGING
    return Outside.SOAKED if _is_soaking(vessel, state, at) else Outside.EVAPORATED


def closing_moves(vessel: Vessel, gap: int, cause: str) -> list[Move]:
    """Return the move that closes a gap: too much in the book goes to `cause`, too little comes from gauging."""
    if gap > 0:
        return [Move(vessel.id, cause, gap)]
    return [Move(Outside.GAUGING, vessel.id, -gap)] if gap < 0 else []


def ask_of_gap(act: acts.Gauge, vessel: Vessel, state: VesselState, found: int, at: datetime) -> None:
    """Ask back a level that is too low for what wood and air can have taken, or much higher than the book has it."""
    gap = state.ml - found
    if gap > could_have_lost(vessel, state, at) and not act.cause:
        raise OddLevel(
            f"{vessel.tag} should hold {{there}} and {{found}} was found; unless a cause is named, the missing {{gap}} "
            f"are written off as '{OUTSIDE[Outside(cause_of_loss(vessel, state, at))].label}'",
            there=state.ml,
            found=found,
            gap=gap,
        )
    ask_of_gain(vessel, state.ml, found)

"""What lingers in a vessel from what was in it and done to it: spirit, sulphur, a wash not rinsed out, living yeast.

Everything follows from a vessel as registered and its state; what was not written down counts as there.
"""

from collections.abc import Callable
from dataclasses import dataclass

from cooperage.book.declared.substances import SUBSTANCES, TREATMENTS, Treatment
from cooperage.book.replay.contents import PLACE_OF
from cooperage.book.replay.state import VesselState
from cooperage.book.store.registry import Vessel
from cooperage.liquid.hazards import STRONG_ABV
from cooperage.units import Quantity, Units, show

YEAST_GIVES_UP_ABV = 18.0
"""Yeasts rarely work beyond 16 to 18 % vol (common practice, no source); the careful end."""
DRY_G_L = 2.0
"""Below this sugar [g/L by reduction] no noticeable refermentation is to be feared (extension note FS-56-W)."""

SULPHITES = tuple(name for name, substance in SUBSTANCES.items() if substance.is_sulphite)


def spirit_in_wood(vessel: Vessel, state: VesselState) -> str | None:
    """Return that a barrel held spirit, or that it may have; None for a barrel that surely did not."""
    barrel = vessel.barrel
    if barrel is None:
        return None
    if barrel.held_spirit:
        return f"held {barrel.past_life or barrel.past_kind}"
    if "added spirit" in state.last:
        return "held mead with spirit added"
    if not barrel.past_kind:
        held = f"held {barrel.past_life}, not noted whether that is spirit"
        return held if barrel.past_life else "may have held spirit, its past is unknown"
    return None


def sulphured_at(state: VesselState) -> float | None:
    """Return since when an empty vessel holds the sulphur it was treated with [seconds since 1970]; None without."""
    at = _treated(state, lambda treatment: treatment.sulphurs)
    if state.ml or at == 0.0 or at < (state.emptied_at or 0.0):
        return None
    return at if at > _treated(state, lambda treatment: treatment.drives_sulphur_out) else None


@dataclass(frozen=True, slots=True)
class Residue:
    """What was put into an empty vessel and not rinsed out since: its name, and when [seconds since 1970]."""

    name: str
    at: float


def residue_in(state: VesselState) -> Residue | None:
    """Return what an empty vessel must be rinsed of before mead goes in; None where there is nothing."""
    left = [(state.last[name], name) for name, t in TREATMENTS.items() if t.leaves_residue and name in state.last]
    if state.ml or not left:
        return None
    at, name = max(left)
    rinsed = _treated(state, lambda treatment: treatment.rinses)
    return Residue(name, at) if at > rinsed and at >= (state.emptied_at or 0.0) else None


def _treated(state: VesselState, does: Callable[[Treatment], bool]) -> float:
    """Return when a treatment that `does` something was last done [seconds since 1970]; 0 where it never was."""
    return _latest(state, tuple(name for name, treatment in TREATMENTS.items() if does(treatment)))


def _latest(state: VesselState, names: tuple[str, ...]) -> float:
    return max((state.last.get(name, 0.0) for name in names), default=0.0)


def is_strong(abv: float | None) -> bool:
    """Return True if a liquid burns: above 24 % vol."""
    return abv is not None and abv > STRONG_ABV


def can_referment(state: VesselState, units: Units, *, sweetened: bool = False) -> str | None:
    """Return why mead may ferment again in the bottle; None where it is strong, dry or stabilised by the book.

    Stabilised is sorbate together with sulphite, or a sterile filtration, since mead last came in. `sweetened`:
    sugar is about to be added.
    """
    abv, sugar = (state.contents.value(PLACE_OF[name]) for name in ("abv", "sugar_g_l"))
    is_dry = sugar is not None and sugar <= DRY_G_L
    if (abv is not None and abv >= YEAST_GIVES_UP_ABV) or (is_dry and not sweetened) or is_stabilised(state):
        return None
    sweet = "sugar unknown" if sugar is None else f"{show(Quantity.SUGAR, sugar, units)} of sugar"
    strong = "strength unknown" if abv is None else f"{show(Quantity.STRENGTH, abv, units)}"
    return f"{sweet}, {strong}, and neither sorbate with sulphite nor a sterile filtration in the book"


def is_stabilised(state: VesselState) -> bool:
    """Return True if the book has what keeps yeast down, done since mead last came in."""
    since = max(state.filled_at or 0.0, state.last.get("joined", 0.0))
    sulphited = _latest(state, tuple(f"added {name}" for name in SULPHITES)) >= (state.filled_at or 0.0) > 0.0
    total = state.contents.value(PLACE_OF["total_so2_mg_l"]) or state.contents.value(PLACE_OF["free_so2_mg_l"])
    sorbated = state.last.get("added sorbate", -1.0) >= since
    return (sorbated and (sulphited or bool(total))) or state.last.get("sterile filter", -1.0) >= since

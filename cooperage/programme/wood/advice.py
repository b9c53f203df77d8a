"""What to do with a barrel: keep it, keep it as neutral, for sour or fruit alone, sell it, retire it; why, how sure.

Every limit here is common practice, without a source. The cellar decides; this only weighs what the book shows.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from cooperage.book import Standing
from cooperage.programme.losses.loss_rate import LossRate
from cooperage.programme.signs.sign import Sign
from cooperage.programme.wood.cost import BarrelCost
from cooperage.programme.wood.effect import EffectLeft
from cooperage.programme.wood.history import BarrelHistory, Faults
from cooperage.programme.wood.left import NEUTRAL_BELOW, is_neutral
from cooperage.units import counted

MANY_REPAIRS = 3
SMALL_L = 100
"""A smaller neutral barrel loses more than it is worth."""
LOSES_MUCH = 1.5
"""Times what barrels like it lose."""
_SMELLED_ONCE, _SMELLED_AGAIN = 0.6, 0.85
_REPAIRED_OFTEN = 0.8
_ASKED_OF = ("leak", "va", "empty")
"""Signs that are a reason to think about a barrel."""


class WoodVerdict(StrEnum):
    """What to do with a barrel, the most pressing first."""

    RETIRE = "retire"
    SELL = "sell"
    SOUR = "sour or fruit only"
    NEUTRAL = "neutral use"
    KEEP = "keep"


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do with a barrel, the reasons, and how sure [0 to 1, None unknown]; what it costs to be wrong.

    Let go wrongly, `let_go_cost` of its price is lost [money, None unknown]; used wrongly, `used_l` of mead [L].
    """

    verdict: WoodVerdict
    why: tuple[str, ...]
    sure: float | None
    let_go_cost: float | None
    used_l: float


@dataclass(frozen=True, slots=True)
class AdviceBasis:
    """All that one barrel's advice rests on."""

    standing: Standing
    effect: EffectLeft | None
    past: BarrelHistory
    cost: BarrelCost
    rate: LossRate | None
    signs: Sequence[Sign]


_Reason = tuple[WoodVerdict, str, float | None]


def advise(seen: AdviceBasis) -> Advice:
    """Weigh what is seen of a barrel: the most pressing reason gives the verdict."""
    reasons = [*_reasons(seen)]
    order = list(WoodVerdict)
    pressing = min(reasons, key=lambda each: (order.index(each[0]), -(each[2] or 0.0)))
    why = tuple(
        words for verdict, words, _ in reasons if words and (verdict is pressing[0] or verdict is not WoodVerdict.KEEP)
    )
    known = tuple(sign.why for sign in seen.signs if sign.kind in _ASKED_OF)
    left = None if seen.cost.price is None else seen.cost.price.left
    return Advice(pressing[0], tuple(dict.fromkeys((*known, *why))), pressing[2], left, _used_wrongly(seen, pressing))


def _reasons(seen: AdviceBasis) -> Iterator[_Reason]:
    faults = seen.past.faults
    if faults.taint:
        yield WoodVerdict.RETIRE, f"smelled of mould or spoilage yeast {_times(faults.taint)}", _sure_of(faults.taint)
    if faults.repairs >= MANY_REPAIRS:
        yield WoodVerdict.RETIRE, f"repaired {_times(faults.repairs)}", _REPAIRED_OFTEN
    yield from _leaking(seen, faults)
    yield from _sour(seen, faults)
    if is_neutral(seen.effect):
        yield from _neutral(seen)
    else:
        yield from _kept(seen)


def _leaking(seen: AdviceBasis, faults: Faults) -> Iterator[_Reason]:
    leak = next((sign for sign in seen.signs if sign.kind == "leak"), None)
    if leak is None:
        return
    if faults.repairs:
        yield WoodVerdict.RETIRE, f"leaks though it was repaired {_times(faults.repairs)}", leak.sure
    elif is_neutral(seen.effect):
        yield WoodVerdict.RETIRE, "leaks, and its wood is not worth a repair", leak.sure


def _sour(seen: AdviceBasis, faults: Faults) -> Iterator[_Reason]:
    if faults.sour:
        yield WoodVerdict.SOUR, f"smelled of vinegar or solvent {_times(faults.sour)}", _sure_of(faults.sour)
    climbing = next((sign for sign in seen.signs if sign.kind == "va"), None)
    if climbing is not None:
        yield WoodVerdict.SOUR, "", climbing.sure


def _neutral(seen: AdviceBasis) -> Iterator[_Reason]:
    effect = seen.effect
    if effect is None:
        return
    fill = seen.standing.fill_number
    words = f"fill {fill}: neutral wood, about {effect.percent:.0f} % left"
    sure = effect.chance_below(NEUTRAL_BELOW)
    yield WoodVerdict.NEUTRAL, words, sure
    times = None if seen.rate is None else seen.rate.times_peers
    if seen.standing.vessel.capacity_ml < SMALL_L * 1000:
        yield WoodVerdict.SELL, "small and neutral: it loses more for each litre, and gives nothing", sure
    elif times is not None and times >= LOSES_MUCH:
        yield WoodVerdict.SELL, f"neutral, and loses {times:.1f} times what barrels like it lose", sure


def _kept(seen: AdviceBasis) -> Iterator[_Reason]:
    if seen.effect is None:
        yield WoodVerdict.KEEP, "what is left in its wood is unknown: its fills before it came are not known", None
    else:
        words = f"about {seen.effect.percent:.0f} % of a new barrel left"
        yield WoodVerdict.KEEP, words, 1 - seen.effect.chance_below(NEUTRAL_BELOW)


def _times(count: int) -> str:
    return "once" if count == 1 else counted(count, "time")


def _sure_of(count: int) -> float:
    return _SMELLED_ONCE if count == 1 else _SMELLED_AGAIN


def _used_wrongly(seen: AdviceBasis, pressing: _Reason) -> float:
    """Return the litres that are lost if the barrel is used as a sound one and the verdict was right."""
    verdict, _, sure = pressing
    if verdict is WoodVerdict.SOUR or (verdict is WoodVerdict.RETIRE and seen.past.faults.taint):
        return seen.standing.vessel.capacity_ml / 1000 * (sure or 0.0)
    if seen.rate is None or not seen.rate.peers_ml_per_day:
        return 0.0
    return max(0.0, seen.rate.ml_per_day - seen.rate.peers_ml_per_day) * 365.25 / 1000

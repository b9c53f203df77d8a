"""How well an empty barrel suits a lot, as litres of mead that it costs: each rule with its litres and its reason.

Losses are the barrel's own; what taste is worth in litres is declared in `PRICES`, common practice without a source.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from cooperage.book import Cellar, Standing
from cooperage.book.dangers.lingering import residue_in, spirit_in_wood
from cooperage.book.vessel_words import IN_QUARANTINE
from cooperage.programme.losses.level import rate_of
from cooperage.programme.losses.loss_rate import LossRate
from cooperage.programme.wood.advice import WoodVerdict
from cooperage.programme.wood.standings import WoodStanding


class Wish(StrEnum):
    """What a lot is to get from its barrel."""

    ANY = "any"
    WOOD = "wood"
    NEUTRAL = "neutral"
    SPIRIT = "spirit"
    SOUR = "sour"
    """It is sour or of fruit: a barrel that smelled of vinegar may do."""


@dataclass(frozen=True, slots=True)
class SuitPrices:
    """What each thing that does not suit is worth, as a share of the litres that go in."""

    air: float = 0.5
    """Of each litre of air above a barrel that is not filled."""
    over: float = 0.1
    """Of each litre that does not go in and needs another vessel."""
    wood: float = 0.10
    """Of all of it, where wood is wanted and none is left, or none is wanted and all is left."""
    spent_on_any: float = 0.02
    """Of all of it, where a lot that asks for nothing takes new wood from one that might."""
    spirit: float = 0.15
    """Of all of it, where spirit in the wood is not wanted, or is wanted and not there."""
    sour: float = 0.5
    """Of all of it, where the barrel smelled of vinegar and the lot is neither sour nor fruit."""
    no_keg: float = 0.5
    """Of what is lost in a year, where no keg has of the lot to top it with."""
    residue: float = 0.01
    """Of all of it, where the barrel must be rinsed first."""
    waits: float = 0.6
    """Of all of it, where it gets no barrel: more than any barrel that may be used at all costs."""


PRICES = SuitPrices()


@dataclass(frozen=True, slots=True)
class LotPart:
    """A part of a lot that goes into one barrel [ml], what the lot wants, and its place among the parts."""

    lot: str
    ml: int
    wish: Wish = Wish.ANY
    part: int = 1
    of: int = 1


@dataclass(frozen=True, slots=True)
class SuitCost:
    """What one rule makes a pair cost [litres of mead], and why; infinite where it is not allowed."""

    rule: str
    litres: float
    why: str


def suit_costs(
    part: LotPart,
    barrel: WoodStanding,
    rate: LossRate | None = None,
    kegs: Sequence[str] = (),
    prices: SuitPrices = PRICES,
) -> list[SuitCost]:
    """Return what a barrel costs a part of a lot, rule by rule; `kegs` are the lots that kegs have for topping."""
    past = (*_room(part, barrel, prices), *_wood(part, barrel, prices), *_past(part, barrel, prices))
    return [*past, *_loss(part, rate, kegs, prices)]


def _room(part: LotPart, barrel: WoodStanding, prices: SuitPrices) -> Iterator[SuitCost]:
    short = barrel.standing.vessel.capacity_ml - part.ml
    if short > 0:
        yield SuitCost("room", prices.air * short / 1000, "not filled to the bung")
    elif short < 0:
        yield SuitCost("room", prices.over * -short / 1000, "not all of it goes in")


def _wood(part: LotPart, barrel: WoodStanding, prices: SuitPrices) -> Iterator[SuitCost]:
    litres = part.ml / 1000
    if barrel.effect is None:
        if part.wish in (Wish.WOOD, Wish.NEUTRAL):
            yield SuitCost("wood", prices.wood / 2 * litres, "what is left in its wood is unknown")
        return
    left = barrel.effect.percent / 100
    if part.wish is Wish.WOOD:
        yield SuitCost("wood", prices.wood * (1 - left) * litres, f"about {100 * left:.0f} % of new wood left")
    elif part.wish is Wish.NEUTRAL:
        yield SuitCost("wood", prices.wood * left * litres, f"about {100 * left:.0f} % of new wood left")
    elif left:
        yield SuitCost("wood", prices.spent_on_any * left * litres, "wood that another lot may want")


def _past(part: LotPart, barrel: WoodStanding, prices: SuitPrices) -> Iterator[SuitCost]:
    litres, faults = part.ml / 1000, barrel.past.faults
    if barrel.standing.is_quarantined:
        yield SuitCost("taint", float("inf"), IN_QUARANTINE)
    elif barrel.advice.verdict is WoodVerdict.RETIRE:
        yield SuitCost("taint", float("inf"), f"to be retired: {barrel.advice.why[0]}")
    elif faults.sour and part.wish is not Wish.SOUR:
        yield SuitCost("taint", prices.sour * litres, "smelled of vinegar or solvent")
    spirit = _is_spirit(barrel.standing)
    if spirit and part.wish is not Wish.SPIRIT:
        yield SuitCost(
            "spirit", prices.spirit * litres, spirit_in_wood(barrel.standing.vessel, barrel.standing.state) or ""
        )
    elif part.wish is Wish.SPIRIT and not spirit:
        yield SuitCost("spirit", prices.spirit * litres, "held no spirit")
    if (residue := residue_in(barrel.standing.state)) is not None:
        yield SuitCost("rinse", prices.residue * litres, f"{residue.name} to be rinsed out first")


def _is_spirit(standing: Standing) -> bool:
    """Return True if spirit or fortified wine was in it and no fill of mead since has drawn it out."""
    barrel = standing.vessel.barrel
    return barrel is not None and barrel.held_spirit and standing.state.fills == 0


def _loss(part: LotPart, rate: LossRate | None, kegs: Sequence[str], prices: SuitPrices) -> Iterator[SuitCost]:
    if rate is None:
        return
    yearly = max(0.0, rate.ml_per_day) * 365.25 / 1000
    yield SuitCost("loss", yearly, "what it usually loses in a year")
    if part.lot not in kegs:
        yield SuitCost("keg", prices.no_keg * yearly, "no keg has of the lot to top it with")


def lots_in_kegs(cellar: Cellar) -> tuple[str, ...]:
    """Return the lots that kegs and demijohns hold mostly."""
    kegs = [s for s in cellar if s.vessel.kind in ("keg", "demijohn") and s.ml and not s.is_retired]
    return tuple(next(iter(standing.lots), "") for standing in kegs)


def losses_of(barrels: Sequence[WoodStanding], rates: Mapping[str, LossRate]) -> dict[str, LossRate]:
    """Return each barrel's loss rate, or what is usual where it has shown none."""
    return {each.tag: rate_of(each.standing, rates) for each in barrels}

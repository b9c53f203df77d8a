"""The effect left in the wood of every barrel of a cellar: the one place that knows, for every door."""

from collections.abc import Mapping

from cooperage.book import Book, Cellar, Standing
from cooperage.liquid.wood import AREA_225
from cooperage.programme.losses.learning import wood_area_m2
from cooperage.programme.wood.effect import EffectLeft, WoodUse, effect_left, fills_used
from cooperage.programme.wood.history import BarrelHistory, histories
from cooperage.programme.wood.scored import wood_scores

NEUTRAL_BELOW = 5.0
"""Percent of a new barrel below which wood counts as neutral (common practice, no source)."""


def effects_now(book: Book, cellar: Cellar, past: Mapping[str, BarrelHistory] | None = None) -> dict[str, EffectLeft]:
    """Return what is left in each barrel's wood by tag; barrels whose earlier fills are unknown are not there."""
    past = histories(book, cellar) if past is None else past
    return effect_left(uses_now(book, cellar, past), wood_scores(book, cellar, past))


def uses_now(
    book: Book, cellar: Cellar, past: Mapping[str, BarrelHistory] | None = None, more: float = 0.0
) -> dict[str, WoodUse]:
    """Return how each barrel's wood is used, by tag, after so many `more` fills; as `effects_now` has them."""
    past = histories(book, cellar) if past is None else past
    now = cellar.at.timestamp()
    uses = {
        standing.tag: _use(standing, past.get(standing.tag, BarrelHistory()), now, more) for standing in cellar.barrels
    }
    return {tag: use for tag, use in uses.items() if use is not None}


def _use(standing: Standing, past: BarrelHistory, now: float, more: float) -> WoodUse | None:
    barrel = standing.vessel.barrel
    if barrel is None or barrel.fills_before is None:
        return None
    litres = standing.vessel.capacity_ml / 1000
    used = min(100.0, more + fills_used(barrel.fills_before, (fill.days(now) for fill in past.fills)))
    kind = (barrel.wood or "", barrel.toast_staves or "")
    area = 1e4 * wood_area_m2(litres) / litres
    return WoodUse(used, max(1, barrel.fills_before + len(past.fills)), kind, min(1000.0, area) or AREA_225)


def is_neutral(effect: EffectLeft | None) -> bool:
    """Return True if the wood gives next to nothing any more; False where what is left is not known."""
    return effect is not None and effect.percent < NEUTRAL_BELOW

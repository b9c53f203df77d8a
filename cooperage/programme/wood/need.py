"""What barrels to buy for the coming year: which will be gone or spent, how many fills come, what they may cost.

As many barrels with wood left are wanted as there are, of each kind. Each drops out with the chance that the advice to
let it go is right, or that after one more fill its wood is neutral. What waits in tanks beyond the room of empty
barrels stands beside it, and so do the fills of the last twelve months. Common practice, no source: it is a count to
begin with, no forecast.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import median, stdev

from cooperage.book import Book, Cellar, Standing
from cooperage.programme.wood.advice import WoodVerdict
from cooperage.programme.wood.effect import BAND, EffectLeft, effect_left
from cooperage.programme.wood.left import NEUTRAL_BELOW, uses_now
from cooperage.programme.wood.standings import WoodStanding

SIZES_L = (20, 30, 50, 110, 200, 225, 300, 350, 500, 600)
"""Sizes that barrels are sold as [L] (common practice, no source)."""
_NEAR = 0.04
YEAR_S = 365.25 * 86_400
_GONE = (WoodVerdict.RETIRE, WoodVerdict.SELL, WoodVerdict.SOUR)


@dataclass(frozen=True, slots=True)
class WoodKind:
    """A kind of barrel as it is bought: wood, size [ml], what it held before; None is unknown."""

    wood: str | None
    capacity_ml: int
    past: str | None


@dataclass(frozen=True, slots=True)
class Band90:
    """A figure and the band that holds it 90 times of 100."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class KindNeed:
    """What is needed of one kind: barrels there, how many drop out, how many to buy, and what they may cost.

    Of those there some are `neutral` already: they are for neutral use, and not among what drops out for its wood.
    `price` is of one, from past prices; None where none is known, and then the budget is unknown too.
    """

    kind: WoodKind
    there: int
    neutral: int
    drop_out: Band90
    fills_last_year: int
    buy: int
    price: Band90 | None
    budget: Band90 | None


@dataclass(frozen=True, slots=True)
class YearNeed:
    """What is needed in a year, kind by kind; what waits in tanks, and how much of it finds room in empty barrels.

    `budget` leaves out the kinds in `unpriced`, of which no price is known.
    """

    kinds: tuple[KindNeed, ...]
    waiting_ml: int
    empty_ml: int
    budget: Band90
    unpriced: int
    usual_ml: int

    @property
    def neutral(self) -> int:
        """How many barrels are neutral already."""
        return sum(each.neutral for each in self.kinds)

    @property
    def barrels_without_room(self) -> int:
        """How many barrels of the commonest size what has no room would fill."""
        return 0 if not self.usual_ml else round(self.without_room_ml / self.usual_ml)

    @property
    def without_room_ml(self) -> int:
        """What waits in tanks beyond the room in empty barrels [ml]."""
        return max(0, self.waiting_ml - self.empty_ml)


def need_of_year(book: Book, cellar: Cellar, wood: Sequence[WoodStanding]) -> YearNeed:
    """Return what a year like the last asks for."""
    after = _after_one_more_fill(book, cellar, wood)
    groups: dict[WoodKind, list[WoodStanding]] = defaultdict(list)
    for each in wood:
        groups[_kind(each.standing)].append(each)
    since = cellar.at.timestamp() - YEAR_S
    kinds = [_of_kind(kind, group, after, wood, since) for kind, group in groups.items()]
    kinds.sort(key=lambda need: (-need.buy, -need.drop_out.value, need.kind.wood or "", need.kind.capacity_ml))
    budgets = [need.budget for need in kinds if need.budget is not None]
    return YearNeed(
        tuple(kinds),
        sum(standing.ml for standing in cellar if standing.vessel.kind == "tank" and not standing.is_retired),
        sum(each.standing.vessel.capacity_ml for each in wood if _can_be_filled(each)),
        _added(budgets),
        sum(need.buy > 0 and need.budget is None for need in kinds),
        max(kinds, key=lambda need: need.there).kind.capacity_ml if kinds else 0,
    )


def _can_be_filled(each: WoodStanding) -> bool:
    return each.standing.ml == 0 and each.advice.verdict not in _GONE


def _kind(standing: Standing) -> WoodKind:
    barrel = standing.vessel.barrel
    wood, past = (None, None) if barrel is None else (barrel.wood, barrel.past_life or barrel.past_kind)
    return WoodKind(wood, _size(standing.vessel.capacity_ml), past)


def _size(ml: int) -> int:
    """Return the size that a barrel is sold as, if it is near one; else its own to 10 L [ml]."""
    nearest = min(SIZES_L, key=lambda litres: abs(1000 * litres - ml))
    return 1000 * nearest if abs(1000 * nearest - ml) <= _NEAR * ml else round(ml, -4)


def _after_one_more_fill(book: Book, cellar: Cellar, wood: Sequence[WoodStanding]) -> dict[str, EffectLeft]:
    """Return what is left in each barrel's wood once it has been filled once more, by its fills alone."""
    return effect_left(uses_now(book, cellar, {each.tag: each.past for each in wood}, more=1.0))


def _of_kind(
    kind: WoodKind,
    group: Sequence[WoodStanding],
    after: Mapping[str, EffectLeft],
    wood: Sequence[WoodStanding],
    since: float,
) -> KindNeed:
    chances = [_drops_out(each, after.get(each.tag)) for each in group]
    expected = sum(chances)
    reach = BAND * sum(chance * (1 - chance) for chance in chances) ** 0.5
    drop_out = Band90(expected, max(0.0, expected - reach), min(float(len(group)), expected + reach))
    fills = sum(fill.began >= since for each in group for fill in each.past.fills)
    buy = round(expected)
    price = _price(group) or _price([each for each in wood if _like(_kind(each.standing), kind)])
    budget = None if price is None else Band90(buy * price.value, buy * price.low, buy * price.high)
    neutral = sum(each.is_neutral for each in group)
    return KindNeed(kind, len(group), neutral, drop_out, fills, buy, price, budget)


def _drops_out(each: WoodStanding, after: EffectLeft | None) -> float:
    """Return the chance that a barrel is gone in a year, or turns neutral in it; one that is neutral stays as it is."""
    gone = (each.advice.sure or 0.0) if each.advice.verdict in _GONE else 0.0
    if after is None or each.is_neutral:
        return gone
    return 1 - (1 - gone) * (1 - after.chance_below(NEUTRAL_BELOW))


def _like(one: WoodKind, other: WoodKind) -> bool:
    return one.past == other.past and one.capacity_ml == other.capacity_ml


def _price(group: Sequence[WoodStanding]) -> Band90 | None:
    """Return what one barrel costs by what those of a group cost, and the band of that."""
    prices = [each.cost.price.price for each in group if each.cost.price is not None]
    if not prices:
        return None
    middle = median(prices)
    reach = max(PRICE_DIFFERS * middle, BAND * stdev(prices) if len(prices) > 1 else 0.0)
    return Band90(middle, max(0.0, middle - reach), middle + reach)


PRICE_DIFFERS = 0.15
"""How far a price may at least be off, as a share: prices rise, and barrels of one kind differ (no source)."""


def _added(bands: Sequence[Band90]) -> Band90:
    """Add bands, which are taken to be independent."""
    value = sum(band.value for band in bands)
    low = sum((band.value - band.low) ** 2 for band in bands) ** 0.5
    high = sum((band.high - band.value) ** 2 for band in bands) ** 0.5
    return Band90(value, max(0.0, value - low), value + high)

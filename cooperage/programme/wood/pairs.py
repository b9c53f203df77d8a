"""Which empty barrel each lot goes into: lots cut into parts of a barrel's size, and the cheapest pairs in all."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import median

from cooperage.book import Cellar
from cooperage.book.dangers.dangers import Caution, cautions
from cooperage.book.dangers.work import work_of
from cooperage.book.declared import acts
from cooperage.book.errors import NoSuchLot
from cooperage.errors import BadInput, Refused, choose_from
from cooperage.programme.losses.loss_rate import LossRate
from cooperage.programme.wood.standings import WoodStanding
from cooperage.programme.wood.suits import PRICES, LotPart, SuitCost, Wish, losses_of, lots_in_kegs, suit_costs
from cooperage.units import DEFAULT, Quantity, Units, read, show

LEAST_ML = 20_000
"""Less than this in a tank is no lot that waits for a barrel."""


class NoEmptyBarrel(Refused):
    """There is no empty barrel to put a lot in."""

    def __init__(self) -> None:
        super().__init__("no barrel is empty; rack one, or register one that was bought with `cooperage add vessel`")


class NothingWaits(Refused):
    """No tank holds a lot that could go into barrels."""

    def __init__(self) -> None:
        super().__init__("no lot waits in a tank; name one with its litres, such as HE-25=450L")


class NotALotWaiting(BadInput):
    """A lot to be put into barrels that is not written as LOT=LITRES."""

    def __init__(self, text: str) -> None:
        self.text = text
        super().__init__(f"'{text}' is not LOT=LITRES; write HE-25=450L, or HE-25=450L/neutral for what it wants")


@dataclass(frozen=True, slots=True)
class LotWaiting:
    """A lot that is to go into barrels: its code, its volume [ml], what it wants."""

    lot: str
    ml: int
    wish: Wish = Wish.ANY


@dataclass(frozen=True, slots=True)
class LotInBarrel:
    """A part of a lot in its barrel: what that costs [litres], rule by rule; what it gives up against its own best.

    Without a barrel it waits where it is.
    `if_not_l` is how much more all of it costs if this pair is not allowed: infinite where there is no other way, None
    where it was not asked.
    """

    part: LotPart
    barrel: WoodStanding | None
    costs: tuple[SuitCost, ...]
    gives_up_l: float
    if_not_l: float | None
    cautions: tuple[Caution, ...] = ()

    @property
    def costs_l(self) -> float:
        """What the pair costs [litres]."""
        return sum(cost.litres for cost in self.costs)


def lot_waiting(text: str, cellar: Cellar, units: Units = DEFAULT) -> LotWaiting:
    """Read LOT=VOLUME, or LOT=VOLUME/WISH. Raises NotALotWaiting, NoSuchLot, BadInput."""
    code, sign, rest = text.partition("=")
    amount, _, wish = rest.partition("/")
    if not sign or not code.strip() or not amount.strip():
        raise NotALotWaiting(text)
    known = {each.upper(): each for each in cellar.lots}
    if code.strip().upper() not in known:
        raise NoSuchLot(code.strip(), list(cellar.lots))
    ml = int(read(Quantity.VOLUME, amount, units))
    if ml <= 0:
        raise NotALotWaiting(text)
    return LotWaiting(known[code.strip().upper()], ml, _wish(wish))


def _wish(text: str) -> Wish:
    word = text.strip().lower() or Wish.ANY.value
    if word not in list(Wish):
        raise BadInput(f"a lot wants one of {', '.join(Wish)}, not '{text.strip()}'{choose_from(word, list(Wish))}")
    return Wish(word)


def lots_waiting(cellar: Cellar) -> list[LotWaiting]:
    """Return what waits in tanks, by the lot that each mostly holds; raises NothingWaits."""
    tanks = [s for s in cellar.in_walking_order() if s.vessel.kind == "tank" and s.ml >= LEAST_ML and not s.is_retired]
    held: dict[str, int] = {}
    for standing in tanks:
        lot = next(iter(standing.lots))
        held[lot] = held.get(lot, 0) + standing.ml
    if not held:
        raise NothingWaits
    return [LotWaiting(lot, ml) for lot, ml in held.items()]


def in_parts(lots: Sequence[LotWaiting], barrels: Sequence[WoodStanding]) -> list[LotPart]:
    """Cut each lot into equal parts, as many as barrels of the middling size it comes nearest to filling."""
    size = median(each.standing.vessel.capacity_ml for each in barrels)
    parts = []
    for lot in lots:
        count = max(1, round(lot.ml / size))
        sizes = [lot.ml // count + (1 if place < lot.ml % count else 0) for place in range(count)]
        parts += [LotPart(lot.lot, ml, lot.wish, place, count) for place, ml in enumerate(sizes, 1)]
    return parts


def pair_up(
    lots: Sequence[LotWaiting],
    wood: Sequence[WoodStanding],
    cellar: Cellar,
    rates: Mapping[str, LossRate],
    *,
    same_room: bool = False,
) -> list[LotInBarrel]:
    """Give every part of the lots its barrel so that all of it costs least, in the order of lots.

    A part may wait, at a price. With `same_room` all barrels of a lot lie in one room. Raises NoEmptyBarrel.
    """
    from cooperage.programme.wood.assign import assign

    barrels = [each for each in wood if each.standing.ml == 0]
    if not barrels:
        raise NoEmptyBarrel
    parts, kegs, losing = in_parts(lots, barrels), lots_in_kegs(cellar), losses_of(barrels, rates)
    every = [[suit_costs(part, barrel, losing[barrel.tag], kegs) for barrel in barrels] for part in parts]
    waits = [SuitCost("waits", PRICES.waits * part.ml / 1000, "no barrel is left that costs less") for part in parts]
    table = [
        [*(sum(cost.litres for cost in pair) for pair in row), *(wait.litres for _ in parts)]
        for row, wait in zip(every, waits, strict=True)
    ]
    rooms = [*(each.standing.position[0] or "" for each in barrels), *(None for _ in parts)]
    found = assign(table, [part.lot for part in parts], rooms) if same_room else assign(table)
    pairs = []
    for place, (part, column) in enumerate(zip(parts, found.columns, strict=True)):
        is_placed = column < len(barrels)
        costs = tuple(every[place][column]) if is_placed else (waits[place],)
        barrel = barrels[column] if is_placed else None
        minding = () if barrel is None else _minding(barrel.tag, cellar)
        pairs.append(LotInBarrel(part, barrel, costs, found.gives_up[place], found.if_not[place], minding))
    return pairs


def _minding(tag: str, cellar: Cellar) -> tuple[Caution, ...]:
    """Return what to mind when an empty barrel is filled."""
    return cautions(work_of(acts.Fill(vessel=tag, source=""), cellar))


def part_words(part: LotPart, units: Units = DEFAULT) -> str:
    """Return the text of a part of a lot: "HE-25 225 L (1 of 2)"."""
    of = f" ({part.part} of {part.of})" if part.of > 1 else ""
    return f"{part.lot} {show(Quantity.VOLUME, part.ml, units)}{of}"
